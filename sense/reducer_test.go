package sense

import (
	"bytes"
	"dustwright/solve"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

func reduce(t testing.TB, s *Series, g rig) *History {
	t.Helper()
	r := NewReducer(g.file())
	r.Add(s)
	return r.History()
}

func TestLook(t *testing.T) {
	g := usual()
	for _, step := range []float64{1, 10, 60, 300} {
		s, tr := g.run(72, step)
		for _, keep := range [][]Channel{{DP, Flow, Header, HeaderLow, Cleaning, Running, Pulse}, {DP}} {
			h := reduce(t, s.only(keep...), g).settled(g.file(), math.MaxInt64)
			t.Log(step, len(keep), "cycles", len(h.Cycles), "true", len(tr.starts), "after", solve.Median(tr.after))
			for i, p := range h.Passes {
				t.Log(i, p.By, p.N, p.Long, "trig", p.Before[0], p.BeforeSD, "after", p.After[0], p.AfterSD, "rise", p.Rise, "bend", p.Bend, "filt", p.Filtering, "dur", p.Duration, "pulses", p.Pulses)
			}
			for _, f := range h.Firings[:min(8, len(h.Firings))] {
				m, se := f.Drop.Mean()
				d, dse := f.DPStep.Mean()
				t.Log(f.Mask, f.Valve, f.Rows, m, se, f.NoDrop, "dp", d, dse)
			}
		}
	}
}

func TestBlocksDoNotMatter(t *testing.T) {
	g := usual()
	s, _ := g.run(30, 60)
	whole := reduce(t, s, g)
	for _, cut := range []int{1, 7, 61, 500} {
		r := NewReducer(g.file())
		for from := 0; from < s.Len(); from += cut {
			r.Add(s.slice(max(0, from-2), min(s.Len(), from+cut)))
			if from%1003 == 0 {
				var b bytes.Buffer
				if err := r.History().Write(&b); err != nil {
					t.Fatal(err)
				}
				h, err := ReadHistory(&b)
				if err != nil {
					t.Fatal(err)
				}
				r = Resume(h, g.file())
			}
		}
		got := r.History()
		got.Late = whole.Late
		same := cmp.Options{cmpopts.EquateNaNs(), cmpopts.EquateEmpty()}
		if d := cmp.Diff(whole.settled(g.file(), math.MaxInt64), got.settled(g.file(), math.MaxInt64), same); d != "" {
			t.Fatalf("in blocks of %d: %s", cut, d)
		}
	}
}

func BenchmarkYear(b *testing.B) {
	g := usual()
	s, _ := g.run(365*24, 60)
	for _, c := range []Channel{Temperature, FanCurrent, InletSP, Humidity, Damper} {
		s.Col[c] = s.Col[Flow]
	}
	b.ReportMetric(float64(s.Len()), "rows")
	b.ReportAllocs()
	for b.Loop() {
		reduce(b, s, g)
	}
}
