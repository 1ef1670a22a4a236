package sense

import (
	"math"
	"slices"
)

// ringSize is how many recent values a Ring keeps: enough for a median that shrugs off a few
// strays, few enough to follow a new instrument within minutes.
const ringSize = 32

// Ring keeps the last ringSize values. It is exported for gob alone.
type Ring struct {
	V [ringSize]float64
	N int // values ever put in
}

// put takes a value in; NaN is passed over.
func (r *Ring) put(x float64) {
	if x != x {
		return
	}
	r.V[r.N%ringSize] = x
	r.N++
}

// len returns how many values are held.
func (r *Ring) len() int { return min(r.N, ringSize) }

// quantile returns the q-quantile (0..1) of the values held; NaN when empty.
func (r *Ring) quantile(q float64) float64 {
	n := r.len()
	if n == 0 {
		return math.NaN()
	}
	v := r.V
	if slices.Min(v[:n]) == slices.Max(v[:n]) { // the steps of a steady logger
		return v[0]
	}
	return quantileOf(v[:n], q)
}
