package header

import (
	"testing"

	"dustwright/solve"
	"dustwright/unit"
)

// The same balance integrated by another method, of higher order and with its own step control, gives the same pulse:
// Pulse within its 0.5 % of the drop, PulseExact within 1e-5.
func TestPulseByAnotherMethod(t *testing.T) {
	cases := map[string]Tank{
		"20 L":             {Volume: 0.020, WallHeat: DefaultWallHeat(0.020), Supply: SupplyOf(60*unit.Psi, 20*unit.CubicFoot/60)},
		"8 L, leak":        {Volume: 0.008, WallHeat: DefaultWallHeat(0.008), Leak: 2e-9, Supply: SupplyOf(60*unit.Psi, 20*unit.CubicFoot/60)},
		"100 L, thin line": {Volume: 0.100, WallHeat: DefaultWallHeat(0.100), Supply: SupplyOf(80*unit.Psi, 5*unit.CubicFoot/60)},
	}
	for name, tank := range cases {
		t.Run(name, func(t *testing.T) {
			valve := DefaultValve(70e-8, 0.150)
			start := tank.Equilibrium()
			const wait = 10
			fast, _ := tank.Pulse(start, valve, wait)
			exact, _ := tank.PulseExact(start, valve, wait)
			low, air := byDormandPrince(t, tank, start, valve, wait)
			drop := float64(exact.Drop())
			near(t, "drop", drop, float64(start.P)-low, 1e-5)
			near(t, "drop, fast", float64(fast.Drop()), float64(start.P)-low, 5e-3)
			near(t, "air", float64(exact.Air), air, 1e-5)
		})
	}
}

// byDormandPrince returns the lowest pressure of a pulse [Pa abs] and the air through the valve [kg].
func byDormandPrince(t *testing.T, tank Tank, start State, valve Valve, wait float64) (low, air float64) {
	t.Helper()
	b := tank.body(valve)
	f := func(at float64, v, dv []float64) {
		r := b.rate(at, &y{p: v[0], m: v[1]})
		dv[0], dv[1], dv[2] = r.p, r.m, r.valve
	}
	turns := solve.Event{Value: func(at float64, v []float64) float64 { return b.rate(at, &y{p: v[0], m: v[1]}).p }, Rise: true}
	state := []float64{float64(start.P), float64(start.P) * b.volume / (gasConstant * float64(start.T)), 0}
	low = state[0]
	at := 0.0
	for _, next := range []float64{b.open, b.full, b.closing, b.shut, wait} { // the valve's corners
		p, err := solve.DormandPrince(f, state, at, next, solve.ODE{RelTol: 1e-10, AbsTol: 1e-12, MaxStep: 0.05, Events: []solve.Event{turns}})
		if err != nil {
			t.Fatal(err)
		}
		for _, h := range p.Hits {
			low = min(low, h.Y[0])
		}
		state, at = p.Y, p.T
		low = min(low, state[0])
	}
	return low, state[2]
}
