package header

import (
	"errors"
	"fmt"
	"math"

	"dustwright/unit"
)

// Valve is a pulse valve: its flow when fully open and how it opens and closes after the command.
type Valve struct {
	Nozzle
	On         unit.Seconds // length of the command [s], 0 or more
	OpenDelay  unit.Seconds // from command to first flow [s]
	Rise       unit.Seconds // from first to full flow [s]
	CloseDelay unit.Seconds // from the end of the command to the beginning of closing [s]
	Fall       unit.Seconds // from full flow to shut [s]
}

// DefaultValve returns a valve of a conductance [m3/(s Pa)] and on-time [s] that opens and closes as
// diaphragm valves do: 10 ms delay, 15 ms rise, 20 ms delay, 40 ms fall, b = 0.3. NaN is kept.
// Source: illustrative ramps of testdata/header_cycle_features.csv; b from memory.
func DefaultValve(c unit.Conductance, on unit.Seconds) Valve {
	return Valve{Nozzle: Nozzle{C: c, B: 0.3}, On: on, OpenDelay: 0.010, Rise: 0.015, CloseDelay: 0.020, Fall: 0.040}
}

// Supply is the shop air as it reaches the header: a regulator with droop and what the line can bring.
type Supply struct {
	Nozzle                       // regulator, line and fittings together
	Set         unit.Pressure    // regulator set point, gauge [Pa]
	Droop       float64          // fall of the regulated pressure per mass flow [Pa s/kg], 0 or more
	Most        unit.MassFlow    // the most that the shop air can bring [kg/s]; 0 or NaN = no limit
	Temperature unit.Temperature // of the air that enters [K]; 0 = 293.15 K
}

// Tank is a header: volume, walls, supply, leak and the air around it. Safe for concurrent use.
type Tank struct {
	Volume   unit.Volume      // [m3], above 0
	WallHeat float64          // heat flow from the walls per temperature difference [W/K], 0 or more; +Inf = isothermal
	Wall     unit.Temperature // of the walls [K]; 0 = 293.15 K
	Ambient  unit.AbsPressure // outside [Pa abs]; 0 = 101325 Pa
	Supply   Supply
	Leak     unit.Conductance // of everything that bleeds all the time [m3/(s Pa)], b = 0.3; 0 = tight
}

// State is the air in the header at one moment.
type State struct {
	P unit.AbsPressure // [Pa abs]
	T unit.Temperature // [K]
}

// Pulse is what one pulse, and the wait after it, does to the header.
type Pulse struct {
	Before, Low, End unit.Pressure // gauge [Pa]: at the command, lowest, and when the wait is over
	LowAfter         unit.Seconds  // from the command to the lowest pressure [s]
	Air              unit.Mass     // through the valve [kg]
	Leaked           unit.Mass     // through the leak, in pulse and wait [kg]
	Supplied         unit.Mass     // from the supply, in pulse and wait [kg]
	Recovery         unit.Seconds  // from the lowest pressure to 95 % of the drop made good [s]; NaN if not within the wait
	Recovered        unit.Share    // of the drop made good at the end of the wait; NaN without a drop
}

// Drop returns the pressure drop of the pulse [Pa]. Source: definition.
func (p Pulse) Drop() unit.Pressure { return p.Before - p.Low }

// Check returns nil if the tank and its supply can be, else a sentence.
func (t Tank) Check() error {
	switch {
	case !(t.Volume > 0) || math.IsInf(float64(t.Volume), 0):
		return fmt.Errorf("the header volume must be above 0; it is %g m3", float64(t.Volume))
	case !(t.WallHeat >= 0):
		return fmt.Errorf("the wall heat of the header must be 0 or more; it is %g W/K", t.WallHeat)
	case !(t.Supply.Set >= 0) || math.IsInf(float64(t.Supply.Set), 0):
		return fmt.Errorf("the header set pressure must be 0 or more (gauge); it is %g Pa", float64(t.Supply.Set))
	case !(t.Supply.C >= 0) || !(t.Leak >= 0) || !(t.Supply.Droop >= 0):
		return errors.New("the conductances of supply and leak and the droop must be 0 or more")
	case !(t.Supply.B >= 0 && t.Supply.B < 1):
		return fmt.Errorf("the critical pressure ratio of the supply must lie between 0 and 1; it is %g", float64(t.Supply.B))
	}
	return nil
}

// Equilibrium returns the state of the header left alone: the supply's set pressure, or where supply and
// leak balance; at the temperature that walls and supply keep it.
// Source: balance of ISO 6358 flows. Check values: testdata/header_bleed_steady_state.csv.
func (t Tank) Equilibrium() State {
	b := t.body(Valve{})
	p, temp := b.balance()
	return State{P: unit.AbsPressure(p), T: unit.Temperature(temp)}
}

// Pulse runs one pulse and the wait after it, as fast as is right to 0.5 % of the drop; once in some 50,000 to 1 % of the set
// pressure only, where a step leads over a corner of a flow.
//
//	s       the header as the command comes; Equilibrium() for a header at rest
//	v       the valve; C = 0 is a dead one
//	wait    from this command to the next [s], longer than the valve is open
//	result  the pulse's figures and the header as the wait is over
//
// A tank that Check refuses gives NaN, and so does one so small that its valve empties it in microseconds. It
// allocates nothing and takes about two microseconds.
// Source: mass and energy balance of the tank, dp/dt = (gamma R/V)(q_in T_in - q_out T) + (gamma-1)/V h (T_wall - T),
// with ISO 6358 flows. Check values: testdata/header_pulse.csv, header_refill.csv, header_cycle_features.csv.
func (t Tank) Pulse(s State, v Valve, wait unit.Seconds) (Pulse, State) {
	return t.run(s, v, wait, fastTolerance)
}

// PulseExact is Pulse by integration to 1e-8: some fifty times slower, for checks and traces.
// Arguments, units, NaN and source as Pulse.
func (t Tank) PulseExact(s State, v Valve, wait unit.Seconds) (Pulse, State) {
	return t.run(s, v, wait, exactTolerance)
}

// Rest lets the header be for a time without a pulse.
//
//	s      the header, wait the time [s], 0 or more
//	result the header after it, and what the supply brought and the leak took [kg]
//
// A tank that Check refuses gives NaN. Source: as Pulse.
func (t Tank) Rest(s State, wait unit.Seconds) (State, unit.Mass, unit.Mass) {
	p, end := t.run(s, Valve{}, wait, fastTolerance)
	return end, p.Supplied, p.Leaked
}
