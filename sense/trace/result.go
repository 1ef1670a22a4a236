package trace

import (
	"dustwright/collector"
	"dustwright/unit"
)

// Result is what a trace shows.
type Result struct {
	Valves   []Valve // by number
	Relative bool    // no mark tells the numbers: they count from the first turn in the trace
	Marked   bool    // the trace carries pulse marks
	Pulses   []Pulse // every turn in order of time, and openings beyond it

	Interval unit.Seconds  // between turns
	Cycles   float64       // turns over valves
	Drop     unit.Pressure // of a usual pulse from Level; NaN where no valve fires
	DropSD   unit.Pressure
	Expected unit.Pressure // what the collector file lets expect; NaN where it does not say enough
	Level    unit.Pressure // the header's gauge pressure before a usual pulse
	Set      unit.Pressure // of the collector file; NaN
	Bleed    Bleed
	Refill   Refill
	Rate     float64         // of the recording [1/s]
	Noise    unit.Pressure   // of a reading, once slow changes are taken out
	Whole    *collector.Text // what is wrong with all valves alike; nil if nothing is
	Notes    []collector.Text

	Course Course // how the header goes around the usual pulse: the middle of the sound valves
}

// Course is the mean way of the header around a valve's turns.
type Course struct {
	Start, Step unit.Seconds // of the first point after the onset, negative; between points
	Pressure    []float64    // gauge [Pa]; nil where no turn shows it whole
}

// Valve is one valve's verdict and figures.
type Valve struct {
	Number      int
	State       State
	Probability float64 // of State
	Unsure      bool    // another state is nearly as likely, or the trace tells little
	Count       int     // openings seen, doubles counted
	Due         int     // turns within the trace
	Doubles     int     // openings beyond one a turn
	Late        bool    // closes late: takes more than its share, but does close

	Drop      unit.Pressure // mean of its pulses, brought to Level; NaN where none could be measured
	DropSD    unit.Pressure
	Share     float64      // Drop over the group's
	Air       unit.Volume  // free air per pulse; NaN without the header's volume
	AirSD     unit.Volume  //
	Open      unit.Seconds // how long it is open, from the rate of fall; NaN where the trace is too slow or too noisy
	Recovery  unit.Seconds // from the lowest pressure until 95 % of the drop is back; NaN if not before the next pulse
	Recovered float64      // share of the drop that is back before the next pulse; NaN without a drop
	Why       collector.Text
	Course    Course
}

// Pulse is one turn or one opening beyond it.
type Pulse struct {
	At     unit.Seconds // by the trace's clock
	Valve  int
	Fired  bool
	Extra  bool          // a further opening within the turn
	Before unit.Pressure // level before it
	Drop   unit.Pressure // NaN where not measured
}

// Bleed is air that leaves the header between pulses.
type Bleed struct {
	Flow     unit.StdFlow // NaN where unknown
	Sigma    unit.StdFlow
	Valve    int           // number of the valve that bleeds; 0 where none is known to
	Level    unit.Pressure // where the header settles while it bleeds; NaN
	Possible bool          // something bleeds
}

// Refill is what the supply does.
type Refill struct {
	Recovered float64      // median share of the drop that is back before the next pulse; NaN
	Recovery  unit.Seconds // median time to 95 %; NaN if it is not reached
	Flow      unit.StdFlow // into the header at the bottom of a usual pulse; NaN without the volume
	Sigma     unit.StdFlow
}
