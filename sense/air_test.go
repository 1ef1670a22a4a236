package sense

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"
)

func TestHeaderDropAndRecovery(t *testing.T) {
	g := usual()
	for _, step := range []float64{1, 60} {
		s, _ := g.run(48, step)
		f := At(reduced(t, s, g), g.file(), time.Time{})
		near(t, "header at rest", f.Get(HeaderLevel).Now.Value, g.set, 0.002)
		near(t, "drop", f.Get(HeaderDrop).Now.Value, g.drop, 0.03)
		if step == 1 {
			near(t, "recovery", f.Get(HeaderRecovery).Now.Value, 0.98, 0.02) // 1-exp(-10/2.5)
		}
		if m := f.Get(HeaderTrend).Now; math.Abs(m.Value) > 3*m.Sigma+50 {
			t.Errorf("a header that holds trends by %v Pa/min", m.Value)
		}
		for _, v := range f.Valves {
			if v.NoDrop > 0 {
				t.Errorf("every %v s: good valve %d without a drop, %d times of %d", step, v.Valve, v.NoDrop, v.Alone)
			}
		}
	}
}

// A dead valve is told at once where rows come faster than pulses, and within some days where a row
// holds a whole pass, from the rows in which it fired alone.
func TestDeadValve(t *testing.T) {
	for _, c := range []struct {
		step, hours float64
		least       int
	}{{1, 24, 10}, {60, 24 * 14, 3}} {
		good := usual()
		a, _ := good.run(24, c.step)
		bad := usual()
		bad.dead, bad.seed = 4, 9
		b, _ := bad.run(c.hours, c.step)
		r := NewReducer(good.file())
		r.Add(a)
		for i := range b.Time {
			b.Time[i] += 24 * hourNs
		}
		r.Add(b)
		f := At(r.History(), good.file(), time.Time{})
		if len(f.Valves) != 6 {
			t.Fatalf("%d valves, want 6", len(f.Valves))
		}
		for _, v := range f.Valves {
			dead := v.Valve == 4
			switch {
			case dead && (v.Alone < c.least || v.NoDrop != v.Alone):
				t.Errorf("every %v s: dead valve 4: %d without drop of %d alone, want at least %d", c.step, v.NoDrop, v.Alone, c.least)
			case dead && !(math.Abs(v.Share.Value) < 0.05):
				t.Errorf("every %v s: dead valve 4 has a share of %v", c.step, v.Share.Value)
			case dead && c.step == 1 && v.Since.Sub(start.Add(24*time.Hour)) > 2*time.Hour:
				t.Errorf("dead since %v, want shortly after %v", v.Since, start.Add(24*time.Hour))
			case !dead && v.NoDrop > 0:
				t.Errorf("every %v s: good valve %d without drop %d times", c.step, v.Valve, v.NoDrop)
			}
		}
	}
}

// Valves that fire one by one: the leak detector's rise belongs to the row that leaks.
func TestEmissionBelongsToAValve(t *testing.T) {
	g := usual()
	for _, step := range []float64{1, 60} {
		rnd := rand.New(rand.NewPCG(8, 8))
		s, _ := g.run(24*7, step)
		em := make([]float64, s.Len())
		for i := range em {
			em[i] = 1 + 0.05*rnd.NormFloat64()
		}
		for _, p := range s.Pulses {
			if p.Valve == 5 {
				em[p.Row] += 2
			}
		}
		s.Col[Emission] = em
		f := At(reduced(t, s, g), g.file(), time.Time{})
		best, most := 0, 0.0
		for _, v := range f.Valves {
			if v.EmissionRise.Value > most {
				best, most = v.Valve, v.EmissionRise.Value
			}
		}
		if best != 5 || most < 1 {
			t.Errorf("every %v s: rise %v at valve %d, want about 2 at valve 5: %+v", step, most, best, f.Valves)
		}
		near(t, "quiet level", f.Get(EmissionLevel).Now.Value, 1, 0.03)
	}
}

