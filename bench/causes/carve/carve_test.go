package carve

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"dustwright/bench/causes/made"
	"dustwright/judge"
	"dustwright/sense"
)

// bounds are what instruments of such machines can show.
var bounds = map[sense.Channel][2]float64{
	sense.DP: {-2500, 2500}, sense.AfterfilterDP: {-1000, 1000}, sense.InletSP: {-4000, 200}, sense.Flow: {0, 20},
	sense.Header: {0, 8e5}, sense.HeaderLow: {0, 8e5}, sense.FanCurrent: {0, 400}, sense.FanPower: {0, 2e5}, sense.Damper: {0, 1},
	sense.Running: {0, 1}, sense.Cleaning: {0, 1}, sense.Temperature: {250, 350}, sense.Humidity: {0, 1}, sense.Barometer: {8e4, 1.1e5},
	sense.Emission: {0, 500}, sense.BinLevel: {0, 1}, sense.BinMass: {1, 1e5},
}

func TestTrialsAreSound(t *testing.T) {
	for seed := uint64(1); seed <= 14; seed++ {
		got, err := Draw(seed)
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		if err := got.Check(bounds); err != nil {
			t.Errorf("seed %d, %s: %v", seed, got.Truth, err)
		}
		if err := got.Collector.Validate(); err != nil {
			t.Errorf("seed %d: %v", seed, err)
		}
		s := got.Series
		if n := s.Len(); n < 60 || n > 200000 || s.Time[n-1] > got.At.UnixNano() || !slices.IsSorted(s.Time) {
			t.Errorf("seed %d: %d rows to %v, the log ends %v", seed, n, s.When(n-1), got.At)
		}
		for ch := range sense.NumChannels {
			if ch == sense.BinMass || s.Col[ch] == nil {
				continue
			}
			lost := 0
			for _, v := range s.Col[ch] {
				if math.IsNaN(v) {
					lost++
				}
			}
			if lost*20 > s.Len() {
				t.Errorf("seed %d: %v has no reading in %d of %d rows", seed, ch, lost, s.Len())
			}
		}
	}
}

func TestSameSeedSameTrial(t *testing.T) {
	for _, seed := range []uint64{3, 10} {
		if err := made.Twice(Draw, seed); err != nil {
			t.Error(err)
		}
	}
}

func TestShares(t *testing.T) {
	const n = 6000
	by := map[judge.Cause]int{}
	well, told := 0, 0
	for seed := range uint64(n) {
		_, s := open(seed)
		if s.f == nil {
			well++
			told += int(b2f(s.story.name != "quiet"))
			continue
		}
		by[s.f.cause]++
		if s.f.severity < 0.25 || s.f.severity > 1 || s.f.number > s.p.rows || s.f.from < 0 {
			t.Fatalf("seed %d: %+v of %d rows", seed, s.f, s.p.rows)
		}
	}
	if x := float64(well) / n; math.Abs(x-healthy) > 0.03 {
		t.Errorf("%.2f are healthy, want %.2f", x, healthy)
	}
	if x := float64(told) / float64(well); x < 0.65 || x > 0.95 {
		t.Errorf("%.2f of the healthy carry a story", x)
	}
	each := float64(n-well) / float64(len(made.Causes()))
	for _, c := range made.Causes() {
		if x := float64(by[judge.Cause(c)]); x < 0.65*each || x > 1.35*each {
			t.Errorf("%s comes %v times, others %v", c, x, each)
		}
	}
}

// gross is a scene with a cause at its worst for the last third of three weeks.
func gross(seed uint64, cause judge.Cause) *scene {
	r := rand.New(rand.NewPCG(seed, 4))
	s := newScene(r, true)
	s.story, s.crew = &story{name: "quiet"}, crew{empties: 0.6, late: 9, shared: true, last: -1}
	s.p.mode, s.book.days, s.book.step, s.book.form = "on-demand", 21, 300, "average"
	for s.f = newTrouble(r, s.p, 21); s.f.cause != cause; {
		s.f = newTrouble(r, s.p, 21)
	}
	s.f.severity, s.f.ramp, s.f.old, s.f.from = 1, 0, 7, 14*day
	s.f.kind, s.f.much = 0.3, 0.5
	s.place()
	return s
}

