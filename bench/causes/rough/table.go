package rough

import (
	"math"
	"math/rand/v2"
)

// table is a function given by points joined with straight lines, by rising x; outside it keeps its end values.
type table [][2]float64

// at reads the table.
func (t table) at(x float64) float64 {
	if x <= t[0][0] {
		return t[0][1]
	}
	for i := 1; i < len(t); i++ {
		if x <= t[i][0] {
			a, b := t[i-1], t[i]
			return a[1] + (b[1]-a[1])*(x-a[0])/(b[0]-a[0])
		}
	}
	return t[len(t)-1][1]
}

// between draws evenly.
func between(r *rand.Rand, lo, hi float64) float64 { return lo + r.Float64()*(hi-lo) }

// spread draws evenly in the logarithm.
func spread(r *rand.Rand, lo, hi float64) float64 { return lo * math.Exp(r.Float64()*math.Log(hi/lo)) }

// one draws one of the values.
func one(r *rand.Rand, values ...float64) float64 { return values[r.IntN(len(values))] }

// bounded keeps x within lo and hi.
func bounded(x, lo, hi float64) float64 { return min(max(x, lo), hi) }
