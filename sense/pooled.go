package sense

import (
	"math"
	"sort"
)

// knots are the probabilities at which an hour's running dP is kept.
var knots = [...]float64{0, 0.1, 0.5, 0.9, 1}

// shape is the distribution of an hour's dP: values at the knots, and its weight.
type shape struct {
	at     [len(knots)]float64 // ascending
	weight float64
}

// below returns the share of the shape at or below x; between knots it is straight.
func (s *shape) below(x float64) float64 {
	if x >= s.at[len(knots)-1] {
		return 1
	}
	if x < s.at[0] {
		return 0
	}
	for i := 1; i < len(knots); i++ {
		if x < s.at[i] {
			return knots[i-1] + (knots[i]-knots[i-1])*(x-s.at[i-1])/(s.at[i]-s.at[i-1])
		}
	}
	return 1
}

// pooledQuantile returns the p-quantile of all shapes together, by halving; NaN for none.
func pooledQuantile(shapes []shape, p float64) float64 {
	lo, hi, sum := math.Inf(1), math.Inf(-1), 0.0
	for i := range shapes {
		lo, hi = min(lo, shapes[i].at[0]), max(hi, shapes[i].at[len(knots)-1])
		sum += shapes[i].weight
	}
	if !(sum > 0) {
		return math.NaN()
	}
	if len(shapes) <= 2*len(knots) && lo < hi {
		if x, ok := singles(shapes, p); ok {
			return x
		}
	}
	for range 26 {
		mid := (lo + hi) / 2
		share := 0.0
		for i := range shapes {
			share += shapes[i].weight * shapes[i].below(mid)
		}
		if share < p*sum {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// singles handles hours of a single reading each, as in a hand log: the quantile of the readings.
func singles(shapes []shape, p float64) (float64, bool) {
	v := make([]float64, len(shapes))
	for i, s := range shapes {
		if s.at[0] != s.at[len(knots)-1] {
			return 0, false
		}
		v[i] = s.at[0]
	}
	return quantileOf(v, p), true
}

// rising puts the knots in order where rounding or a changing airflow has crossed them.
func (s *shape) rising() { sort.Float64s(s.at[:]) }
