package judge

import (
	"testing"

	"dustwright/sense"
)

// BenchmarkJudge judges a collector of which every quantity is known, and eight valves.
func BenchmarkJudge(b *testing.B) {
	f := valveSeen(0.7)
	for q := range f.Of {
		m, v := &f.Of[q], float64(q+1)
		m.Now, m.Fresh, m.Normal = sense.Estimate{Value: 1.1 * v, Sigma: 0.05 * v, N: 9}, sense.Estimate{Value: 1.2 * v, Sigma: 0.1 * v, N: 3}, sense.Estimate{Value: v, Sigma: 0.02 * v, N: 90}
		m.Trend = sense.Estimate{Value: 0.01 * v, Sigma: 0.01 * v, N: 14}
		m.Spread = 0.05 * v
	}
	in := Input{Collector: bare(b), Features: f}
	fitted()
	fittedValves()
	for b.Loop() {
		Judge(in)
	}
}
