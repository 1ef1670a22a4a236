package fold

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"dustwright/bench/causes/made"
	"dustwright/judge"
	"dustwright/sense"
)

func TestDrawIsTheSameForASeed(t *testing.T) {
	for seed := range uint64(2) {
		if err := made.Twice(Draw, seed); err != nil {
			t.Error(err)
		}
	}
}

func TestEveryCauseHasItsWays(t *testing.T) {
	count, mild := map[string]int{}, map[string]int{}
	for _, w := range ways {
		count[w.cause]++
		if w.leastSevere <= leastSevere && !w.demand && !w.manual {
			mild[w.cause]++
		}
		if w.turn == nil || w.name == "" || w.leastSevere > 0.7 || w.leastOld > 5 {
			t.Errorf("%s, %s: incomplete or out of bounds", w.cause, w.name)
		}
	}
	for _, e := range judge.Causes() {
		if e.Name == judge.None {
			continue
		}
		if n := count[string(e.Name)]; n < 2 || n > 4 {
			t.Errorf("%s has %d ways, want 2 to 4", e.Name, n)
		}
		if mild[string(e.Name)] == 0 {
			t.Errorf("%s has no way that every machine can meet mildly", e.Name)
		}
		if e.Numbered != numbered(string(e.Name)) {
			t.Errorf("%s: numbered is %v", e.Name, numbered(string(e.Name)))
		}
		delete(count, string(e.Name))
	}
	if len(count) > 0 {
		t.Errorf("causes nobody knows: %v", count)
	}
}

func TestTroublesAreEquallyLikely(t *testing.T) {
	const n = 20000
	count := map[string]int{}
	for seed := range uint64(n) {
		count[truth(seed)]++
	}
	if share := float64(count[none]) / n; math.Abs(share-shareSound) > 0.012 {
		t.Errorf("%.3f are sound", share)
	}
	for _, c := range made.Causes() {
		if share := float64(count[c]) / n * float64(len(made.Causes())) / (1 - shareSound); math.Abs(share-1) > 0.15 {
			t.Errorf("%s comes %.2f times as often as it should", c, share)
		}
	}
}

func TestTrialsArePlausible(t *testing.T) {
	n := 10
	if testing.Short() {
		n = 6
	}
	sound, told := 0, 0
	for seed := range uint64(n) {
		tr, err := Draw(7000 + seed)
		if err != nil {
			t.Error(err)
			continue
		}
		if err := tr.Collector.Validate(); err != nil {
			t.Errorf("seed %d: %v", seed, err)
		}
		plausible(t, seed, tr)
		if tr.Truth == none {
			sound++
			told += int(b2f(tr.Story != ""))
		}
	}
	if sound < 1 || sound > n*8/10 {
		t.Errorf("%d of %d are sound", sound, n)
	}
	if told < sound/2 {
		t.Errorf("%d of %d sound ones have a story", told, sound)
	}
}

func plausible(t *testing.T, seed uint64, tr *made.Trial) {
	t.Helper()
	s := tr.Series
	if s.Len() < 500 || s.Len() > 110000 {
		t.Fatalf("seed %d: %d rows", seed, s.Len())
	}
	for i := range s.Len() - 1 {
		if s.Time[i+1] <= s.Time[i] {
			t.Fatalf("seed %d: row %d is not after the one before", seed, i+1)
		}
	}
	if days := float64(s.Time[s.Len()-1]-s.Time[0]) / 86400e9; days < leastDays-5 || days > mostDays+5 {
		t.Errorf("seed %d: %.0f days", seed, days)
	}
	if numbered(tr.Truth) != (tr.Number > 0) || tr.Number > tr.Collector.Filters.Rows {
		t.Errorf("seed %d: %s %d", seed, tr.Truth, tr.Number)
	}
	if tr.Truth != none && (tr.Severity < leastSevere || tr.Severity > 1 || tr.Old < 0.1 || tr.Old > mostDays+1) {
		t.Errorf("seed %d: %s severity %.2f, %.1f days old", seed, tr.Truth, tr.Severity, tr.Old)
	}
	bounds := map[sense.Channel][2]float64{sense.DP: {-4000, 4000}, sense.AfterfilterDP: {-50, 1600}, sense.Flow: {-0.1, 60}, sense.Header: {0, 1e6},
		sense.HeaderLow: {0, 1e6}, sense.FanCurrent: {-1, 1500}, sense.FanPower: {-1e3, 6e5}, sense.InletSP: {-5000, 150}, sense.Damper: {0, 1}, sense.Running: {0, 1},
		sense.Cleaning: {0, 1}, sense.Temperature: {250, 345}, sense.Humidity: {0, 1}, sense.Barometer: {76000, 106000}, sense.BinLevel: {0, 1}}
	if err := tr.Check(bounds); err != nil {
		t.Errorf("seed %d: %v", seed, err)
	}
}

