package sense

import "math"

// Dust that is taken out of the bin was caught since it was last taken: over the running hours between it tells
// the load. takenFresh is how long ago the last emptying may be to stand for the load now [s], takenLeast the
// running time that must lie behind one [h] and takenWidth what one emptying is unsure by, since a bin is seldom
// emptied to the same level. Common practice, no source.
const (
	takenFresh = 10 * 86400
	takenLeast = 6
	takenWidth = 0.2
)

// taken measures the dust caught for each second of running [kg/s]: by the last emptying, and by the median of
// those before it.
func (v *view) taken(m *Measure) {
	var rates []float64
	last, ran, since := int64(0), 0.0, math.NaN() // since the last emptying; NaN before the first
	for i := range v.hours {
		h := &v.hours[i]
		ran += float64(h.Running)
		st, ok := h.Of(BinMass)
		if mass := float64(st.Mean) * float64(st.N); ok && mass > 0 && !math.IsInf(mass, 1) {
			if since == since && ran-since >= takenLeast {
				rates, last = append(rates, mass/(3600*(ran-since))), h.Start
			}
			since = ran
		}
	}
	n := len(rates)
	if n == 0 || v.at-last > takenFresh {
		return
	}
	now := rates[n-1]
	m.Now = Estimate{Value: now, Sigma: takenWidth * now, N: 1}
	if n < 3 {
		return
	}
	usual := medianOf(append([]float64(nil), rates[:n-1]...))
	m.Normal = Estimate{Value: usual, Sigma: takenWidth * usual / math.Sqrt(float64(n-1)), N: n - 1}
	m.Spread = max(spreadOf(append([]float64(nil), rates[:n-1]...)), takenWidth*usual)
}
