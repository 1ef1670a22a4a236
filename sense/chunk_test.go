package sense

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A gauge read in steps scatters hour by hour by about what its readings do, whether a little more or a little less than half
// of them repeat; one that never moves by nothing, and one read finely as it did.
func TestScatterOfACoarseGauge(t *testing.T) {
	for _, c := range []struct{ noise, step, from, to float64 }{{8, 25, 3, 20}, {6, 25, 1, 14}, {10, 0.01, 5, 16}, {0, 25, 0, 0}} {
		r := rand.New(rand.NewPCG(7, 1))
		for hour := range 40 {
			st := State{LastDP: 700, LastDP2: 700}
			v := make([]float64, 60)
			for i := range v {
				v[i] = math.Round((694+r.Float64()+c.noise*r.NormFloat64())/c.step) * c.step * (1 + 1e-13*r.Float64())
			}
			if got := (&scratch{}).scatter(v, &st); !(got >= c.from && got <= c.to+1e-9) {
				t.Errorf("noise of %g Pa read in steps of %g Pa, hour %d: %.2f Pa", c.noise, c.step, hour, got)
			}
		}
	}
}
