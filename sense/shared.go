package sense

import "math"

// ownShare is what of a few lone rows' fall the shared rows must leave, for it to be the valve's own, and by how much it must lie
// beyond all others' for the shared rows to be its own too. Common practice, no source.
const ownShare = 0.6

// fewAlone is the drop of valve i by the few rows in which it fired alone and the least of those it shared. It can't be stronger than
// these: where it fell much farther alone, the row took the tail of a pulse before it. Where all rows with it fall farther than
// rows with any other need to, they are its own and count with the lone ones.
func (f *falls) fewAlone(i int) Estimate {
	e, least := f.one(f.alone[i]), f.least[i]
	if least < ownShare*e.Value {
		return Estimate{Value: least, Sigma: leastWidth * least, N: leastRows}
	}
	others := 0.0
	for j, x := range f.least {
		if j != i && !math.IsInf(x, 1) { // one that hardly fired explains nothing
			others = max(others, x)
		}
	}
	if ownShare*least > others && math.Abs(least-e.Value) < oneShare*e.Value {
		n := float64(f.alone[i].N)
		e.Sigma *= math.Sqrt(n / (n + leastRows))
		e.N += leastRows
	}
	return e
}

// leastWidth is how well the least fall of shared rows tells a valve's own, as a share of it. Common practice, no source.
const leastWidth = 0.25
