package filter

import (
	"errors"
	"math"
	"testing"

	"dustwright/unit"
)

// unevenBank has rows of different area, cake and residual.
func unevenBank(t testing.TB) *Bank {
	t.Helper()
	b, err := NewBank(Default(10500), []unit.Area{20, 20, 20, 15, 20, 25})
	if err != nil {
		t.Fatal(err)
	}
	for i := range b.Rows {
		b.Rows[i].Cake = Areal(0.05 * float64(i))
		b.Rows[i].Season = unit.Drag(9000 + 300*float64(i))
		b.Rows[i].Creep = unit.Drag(500 * float64(i))
	}
	return b
}

// march integrates dW_i/dt = c V_i at a given airflow with small steps: the check on the exact solution.
func march(b *Bank, c float64, q func(t float64) float64, seconds float64, n int) float64 {
	dt, dust := seconds/float64(n), 0.0
	for k := range n {
		// midpoint rule
		mid := b.Clone()
		half := func(x *Bank, from *Bank, flow, dt float64) {
			dp := flow / from.Conductance()
			for i := range x.Rows {
				x.catch(&x.Rows[i], Areal(c*dp/float64(from.Rows[i].Drag(from.Law.K2))*dt))
			}
		}
		t := float64(k) * dt
		half(mid, b, q(t), dt/2)
		next := b.Clone()
		half(next, mid, q(t+dt/2), dt)
		*b = *next
		dust += c * q(t+dt/2) * dt
	}
	return dust
}

func TestLoadFollowsTheEquations(t *testing.T) {
	flow := func(t float64) float64 { return 2 * (1 + 0.4*math.Sin(t/700)) } // whatever the fan does
	slow, fast := unevenBank(t), unevenBank(t)
	dust := march(slow, 7e-4, flow, 4*3600, 4000)
	if err := fast.Load(unit.Mass(dust)); err != nil {
		t.Fatal(err)
	}
	for i := range slow.Rows {
		near(t, "cake", float64(fast.Rows[i].Cake), float64(slow.Rows[i].Cake), 1e-3*float64(slow.Rows[i].Cake))
		near(t, "residual", float64(fast.Rows[i].Residual()), float64(slow.Rows[i].Residual()), 1e-3*float64(slow.Rows[i].Residual()))
	}
}

// At constant flow through even rows the dP rises by K2 c V^2 t exactly (EPA Cost Manual).
func TestEvenRowsRiseByTheManual(t *testing.T) {
	law := Default(10500)
	law.SeasonRise, law.CreepDust = 0, 0
	b, err := NewBank(law, []unit.Area{20, 20, 20})
	if err != nil {
		t.Fatal(err)
	}
	const q, c, dt = 1.0, 7e-4, 3600.0
	before := b.DP(q)
	if err := b.Load(unit.Mass(c * q * dt)); err != nil {
		t.Fatal(err)
	}
	v := q / 60
	near(t, "rise", float64(b.DP(q)-before), float64(law.K2)*c*v*v*dt, 1e-9*float64(before))
	dust, err := b.DustTo(b.DP(q)+unit.Pressure(float64(law.K2)*c*v*v*dt), q)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "dust to the next such rise", float64(dust), c*q*dt, 1e-9)
}

func TestDustTo(t *testing.T) {
	b := unevenBank(t)
	for _, dp := range []unit.Pressure{700, 1000, 3000} {
		m, err := b.DustTo(dp, 1.9)
		if err != nil {
			t.Fatal(err)
		}
		c := b.Clone()
		if err := c.Load(m); err != nil {
			t.Fatal(err)
		}
		near(t, "dP", float64(c.DP(1.9)), float64(dp), 2e-3*float64(dp))
		near(t, "dP foretold", 1.9/b.ConductanceAfter(m), float64(dp), 1e-9*float64(dp))
		g, slope := b.Rise()
		near(t, "slope", slope, (b.ConductanceAfter(1e-3)-g)/1e-3, 1e-3*math.Abs(slope))
	}
	if m, err := b.DustTo(1, 1.9); m != 0 || err != nil {
		t.Errorf("below the present dP: %g, %v; want 0", float64(m), err)
	}
	for _, dp := range []unit.Pressure{0, -5} {
		if _, err := b.DustTo(dp, 1.9); !errors.Is(err, ErrUnreachable) {
			t.Errorf("%g Pa: %v, want ErrUnreachable", float64(dp), err)
		}
	}
	if m, err := b.DustTo(unit.Pressure(math.NaN()), 1); err != nil || !math.IsNaN(float64(m)) {
		t.Errorf("NaN gives %g, %v", float64(m), err)
	}
}

