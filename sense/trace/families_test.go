package trace

import (
	"testing"

	"dustwright/sense/trace/tracetest"
	"dustwright/unit"
)

// traceOf is a generated case as the reader would give it.
func traceOf(c tracetest.Case) *Trace {
	tr := &Trace{Time: c.Time, Header: c.Header}
	for _, m := range c.Marks {
		tr.Marks = append(tr.Marks, Mark{Row: m.Row, Valve: m.Valve})
	}
	return tr
}

// specOf is what the collector file of a generated case says.
func specOf(c tracetest.Case) Spec {
	return Spec{Valves: c.Valves, Order: c.Order, Interval: unit.Seconds(c.Interval), Volume: unit.Volume(c.Volume), ValveFlow: unit.Conductance(c.ValveC),
		OnTime: unit.Seconds(c.OnTime), Set: unit.Pressure(c.Set)}
}

// TestFamilies holds the share of right states, each state weighted alike, of exact counts and of unsure valves on
// machines of families that share nothing with the detector nor with one another. bench/valves prints the whole
// table.
func TestFamilies(t *testing.T) {
	for name, f := range map[string]struct {
		family      string
		from        uint64
		cases       int
		snr         float64
		fewest      int // valves
		alike, same float64
	}{
		"tank and sketch": {"", 5000, 14, 20, 2, 0.96, 0.95},
		"rough":           {"rough", 100, 14, 20, 3, 0.95, 0.97},
		"works":           {"works", 7001, 16, 20, 2, 0.93, 0.96},
	} {
		t.Run(name, func(t *testing.T) {
			var b board
			for i := range uint64(f.cases) {
				c := tracetest.Generate(f.from+i, tracetest.Options{SNR: f.snr, Family: f.family, Valves: f.fewest + int(i%6)})
				b.take(t, c)
			}
			if v := b.alike(); v < f.alike {
				t.Errorf("states right, each weighted alike: %.3f (%v of %v), want %.2f", v, b.right, b.all, f.alike)
			}
			if v := b.exact / b.counted; v < f.same {
				t.Errorf("counts exact: %.3f of %.0f valves, want %.2f", v, b.counted, f.same)
			}
			if v := b.unsure / b.valves; v > 0.07 {
				t.Errorf("unsure of %.2f of the valves, want under 0.07", v)
			}
			t.Logf("alike %.3f (%v of %v), exact %.3f, unsure %.3f", b.alike(), b.right, b.all, b.exact/b.counted, b.unsure/b.valves)
		})
	}
}

// board counts what was said of valves whose truth is known.
type board struct {
	right, all                     map[tracetest.State]int
	valves, unsure, counted, exact float64
}

func (b *board) take(t *testing.T, c tracetest.Case) {
	if b.all == nil {
		b.right, b.all = map[tracetest.State]int{}, map[tracetest.State]int{}
	}
	r, err := Analyse(traceOf(c), specOf(c))
	if err != nil {
		t.Errorf("seed %d (%v): %v", c.Seed, c.Tags, err)
		return
	}
	for i, want := range c.Truth {
		v := r.Valves[i]
		b.all[want]++
		b.valves++
		if v.Unsure {
			b.unsure++
		}
		if string(v.State) == string(want) {
			b.right[want]++
		} else {
			t.Logf("seed %d valve %d (%v): %s, want %s: %s", c.Seed, i+1, c.Tags, v.State, want, v.Why)
		}
		if want != tracetest.Stuck { // what a stuck valve's movements are is a matter of taste
			b.counted++
			if v.Count == c.Counts[i] {
				b.exact++
			}
		}
	}
}

// alike is the share of right states with every state weighted alike; none of the four may lack.
func (b *board) alike() float64 {
	var sum float64
	for s, n := range b.all {
		sum += float64(b.right[s]) / float64(n) / 4
	}
	return sum
}
