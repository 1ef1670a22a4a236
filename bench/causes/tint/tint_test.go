package tint

import (
	"math"
	"slices"
	"testing"

	"dustwright/bench/causes/made"
	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
)

var bounds = map[sense.Channel][2]float64{sense.DP: {-125, 2500}, sense.AfterfilterDP: {0, 1000}, sense.Header: {0, 8.5 * bar}, sense.HeaderLow: {0, 8.5 * bar},
	sense.InletSP: {-2500, 0}, sense.Running: {0, 1}, sense.Cleaning: {0, 1}, sense.Emission: {0, 100}, sense.BinLevel: {0, 1}, sense.Damper: {0, 1}}

// Every cause shows beside the machine without it, and leaves a log and a file that can be.
func TestEveryCause(t *testing.T) {
	if err := made.EveryCause(drawCause, bounds); err != nil {
		t.Error(err)
	}
}

// The same seed gives the same trial; shares and onsets are as the package says.
func TestDraw(t *testing.T) {
	if err := made.Twice(Draw, 18); err != nil {
		t.Error(err)
	}
	sound, first := 0, 0
	const n = 2000
	for seed := range uint64(n) {
		if causeOf(seed) == judge.None {
			sound++
		}
		f := newFault(made.Throw(seed, 9), judge.FanWeak, 90*24, 4)
		if f.severity < 0.25 || f.severity > 1 {
			t.Fatalf("severity %g", f.severity)
		}
		if f.onset == 0 {
			first++
		} else if age := 90*24 - f.onset; age < 4 || age > 60*24 {
			t.Fatalf("onset %d hours before the end", age)
		}
		for since := range 90 * 24 {
			if s := f.course(float64(since)); s < f.course(float64(since)-1) || s > f.severity {
				t.Fatalf("seed %d: %g after %d hours, severity %g", seed, s, since, f.severity)
			}
		}
	}
	if s, f := float64(sound)/n, float64(first)/n; math.Abs(s-soundShare) > 0.04 || math.Abs(f-0.07) > 0.02 {
		t.Errorf("%.3f are sound, %.3f of the faults begin with the log", s, f)
	}
}

// A pulse takes off more with more pressure and from a thicker cake, never more than is there; the header falls less with
// a valve that opens less, and comes back to what it is set to, never above.
func TestPulse(t *testing.T) {
	for seed := range uint64(60) {
		m := newMachine(made.Throw(seed, 5))
		span, was, cake := m.high-m.low, 0.0, 0.0
		for u := 0.1; u < 1.3; u += 0.1 {
			off := m.taken(span, m.strength(u*m.set))
			thick := m.taken(u*span, 1)
			if off < was-1e-9 || off > span || thick < cake || thick > u*span || u*m.set < m.needs && off > 0 {
				t.Fatalf("seed %d, law %d: %g off at %g of the pressure, %g before", seed, m.takes, off, u, was)
			}
			was, cake = off, thick
		}
		if weak, dead := m.fallen(m.set, 0.5), m.fallen(m.set, 0); weak <= m.fallen(m.set, 1) || dead != m.set {
			t.Errorf("seed %d: the header falls to %g with half a valve, %g with none", seed, weak, dead)
		}
		low := m.fallen(m.set, 1)
		for last, s := low, 0.0; s < 300; s += 3 {
			p := m.recovered(low, m.set, s, 1)
			if p < last-1e-9 || p > m.set+1e-9 || p < m.recovered(low, m.set, s, 0.5)-1e-9 {
				t.Fatalf("seed %d, law %d: the header is %g after %g s", seed, m.tank, p, s)
			}
			last = p
		}
		if p := m.recovered(low, m.set, m.interval, 1); p < 0.93*m.set {
			t.Errorf("seed %d, law %d: a sound header is at %.2f when the next pulse is due", seed, m.tank, p/m.set)
		}
	}
}

// The gauge's sizes come back through the laws of air: a position, a blockage and a speed give the flow they are drawn for,
// and at it fan and losses meet.
func TestWind(t *testing.T) {
	for seed := range uint64(60) {
		m := newMachine(made.Throw(seed, 5))
		plain := hour{duct: 1, open: m.open, speed: 1, density: m.air}
		for _, x := range []float64{0.55, 0.8, 1} {
			shut, blocked, slow := plain, plain, plain
			shut.open, blocked.duct, slow.speed = m.openFor(x), m.ductFor(x), m.speedFor(x)
			for _, h := range []hour{shut, blocked, slow} {
				if got := m.wind(&h, m.middle(), m.after); math.Abs(got-x) > 1e-6 {
					t.Errorf("seed %d: flow %g where %g is meant", seed, got, x)
				}
			}
		}
		if wide := m.openFor(1 + 0.5*m.reach()); m.reach() <= 0 || wide <= m.open || wide >= 1 {
			t.Errorf("seed %d: open to %g for half of %g more air", seed, wide, m.reach())
		}
		open, thick := plain, m.wind(&plain, 2*m.middle(), m.after)
		if open.gap = 0.5; m.wind(&open, m.middle(), m.after) <= 1 || thick >= 1 {
			t.Errorf("seed %d: a door takes no air, or thick cakes leave %g", seed, thick)
		}
		if m.current(0.8, 1, m.air) >= m.current(1, 1, m.air) || m.current(1, 0.8, m.air) >= m.current(1, 1, m.air) {
			t.Errorf("seed %d: less air or a slower fan takes no less current", seed)
		}
	}
}

// All dust fed is on the rows, in the bin or taken away, with a bin that gives some back too.
func TestDust(t *testing.T) {
	for seed := range uint64(12) {
		d := made.Throw(seed, 5)
		m := newMachine(d)
		hours := newWeek(d).plain(d, m, 8)
		for i := range hours[100:] {
			hours[100+i].back = 0.4
		}
		s := newState(m, hours, 0, d)
		held := func() (sum float64) {
			for _, w := range s.dust {
				sum += w / float64(m.rows)
			}
			return sum
		}
		before := held()
		for i := range len(hours) * 60 {
			s.step(float64(i+1) * 60)
		}
		if out := held() + s.bin + s.gone - before; math.Abs(out-s.fed) > 1e-6*s.fed || s.fed <= 0 || slices.Min(s.dust) < 0 {
			t.Errorf("seed %d: %g is fed, %g found", seed, s.fed, out)
		}
		if s.count == 0 && m.mode != collector.OnDemand {
			t.Errorf("seed %d: no pulses", seed)
		}
	}
}

// A needle that sticks keeps its place, a scale has steps, and ends.
func TestGauge(t *testing.T) {
	g := gauge{least: 0, most: 100, step: 5, scale: 1, sticks: 8, stuckFrom: 50, to: 60}
	for i, c := range []struct{ v, at, want float64 }{{41, 1, 40}, {47, 2, 40}, {53, 3, 55}, {90, 55, 55}, {120, 70, 100}, {-20, 71, 0}} {
		if got := g.read(c.v, c.at, made.Throw(1, 1)); got != c.want {
			t.Errorf("%d: %g reads %g, want %g", i, c.v, got, c.want)
		}
	}
	if g.lost = 1; !math.IsNaN(g.read(50, 80, made.Throw(1, 1))) {
		t.Error("a lost reading arrives")
	}
}
