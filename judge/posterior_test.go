package judge

import (
	"math"
	"testing"
)

// The likeliest cause stands first whether or not its valve is known: where splitting it over the valves
// would let another pass it, it stands once, without a number.
func TestTheLikeliestCauseStaysFirst(t *testing.T) {
	hyps := []hypothesis{{cause: None, post: 0.4}, {cause: ValveDead, post: 0.5}, {cause: FiltersBlinded, post: 0.1}}
	facts := func(second float64) []valveSights {
		return []valveSights{{valve: 3, odds: map[Cause]float64{ValveDead: 4}}, {valve: 5, odds: map[Cause]float64{ValveDead: second}}, {valve: 6, odds: map[Cause]float64{ValveDead: -4}}}
	}
	for _, c := range []struct {
		name   string
		second float64
		number int
		p      float64
	}{
		{"one valve stands out", -4, 3, 0.49},
		{"two stand out nearly alike", 3.6, 0, 0.5},
	} {
		out := posterior(hyps, facts(c.second))
		sum := 0.0
		for i, p := range out {
			if sum += p.P; i > 0 && p.P > out[i-1].P {
				t.Errorf("%s: %v is not in order", c.name, out)
			}
		}
		if math.Abs(sum-1) > 1e-12 {
			t.Errorf("%s: the probabilities sum to %g", c.name, sum)
		}
		if got := out[0]; got.Cause != ValveDead || got.Number != c.number || math.Abs(got.P-c.p) > 0.011 {
			t.Errorf("%s: first stands %v, want valve-dead number %d with %.2f", c.name, got, c.number, c.p)
		}
	}
}
