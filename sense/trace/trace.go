// Package trace judges pulse valves from the header's pressure: it reads a recording of the header
// over one or more cleaning cycles, finds when each valve was due, what its pulse took out of the tank
// and how the supply put it back, and says of every valve whether it is ok, weak, dead or stuck open,
// how sure that is and why. It knows the tank only through a collector file's header table and works
// without it; it needs the number of valves or pulse marks. It leaves out what pressure cannot show:
// whether pilot or diaphragm is at fault. Method: matched filter and dynamic programming for the
// schedule, blowdown of the tank (package header) to compare pulses that start at different
// pressures, Bayes' rule over the four states.
package trace

import (
	"math"

	"dustwright/unit"
)

// Mark is a row of the trace at which a valve was commanded or fired.
type Mark struct {
	Row   int
	Valve int // number, from 1
}

// Trace is a header-pressure recording. Read fills it; it is not changed afterwards.
type Trace struct {
	Time   []float64 // [s], ascending, no two alike
	Header []float64 // gauge pressure [Pa]; NaN = no reading
	Marks  []Mark    // sorted by row; nil where the trace has none
	Source string    // file name for messages
	Notes  []string  // what the reader had to put right
}

// Spec is what is known of the machine. Zero or NaN means unknown; only Valves is needed, and
// not even that where the trace carries marks.
type Spec struct {
	Valves     int
	Interval   unit.Seconds     // from one pulse to the next
	Order      []int            // firing order; nil = 1, 2, 3 ...
	Volume     unit.Volume      // of the header
	ValveFlow  unit.Conductance // of one valve
	OnTime     unit.Seconds
	Set        unit.Pressure // regulator setting, gauge
	SupplyFlow unit.StdFlow
	Ambient    unit.AbsPressure // around the machine; 0 or NaN = standard atmosphere
}

// known tells a given number from an unknown one (zero, negative, NaN, infinite).
func known(x float64) bool { return x > 0 && !math.IsInf(x, 1) }
