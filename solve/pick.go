package solve

import "math"

// Pick puts the k-th smallest value of v in its sorted place, with none larger before it and none
// smaller after it, and returns it; k must be an index of v, and v free of NaN (C. A. R. Hoare,
// algorithm 65, 1961, median of three as pivot).
func Pick(v []float64, k int) float64 {
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

// PickQuantile is Quantile of values in any order, free of NaN, which it puts in another; NaN for an empty slice.
func PickQuantile(v []float64, p float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	pos := p * float64(len(v)-1)
	k := min(int(pos), len(v)-1)
	x := Pick(v, k)
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