// Parts of rows that several valves share sum up to what the rows show.
func TestSharedOut(t *testing.T) {
	truth := []float64{10, 40, 20, 5}
	var sets []FiringSet
	for mask := uint64(1); mask < 16; mask++ {
		f := FiringSet{Mask: mask}
		sum := 0.0
		for i, x := range truth {
			if mask>>i&1 == 1 {
				sum += x
			}
		}
		for k := range 10 {
			f.DPStep.add(sum + float64(k%2*2-1))
		}
		sets = append(sets, f)
	}
	for i, e := range sharedOut(sets, 4, func(f *FiringSet) *Moments { return &f.DPStep }, "none") {
		if math.Abs(e.Value-truth[i]) > 0.5 || e.Sigma > 1 {
			t.Errorf("valve %d: %v ± %v, want %v", i+1, e.Value, e.Sigma, truth[i])
		}
	}
	always := sets[14:]
	for i, e := range sharedOut(always, 4, func(f *FiringSet) *Moments { return &f.DPStep }, "none") {
		near(t, "equal part", e.Value, 75.0/4, 0.01)
		if e.Sigma < 10 || e.Missing == "" {
			t.Errorf("valve %d: always together, yet known to %v: %q", i+1, e.Sigma, e.Missing)
		}
	}
}

func TestRecharges(t *testing.T) {
	s := &Series{}
	rnd := rand.New(rand.NewPCG(5, 5))
	var truth []int64
	p, charging := 9.5e5, false
	for i := range 3 * 3600 / 10 {
		at := start.UnixNano() + int64(i)*10e9
		s.Time = append(s.Time, at)
		s.Col[Header] = append(s.Col[Header], p+400*rnd.NormFloat64())
		switch {
		case !charging && p < 8e5:
			charging = true
			truth = append(truth, at)
		case charging && p > 10e5:
			charging = false
		}
		if charging {
			p += 2000 * 10
		} else {
			p -= 100 * 10
		}
	}
	if last := s.Time[s.Len()-1]; last-truth[len(truth)-1] < 900e9 { // its top is not passed yet
		truth = truth[:len(truth)-1]
	}
	h := settle(t, s, usual())
	if len(h.Recharges) != len(truth) {
		t.Fatalf("%d recharges, truth %d", len(h.Recharges), len(truth))
	}
	for i, r := range h.Recharges {
		if d := r.Start - truth[i]; d < -20e9 || d > 20e9 {
			t.Errorf("recharge %d starts %v s off", i, float64(d)/1e9)
		}
		near(t, "low", r.Low, 8e5, 0.01)
		near(t, "high", r.High, 10e5, 0.02)
		near(t, "fall", r.Fall, -100, 0.1)
	}
}

// Pulses nobody logged are quick falls and slow rises: no recharge.
func TestDipsAreNoRecharges(t *testing.T) {
	g := usual()
	s, _ := g.run(24, 1)
	if h := settle(t, s.only(Header), g); len(h.Recharges) > 0 {
		t.Errorf("%d recharges out of pulses", len(h.Recharges))
	}
}

// A supply that is short fills the header slowly: just after cleaning it stands below what it reaches long after. A
// regulator that is turned down does not.
func TestHeaderBehindTellsASlowSupply(t *testing.T) {
	for _, c := range []struct {
		name string
		tau  float64 // of filling [s]
		full float64
		want float64
	}{
		{"quick", 5, 500e3, 0}, {"turned down", 5, 350e3, 0}, {"slow", 120, 500e3, 0.3 * math.Exp(-0.5)},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := &Series{Zone: time.UTC}
			var dp, head, run []float64
			for i := range 4 * 24 * 60 {
				since := float64(i%120) * 60
				s.Time = append(s.Time, start.Add(time.Duration(i)*time.Minute).UnixNano())
				if i%120 == 0 {
					s.Pulses = append(s.Pulses, Firing{Row: int32(i), Valve: uint8(1 + i/120%4)})
				}
				dp, run = append(dp, 500), append(run, 1)
				head = append(head, c.full*(1-0.3*math.Exp(-since/c.tau)))
			}
			s.Col[DP], s.Col[Header], s.Col[Running] = dp, head, run
			r := NewReducer(machine())
			r.Add(s)
			f := At(r.History(), machine(), time.Time{})
			m := f.Get(HeaderBehind)
			if !m.Now.Known() || math.Abs(m.Now.Value-c.want) > 0.02 {
				t.Errorf("the header lacks %.3f just after cleaning, want about %.3f", m.Now.Value, c.want)
			}
		})
	}
}

