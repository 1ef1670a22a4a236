package pastel

import (
	"math"
	"testing"

	"dustwright/bench/causes/made"
	"dustwright/judge"
	"dustwright/sense"
)

var bounds = map[sense.Channel][2]float64{sense.DP: {-1000, 5000}, sense.AfterfilterDP: {0, 1000}, sense.Header: {0, 10 * bar}, sense.HeaderLow: {0, 10 * bar},
	sense.InletSP: {-4000, 0}, sense.Running: {0, 1}, sense.Cleaning: {0, 1}, sense.Emission: {0, 100}, sense.BinLevel: {0, 1}, sense.Damper: {0, 1}}

// Every cause shows beside the machine without it, and leaves a log and a file that can be.
func TestEveryCause(t *testing.T) {
	draw := func(i uint64, c judge.Cause) (*made.Trial, error) { return drawCause(i, c, 21) }
	if err := made.EveryCause(made.Ending(draw), bounds); err != nil {
		t.Error(err)
	}
}

// The same seed gives the same trial; shares and onsets are as the package says.
func TestDraw(t *testing.T) {
	if err := made.Twice(func(seed uint64) (*made.Trial, error) { return drawCause(seed, causeOf(seed), 21) }, 4); err != nil {
		t.Error(err)
	}
	well, first := 0, 0
	const n, end = 2000, 90 * day
	p := newPlant(cast(1, 1))
	for seed := range uint64(n) {
		if causeOf(seed) == judge.None {
			well++
		}
		f := newTrouble(cast(seed, 9), p, judge.FanWeak, lead*day, end)
		if age := end - f.onset; f.onset == lead*day {
			first++
		} else if age < 3*hour || age > 60*day {
			t.Fatalf("onset %g hours before the end", age/hour)
		}
	}
	if w, f := float64(well)/n, float64(first)/n; math.Abs(w-soundShare) > 0.04 || math.Abs(f-0.06) > 0.02 {
		t.Errorf("%.3f are sound, %.3f of the faults begin with the log", w, f)
	}
}

// What comes in is on the filters, in the bin, through them or taken away; fan and system meet.
func TestConserved(t *testing.T) {
	for seed := range uint64(6) {
		l := cast(seed, 5)
		p, cal := newPlant(l), newCalendar(l)
		m := newMachine(l, p)
		held := func() float64 {
			sum := m.bin + m.away + m.passed
			for i := range m.cake {
				sum += (m.cake[i] + m.layer[i]) * m.rowArea()
			}
			return sum
		}
		before := held()
		r := &runner{p: p, m: m, slots: cal.write(l, p, 3), log: newHistorian(l, p, 3, seed), noise: l,
			trouble: trouble{cause: judge.FilterLeak, number: 2, severity: 1, onset: 5 * day}}
		r.run(0, len(r.slots))
		if got := held() - before; math.Abs(got-m.came) > 1e-6*m.came || m.came <= 0 || m.passed <= 0 {
			t.Errorf("seed %d: %g kg came, %g kg more are held", seed, m.came, got)
		}
		s, e := slot{run: true, open: p.open, density: p.air(), thick: 1}, sound()
		m.after = p.after
		m.balance((p.low+p.high)/2, &s, &e)
		if math.Abs(m.x-1) > 1e-3 {
			t.Errorf("seed %d: between its set points it moves %.3f of design flow", seed, m.x)
		}
	}
}

// A pulse takes off more the more it stresses the cake, less damp cake, more with the fan off, and never all. The header
// falls by a valve and rises to where the regulator closes.
func TestPulse(t *testing.T) {
	p := newPlant(cast(3, 5))
	usual, wet := sound(), sound()
	wet.sticky = 2
	left := func(stress float64, run bool, e *effects) float64 {
		m := newMachine(cast(3, 6), p)
		m.cake[0] = 1
		m.shed(0, stress, &slot{run: run, loose: 1}, e)
		return m.cake[0]
	}
	a, b, c, d := left(0.5, true, &usual), left(1, true, &usual), left(1, false, &usual), left(1, true, &wet)
	if a <= b || b <= c || d <= b || c <= 0 || left(0, true, &usual) < 1-p.grips {
		t.Errorf("a pulse leaves %g, at half the stress %g, with the fan off %g, of damp cake %g", b, a, c, d)
	}
	m, s := newMachine(cast(3, 7), p), slot{line: 1, set: 1}
	if m.pulse(1, &s, &usual); m.head >= p.set {
		t.Errorf("the header stays at %g", m.head)
	}
	low := m.head
	m.refill(120, &s, &usual)
	if m.head < p.set-0.05*p.droop || m.head > p.set || m.headLow != low {
		t.Errorf("from %g it rises to %g, the regulator is set to %g", low, m.head, p.set)
	}
	if choke(0.2, 0.3) != 1 || choke(1, 0.3) != 0 || choke(0.5, 0.3) <= choke(0.6, 0.3) {
		t.Error("the flow does not fall with the ratio of pressures")
	}
}