// TestEachCauseShows: what a cause moves goes the way physics has it, beside the same machine
// without it, and the twin shows nothing beside itself.
func TestEachCauseShows(t *testing.T) {
	signs := map[judge.Cause]struct {
		ch   sense.Channel
		sign float64
	}{
		judge.FiltersBlinded: {sense.Pulse, 1}, judge.DustLoadHeavy: {sense.Pulse, 1}, judge.CakeDamp: {sense.Pulse, 1},
		judge.AirflowHigh: {sense.Flow, 1}, judge.AirflowLow: {sense.Flow, -1}, judge.DuctBlocked: {sense.Flow, -1},
		judge.LeakInward: {sense.InletSP, 1}, judge.FanWeak: {sense.FanCurrent, -1}, judge.CleaningOff: {sense.DP, 1},
		judge.HeaderPressureLow: {sense.Header, -1}, judge.ValveDead: {sense.Pulse, 1}, judge.ValveWeak: {sense.Pulse, 1},
		judge.ValveStuckOpen: {sense.Header, -1}, judge.GaugeLineBlocked: {sense.Flow, 0}, judge.GaugeLineOff: {sense.DP, -1},
		judge.FilterLeak: {sense.Emission, 1}, judge.BinOverfull: {sense.BinLevel, 1},
	}
	for _, name := range made.Causes() {
		want, known := signs[judge.Cause(name)]
		if !known {
			t.Errorf("no word on %s", name)
		}
		right, shown, n := 0, 0, 0
		for seed := uint64(1); seed <= 6; seed++ {
			s := gross(seed, judge.Cause(name))
			ms := s.moments()
			with, without := s.run(ms, s.f), s.run(ms, nil)
			running, _ := s.late(ms)
			if len(running) < 100 {
				continue
			}
			n++
			shown += int(b2f(s.shows(ms, with, without)))
			d := look(with.col[want.ch], running).mean - look(without.col[want.ch], running).mean
			right += int(b2f(d*want.sign > 0 || want.sign == 0))
			if s.shows(ms, without, without) {
				t.Errorf("%s: a twin shows beside itself", name)
			}
		}
		if n == 0 || right < n-1 || shown < n-2 {
			t.Errorf("%s: of %d, %d show and %d move %v the right way", name, n, shown, right, want.ch)
		}
	}
}

// TestEachCauseComes: a trial of each cause passes the look beside its twin at any severity.
func TestEachCauseComes(t *testing.T) {
	for _, name := range made.Causes() {
		done := false
		for seed := uint64(1); seed < 30 && !done; seed++ {
			s := gross(seed, judge.Cause(name))
			s.f.severity = 0.25 + 0.02*float64(seed)
			got, err := s.trial()
			if err != nil && !errors.Is(err, errFile) && !errors.Is(err, errHidden) {
				t.Fatal(err)
			}
			done = err == nil && got.Truth == name
		}
		if !done {
			t.Errorf("%s never comes", name)
		}
	}
}

func TestAirBalances(t *testing.T) {
	for seed := range uint64(50) {
		r := rand.New(rand.NewPCG(seed, 9))
		p := newPlant(r)
		a := newAir(p)
		a.cloth, a.gap, a.choke = between(r, 200, 1500)/p.flow, 0.3*a.sum*r.Float64(), between(r, 1, 5)
		a.open, a.speed = between(r, 0.3, 1), between(r, 0.8, 1)
		q := a.total(1.2)
		in, hoods := a.suck(q, 1.2)
		fan := a.speed * a.speed * p.fan(q/p.flow/a.speed)
		if loss := in + q*(a.cloth+a.after) + a.loss()*q*q; math.Abs(loss-fan) > 1e-6*fan {
			t.Errorf("seed %d: the fan makes %v Pa, the way takes %v", seed, fan, loss)
		}
		if through := a.gap * math.Sqrt(in); math.Abs(hoods+through-q) > 1e-9*q {
			t.Errorf("seed %d: %v by hoods and %v by the gap make %v", seed, hoods, through, q)
		}
		for name, change := range map[string]func(*air){"cloth": func(a *air) { a.cloth *= 1.2 }, "damper": func(a *air) { a.open *= 0.8 },
			"duct": func(a *air) { a.choke *= 2 }, "speed": func(a *air) { a.speed *= 0.9 }, "hood": func(a *air) { a.gates *= 0.7 }} {
			b := *a
			if change(&b); b.total(1.2) >= q {
				t.Errorf("seed %d: %s does not lessen the flow", seed, name)
			}
		}
	}
}

