package sketch

import (
	"math"
	"testing"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/judge"
	"dustwright/sense"
)

// stretch sums up the last days of a log, or what lies before.
type stretch struct {
	s        *sense.Series
	from, to int64
}

// mean of a channel while the fan runs.
func (w stretch) mean(c sense.Channel) float64 {
	sum, n := 0.0, 0.0
	for i, t := range w.s.Time {
		if v := w.s.At(c, i); t >= w.from && t < w.to && w.s.At(sense.Running, i) == 1 && v == v {
			sum, n = sum+v, n+1
		}
	}
	return sum / n
}

// low is the fifth percentile of the dP while the fan runs, by counting into pascals.
func (w stretch) low() float64 {
	var count [8000]int
	n := 0
	for i, t := range w.s.Time {
		if t >= w.from && t < w.to && w.s.At(sense.Running, i) == 1 {
			count[min(max(int(w.s.At(sense.DP, i)), 0), 7999)]++
			n++
		}
	}
	seen := 0
	for p, k := range count {
		if seen += k; seen > n/20 {
			return float64(p)
		}
	}
	return math.NaN()
}

// pulses an hour of running.
func (w stretch) pulses() float64 {
	n, hours := 0.0, 0.0
	for _, f := range w.s.Pulses {
		if t := w.s.Time[f.Row]; t >= w.from && t < w.to && w.s.At(sense.Running, int(f.Row)) == 1 {
			n++
		}
	}
	for i, t := range w.s.Time {
		if t >= w.from && t < w.to && w.s.At(sense.Running, i) == 1 {
			hours += 1.0 / 60
		}
	}
	return n / hours
}

// drop is the mean share that the header falls by in rows in which this valve fired alone, valve 0
// for all but the numbered one.
func (w stretch) drop(valve, except int) float64 {
	sum, n := 0.0, 0.0
	for k, f := range w.s.Pulses {
		alone := (k == 0 || w.s.Pulses[k-1].Row != f.Row) && (k+1 == len(w.s.Pulses) || w.s.Pulses[k+1].Row != f.Row)
		t := w.s.Time[f.Row]
		if !alone || t < w.from || t >= w.to || valve > 0 && int(f.Valve) != valve || int(f.Valve) == except {
			continue
		}
		rest := w.s.At(sense.Header, max(0, int(f.Row)-1))
		sum, n = sum+1-w.s.At(sense.HeaderLow, int(f.Row))/rest, n+1
	}
	return sum / n
}

// before and after the onset.
func parts(t *made.Trial) (before, after stretch) {
	first, last := t.Series.Time[0], t.Series.Time[t.Series.Len()-1]
	onset := last - int64(t.Old*86400e9)
	return stretch{t.Series, first + 4*86400e9, onset}, stretch{t.Series, onset + 3600e9, last + 1}
}

func TestCausesShow(t *testing.T) {
	more := func(share float64) func(b, a float64) bool { return func(b, a float64) bool { return a > b*(1+share) } }
	less := func(share float64) func(b, a float64) bool { return func(b, a float64) bool { return a < b*(1-share) } }
	same := func(b, a float64) bool { return math.Abs(a-b) < 0.06*math.Abs(b) }
	level := func(c sense.Channel) func(w stretch) float64 {
		return func(w stretch) float64 { return math.Abs(w.mean(c)) }
	}
	flow, current, suction, dp, bin, after := level(sense.Flow), level(sense.FanCurrent), level(sense.InletSP), level(sense.DP), level(sense.BinLevel), level(sense.AfterfilterDP)
	cases := []struct {
		cause, sign string
		of          func(w stretch) float64
		right       func(before, after float64) bool
	}{
		{"filters-blinded", "dP after cleaning", stretch.low, more(0.1)},
		{"filters-blinded", "pulses", stretch.pulses, more(0.5)},
		{"dust-load-heavy", "pulses", stretch.pulses, more(0.5)},
		{"cake-damp", "pulses", stretch.pulses, more(0.5)},
		{"airflow-high", "flow", flow, more(0.05)},
		{"airflow-high", "current", current, more(0.01)},
		{"airflow-high", "suction", suction, more(0.1)},
		{"airflow-low", "flow", flow, less(0.2)},
		{"airflow-low", "current", current, less(0.05)},
		{"airflow-low", "suction", suction, less(0.3)},
		{"duct-blocked", "flow", flow, less(0.08)},
		{"duct-blocked", "suction", suction, more(0.15)},
		{"leak-inward", "flow", flow, more(0.01)},
		{"leak-inward", "suction", suction, less(0.15)},
		{"fan-weak", "flow", flow, less(0.08)},
		{"fan-weak", "current", current, less(0.03)},
		{"fan-weak", "suction", suction, less(0.15)},
		{"cleaning-off", "pulses", stretch.pulses, func(b, a float64) bool { return a <= 0.3*b }},
		{"cleaning-off", "dP", dp, more(0.2)},
		{"cleaning-off", "flow", flow, less(0.03)},
		{"header-pressure-low", "header, lowest", level(sense.HeaderLow), less(0.04)},
		{"header-pressure-low", "pulses", stretch.pulses, more(0.1)},
		{"valve-dead", "pulses", stretch.pulses, more(0.02)},
		{"valve-stuck-open", "header", level(sense.Header), less(0.5)},
		{"valve-stuck-open", "pulses", stretch.pulses, more(0.5)},
		{"gauge-line-blocked", "flow", flow, func(b, a float64) bool { return a != b }},
		{"gauge-line-off", "dP", func(w stretch) float64 { return w.low() }, less(0.3)},
		{"filter-leak", "emission", level(sense.Emission), more(0.5)},
		{"bin-overfull", "bin", bin, func(_, a float64) bool { return a > 0.9 }},
		{"bin-overfull", "pulses", stretch.pulses, more(0.3)},
		{none, "flow", flow, same},
		{none, "after-filter", after, func(_, a float64) bool { return a != 0 }},
	}
	trials := map[string][]*made.Trial{}
	for _, k := range cases {
		if trials[k.cause] == nil {
			for seed := uint64(1); seed <= 4; seed++ {
				tr, err := draw(seed, wish{cause: k.cause, severity: 0.95, old: 9, quiet: true})
				if err != nil {
					t.Fatal(err)
				}
				trials[k.cause] = append(trials[k.cause], tr)
			}
		}
		for i, tr := range trials[k.cause] {
			if k.cause == none {
				tr.Old = 9
			}
			before, after := parts(tr)
			if b, a := k.of(before), k.of(after); !k.right(b, a) {
				t.Errorf("seed %d, %s: %s is %.4g before and %.4g since", i+1, k.cause, k.sign, b, a)
			}
		}
	}
}

