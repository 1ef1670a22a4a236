package rough

import (
	"math"
	"testing"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/judge"
	"dustwright/sense"
)

// stretch is part of a log.
type stretch struct {
	s        *sense.Series
	from, to int64
	number   int
}

// mean is the mean size of a channel while the fan runs.
func (w stretch) mean(c sense.Channel) float64 {
	sum, n := 0.0, 0.0
	for i, x := range w.s.Col[c] {
		if w.holds(i) && !math.IsNaN(x) && w.s.At(sense.Running, i) == 1 {
			sum, n = sum+x, n+1
		}
	}
	return sum / n
}

// sum is a channel's sum for each day of the stretch.
func (w stretch) sum(c sense.Channel) float64 {
	sum := 0.0
	for i, x := range w.s.Col[c] {
		if w.holds(i) {
			sum += x
		}
	}
	return sum / (float64(w.to-w.from) / 86400e9)
}

func (w stretch) holds(i int) bool { return w.s.Time[i] >= w.from && w.s.Time[i] < w.to }

// drop is how far the header falls below its level in rows in which the numbered valve alone fired.
func (w stretch) drop() float64 {
	count, valve := map[int32]int{}, map[int32]int{}
	for _, f := range w.s.Pulses {
		count[f.Row]++
		valve[f.Row] = int(f.Valve)
	}
	sum, n := 0.0, 0.0
	for row, k := range count {
		if i := int(row); k == 1 && valve[row] == w.number && w.holds(i) && i > 0 {
			sum, n = sum+w.s.At(sense.Header, i-1)-w.s.At(sense.HeaderLow, i), n+1
		}
	}
	return sum / n
}

// Every way of every cause shows its sign where it is gross and nothing else happens.
func TestCausesShow(t *testing.T) {
	more := func(share float64) func(b, a float64) bool { return func(b, a float64) bool { return a > b*(1+share) } }
	less := func(share float64) func(b, a float64) bool { return func(b, a float64) bool { return a < b*(1-share) } }
	of := func(c sense.Channel) func(stretch) float64 {
		return func(w stretch) float64 { return math.Abs(w.mean(c)) }
	}
	flow, suction, dp, pulses := of(sense.Flow), of(sense.InletSP), of(sense.DP), func(w stretch) float64 { return w.sum(sense.Pulse) }
	type sign struct {
		name  string
		of    func(stretch) float64
		right func(b, a float64) bool
	}
	signs := map[string][]sign{
		none:                  {{"flow", flow, func(b, a float64) bool { return math.Abs(a/b-1) < 0.05 }}, {"pulses", pulses, func(b, a float64) bool { return a < 1.7*b && a > b/1.7 }}},
		"filters-blinded":     {{"pulses", pulses, more(0.3)}},
		"dust-load-heavy":     {{"pulses", pulses, more(0.5)}},
		"cake-damp":           {{"pulses", pulses, more(0.5)}},
		"airflow-high":        {{"flow", flow, more(0.05)}, {"suction", suction, more(0.08)}},
		"airflow-low":         {{"flow", flow, less(0.15)}, {"suction", suction, less(0.25)}},
		"duct-blocked":        {{"flow", flow, less(0.05)}, {"suction", suction, more(0.15)}},
		"leak-inward":         {{"flow", flow, more(0.01)}, {"suction", suction, less(0.12)}},
		"fan-weak":            {{"flow", flow, less(0.08)}, {"power", of(sense.FanPower), less(0.03)}},
		"cleaning-off":        {{"dP", dp, more(0.15)}},
		"header-pressure-low": {{"lowest", of(sense.HeaderLow), less(0.02)}, {"pulses", pulses, more(0.05)}},
		"valve-dead":          {{"its drop", stretch.drop, less(0.8)}, {"pulses", pulses, more(0)}},
		"valve-weak":          {{"its drop", stretch.drop, less(0.25)}},
		"valve-stuck-open":    {{"header", of(sense.Header), less(0.002)}},
		"gauge-line-blocked":  {{"true flow", flow, func(b, a float64) bool { return a != b }}},
		"gauge-line-off":      {{"dP", stretch.signed, less(0.4)}},
		"filter-leak":         {{"emission", of(sense.Emission), more(0.05)}},
		"bin-overfull":        {{"pulses", pulses, more(0.3)}},
	}
	for _, e := range judge.Causes() {
		cause := string(e.Name)
		for way := 1; way <= max(1, ways[cause]); way++ {
			for seed := uint64(1); seed <= 2; seed++ {
				tr, s, err := draw(seed, wish{cause: cause, way: way, severity: 0.95, old: 6, quiet: true})
				if err != nil {
					t.Fatal(err)
				}
				from := tr.At.Add(-6 * 24 * time.Hour).UnixNano()
				b, a := stretch{tr.Series, tr.Series.Time[0], from, tr.Number}, stretch{tr.Series, from, tr.At.UnixNano(), tr.Number}
				for _, k := range signs[cause] {
					if x, y := k.of(b), k.of(a); !k.right(x, y) {
						t.Errorf("seed %d, %s, way %d: %s is %.4g before and %.4g since", seed, cause, way, k.name, x, y)
					}
				}
				s.balance(t, seed)
			}
		}
	}
}

