package etch

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"dustwright/bench/causes/made"
	"dustwright/judge"
	"dustwright/sense"
)

// bounds of what can be read on such machines.
var bounds = map[sense.Channel][2]float64{
	sense.DP: {-5000, 5000}, sense.AfterfilterDP: {0, 1250}, sense.Flow: {0, 60}, sense.Header: {0, 1e6}, sense.HeaderLow: {0, 1e6},
	sense.FanCurrent: {0, 2000}, sense.FanPower: {0, 5e5}, sense.InletSP: {-2500, 50}, sense.Damper: {0, 1}, sense.Running: {0, 1},
	sense.Cleaning: {0, 1}, sense.Temperature: {240, 330}, sense.Humidity: {0, 1}, sense.Barometer: {8e4, 1.07e5},
	sense.Emission: {0, 100}, sense.BinLevel: {0, 1},
}

func TestTrialsAreValid(t *testing.T) {
	for seed := range uint64(18) {
		trial, err := Draw(seed)
		if err != nil {
			t.Fatal(err)
		}
		if err := trial.Check(bounds); err != nil {
			t.Errorf("seed %d, %s: %v", seed, trial.Truth, err)
		}
		if err := made.Flaw(trial.Collector); err != nil {
			t.Errorf("seed %d: %v", seed, err)
		}
		s := trial.Series
		if n := s.Len(); n < 1000 || n > 250000 {
			t.Errorf("seed %d: %d rows", seed, n)
		}
		for i := 1; i < s.Len(); i++ {
			if s.Time[i] <= s.Time[i-1] {
				t.Fatalf("seed %d: row %d is not after the one before", seed, i)
			}
		}
		for _, ch := range []sense.Channel{sense.DP, sense.Header, sense.Running, sense.Temperature} {
			if share := present(s.Col[ch]); share < 0.6 {
				t.Errorf("seed %d: %v has readings in %.2f of the rows", seed, ch, share)
			}
		}
	}
}

func present(v []float64) float64 {
	n := 0
	for _, x := range v {
		if !math.IsNaN(x) {
			n++
		}
	}
	return float64(n) / float64(max(1, len(v)))
}

func TestSameSeedSameTrial(t *testing.T) {
	for _, seed := range []uint64{5, 6} {
		if err := made.Twice(Draw, seed); err != nil {
			t.Error(err)
		}
	}
}

func TestSharesOfCauses(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	seen := map[judge.Cause]int{}
	const n = 20000
	for range n {
		seen[wrong(r)]++
	}
	if share := float64(seen[judge.None]) / n; math.Abs(share-0.4) > 0.02 {
		t.Errorf("%.3f are healthy; want 0.4", share)
	}
	want := 0.6 * n / float64(len(made.Causes()))
	for _, c := range made.Causes() {
		if got := float64(seen[judge.Cause(c)]); math.Abs(got/want-1) > 0.2 {
			t.Errorf("%s was drawn %.0f times; want about %.0f", c, got, want)
		}
	}
}

func TestEveryCauseShowsBesideItsTwin(t *testing.T) {
	for i, c := range made.Causes() {
		trial, err := drawAs(judge.Cause(c), rand.New(rand.NewPCG(uint64(i), 3)))
		if err != nil {
			t.Error(err)
			continue
		}
		e, _ := judge.CauseOf(judge.Cause(c))
		if trial.Truth != c || e.Numbered != (trial.Number > 0) || trial.Severity < 0.25 || trial.Severity > 1 || trial.Old <= 0 {
			t.Errorf("%s was drawn as %s of number %d, severity %.2f, %.1f days old", c, trial.Truth, trial.Number, trial.Severity, trial.Old)
		}
	}
}

// TestTwinsAreAlikeWithoutTrouble: what makes the twins differ is the trouble and nothing else.
func TestTwinsAreAlikeWithoutTrouble(t *testing.T) {
	b := plain(4)
	b.way = trouble{cause: judge.FanWeak, kind: 4, onset: b.end - 3*day}
	d := gauge(b, rand.New(rand.NewPCG(4, 4)))
	b.way.severity = -0.5 // nothing is taken off the fan
	if _, shows := play(b, d); shows {
		t.Error("a trouble without effect shows")
	}
	b.way.severity = 1
	if _, shows := play(b, d); !shows {
		t.Error("a fan that has lost half its head does not show")
	}
}

// plain is a machine without stories.
func plain(seed uint64) *bench {
	b := lay(rand.New(rand.NewPCG(seed, 2)))
	b.end = min(b.end, 20*day)
	b.way = trouble{cause: judge.None}
	return b
}