// A valve's own drop in the header tells what is wrong with it, and only with it.
func TestValvesShow(t *testing.T) {
	for _, k := range []struct {
		cause    string
		from, to float64 // the numbered valve's drop over the others'
	}{{"valve-dead", -0.05, 0.05}, {"valve-weak", 0.1, 0.5}} {
		for seed := uint64(1); seed <= 6; seed++ {
			tr, err := draw(seed, wish{cause: k.cause, severity: 0.95, old: 9, quiet: true})
			if err != nil {
				t.Fatal(err)
			}
			before, after := parts(tr)
			was, is := before.drop(tr.Number, 0)/before.drop(0, tr.Number), after.drop(tr.Number, 0)/after.drop(0, tr.Number)
			if was < 0.8 || was > 1.2 || !(is > k.from && is < k.to) {
				t.Errorf("seed %d, %s: valve %d takes %.2f of the others' drop before and %.2f since", seed, k.cause, tr.Number, was, is)
			}
		}
	}
}

// A plugged line neither follows a stop of the fan nor a pulse.
func TestPluggedLine(t *testing.T) {
	for seed := uint64(1); seed <= 4; seed++ {
		tr, err := draw(seed, wish{cause: "gauge-line-blocked", severity: 0.95, old: 9, quiet: true})
		if err != nil {
			t.Fatal(err)
		}
		before, after := parts(tr)
		if b, a := before.roughness(), after.roughness(); !(a < 0.2*b) {
			t.Errorf("seed %d: dP moves by %.3g Pa a row before and %.3g since", seed, b, a)
		}
	}
}

// roughness is the mean movement of the dP from row to row.
func (w stretch) roughness() float64 {
	sum, n := 0.0, 0.0
	for i, t := range w.s.Time {
		if i > 0 && t >= w.from && t < w.to {
			sum, n = sum+math.Abs(w.s.At(sense.DP, i)-w.s.At(sense.DP, i-1)), n+1
		}
	}
	return sum / n
}

func TestSameSeedSameTrial(t *testing.T) {
	for _, seed := range []uint64{1, 3} {
		if err := made.Twice(Draw, seed); err != nil {
			t.Error(err)
		}
	}
}

// Every draw is a log as package sense wants it, with a cause that package judge knows.
func TestDraws(t *testing.T) {
	known := map[string]int{}
	for _, e := range judge.Causes() {
		known[string(e.Name)] = 0
	}
	for seed := uint64(1); seed <= 20; seed++ {
		tr, err := Draw(seed)
		if err != nil {
			t.Error(err)
			continue
		}
		if _, ok := known[tr.Truth]; !ok {
			t.Errorf("seed %d: judge knows no cause %q", seed, tr.Truth)
		}
		s := tr.Series
		if got := time.Duration(s.Time[s.Len()-1] - s.Time[0]); got < 20*24*time.Hour || !tr.At.Equal(s.When(s.Len()-1)) {
			t.Errorf("seed %d: a log of %v that ends at %v, judged at %v", seed, got, s.When(s.Len()-1), tr.At)
		}
		for i := 1; i < s.Len(); i++ {
			if s.Time[i] <= s.Time[i-1] {
				t.Errorf("seed %d: row %d is not later than the one before", seed, i)
				break
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
				t.Errorf("seed %d: valve %d in row %d after row %d", seed, f.Valve, f.Row, row)
				break
			}
			row = f.Row
		}
		if tr.Truth == none != (tr.Old == 0) || tr.Number > tr.Collector.Filters.Rows {
			t.Errorf("seed %d: %s:%d since %.2f days", seed, tr.Truth, tr.Number, tr.Old)
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
