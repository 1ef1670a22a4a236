package wash

import (
	"math"
	"testing"

	"dustwright/bench/causes/made"
	"dustwright/judge"
	"dustwright/sense"
)

var bounds = map[sense.Channel][2]float64{sense.DP: {-5000, 5000}, sense.AfterfilterDP: {0, 1000}, sense.Header: {0, 10 * bar}, sense.HeaderLow: {0, 10 * bar},
	sense.InletSP: {-6000, 300}, sense.Running: {0, 1}, sense.Cleaning: {0, 1}, sense.Emission: {0, 100}, sense.BinLevel: {0, 1}, sense.Damper: {0, 1},
	sense.Humidity: {0, 1}, sense.Temperature: {230, 360}}

// Every cause shows beside the machine without it, and leaves a log and a file that can be.
func TestEveryCause(t *testing.T) {
	draw := func(i uint64, c judge.Cause) (*made.Trial, error) { return drawCause(i, c, 15) }
	if err := made.EveryCause(made.Ending(draw), bounds); err != nil {
		t.Error(err)
	}
}

// The same seed gives the same trial; shares and onsets are as the package says.
func TestDraw(t *testing.T) {
	if err := made.Twice(func(seed uint64) (*made.Trial, error) { return drawCause(seed, causeOf(seed), 14) }, 5); err != nil {
		t.Error(err)
	}
	well, first := 0, 0
	const n, from, end = 2000, settling * day, 90 * day
	p := newPlant(made.Throw(1, 1))
	for seed := range uint64(n) {
		if causeOf(seed) == judge.None {
			well++
		}
		f := newTrouble(made.Throw(seed, 9), judge.ValveWeak, p, from, end)
		if age := end - f.onset; f.onset == from {
			first++
		} else if age < 0.5*day || age > 45*day {
			t.Fatalf("onset %g days before the end", age/day)
		}
		if f.number < 1 || f.number > p.rows || f.severity < 0.25 || f.severity > 1 {
			t.Fatalf("valve %d of %d, severity %g", f.number, p.rows, f.severity)
		}
	}
	if w, f := float64(well)/n, float64(first)/n; math.Abs(w-soundShare) > 0.04 || math.Abs(f-0.06) > 0.02 {
		t.Errorf("%.3f are sound, %.3f of the faults begin with the log", w, f)
	}
}

// What is laid on the media and not in the bin is still there; a weak pulse takes off less, one on damp cake less than on
// dry, and one with the fan standing leaves less behind.
func TestShake(t *testing.T) {
	p := newPlant(made.Throw(3, 1))
	held := func(b *bank) float64 {
		sum := 0.0
		for i := range b.rows {
			for j := range strips {
				sum += b.rows[i].cake[j] * p.area / float64(p.rows) / strips
			}
		}
		return sum
	}
	after := func(blow, wet float64, draws bool) float64 {
		b := newBank(p, 0)
		b.wet = wet
		b.measure(p)
		before := held(&b)
		b.deal(p, 2*p.load*p.area)
		dealt := held(&b) - before
		fell := 0.0
		for i := range b.rows {
			fell += b.shake(p, i, blow, draws)
		}
		if got := held(&b) + fell - before; math.Abs(got-dealt) > 1e-9*dealt || dealt <= 0 || fell <= 0 {
			t.Errorf("%g kg came, %g kg are held or fell", dealt, got)
		}
		return held(&b)
	}
	usual := after(1, 0, true)
	if weak, damp, still := after(0.6, 0, true), after(1, 1, true), after(1, 0, false); weak <= usual || damp <= usual || still >= usual {
		t.Errorf("a pulse leaves %g kg, a weak one %g, of damp cake %g, with the fan off %g", usual, weak, damp, still)
	}
}

// Fan and losses meet, and halfway between the set points a machine with new after-filter moves about design flow.
func TestBlow(t *testing.T) {
	for seed := range uint64(8) {
		d := made.Throw(seed, 4)
		p := newPlant(d)
		m := newMachine(p, newSheet(d, 2, p), 0.5)
		m.on, m.density, m.clog = true, p.air, 1.2
		m.bank.lets = p.flow / ((p.low+p.high)/2 - p.can)
		e := sound()
		for range 30 {
			m.blow(&e)
		}
		if math.Abs(m.x-1) > 0.12 {
			t.Errorf("seed %d: moves %.3f of design flow", seed, m.x)
		}
		n := 1.0
		if p.drive.fitted {
			n = m.speed
		}
		loss := m.suction + m.dp + m.afterDP + m.blade(&e)*m.x*m.x
		if head := p.fan.head(m.x, n); math.Abs(head-loss) > 0.02*head {
			t.Errorf("seed %d: the fan gives %g Pa, the losses take %g", seed, head, loss)
		}
	}
}

// The header falls with a pulse, comes back to where it is set and no higher, not at all without shop air, and not quite
// where a valve bleeds.
func TestTank(t *testing.T) {
	p := newPlant(made.Throw(5, 1))
	s := &p.tank
	h := tank{s.set, s.set}
	if hit := h.pulse(p, p.onTime, 1); math.Abs(hit-1) > 1e-9 || h.p >= s.set || h.lowest != h.p {
		t.Errorf("a pulse hits with %g and leaves %g of %g Pa", hit, h.p, s.set)
	}
	full := h.later(s, 300, air{s.set, s.set + 2*bar, 1, 0})
	if full > s.set || full < 0.98*s.set {
		t.Errorf("comes back to %g of %g Pa", full, s.set)
	}
	if none := h.later(s, 300, air{s.set, 0, 1, 0}); none > h.p {
		t.Errorf("rises to %g Pa without air", none)
	}
	if bled := h.later(s, 300, air{s.set, s.set + 2*bar, 1, s.feed / s.set}); bled >= full {
		t.Errorf("bleeding it stands at %g Pa, tight at %g", bled, full)
	}
}

// A plugged line holds what it held: with the fan off the gauge does not come to nothing at once.
func TestFeel(t *testing.T) {
	p := newPlant(made.Throw(6, 1))
	m := newMachine(p, newSheet(made.Throw(6, 2), 2, p), 0.5)
	e := sound()
	m.suction, m.dp = 900, 700
	if m.feel(&e, 60); math.Abs(m.gauge-700) > 1 {
		t.Errorf("the gauge reads %g", m.gauge)
	}
	e.slowHigh = 40 * hour
	m.suction, m.dp = 0, 0
	if m.feel(&e, 60); m.gauge > -800 {
		t.Errorf("plugged and with the fan off it reads %g", m.gauge)
	}
}
