package sense

import (
	"math"
	"slices"

	"dustwright/solve"
)

// quantileOf returns the p-quantile (0..1) of values free of NaN, interpolated between neighbours as
// solve.Quantile does. It reorders v, takes time in proportion to its length and allocates nothing:
// the reduction calls it for every hour of a record. NaN for no values.
func quantileOf(v []float64, p float64) float64 {
	return solve.PickQuantile(v, p)
}

// quartiles returns the 0.1, 0.25, 0.5 and 0.9 quantiles of v in one go: each is sought in the part
// that the one before has left. It reorders v.
func quartiles(v []float64) (q10, q25, q50, q90 float64) {
	q50 = quantileOf(v, 0.5)
	k := int(0.5 * float64(len(v)-1))
	part := func(p float64, from, to int) float64 {
		pos := p * float64(len(v)-1)
		i := int(pos)
		x := solve.Pick(v[from:to], i-from)
		if rest := pos - float64(i); rest > 0 && i+1 < len(v) {
			x += rest * (slices.Min(v[i+1:max(to, i+2)]) - x)
		}
		return x
	}
	q25 = part(0.25, 0, k+1)
	return part(0.1, 0, int(0.25*float64(len(v)-1))+1), q25, q50, part(0.9, k, len(v))
}

// known moves the values that are not NaN to the front of v, in their order, and returns them.
func known(v []float64) []float64 {
	n := 0
	for _, x := range v {
		if x == x {
			v[n] = x
			n++
		}
	}
	return v[:n]
}

// medianOf returns the median of the values that are not NaN, NaN for none. It reorders v.
func medianOf(v []float64) float64 { return quantileOf(known(v), 0.5) }

// spreadOf returns the robust standard deviation (median absolute deviation, scaled for a normal
// distribution) of the values that are not NaN; NaN for none. It overwrites v.
func spreadOf(v []float64) float64 {
	v = known(v)
	mid := quantileOf(v, 0.5)
	for i, x := range v {
		v[i] = math.Abs(x - mid)
	}
	return solve.MADToSigma * quantileOf(v, 0.5)
}