func TestDustIsKept(t *testing.T) {
	for seed := range uint64(30) {
		r := rand.New(rand.NewPCG(seed, 11))
		p := newPlant(r)
		c := cloth{p: p, rows: make([]row, p.rows), other: 1}
		c.refresh(600)
		brought, fell := 0.0, 0.0
		for k := range 400 {
			brought += 0.01 * p.area
			c.load(0.01 * p.area)
			c.refresh(700)
			was := c.resist
			fell += c.clean(k%p.rows, 1, 0.6, 0)
			if c.resist >= was {
				t.Fatalf("seed %d: a pulse does not lower the drag", seed)
			}
			if k%7 == 0 {
				fell += c.clean(k%p.rows, 0.5, 0.6, 0.4)
			}
		}
		stuck := 0.0
		for _, w := range c.rows {
			stuck += w.stuck / p.k2 * p.area
		}
		if got := c.held() + stuck + fell + c.air; math.Abs(got-brought) > 1e-9*brought {
			t.Errorf("seed %d: of %v kg, %v are left", seed, brought, got)
		}
	}
}

func TestHeader(t *testing.T) {
	p := newPlant(rand.New(rand.NewPCG(5, 5)))
	fall := func(share, bleed float64) (low, back float64) {
		h := header{p: p}
		h.feed(p.line, 0, 1, bleed)
		h.now = h.target
		h.begin()
		h.fire(share)
		h.wait(p.every)
		return h.lowest, h.now
	}
	full, back := fall(1, 0)
	weak, _ := fall(0.5, 0)
	dead, rest := fall(0, 0)
	if !(full < weak && weak < dead) || dead != rest || back >= rest || back < full {
		t.Errorf("lowest %v, weak %v, dead %v; back to %v of %v", full, weak, dead, back, rest)
	}
	if _, bled := fall(0, 0.3); bled >= rest {
		t.Errorf("a valve that bleeds leaves %v of %v", bled, rest)
	}
}

// TestHabits: shifts keep their hours, gates keep the duct open, and a humid spell is humid.
func TestHabits(t *testing.T) {
	for seed := range uint64(12) {
		r := rand.New(rand.NewPCG(seed, 13))
		p := newPlant(r)
		p.calendar = "one"
		h := newHabits(r, p, 19723)
		sum := 0.0
		for _, g := range p.hoods {
			sum += g
		}
		for i := range 4000 {
			at := float64(i) * 600
			m := h.next(at, 600, &story{name: "quiet"})
			hour, weekday := math.Mod(at, day)/3600, int(at/day)%7 // 5 is a Saturday, with overtime now and then
			if m.work > 0 && (hour < 5 || hour > 17) || m.on && (weekday == 6 || weekday == 5 && (hour < 7 || hour > 13)) {
				t.Fatalf("seed %d: work %v on day %d at %v", seed, m.work, int(at/day), hour)
			}
			if m.open < 0.6*sum-1e-9 || m.open > sum*(1+1e-9) {
				t.Fatalf("seed %d: hoods %v of %v", seed, m.open, sum)
			}
			if m.wet <= 0 || m.wet > 1 || m.temp < 260 || m.temp > 340 || m.line <= 0 || m.work < 0 || m.work > 6 {
				t.Fatalf("seed %d: %+v", seed, m)
			}
		}
	}
	p := newPlant(rand.New(rand.NewPCG(3, 3)))
	dry, humid := newHabits(rand.New(rand.NewPCG(1, 1)), p, 19723), newHabits(rand.New(rand.NewPCG(1, 1)), p, 19723)
	spell := &story{name: "humid spell", until: 9e9, much: 0.2}
	if a, b := dry.next(3600, 60, &story{}), humid.next(3600, 60, spell); b.wet <= a.wet || b.temp != a.temp {
		t.Errorf("a humid spell: %v after %v", b.wet, a.wet)
	}
}
