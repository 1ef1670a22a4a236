package sense

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"dustwright/solve"
)

// near fails unless got lies within rel of want.
func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: got %.5g, want %.5g within %.1f %%", what, got, want, 100*rel)
	}
}

// settle is the record with everything worked in.
func settle(t testing.TB, s *Series, g rig) *History {
	t.Helper()
	return reduced(t, s, g).settled(g.file(), math.MaxInt64)
}

// medianPass is the median over the days of something of Passes.
func medianPass(h *History, of func(*Passes) float32) float64 {
	var v []float64
	for i := range h.Passes {
		v = append(v, float64(of(&h.Passes[i])))
	}
	return solve.Median(v)
}

var allOfThem = []Channel{DP, Flow, Header, HeaderLow, Cleaning, Running, Pulse}

// The rig knows when it cleaned, at which dP, and how fast the cake grew; no instrument level may miss
// a cycle at these sampling rates. Tolerances grow with the step: a row is then a large part of a cycle.
func TestCyclesAgainstTruth(t *testing.T) {
	for _, c := range []struct {
		step         float64
		keep         []Channel
		by           CycleSource
		trigger, aft float64
	}{
		{1, allOfThem, ByPulse, 0.005, 0.01},
		{10, allOfThem, ByPulse, 0.005, 0.01},
		{60, allOfThem, ByPulse, 0.01, 0.01},
		{300, allOfThem, ByPulse, 0.02, 0.03},
		{60, []Channel{DP, Cleaning}, ByFlag, 0.01, 0.02},
		{1, []Channel{DP}, BySawtooth, 0.02, 0.02},
		{10, []Channel{DP}, BySawtooth, 0.02, 0.02},
		{60, []Channel{DP}, BySawtooth, 0.02, 0.03},
		{300, []Channel{DP}, BySawtooth, 0.03, 0.08},
	} {
		t.Run(fmt.Sprintf("%v every %v s", c.by, c.step), func(t *testing.T) {
			g := usual()
			s, tr := g.run(48, c.step)
			h := settle(t, s.only(c.keep...), g)
			n := 0
			for _, p := range h.Passes {
				if p.By != c.by {
					t.Errorf("cycles shown by %v, want %v", p.By, c.by)
				}
				n += int(p.N)
			}
			if d := n - len(tr.starts); d < -1 || d > 1 {
				t.Errorf("%d cycles, truth %d", n, len(tr.starts))
			}
			near(t, "trigger", medianPass(h, func(p *Passes) float32 { return p.Before[0] }), 1000, c.trigger)
			raw := solve.Median(tr.stop)
			near(t, "after", medianPass(h, func(p *Passes) float32 { return p.After[0] }), raw, c.aft)
			near(t, "rise", medianPass(h, func(p *Passes) float32 { return p.Rise }), 418, 0.03)
			near(t, "filtering", medianPass(h, func(p *Passes) float32 { return p.Filtering }), 1.255, 0.08)
			if c.by == ByPulse {
				near(t, "pulses", medianPass(h, func(p *Passes) float32 { return p.Pulses }), 6, 0)
			}
		})
	}
}

// Real instruments: a coarse gauge, noise, spikes to zero and over, gaps, frozen stretches.
func TestSawtoothThroughBadInstruments(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	for name, spoil := range map[string]func(x float64, i int) float64{
		"gauge of 0.1 in. w.g.": func(x float64, _ int) float64 { return math.Round(x/24.9) * 24.9 },
		"noise of 15 Pa":        func(x float64, _ int) float64 { return x + 15*rnd.NormFloat64() },
		"one spike in 300": func(x float64, _ int) float64 {
			if rnd.IntN(300) == 0 {
				return []float64{0, 3 * x}[rnd.IntN(2)]
			}
			return x
		},
		"a tenth missing": func(x float64, _ int) float64 {
			if rnd.IntN(10) == 0 {
				return math.NaN()
			}
			return x
		},
		"ten minutes missing every two hours": func(x float64, i int) float64 {
			if i%120 < 10 {
				return math.NaN()
			}
			return x
		},
	} {
		t.Run(name, func(t *testing.T) {
			g := usual()
			s, tr := g.run(96, 60)
			s = s.only(DP)
			for i, x := range s.Col[DP] {
				s.Col[DP][i] = spoil(x, i)
			}
			h := settle(t, s, g)
			n := 0
			for _, p := range h.Passes {
				n += int(p.N)
			}
			if d := math.Abs(float64(n - len(tr.starts))); d > 0.1*float64(len(tr.starts)) {
				t.Errorf("%d cycles, truth %d", n, len(tr.starts))
			}
			near(t, "trigger", medianPass(h, func(p *Passes) float32 { return p.Before[0] }), 1000, 0.03)
			near(t, "after", medianPass(h, func(p *Passes) float32 { return p.After[0] }), solve.Median(tr.stop), 0.05)
		})
	}
}

