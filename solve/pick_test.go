package solve

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Pick agrees with sorting, and parts the values at the one it picks.
func TestPickIsTheSortedOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(-9, 9), 1, 60).Draw(t, "v")
		k := rapid.IntRange(0, len(v)-1).Draw(t, "k")
		sorted := slices.Sorted(slices.Values(v))
		if got := Pick(v, k); got != sorted[k] || v[k] != got {
			t.Fatalf("%v at %d, sorted %v", got, k, sorted[k])
		}
		if slices.Max(v[:k+1]) != v[k] || slices.Min(v[k:]) != v[k] {
			t.Fatalf("%v is not parted at %d", v, k)
		}
	})
}

// PickQuantile agrees with Quantile of the sorted values.
func TestPickQuantileIsTheSortedOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(-9, 9), 1, 60).Draw(t, "v")
		p := rapid.Float64Range(0, 1).Draw(t, "p")
		if want, got := Quantile(slices.Sorted(slices.Values(v)), p), PickQuantile(v, p); got != want {
			t.Fatalf("%v at %v, sorted %v", got, p, want)
		}
	})
}
