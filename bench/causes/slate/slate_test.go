package slate

import (
	"math"
	"testing"

	"dustwright/bench/causes/made"
	"dustwright/judge"
	"dustwright/sense"
)

var bounds = map[sense.Channel][2]float64{sense.DP: {-250, 3000}, sense.AfterfilterDP: {0, 1000}, sense.Header: {0, 8 * bar}, sense.HeaderLow: {0, 8 * bar},
	sense.InletSP: {-2500, 0}, sense.Running: {0, 1}, sense.Cleaning: {0, 1}, sense.Emission: {0, 100}, sense.BinLevel: {0, 1}, sense.Damper: {0, 1}}

// Every cause shows beside the machine without it, and leaves a log and a file that can be.
func TestEveryCause(t *testing.T) {
	if err := made.EveryCause(drawCause, bounds); err != nil {
		t.Error(err)
	}
}

// The same seed gives the same trial; shares and onsets are as the package says.
func TestDraw(t *testing.T) {
	if err := made.Twice(Draw, 8); err != nil {
		t.Error(err)
	}
	sound, first := 0, 0
	const n = 2000
	for seed := range uint64(n) {
		if causeOf(seed) == judge.None {
			sound++
		}
		f := newTrouble(made.Throw(seed, 9), judge.FanWeak, 60*24, 4)
		if f.onset == 0 {
			first++
		} else if age := 60*24 - f.onset; age < 3 || age > 35*24 {
			t.Fatalf("onset %d hours before the end", age)
		}
	}
	if s, f := float64(sound)/n, float64(first)/n; math.Abs(s-soundShare) > 0.04 || math.Abs(f-1.0/8) > 0.03 {
		t.Errorf("%.3f are sound, %.3f of the faults begin with the log", s, f)
	}
}

// What comes in is on the filters, in the bin or taken away; the phases cover the record; the header never rises above its
// set pressure; pulses take off more the higher it is, and nothing below the threshold.
func TestBalance(t *testing.T) {
	for seed := range uint64(12) {
		d := made.Throw(seed, 5)
		p, cal := newPlant(d), newCalendar(d)
		p.passed = 0
		sheet := cal.blank(d, p, 8)
		b := reckon(p, sheet, 0)
		held, out := 0.0, b.bin
		for i, w := range b.dust {
			if held += w * p.area / float64(p.rows); w < 0 {
				t.Errorf("seed %d: row %d holds %g", seed, i, w)
			}
		}
		for _, m := range b.emptied {
			out += m
		}
		if in := b.passed * p.area; math.Abs(held+out-in) > 1e-3*in || in <= 0 {
			t.Errorf("seed %d: %g kg came, %g are held and %g in the bin or gone", seed, in, held, out)
		}
		at := 0.0
		for _, ph := range b.phases {
			if math.Abs(ph.from-at) > 1e-6 || ph.to < ph.from {
				t.Fatalf("seed %d: a phase from %g to %g follows %g", seed, ph.from, ph.to, at)
			}
			at = ph.to
		}
		for _, f := range b.pulses {
			if f.before > p.set+1 || f.after >= f.before {
				t.Fatalf("seed %d: the header goes from %g to %g, set %g", seed, f.before, f.after, p.set)
			}
		}
		if p.effect(p.least) != 0 || p.effect(p.set) <= p.effect(0.8*p.set) || p.effect(20*bar) > p.best {
			t.Errorf("seed %d: the cleaning effect does not rise from its threshold to its best", seed)
		}
		h := sheet[0]
		if x := p.flowAt(&h, p.high, 0); x <= 0 || x >= p.flowAt(&h, p.low, 0) || math.Abs(p.fanPressure(x, 1)*h.density-p.high-p.system(&h)*h.density*x*x) > 1 {
			t.Errorf("seed %d: fan and system do not meet at %g", seed, x)
		}
	}
}
