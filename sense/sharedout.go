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
	if noise == 0 {
		noise = 1e-9
	}
	width := max(3*math.Abs(typical), 3*noise) // how far one valve may lie from the mean of all
	var rows [][]float64
	var y []float64
	count := make([]int, n)
	for _, m := range merged {
		w := math.Sqrt(float64(m.N)) / noise
		row := make([]float64, n)
		for mask := m.mask; mask != 0; mask &= mask - 1 {
			if i := bits.TrailingZeros64(mask); i < n {
				row[i] = w
				count[i] += int(m.N)
			}
		}
		rows, y = append(rows, row), append(y, w*m.Sum/float64(m.N))
	}
	for i := range n {
		row := make([]float64, n)
		row[i] = 1 / width
		rows, y = append(rows, row), append(y, typical/width)
	}
	f, err := solve.LeastSquares(rows, y, nil)
	if err != nil {
		return out
	}
	for i := range out {
		if count[i] > 0 {
			// The rows were scaled to unit variance, so the parts' own covariance is (A'A)^-1; where the
			// sets contradict each other by more than their scatter, it grows with that.
			sigma := f.Sigma[i] / min(1, f.ResidualSD)
			if math.IsNaN(sigma) || math.IsInf(sigma, 0) { // nothing left over: the rows say it exactly
				sigma = noise / math.Sqrt(float64(count[i]))
			}
			out[i] = Estimate{Value: f.Param[i], Sigma: sigma, N: count[i]}
			if sigma > 0.9*width {
				out[i].Missing = "this valve always fires together with the same others: its part can't be told from theirs"
			}
		}
	}
	return out
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