func TestFanAndSystemMeet(t *testing.T) {
	for seed := range uint64(30) {
		b := plain(seed)
		s := newState(b)
		s.solve(b, unharmed(), b.thin)
		fan := b.thin * b.head * curve(s.q/b.most)
		system := s.dp + s.after*s.q + b.thin*(b.inlet+b.cabinet+b.open*math.Pow(s.damper, -b.law))*s.q*s.q
		if math.Abs(fan/system-1) > 1e-9 {
			t.Errorf("machine %d: fan %.3f Pa, system %.3f Pa", seed, fan, system)
		}
		var rows float64
		for i := range b.rows {
			rows += s.filters * b.area / (s.drag[i] + b.k2*s.cake[i])
		}
		if math.Abs(rows/s.q-1) > 1e-9 {
			t.Errorf("machine %d: the rows take %.4f of %.4f m3/s", seed, rows, s.q)
		}
	}
}

// TestTroublesTurnTheFlowTheRightWay: each trouble of the air, ever graver, moves flow and pressures one way.
func TestTroublesTurnTheFlowTheRightWay(t *testing.T) {
	flow := func(s *state) float64 { return s.q }
	hood := func(s *state) float64 { return s.hood }
	suction := func(s *state) float64 { return -s.tap }
	dp := func(s *state) float64 { return s.dp }
	for _, c := range []struct {
		cause judge.Cause
		kind  int
		of    func(*state) float64
		sign  float64
	}{
		{judge.AirflowLow, 1, flow, -1}, {judge.AirflowHigh, 1, flow, 1}, {judge.DuctBlocked, 1, flow, -1}, {judge.DuctBlocked, 1, suction, 1},
		{judge.LeakInward, 0, flow, 1}, {judge.LeakInward, 0, hood, -1}, {judge.LeakInward, 1, suction, -1}, {judge.FanWeak, 0, flow, -1},
		{judge.FanWeak, 2, flow, -1}, {judge.FanWeak, 4, suction, -1}, {judge.FiltersBlinded, 0, dp, 1}, {judge.CakeDamp, 0, dp, 1},
	} {
		b := plain(7)
		s := newState(b)
		s.cake[0] = 0.05
		s.damper = 0.5
		s.solve(b, unharmed(), b.thin)
		last := c.of(s)
		for severity := 0.1; severity <= 1; severity += 0.1 {
			w := trouble{cause: c.cause, kind: c.kind, severity: severity}
			s.solve(b, w.at(1, 2), b.thin)
			if got := c.of(s); (got-last)*c.sign <= 0 {
				t.Errorf("%s, kind %d, severity %.1f: %.5g after %.5g", c.cause, c.kind, severity, got, last)
			} else {
				last = got
			}
		}
	}
}

// TestDustIsConserved: what came in stands on the rows, lies in the bin or has passed.
func TestDustIsConserved(t *testing.T) {
	for _, cause := range []judge.Cause{judge.None, judge.BinOverfull, judge.CakeDamp} {
		b := plain(11)
		b.emptyAt = math.Inf(1)
		b.end = 8 * day
		b.way = trouble{cause: cause, severity: 0.8, onset: 4 * day}
		s := newState(b)
		before := s.dust(b)
		b.run(s, newRecord(b), b.end)
		if got := s.dust(b) + s.through - before; s.made == 0 || math.Abs(got/s.made-1) > 1e-9 {
			t.Errorf("%s: %.6f kg came in, %.6f kg are found", cause, s.made, got)
		}
	}
}

func (s *state) dust(b *bench) float64 {
	sum := s.held
	for _, c := range s.cake {
		sum += c * b.area
	}
	return sum
}

func TestHeader(t *testing.T) {
	b := plain(3)
	rest := func(h harm) float64 {
		s := newState(b)
		s.now = h
		s.refill(b, 3600)
		return s.press
	}
	b.unsteady = 0
	sound := rest(unharmed())
	if sound > b.set || sound < b.set-b.droop {
		t.Errorf("the header rests at %.0f Pa; the regulator is at %.0f Pa", sound, b.set)
	}
	last := sound
	for bleed := 0.2; bleed < 2; bleed += 0.3 {
		h := unharmed()
		h.bleed = bleed
		got := rest(h)
		if got >= last {
			t.Errorf("bleeding %.1f of the supply it rests at %.0f Pa, not below %.0f Pa", bleed, got, last)
		}
		last = got
	}
	s := newState(b)
	s.refill(b, 600)
	full := s.press
	s.pulse(b, 1)
	want := (full+atm)*math.Exp(-atm*b.valve*b.onTime/b.volume) - atm
	if math.Abs(s.press-want) > 1 {
		t.Errorf("a pulse leaves %.0f Pa; want %.0f Pa", s.press, want)
	}
	before := s.press
	s.refill(b, 1)
	early := s.press
	s.refill(b, 300)
	if !(early > before && s.press >= early && math.Abs(s.press-full) < 0.01*full) {
		t.Errorf("it recovers %.0f, %.0f, %.0f Pa; before the pulse it was at %.0f Pa", before, early, s.press, full)
	}
}

