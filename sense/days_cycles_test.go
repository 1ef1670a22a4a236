package sense

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The width of the share of time spent cleaning is that of simulated cleanings and pauses that scatter by 0.7 of their
// length (gamma distributed, as the sum of two exponential times), and a collector that never stops cleaning is sure of it.
func TestShareOfCleaningIsAsSureAsItsCycles(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	length := func(mean float64) float64 { return mean / 2 * (r.ExpFloat64() + r.ExpFloat64()) }
	for _, c := range []struct{ share, cycles float64 }{{0.05, 20}, {0.3, 10}, {0.5, 40}, {0.8, 10}, {0.95, 20}} {
		var sum, sq float64
		const runs = 4000
		for range runs { // a day of 1, beginning somewhere
			on, at := 0.0, -3/c.cycles
			for at < 1 {
				a, b := length(c.share/c.cycles), length((1-c.share)/c.cycles)
				on += math.Max(0, math.Min(1, at+a)-math.Max(0, at))
				at += a + b
			}
			sum, sq = sum+on, sq+on*on
		}
		want := math.Sqrt(sq/runs - sum/runs*sum/runs)
		if got := shareWidth(c.share, c.cycles); got < 0.8*want || got > 1.25*want {
			t.Errorf("cleaning %g of the time in %g cycles: width %.4f, simulated %.4f", c.share, c.cycles, got, want)
		}
	}
	if got := shareWidth(1, 0); got != 0 {
		t.Errorf("cleaning without end: width %g", got)
	}
}
