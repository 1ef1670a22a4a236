package header

import (
	"math"
	"testing"

	"dustwright/unit"
)

// A volume given in the wrong unit must end in an answer or NaN, not in a wait.
func TestAHeaderFarTooSmallEnds(t *testing.T) {
	valve := DefaultValve(70e-8, 0.150)
	for _, volume := range []unit.Volume{2e-11, 2e-9, 2e-7, 2e-5} {
		tank := Tank{Volume: volume, WallHeat: DefaultWallHeat(volume)}
		tank.Supply = SupplyOf(60*unit.Psi, 20*unit.CubicFoot/60)
		p, end := tank.Pulse(tank.Equilibrium(), valve, 10)
		if v := float64(p.Drop()); v < 0 || math.IsInf(v, 0) || float64(end.P) < 0 {
			t.Errorf("%g m3: drop %g Pa, pressure after it %g", float64(volume), v, float64(end.P))
		}
	}
}
