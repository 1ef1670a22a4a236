package quill

import (
	"errors"
	"math"
	"slices"
	"testing"

	"dustwright/bench/causes/made"
	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
	"dustwright/unit"
)

// A trial is one that could be met: its file comes back from its text and has a fan for it, its log is in bounds, and no
// channel stands still.
func TestDraw(t *testing.T) {
	bounds := map[sense.Channel][2]float64{sense.DP: {-2600, 2600}, sense.Flow: {-1, 60}, sense.Header: {-1e4, 1e6}, sense.Humidity: {0, 1},
		sense.Damper: {0, 1.05}, sense.BinLevel: {0, 1}, sense.BinMass: {0, 1e6}, sense.Emission: {0, 1e6}}
	for seed := range uint64(4) {
		tr, err := Draw(seed)
		if err != nil {
			t.Fatal(err)
		}
		c, err := collector.Parse("again.toml", []byte(tr.Collector.TOML(unit.SI)))
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		_, err = c.AirPath()
		if err = errors.Join(err, tr.Check(bounds)); err != nil {
			t.Errorf("seed %d: %v", seed, err)
		}
		for _, ch := range []sense.Channel{sense.DP, sense.Flow, sense.FanPower, sense.InletSP, sense.HeaderLow, sense.Humidity, sense.Emission} {
			read := slices.DeleteFunc(slices.Clone(tr.Series.Col[ch]), math.IsNaN)
			if len(read) == 0 || slices.Min(read) == slices.Max(read) {
				t.Errorf("seed %d: %v stands still", seed, ch)
			}
		}
	}
	if err := made.Twice(Draw, 5); err != nil {
		t.Error(err)
	}
}

// Each cause comes as often as the others, and shows in some machine beside its twin.
func TestCauses(t *testing.T) {
	n := map[judge.Cause]int{}
	for seed := range uint64(8500) {
		n[kind(seed)]++
	}
	if math.Abs(float64(n[judge.None])-8500*0.4) > 200 {
		t.Errorf("%d of 8500 are healthy", n[judge.None])
	}
	for _, e := range judge.Causes()[1:] {
		seen := false
		for seed := uint64(0); seed < 20 && !seen; seed++ {
			s := draft(seed, e.Name)
			short := s.step >= 60 && s.days <= 25 // to play
			seen = short && s.shows(s.play(s.trouble), s.play(nil))
		}
		if !seen || math.Abs(float64(n[e.Name])-300) > 80 {
			t.Errorf("%s comes %d times of 8500, seen: %v", e.Name, n[e.Name], seen)
		}
	}
}

// The network answers as one: what closes takes flow away, suction and all drops add up to the fan's pressure, a stronger
// pulse takes more off, no dust is lost, and the header comes back to its set pressure.
func TestNetwork(t *testing.T) {
	m := newMachine(build(chance(3, ofDesign), 100))
	m.start(chance(3, ofTurbulence), 50)
	m.luck, m.speed = chance(3, ofLuck), 1
	f := m.flows()
	if sum := f.inlet + f.filters + f.after + m.gate*math.Exp(m.turn*(1-m.open))*f.fan*f.fan; math.Abs(sum-m.fan(f.fan, 1)) > 1e-6*sum {
		t.Errorf("drops of %g Pa on a fan that gives %g Pa", sum, m.fan(f.fan, 1))
	}
	for name, k := range map[string]knobs{"duct": {plug: 1}, "damper": {gate: -0.2}, "stack": {stack: 1}, "media": {closed: 0.5}, "fan": {foul: 0.3}} {
		if m.k = k; m.flows().fan >= f.fan {
			t.Errorf("%s: no less flow", name)
		}
	}
	m.k = knobs{}
	off := func(strength float64) float64 {
		c := *m
		c.luck, c.cloth, c.level, c.speed = chance(4, ofLuck), make([]row, m.rows), 0, 1
		c.cloth[0].fast = 0.1
		c.strike(0, strength)
		left := c.level * c.bulk * c.bin / c.area
		for _, w := range c.cloth {
			left += w.fast
		}
		if math.Abs(left-0.1) > 1e-12 {
			t.Errorf("%g kg/m2 of 0.1 after a pulse", left)
		}
		return c.level
	}
	if off(1) <= off(0.5) || off(0) != 0 {
		t.Error("a stronger pulse takes no more off")
	}
	m.weep = 0
	low := m.pulse(0)
	if m.fill(60); low < 0.9 || m.lowest > 0.95*m.set || math.Abs(m.header-m.set) > 1e-3*m.set {
		t.Errorf("header at %g Pa after a pulse, then at %g Pa of %g Pa", m.lowest, m.header, m.set)
	}
}
