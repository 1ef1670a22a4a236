package solve

import (
	"math"
	"slices"
)

// MADToSigma turns a median absolute deviation into the standard deviation of a normal distribution with the same MAD.
const MADToSigma = 1.482602218505602

// Quantile returns the p quantile (0 to 1) of values that are sorted ascending and free of NaN, interpolated between
// neighbours. NaN for an empty slice or p outside 0 to 1.
// Source: R. J. Hyndman and Y. Fan, The American Statistician 50 (1996) 361, definition 7.
func Quantile(sorted []float64, p float64) float64 {
	if len(sorted) == 0 || !(p >= 0 && p <= 1) {
		return math.NaN()
	}
	pos := p * float64(len(sorted)-1)
	i := min(int(pos), len(sorted)-1)
	if i == len(sorted)-1 || pos == float64(i) {
		return sorted[i]
	}
	return sorted[i] + (pos-float64(i))*(sorted[i+1]-sorted[i])
}

// Sorted returns the values without NaN in ascending order, in a new slice.
func Sorted(values []float64) []float64 {
	kept := make([]float64, 0, len(values))
	for _, v := range values {
		if !math.IsNaN(v) {
			kept = append(kept, v)
		}
	}
	slices.Sort(kept)
	return kept
}

// Median returns the median; NaN values are left out, and nothing left gives NaN. The slice is not changed.
func Median(values []float64) float64 { return Quantile(Sorted(values), 0.5) }

// MAD returns the median absolute deviation from the median, not scaled (see MADToSigma). NaN values are left out, and
// nothing left gives NaN.
func MAD(values []float64) float64 {
	sorted := Sorted(values)
	mid := Quantile(sorted, 0.5)
	for i, v := range sorted {
		sorted[i] = math.Abs(v - mid)
	}
	slices.Sort(sorted)
	return Quantile(sorted, 0.5)
}
