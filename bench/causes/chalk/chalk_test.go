package chalk

import (
	"math"
	"slices"
	"testing"

	"dustwright/bench/causes/made"
	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
	"dustwright/unit"
)

// bounds are the ends of what a log of this package can hold.
var bounds = map[sense.Channel][2]float64{sense.DP: {-2600, 5000}, sense.Flow: {0, 50}, sense.Header: {0, 1e6}, sense.Humidity: {0, 1},
	sense.Running: {0, 1}, sense.Cleaning: {0, 1}, sense.Damper: {0, 1}, sense.BinLevel: {0, 1}, sense.BinMass: {0, 1e6}}

// A drawn trial is one that could be met: its file comes back from its text, its log is in bounds and complete.
func TestTrials(t *testing.T) {
	for seed := range uint64(3) {
		tr, err := Draw(seed)
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		if _, err := collector.Parse("again.toml", []byte(tr.Collector.TOML(unit.SI))); err != nil {
			t.Errorf("seed %d: the file does not come back: %v", seed, err)
		}
		if err := tr.Check(bounds); err != nil {
			t.Errorf("seed %d: %v", seed, err)
		}
		s := tr.Series
		for ch := range sense.NumChannels {
			read := slices.DeleteFunc(slices.Clone(s.Col[ch]), math.IsNaN)
			even := ch == sense.Damper || ch == sense.Running || ch == sense.Cleaning || ch == sense.BinMass // may be
			if len(read) == 0 || !even && slices.Min(read) == slices.Max(read) {
				t.Errorf("seed %d: %v is empty or the same all along", seed, ch)
			}
		}
		if days := tr.At.Sub(s.When(0)).Hours() / 24; days < 19 || days > 121 || s.Len() > maxLines+1 || tr.Old > days+1 {
			t.Errorf("seed %d: %g days, %d rows, trouble since %g days", seed, days, s.Len(), tr.Old)
		}
	}
}

func TestSeed(t *testing.T) {
	if err := made.Twice(Draw, 3); err != nil {
		t.Error(err)
	}
}

// The healthy share and each cause come as often as the package says, before any machine is run.
func TestShares(t *testing.T) {
	n := map[string]int{}
	const all = 17000
	for seed := range uint64(all) {
		n[draw(seed)]++
	}
	if h := float64(n[string(judge.None)]) / all; math.Abs(h-healthyShare) > 0.02 {
		t.Errorf("%.3f are healthy", h)
	}
	for _, c := range made.Causes() {
		if want := all * (1 - healthyShare) / float64(len(made.Causes())); math.Abs(float64(n[c])-want) > 0.2*want {
			t.Errorf("%s: %d times, want about %.0f", c, n[c], want)
		}
	}
}

// small is a busy machine of few rows that is soon run.
func small() plan {
	for seed := uint64(1); ; seed++ {
		d := newDesign(stream(seed, 0, streamMachine))
		full := d.capacity / d.loading / d.flow * float64(d.rows)
		if d.mode == collector.OnDemand && d.cycles == 0 && d.works > 9 && d.every == 60 && d.dead > 0 && d.rows < 6 && full < 8*hour {
			d.days = 20
			return plan{d: d, cal: newCalendar(stream(seed, 0, streamDays), d)}
		}
	}
}

// Every cause shows in ten days beside the same machine without it, and a well machine shows nothing beside itself.
func TestCausesShow(t *testing.T) {
	p := small()
	with := func(flutter int, c ...change) *record {
		q := p
		q.flutter, q.changes = stream(1, flutter, streamFlutter), c
		return q.run()
	}
	well := with(0)
	if with(1).shows(well, 10*day, 0) {
		t.Error("a well machine shows a trouble beside itself")
	}
	for _, cause := range made.Causes() {
		var x trouble
		for n := 0; x.severity < 0.85; n++ {
			x = newTrouble(judge.Cause(cause), stream(5, n, streamTrouble), p.d)
		}
		if !with(0, change{from: 10 * day, to: math.Inf(1), turn: x.turn}).shows(well, 10*day, x.number) {
			t.Errorf("%s of severity %g does not show", cause, x.severity)
		}
	}
}

