package sense

import (
	"math"
	"math/bits"

	"dustwright/solve"
)

// sharedOut gives each of n valves its part of what rows show in which several fired together: the
// least-squares parts whose sums meet the means of the sets, held loosely to the mean of all pulses
// (ridge), so that valves that always fire together get equal parts with a wide sigma. A valve above
// 64 is given only what it shows alone.
func sharedOut(sets []FiringSet, n int, of func(*FiringSet) *Moments, why string) []Estimate {
	out := make([]Estimate, n)
	for i := range out {
		out[i] = Unknown(why)
	}
	merged := mergeSets(sets, of)
	var pulses, sum, within, free float64
	for _, m := range merged {
		k := float64(bits.OnesCount64(m.mask))
		pulses += k * float64(m.N)
		sum += m.Sum
		within += m.Sq - m.Sum*m.Sum/float64(m.N)
		free += float64(m.N) - 1
	}
	if pulses == 0 {
		return out
	}
	typical := sum / pulses
	noise := 0.5 * math.Abs(typical)
	if free >= 1 && within > 0 {
		noise = math.Sqrt(within / free)
	}
	if !(noise > 0) {
		noise = 1e-9
	}
	width := max(3*math.Abs(typical), 3*noise) // how far one valve may lie from the mean of all
	valves, f, err := fitParts(merged, typical, noise, width)
	if err != nil {
		return out
	}
	count := fired(merged)
	for k, i := range valves {
		if i >= n {
			continue
		}
		// The rows were scaled to unit variance, so the parts' own covariance is (A'A)^-1; where the
		// sets contradict each other by more than their scatter, it grows with that.
		sigma := f.Sigma[k] / min(1, f.ResidualSD)
		if math.IsNaN(sigma) || math.IsInf(sigma, 0) { // nothing left over: the rows say it exactly
			sigma = noise / math.Sqrt(float64(count[i]))
		}
		out[i] = Estimate{Value: f.Param[k], Sigma: sigma, N: count[i]}
		if sigma > 0.7*width {
			out[i].Missing = "this valve always fires together with the same others: its part can't be told from theirs"
		}
	}
	return out
}

// fired counts the rows in which each valve fired.
func fired(sets []maskMoments) (count [64]int) {
	for _, m := range sets {
		for mask := m.mask; mask != 0; mask &= mask - 1 {
			count[bits.TrailingZeros64(mask)] += int(m.N)
		}
	}
	return count
}

// fitParts fits the parts of the valves that fired at all; valves lists their indices.
func fitParts(sets []maskMoments, typical, noise, width float64) (valves []int, f solve.Fit, err error) {
	var at [64]int
	for i, n := range fired(sets) {
		if n > 0 {
			at[i] = len(valves)
			valves = append(valves, i)
		}
	}
	var rows [][]float64
	var y []float64
	for _, m := range sets {
		w := math.Sqrt(float64(m.N)) / noise
		row := make([]float64, len(valves))
		for mask := m.mask; mask != 0; mask &= mask - 1 {
			row[at[bits.TrailingZeros64(mask)]] = w
		}
		rows, y = append(rows, row), append(y, w*m.Sum/float64(m.N))
	}
	for k := range valves {
		row := make([]float64, len(valves))
		row[k] = 1 / width
		rows, y = append(rows, row), append(y, typical/width)
	}
	f, err = solve.LeastSquares(rows, y, nil)
	return valves, f, err
}

// maskMoments are the moments of all rows with the same set of valves.
type maskMoments struct {
	mask uint64
	Moments
}

// mergeSets merges the days' sets of the same valves.
func mergeSets(sets []FiringSet, of func(*FiringSet) *Moments) []maskMoments {
	var out []maskMoments
	at := map[uint64]int{}
	for i := range sets {
		f, m := &sets[i], of(&sets[i])
		if f.Mask == 0 || m.N == 0 {
			continue
		}
		k, ok := at[f.Mask]
		if !ok {
			k = len(out)
			at[f.Mask] = k
			out = append(out, maskMoments{mask: f.Mask})
		}
		out[k].merge(*m)
	}
	return out
}

// above holds valve i's part against the median of the others'.
func above(parts []Estimate, i int) Estimate {
	e := parts[i]
	var others []float64
	for j, p := range parts {
		if j != i && p.Known() {
			others = append(others, p.Value)
		}
	}
	if !e.Known() || len(others) == 0 {
		return e
	}
	mid := medianOf(append([]float64(nil), others...))
	e.Value -= mid
	e.Sigma = hypot(e.Sigma, spreadOf(others)/math.Sqrt(float64(len(others))))
	return e
}
