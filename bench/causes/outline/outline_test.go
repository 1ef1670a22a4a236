package outline

import (
	"math"
	"slices"
	"testing"

	"dustwright/bench/causes/made"
	"dustwright/judge"
	"dustwright/sense"
)

func TestDrawIsTheSameForASeed(t *testing.T) {
	for _, seed := range []uint64{3, 8} {
		if err := made.Twice(Draw, seed); err != nil {
			t.Error(err)
		}
	}
}

func TestEveryCauseHasItsWays(t *testing.T) {
	count := map[string]int{}
	for _, y := range ways {
		count[y.cause]++
		if y.least <= 0 || y.most <= y.least || y.effect != nil && y.top <= 0 {
			t.Errorf("%s, %s: bounds %v to %v, knob to %v", y.cause, y.name, y.least, y.most, y.top)
		}
	}
	for _, e := range judge.Causes() {
		if n := count[string(e.Name)]; e.Name != judge.None && (n < 2 || n > 4) {
			t.Errorf("%s has %d ways, want 2 to 4", e.Name, n)
		}
		if e.Name != judge.None && e.Numbered != numbered(string(e.Name)) {
			t.Errorf("%s: numbered is %v", e.Name, numbered(string(e.Name)))
		}
		delete(count, string(e.Name))
	}
	if len(count) > 0 {
		t.Errorf("causes nobody knows: %v", count)
	}
}

func TestTrialsArePlausible(t *testing.T) {
	n := 40
	if testing.Short() {
		n = 16
	}
	sound, stories, start := 0, 0, 0
	for seed := range uint64(n) {
		tr, err := Draw(500 + seed)
		if err != nil {
			t.Fatal(err)
		}
		if err := tr.Collector.Validate(); err != nil {
			t.Errorf("seed %d: %v", seed, err)
		}
		plausible(t, seed, tr)
		if tr.Truth == none {
			sound++
			if tr.Story != "" && tr.Story != "quiet" {
				stories++
			}
		}
		if tr.Old > 29 {
			start++
		}
	}
	if sound < n/5 || sound > n*3/5 {
		t.Errorf("%d of %d are sound", sound, n)
	}
	if stories < sound/2 {
		t.Errorf("%d of %d sound ones have a story", stories, sound)
	}
	if start > n/4 {
		t.Errorf("%d of %d faults are as old as the log", start, n)
	}
}

func plausible(t *testing.T, seed uint64, tr *made.Trial) {
	t.Helper()
	s := tr.Series
	if s.Len() < 500 || !slices.IsSorted(s.Time) || len(slices.Compact(slices.Clone(s.Time))) != s.Len() {
		t.Fatalf("seed %d: %d rows, or out of order", seed, s.Len())
	}
	days := float64(s.Time[s.Len()-1]-s.Time[0]) / 86400e9
	if days < leastDays-7 || days > mostDays+7 {
		t.Errorf("seed %d: %.0f days", seed, days)
	}
	if numbered(tr.Truth) != (tr.Number > 0) || tr.Number > tr.Collector.Filters.Rows {
		t.Errorf("seed %d: %s %d", seed, tr.Truth, tr.Number)
	}
	if tr.Truth != none && (tr.Severity < 0.25 || tr.Severity > 1 || tr.Old < 0.1) {
		t.Errorf("seed %d: %s severity %.2f, %.1f days old", seed, tr.Truth, tr.Severity, tr.Old)
	}
	bounds := map[sense.Channel][2]float64{sense.Header: {0, 200 * psi}, sense.HeaderLow: {0, 200 * psi}, sense.Flow: {0, 60}, sense.FlowIndex: {0, 1e3},
		sense.FanCurrent: {0, 2000}, sense.FanPower: {0, 3e5}, sense.Damper: {0, 1}, sense.InletSP: {-6000, 150}, sense.DP: {-4000, 4000}, sense.BinLevel: {0, 1.2},
		sense.Temperature: {240, 360}, sense.Humidity: {0, 1}, sense.Barometer: {75000, 106000}, sense.Emission: {0, 1000}}
	if err := tr.Check(bounds); err != nil {
		t.Errorf("seed %d: %v", seed, err)
	}
}

// Beside the same machine without it, a trouble leaves the log before its onset as it was, and moves at least
// one channel afterwards by more than its noise.
func TestTroubleAgainstItsTwin(t *testing.T) {
	for i, cause := range causes() {
		for j, severity := range []float64{0.3, 0.9} {
			if testing.Short() && j != i%2 {
				continue
			}
			want := wish{cause: cause, severity: severity, logic: logic(1 + i%4)}
			ill, from, err := draft(uint64(900+i), want)
			if err != nil {
				t.Errorf("%s %.2f: %v", cause, severity, err)
				continue
			}
			want.well = true
			well, err := attempt(from, want)
			if err != nil {
				t.Errorf("%s %.2f: twin: %v", cause, severity, err)
				continue
			}
			onset := ill.At.UnixNano() - int64(ill.Old*86400e9)
			n, _ := slices.BinarySearch(ill.Series.Time, onset-600e9)
			for c := range sense.NumChannels {
				if col := ill.Series.Col[c]; col != nil && !made.Alike(col[:n], well.Series.Col[c][:n]) {
					t.Errorf("%s %.2f: %v differs before the onset", cause, severity, c)
				}
			}
			if !apart(ill, well, onset) {
				t.Errorf("%s %.2f (%s %d, %.1f days old): no channel shows it", cause, severity, ill.Collector.Cleaning.Mode, ill.Number, ill.Old)
			}
		}
	}
}

// apart reports that some channel's mean or deciles in the last days differ by 1.5 %, or the header in the
// rows that end with the valve that is meant.
func apart(ill, well *made.Trial, onset int64) bool {
	from := max(onset, ill.At.UnixNano()-3*86400e9)
	for c := range sense.NumChannels {
		a, b := recent(ill.Series, c, from, 0), recent(well.Series, c, from, 0)
		if c == sense.Temperature || c == sense.Humidity || c == sense.Barometer || len(a) == 0 || len(b) == 0 {
			continue
		}
		for _, q := range []float64{0.1, 0.5, 0.9} {
			x, y := a[int(q*float64(len(a)-1))], b[int(q*float64(len(b)-1))]
			if math.Abs(x-y) > 0.015*math.Abs(y) {
				return true
			}
		}
		if math.Abs(mean(a)-mean(b)) > 0.015*math.Abs(mean(b)) {
			return true
		}
	}
	a, b := mean(recent(ill.Series, sense.HeaderLow, from, ill.Number)), mean(recent(well.Series, sense.HeaderLow, from, ill.Number))
	return math.Abs(a-b) > 0.005*b
}

// recent gives a channel's sorted readings since a time, of rows that end with a valve if one is given.
func recent(s *sense.Series, c sense.Channel, from int64, valve int) []float64 {
	var out []float64
	k := 0
	for i, v := range s.Col[c] {
		last := 0
		for ; k < len(s.Pulses) && int(s.Pulses[k].Row) <= i; k++ {
			last = int(s.Pulses[k].Valve)
		}
		if s.Time[i] >= from && !math.IsNaN(v) && (valve == 0 || last == valve) {
			out = append(out, v)
		}
	}
	slices.Sort(out)
	return out
}