// Dust is neither made nor lost in a row of filters, and each kilogram and each pulse moves the conductance the right way.
func TestCloth(t *testing.T) {
	c := newCloth(2, 0.1)
	came, left := c.held(), 0.0
	for i := range 200 {
		g := c.conductance()
		c.plug(0.03, 0.3, 0.01)
		came += 0.03
		dusty := c.conductance()
		off := c.jet(0.9, 1)
		left += off
		if dusty >= g || off <= 0 || c.conductance() <= dusty {
			t.Fatalf("pass %d: the conductance goes from %g by dust to %g and by a pulse to %g", i, g, dusty, c.conductance())
		}
	}
	c.plug(0.5, 0.3, 0.01)
	left += c.shed()
	if came += 0.5; math.Abs(c.held()+left-came) > 1e-9*came {
		t.Errorf("%g kg came, %g left, %g are held", came, left, c.held())
	}
	weak, strong := c, c
	if a, b := weak.jet(0.4, 1), strong.jet(1, 1); a >= b {
		t.Errorf("a weak pulse takes off %g kg, a strong one %g", a, b)
	}
}

// A bottle left alone comes to where inflow and outflow are equal, whatever the steps.
func TestBottle(t *testing.T) {
	for _, c := range []struct{ bleed, want float64 }{
		{0.004, 6e5 * 0.4 / 0.404}, // within the droop: it fills by 0.4 a second of what lacks
		{0.2, 2e5},                 // below it: wide open
		{0, 6e5},
	} {
		one := bottle{p: 3e5, fill: 4e4, droop: 1e5}
		many := one
		one.rest(600, 6e5, 1, c.bleed)
		for range 6000 {
			many.rest(0.1, 6e5, 1, c.bleed)
		}
		if math.Abs(one.p-many.p) > 1 || math.Abs(one.p-c.want) > 1e-3*c.want {
			t.Errorf("bleed %g: %g Pa in one step, %g in many, want %g", c.bleed, one.p, many.p, c.want)
		}
	}
}

// The air's way closes: what the fan gives is lost in the parts, and each part that is turned moves the flow the right way.
func TestWind(t *testing.T) {
	d := small().d
	w := d.asBuilt(d.trim)
	at := d.fan.wind(w)
	if lost := at.dp + at.after - at.inlet + w.damper*at.flow*at.flow; math.Abs(lost-d.fan.pressure(at.flow)) > 1e-6*lost {
		t.Errorf("the fan gives %g Pa and %g are lost", d.fan.pressure(at.flow), lost)
	}
	for name, c := range map[string]struct {
		turn func(*way)
		sign float64 // of the change of the flow
	}{
		"damper opened": {func(w *way) { w.damper *= 0.5 }, 1}, "duct blocked": {func(w *way) { w.ducts *= 0.5 }, -1},
		"leak": {func(w *way) { w.leak = 0.5 * w.ducts }, 1}, "filters plugged": {func(w *way) { w.filters *= 0.3 }, -1},
		"belt slips": {func(w *way) { w.speed = 0.8 }, -1}, "wheel fouled": {func(w *way) { w.foul = 0.3 }, -1},
	} {
		other := w
		c.turn(&other)
		if got := d.fan.wind(other); (got.flow-at.flow)*c.sign <= 0 {
			t.Errorf("%s: the flow goes from %g to %g m3/s", name, at.flow, got.flow)
		} else if name == "leak" && got.hoods >= at.hoods {
			t.Errorf("a leak takes nothing from the hoods: %g to %g m3/s", at.hoods, got.hoods)
		}
	}
}

// A pulse behind the last row is in no row, nor is one whose row and all behind it were lost.
func TestLatePulses(t *testing.T) {
	rec := &record{shots: []shot{{2, 1}, {3, 2}}}
	for n := range 20 {
		if counts, named := rec.pulses([]bool{true, true, false}, stream(1, n, streamGauges)); slices.Max(counts) > 0 || len(named) > 0 {
			t.Fatalf("counted %v, named %v", counts, named)
		}
	}
}