func (w stretch) signed() float64 { return w.mean(sense.DP) }

// balance holds the dust that came against where it went.
func (s *scene) balance(t *testing.T, seed uint64) {
	t.Helper()
	came, is := s.in+s.put, s.bin+s.taken+s.thrown+s.gone+s.cakes()
	if !(math.Abs(came-is) < 1e-9*came) {
		t.Errorf("seed %d, %s: %g kg of dust came, %g kg are found", seed, s.trouble.cause, came, is)
	}
}

func TestSameSeedSameTrial(t *testing.T) {
	for _, seed := range []uint64{1, 3} {
		if err := made.Twice(Draw, seed); err != nil {
			t.Error(err)
		}
	}
}

// Every draw is a log as package sense wants it, with a cause that package judge knows, and all dust is accounted for.
func TestDraws(t *testing.T) {
	for seed := uint64(1); seed <= 16; seed++ {
		tr, sc, err := draw(seed, wish{})
		if err != nil {
			t.Error(err)
			continue
		}
		sc.balance(t, seed)
		e, known := judge.CauseOf(judge.Cause(tr.Truth))
		if !known || e.Numbered != (tr.Number > 0) || tr.Number > tr.Collector.Filters.Rows || (tr.Truth == none) != (tr.Old == 0) {
			t.Errorf("seed %d: %s:%d since %.2f days", seed, tr.Truth, tr.Number, tr.Old)
		}
		if level := sc.bin / (sc.plan.bin * sc.plan.bulk); tr.Truth != "bin-overfull" && tr.Truth != "dust-load-heavy" && level > 1 {
			t.Errorf("seed %d, %s: a bin filled to %.2f", seed, tr.Truth, level)
		}
		s := tr.Series
		if s.Col[sense.DP] == nil || s.Time[s.Len()-1]-s.Time[0] < 20*86400e9 || !(sc.air.flow > 0) {
			t.Errorf("seed %d: a log without dP, too short, or one that ends while the fan stands", seed)
		}
		for i := 1; i < s.Len(); i++ {
			if s.Time[i] <= s.Time[i-1] {
				t.Fatalf("seed %d: row %d is not later than the one before", seed, i)
			}
		}
		for c, col := range s.Col {
			if col != nil && len(col) != s.Len() {
				t.Errorf("seed %d: %v has %d readings in %d rows", seed, sense.Channel(c), len(col), s.Len())
			}
		}
		row := int32(0)
		for _, f := range s.Pulses {
			if f.Row < row || int(f.Row) >= s.Len() || f.Valve < 1 || int(f.Valve) > tr.Collector.Filters.Rows {
				t.Fatalf("seed %d: valve %d in row %d after row %d", seed, f.Valve, f.Row, row)
			}
			row = f.Row
		}
	}
}

func BenchmarkDraw(b *testing.B) {
	for seed := uint64(1); b.Loop(); seed++ {
		if _, err := Draw(seed); err != nil {
			b.Fatal(err)
		}
	}
}
