package sense

import (
	"math"

	"dustwright/solve"
)

// quantileOf returns the p-quantile (0..1) of values free of NaN, interpolated between neighbours as
// solve.Quantile does. It reorders v, takes time in proportion to its length and allocates nothing:
// the reduction calls it for every hour of a record. NaN for no values.
func quantileOf(v []float64, p float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	pos := p * float64(len(v)-1)
	k := min(int(pos), len(v)-1)
	x := pick(v, k)
	rest := pos - float64(k)
	if rest == 0 || k == len(v)-1 {
		return x
	}
	next := v[k+1]
	for _, y := range v[k+2:] {
		next = min(next, y)
	}
	return x + rest*(next-x)
}

// pick puts the k-th smallest value of v in its sorted place, with none larger before it and none
// smaller after it, and returns it (C. A. R. Hoare, algorithm 65, 1961, median of three as pivot).
func pick(v []float64, k int) float64 {
	lo, hi := 0, len(v)-1
	for lo < hi {
		a, b, c := v[lo], v[(lo+hi)/2], v[hi]
		pivot := max(min(a, b), min(max(a, b), c))
		i, j := lo, hi
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return v[k]
		}
	}
	return v[k]
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