// A fall of the airflow is no cleaning, however sudden: it does not begin near the trigger level.
func TestFlowChangesAreNoCycles(t *testing.T) {
	g := usual()
	s, tr := g.run(96, 60)
	s = s.only(DP)
	for i := range s.Col[DP] {
		if i%200 > 150 { // a hood shut for a while, a third of the dP less
			s.Col[DP][i] *= 0.67
		}
	}
	h := settle(t, s, g)
	n := 0
	for _, p := range h.Passes {
		n += int(p.N)
	}
	if float64(n) > 1.15*float64(len(tr.starts)) {
		t.Errorf("%d cycles, truth %d", n, len(tr.starts))
	}
}

func TestNoCyclesWithoutSawtooth(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	s := &Series{}
	for i := range 5000 {
		s.Time = append(s.Time, start.UnixNano()+int64(i)*60e9)
		drift := 600 + 100*math.Sin(float64(i)/400)
		s.Col[DP] = append(s.Col[DP], drift+6*rnd.NormFloat64())
	}
	if h := settle(t, s, usual()); len(h.Passes) != 0 {
		t.Errorf("cycles found where there were none: %+v", h.Passes)
	}
}

// A cleaning that goes on for hours is counted, but gives no level before and after.
func TestEndlessCleaningIsSplit(t *testing.T) {
	g := usual()
	s, _ := g.run(10, 60)
	for i := 60; i < s.Len(); i++ {
		s.Col[Cleaning][i] = 1
	}
	h := settle(t, s.only(DP, Cleaning, Running), g)
	long := 0
	for _, c := range h.Cycles {
		if c.Long {
			long++
		}
	}
	if long < 7 {
		t.Errorf("%d hours of endless cleaning found, want about 8: %d cycles", long, len(h.Cycles))
	}
}

// Downtime cleaning: the dP comes back lower after a standstill.
func TestStandstillCleaning(t *testing.T) {
	g := usual()
	g.shift = 8
	s, _ := g.run(72, 60)
	s = s.only(DP)
	day := 0
	for i := range s.Col[DP] { // the second and third morning begin two fifths lower
		if h := float64(i) / 60; h >= 24 {
			day = int(h / 24)
			if math.Mod(h, 24) < 1 {
				s.Col[DP][i] *= 0.6
			}
		}
	}
	n := 0
	for _, c := range settle(t, s, g).Cycles {
		if c.By == ByStop {
			n++
			if c.After[0] >= c.Before[0] {
				t.Errorf("came back at %v from %v", c.After[0], c.Before[0])
			}
		}
	}
	if n != day {
		t.Errorf("%d standstills with a lower dP found, want %d", n, day)
	}
}

// A spike alone is no cleaning, with the dP its only witness.
func TestSpikesAreNoCycles(t *testing.T) {
	g := usual()
	g.feed = 3000 // slow: a cycle in many hours
	s, _ := g.run(24*5, 60)
	count := func() (n int) {
		for _, c := range settle(t, s.only(DP), g).Cycles {
			if c.By == BySawtooth {
				n++
			}
		}
		return n
	}
	want := count()
	for i := 500; i < s.Len(); i += 700 {
		s.Col[DP][i] += 400
	}
	if got := count(); got > want+1 {
		t.Errorf("%d cycles where %d were before the spikes", got, want)
	}
}
