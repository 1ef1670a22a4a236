package sense

import (
	"math"
	"slices"
	"testing"

	"dustwright/solve"

	"pgregory.net/rapid"
)

func TestQuantilesAgreeWithSorting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.OneOf(rapid.Float64Range(-5, 5), rapid.SampledFrom([]float64{0, 1, 2})), 1, 80).Draw(t, "v")
		sorted := slices.Sorted(slices.Values(v))
		p := rapid.Float64Range(0, 1).Draw(t, "p")
		if got, want := quantileOf(slices.Clone(v), p), solve.Quantile(sorted, p); got != want {
			t.Fatalf("quantile %v of %v: got %v, want %v", p, v, got, want)
		}
		a, b, c, d := quartiles(slices.Clone(v))
		for i, p := range []float64{0.1, 0.25, 0.5, 0.9} {
			if got, want := []float64{a, b, c, d}[i], solve.Quantile(sorted, p); math.Abs(got-want) > 1e-12 {
				t.Fatalf("quartile %v of %v: got %v, want %v", p, v, got, want)
			}
		}
	})
}

func TestMedianAndSpreadPassOverMissing(t *testing.T) {
	nan := math.NaN()
	if got := medianOf([]float64{nan, 3, 1, nan, 2}); got != 2 {
		t.Errorf("median %v, want 2", got)
	}
	if got := medianOf([]float64{nan}); got == got {
		t.Errorf("median of nothing is %v", got)
	}
	if got, want := spreadOf([]float64{1, 2, 3, 4, nan, 5}), solve.MADToSigma; got != want {
		t.Errorf("spread %v, want %v", got, want)
	}
}