// Where it is cleaned all the time and the air is shut off and vented over night, the header rests only while the fan stands:
// that is not the level from which it falls, and a dead valve shows.
func TestHeaderVentedOverNight(t *testing.T) {
	g := usual()
	g.low, g.high, g.interval, g.shift, g.dead, g.off = 1, 2, 70, 10, 4, 0.1
	s, _ := g.run(24*6, 60)
	for i, on := range s.Col[Running] {
		if on == 0 {
			s.Col[Header][i], s.Col[HeaderLow][i], s.Col[Cleaning][i] = 500, 0, 0
		}
	}
	f := At(reduced(t, s, g), g.file(), time.Time{})
	near(t, "header", f.Get(HeaderLevel).Now.Value, g.set, 0.02)
	for _, v := range f.Valves {
		want := b2f(v.Valve != g.dead)
		if math.Abs(v.Share.Value-want) > 0.05 || v.NoDrop != v.Alone*int(1-want) || v.DropNormal.N < 200 {
			t.Errorf("valve %d: share of the drop %+v, %d of %d without", v.Valve, v.Share, v.NoDrop, v.Alone)
		}
	}
}

// The leak detector reads nothing while the fan stands: neither the pulses of a cleaning after the shift nor those of the next
// morning tell a rise by it.
func TestLeakDetectorRisesWhileTheFanRuns(t *testing.T) {
	g := usual()
	g.shift = 9
	s, _ := g.run(6*24, 60)
	fired := map[int32]bool{}
	for _, f := range s.Pulses {
		fired[f.Row] = true
	}
	s.Col[Emission] = make([]float64, s.Len())
	for i, on := range s.Col[Running] {
		s.Col[Emission][i] = on * (2 + 0.5*b2f(fired[int32(i)]))
		if i > 1 && on == 0 && s.Col[Running][i-2] == 1 {
			s.Pulses = append(s.Pulses, Firing{Row: int32(i), Valve: 1})
		}
	}
	slices.SortStableFunc(s.Pulses, func(a, b Firing) int { return int(a.Row) - int(b.Row) })
	m := At(reduced(t, s, g), g.file(), time.Time{}).Get(EmissionPeak)
	if e := m.Now; math.Abs(e.Value-0.5) > 0.02 || m.Spread > 0.02 {
		t.Errorf("rise of the leak detector at a pulse %+v, day to day %.2f, want 0.5", e, m.Spread)
	}
}

// Where cleaning leaves no quiet row while the fan runs, the valves still tell from each other by the leak detector.
func TestLeakDetectorWithoutQuietRows(t *testing.T) {
	g := usual()
	g.shift = 9
	s, _ := g.run(4*24, 60)
	s.Col[Emission], s.Pulses = make([]float64, s.Len()), nil
	for i, on := range s.Col[Running] {
		if on == 0 {
			continue
		}
		v := uint8(i%g.rows + 1)
		s.Pulses = append(s.Pulses, Firing{Row: int32(i), Valve: v})
		s.Col[Emission][i] = 2 + b2f(v == 4)
	}
	for _, m := range At(reduced(t, s, g), g.file(), time.Time{}).Valves {
		if want := b2f(m.Valve == 4); !(math.Abs(m.EmissionRise.Value-want) < 0.2) {
			t.Errorf("valve %d: the leak detector rises by %+v, want %g above the others", m.Valve, m.EmissionRise, want)
		}
	}
}