// Beside the same machine without it, a trouble leaves the log before its onset as it was and shows afterwards.
func TestTroubleAgainstItsTwin(t *testing.T) {
	for i, cause := range made.Causes() {
		for j, severity := range []float64{0.3, 0.9} {
			if testing.Short() && j != i%2 {
				continue
			}
			ill, well, err := draft(uint64(300+i), order{cause: cause, severity: severity, brief: true})
			if err != nil {
				t.Errorf("%s %.2f: %v", cause, severity, err)
				continue
			}
			if ill.fault.fromStart {
				continue
			}
			n, _ := slices.BinarySearch(ill.series.Time, ill.rec.stamp(ill.onset-2*ill.rec.step))
			for ch := range sense.NumChannels {
				if col := ill.series.Col[ch]; col != nil && !made.Alike(col[:n], well.series.Col[ch][:n]) {
					t.Errorf("%s %.2f (%s): %v differs before the onset", cause, severity, ill.fault.way.name, ch)
				}
			}
		}
	}
}

// What the severity scales has to grow with it: on one machine, each way moves what it acts on further.
func TestWorseIsWorse(t *testing.T) {
	for i := range ways {
		w := &ways[i]
		far := func(severity float64) float64 {
			m := drawMill(newDice(5), 5)
			m.hdr.interval = 20
			s := newBench(m)
			s.press = m.hdr.set
			f := &fault{way: w, severity: severity, number: 2, onset: -1e5, end: 1e5, twist: 0.5, goTo: 0.5 + 0.4*severity}
			w.turn(s, f, severity, 0)
			return apart(&s.k)
		}
		if mild, gross := far(0.25), far(1); mild == 0 || w.leastSevere < 0.6 && gross < mild {
			t.Errorf("%s, %s: turns by %.3g when mild and %.3g when gross", w.cause, w.name, mild, gross)
		}
	}
}

// A damper that ends further off lets through more, or less.
func TestDamperGoesFurtherWhenWorse(t *testing.T) {
	for seed := range uint64(20) {
		m := drawMill(newDice(seed), seed)
		last := 0.0
		for _, share := range []float64{0.5, 0.7, 0.9, 1} {
			open := m.openFor(share)
			if open <= last && open < 1 {
				t.Errorf("seed %d: %.3f open for %.1f of the flow, %.3f for less", seed, open, share, last)
			}
			last = open
		}
	}
}

// newDice is a stream for a test.
func newDice(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 1)) }

// apart is how far knobs are from those of a machine as built, each as a logarithm or as it is.
func apart(k *knobs) float64 {
	a, b := reflect.ValueOf(*k), reflect.ValueOf(still())
	sum := 0.0
	var add func(x, y reflect.Value)
	add = func(x, y reflect.Value) {
		switch x.Kind() {
		case reflect.Array:
			for i := range x.Len() {
				add(x.Index(i), y.Index(i))
			}
		case reflect.Float64:
			sum += math.Abs(x.Float() - y.Float())
		case reflect.Int:
			if x.Int() != y.Int() { // the fewer pulses the worse
				sum += 1 / float64(x.Int())
			}
		case reflect.Bool:
			sum += b2f(x.Bool() != y.Bool())
		}
	}
	for i := range a.NumField() {
		add(a.Field(i), b.Field(i))
	}
	return sum
}

// The cubic of the fan goes through what it was shaped to.
func TestFanThroughItsPoints(t *testing.T) {
	b := blower{middle: 2, head: 3000}
	b.shape(0.1, 0.8, 1.7)
	for _, c := range []struct{ q, want float64 }{{0, 3000}, {2, 2400}, {3.4, 0}} {
		if p, _ := b.gives(c.q, 1, 1); math.Abs(p-c.want) > 1e-6 {
			t.Errorf("%.1f m3/s: %.3f Pa, want %.3f", c.q, p, c.want)
		}
	}
	p, _ := b.gives(1.6, 0.8, 1) // fan laws: x = 1 at four fifths of the speed
	if math.Abs(p-2400*0.64) > 1e-6 {
		t.Errorf("at 0.8 of the speed: %.3f Pa", p)
	}
}

// A header refilled in one stride and in many small ones comes to the same pressure.
func TestRefillDoesNotDependOnItsSteps(t *testing.T) {
	for _, leak := range []float64{0, 0.01, 0.2} {
		end := func(n int) float64 {
			s := newBench(drawMill(newDice(3), 3))
			s.m.hdr.swing, s.m.hdr.demand, s.k.headerLeak = 0, 0, leak
			s.press = 0.3 * s.m.hdr.set
			for range n {
				s.refill(0, 9/float64(n))
			}
			return s.press
		}
		if a, b := end(1), end(300); math.Abs(a-b) > 2 {
			t.Errorf("leak %.2f: %.0f Pa in one stride, %.0f Pa in many", leak, a, b)
		}
	}
}

// Dust that comes off a row is in the bin or on a row.
func TestPulseKeepsTheDust(t *testing.T) {
	s := newBench(drawMill(newDice(4), 4))
	for i := range s.m.rows {
		s.row[i] = row{fresh: 0.3, thin: 0.02, thick: 0.1}
	}
	s.settle()
	all := func() float64 {
		sum := s.binKg + s.hopKg
		for i := range s.m.rows {
			sum += s.row[i].mean() * s.m.area
		}
		return sum
	}
	before := all()
	s.m.bin.full, s.m.bin.hopper = 1e6, 1e6
	if kg := s.knock(1, 1, 10); kg <= 0 {
		t.Error("a good pulse brings nothing down")
	}
	if math.Abs(all()-before) > 1e-9*before {
		t.Errorf("%.6f kg before, %.6f kg after", before, all())
	}
}