func TestWrongBanks(t *testing.T) {
	if _, err := NewBank(Default(0), nil); !errors.Is(err, ErrNoRows) {
		t.Errorf("no rows: %v", err)
	}
	if _, err := NewBank(Default(0), []unit.Area{1, 0}); err == nil {
		t.Error("a row without area was accepted")
	}
	bad := Default(0)
	bad.ReturnBeside = 0.6
	if _, err := NewBank(bad, []unit.Area{1}); err == nil {
		t.Error("more dust returned than came off was accepted")
	}
	b := unevenBank(t)
	for _, m := range []unit.Mass{-1, unit.Mass(math.NaN()), unit.Mass(math.Inf(1))} {
		if b.Load(m) == nil {
			t.Errorf("dust of %g kg was accepted", float64(m))
		}
	}
	for _, row := range []int{-1, 6} {
		if _, err := b.Pulse(row, Stroke{}); err == nil {
			t.Errorf("row %d was pulsed", row)
		}
	}
	if _, err := b.Pulse(0, Stroke{Header: unit.Pressure(math.NaN())}); err == nil {
		t.Error("a pulse of unknown pressure was accepted")
	}
}

func TestPulseShare(t *testing.T) {
	l := Default(0)
	share := func(psi, strength float64, online bool) float64 {
		return float64(l.RemovedShare(Stroke{Header: unit.Pressure(psi * unit.Psi), Strength: unit.Share(strength), Online: online}))
	}
	if share(60, 0, true) != 0 || share(0, 1, false) != 0 {
		t.Error("no pressure or a dead valve removes cake")
	}
	near(t, "half strength is half the pressure", share(60, 0.5, false), share(30, 1, false), 1e-12)
	near(t, "filtering", share(60, 1, true), share(60, 1, false)*float64(l.Online), 1e-12)
	// Leith and Ellenbecker: in proportion at low peak pressure, then less.
	near(t, "proportional", share(2, 1, false)/share(1, 1, false), 2, 0.03)
	if s := share(1000, 1, false); s > float64(l.RemoveMax) || s < 0.99*float64(l.RemoveMax) {
		t.Errorf("the strongest pulse removes %g", s)
	}
}

func TestAfterFilter(t *testing.T) {
	a := AfterFilter{Clean: 249, Rated: 2, Half: 0.5}
	near(t, "new", float64(a.DP(2)), 249, 1e-9)
	near(t, "half the flow", float64(a.DP(1)), 124.5, 1e-9)
	a.Dust = a.Half
	near(t, "doubled", float64(a.DP(2)), 498, 1e-9)
	near(t, "dust back", float64(a.DustAt(2)), 0.5, 1e-12)
	near(t, "dust at 2.7", float64(AfterFilter{Clean: 1, Rated: 1, Half: 0.5, Dust: a.DustAt(2.7)}.Rise()), 2.7, 1e-12)
	if a.DustAt(0.9) != 0 || a.Check() != nil || (AfterFilter{}).Check() == nil {
		t.Error("edges of the after-filter")
	}
}

func BenchmarkLoad(b *testing.B) {
	f := unevenBank(b)
	b.ReportAllocs()
	for b.Loop() {
		c := f.Rows[0]
		if err := f.Load(0.08); err != nil {
			b.Fatal(err)
		}
		f.Rows[0] = c
	}
}