// TestAWeakPulseCleansLess: less cake comes off with a lower header, a weaker valve, and none with a dead one.
func TestAWeakPulseCleansLess(t *testing.T) {
	off := func(press, weak, miss float64) float64 {
		b := plain(3)
		b.way.number = 1
		s := newState(b)
		s.cake[0], s.press = 0.2, press*b.set
		s.now.weak, s.now.miss = weak, miss
		s.pulse(b, 1)
		return 0.2 - s.cake[0]
	}
	full := off(1, 0, 0)
	if low, weak, dead := off(0.6, 0, 0), off(1, 0.5, 0), off(1, 0, 1); low >= full || weak >= full || weak <= 0 || dead != 0 {
		t.Errorf("a pulse takes off %.4f; %.4f with a low header, %.4f from a weak valve, %.4f from a dead one", full, low, weak, dead)
	}
}

// TestTheLeakingRowPuffs: the leak detector rises with the pulse of a row with a hole, in the same step.
func TestTheLeakingRowPuffs(t *testing.T) {
	rise := func(valve int) float64 {
		b := plain(3)
		b.way.number = 2
		s := newState(b)
		s.running, s.now.hole = true, 4
		s.pulse(b, valve)
		first := s.puffs(10)
		if later := s.puffs(10); later >= first || later <= 0 {
			t.Errorf("a puff of %.2f is followed by %.2f", first, later)
		}
		return first
	}
	if sound, leaking := rise(1), rise(2); leaking < 2*sound {
		t.Errorf("a sound row puffs %.2f, a leaking one %.2f", sound, leaking)
	}
}

func TestGaugeLines(t *testing.T) {
	shows := func(h harm, dt float64) float64 {
		s := &state{running: true, cabinet: -900, dp: 700, now: h}
		s.sense(dt)
		return s.gauge
	}
	h := unharmed()
	if got := shows(h, 10); got != 700 {
		t.Errorf("sound lines show %v Pa of 700", got)
	}
	h.crack = 1
	if got := shows(h, 10); got != -900 {
		t.Errorf("with the clean line off it shows %v Pa; want -900", got)
	}
	h = unharmed()
	h.crossed = true
	if got := shows(h, 10); got != -700 {
		t.Errorf("crossed lines show %v Pa; want -700", got)
	}
	h = unharmed()
	h.clean, h.dirty = 1e9, 1e9
	if got := shows(h, 10); math.Abs(got) > 1 {
		t.Errorf("plugged lines follow to %v Pa", got)
	}
}

func TestTroublesAreThereAtTheEnd(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	for _, c := range made.Causes() {
		b := plain(r.Uint64())
		w := contrive(judge.Cause(c), b, r)
		if g := w.grown(b.end, b.end); g < 0.999 {
			t.Errorf("%s has grown to %.3f at the end", c, g)
		}
		if g := w.grown(w.onset-1, b.end); g != 0 {
			t.Errorf("%s has grown to %.3f before its onset", c, g)
		}
	}
}

func TestDials(t *testing.T) {
	b := plain(1)
	clean := []float64{1, 2, 3, 4.04, 5}
	rec := &record{time: []float64{60, 120, 180, 240, 300}}
	r := rand.New(rand.NewPCG(1, 1))
	for _, c := range []struct {
		name string
		dial dial
		want []float64
	}{
		{"perfect", dial{high: 10}, clean},
		{"gain and zero", dial{high: 10, gain: 1, zero: -1}, []float64{1, 3, 5, 7.08, 9}},
		{"display", dial{high: 10, step: 0.5}, []float64{1, 2, 3, 4, 5}},
		{"range", dial{low: 2, high: 4}, []float64{2, 2, 3, 4, 4}},
		{"late", dial{high: 10, late: 200}, []float64{math.NaN(), math.NaN(), math.NaN(), 4.04, 5}},
		{"stuck", dial{high: 10, sticks: 1, stick: 9}, []float64{1, 1, 1, 1, 1}},
	} {
		got := c.dial.read(b, rec, clean, r)
		for i := range got {
			if math.Abs(got[i]-c.want[i]) > 1e-9 || math.IsNaN(got[i]) != math.IsNaN(c.want[i]) {
				t.Errorf("%s: %v; want %v", c.name, got, c.want)
				break
			}
		}
	}
}

func TestPulsesOfMissingRows(t *testing.T) {
	fired := []sense.Firing{{Row: 0, Valve: 1}, {Row: 1, Valve: 2}, {Row: 2, Valve: 3}, {Row: 9, Valve: 4}}
	rows := []int{0, 2, 20}
	if got, want := refire(fired, rows, true), []sense.Firing{{Row: 0, Valve: 1}, {Row: 1, Valve: 3}}; !reflect.DeepEqual(got, want) {
		t.Errorf("lost: %v; want %v", got, want)
	}
	if got, want := refire(fired, rows, false), []sense.Firing{{Row: 0, Valve: 1}, {Row: 1, Valve: 2}, {Row: 1, Valve: 3}}; !reflect.DeepEqual(got, want) {
		t.Errorf("counted on: %v; want %v", got, want)
	}
}
