package fan

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"dustwright/unit"
)

// anyCurve draws a curve that may rise near zero flow and then falls.
func anyCurve(t *rapid.T) (*Curve, []CurvePoint) {
	n := rapid.IntRange(3, 9).Draw(t, "n")
	top := rapid.Float64Range(500, 6000).Draw(t, "top")
	var pts []CurvePoint
	q, p := 0.0, top*rapid.Float64Range(0.8, 1).Draw(t, "start")
	for i := range n {
		pts = append(pts, CurvePoint{unit.Flow(q), unit.Pressure(p)})
		q += rapid.Float64Range(0.05, 1).Draw(t, "dq")
		if i == 0 {
			p = top
		} else {
			p *= rapid.Float64Range(0.3, 0.98).Draw(t, "fall")
		}
	}
	c, err := NewCurve(pts, nil, 30, 1.2)
	if err != nil {
		t.Fatal(err)
	}
	return c, pts
}

func TestCurveNeverOvershoots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, pts := anyCurve(t)
		i := rapid.IntRange(1, len(pts)-1).Draw(t, "i")
		a, b := pts[i-1], pts[i]
		q := a.Flow + (b.Flow-a.Flow)*unit.Flow(rapid.Float64Range(0, 1).Draw(t, "s"))
		p, err := c.Pressure(q, 1.2, 30)
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := min(a.Pressure, b.Pressure), max(a.Pressure, b.Pressure)
		if p < lo*(1-1e-12) || p > hi*(1+1e-12) {
			t.Fatalf("%g Pa between points of %g and %g Pa", float64(p), float64(a.Pressure), float64(b.Pressure))
		}
	})
}

// Reading the curve at another speed and density is the same as carrying the points there.
func TestFanLawsHold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, pts := anyCurve(t)
		n, rho := rapid.Float64Range(0.3, 2).Draw(t, "n"), rapid.Float64Range(0.5, 1.5).Draw(t, "rho")
		law := Law{SpeedRatio: n, DensityRatio: rho}
		var moved []CurvePoint
		for _, p := range pts {
			moved = append(moved, CurvePoint{law.Flow(p.Flow), law.Pressure(p.Pressure)})
		}
		m, err := NewCurve(moved, nil, unit.Speed(30*n), unit.Density(1.2*rho))
		if err != nil {
			t.Fatal(err)
		}
		q := moved[len(moved)-1].Flow * unit.Flow(rapid.Float64Range(0, 1).Draw(t, "s"))
		a, err1 := c.Pressure(q, unit.Density(1.2*rho), unit.Speed(30*n))
		b, err2 := m.Pressure(q, unit.Density(1.2*rho), unit.Speed(30*n))
		if err1 != nil || err2 != nil || math.Abs(float64(a-b)) > 1e-9*math.Abs(float64(b))+1e-9 {
			t.Fatalf("%g and %g Pa, %v, %v", float64(a), float64(b), err1, err2)
		}
	})
}

func TestDamperIsMonotoneAndInvertible(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spec := DamperSpec{Kind: DamperKind(rapid.IntRange(0, 2).Draw(t, "kind")), Area: 0.1}
		for range rapid.IntRange(0, 4).Draw(t, "points") {
			spec.Points = append(spec.Points, DamperPoint{Open: unit.Share(rapid.Float64Range(0, 1).Draw(t, "open")), Rho: 1.2,
				Flow: unit.Flow(rapid.Float64Range(0.2, 4).Draw(t, "flow")), Loss: unit.Pressure(rapid.Float64Range(1, 4000).Draw(t, "loss"))})
		}
		d, err := NewDamper(spec)
		if err != nil {
			t.Fatal(err)
		}
		a := rapid.Float64Range(0, 1).Draw(t, "a")
		b := rapid.Float64Range(0, 1).Draw(t, "b")
		if a > b {
			a, b = b, a
		}
		if b-a > 1e-6 && d.Resistance(unit.Share(a)) <= d.Resistance(unit.Share(b)) {
			t.Fatalf("opening from %g to %g raises the resistance from %g to %g", a, b, d.Resistance(unit.Share(a)), d.Resistance(unit.Share(b)))
		}
		at, err := d.Open(d.Loss(unit.Share(a), 1.5, 1.1), 1.5, 1.1)
		if a > 1e-9 && a < 1-1e-9 && (err != nil || math.Abs(float64(at.Open)-a) > 1e-6) {
			t.Fatalf("position %g comes back as %+v, %v", a, at, err)
		}
	})
}

func TestMotorThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := Motor{Rated: unit.Power(rapid.Float64Range(1000, 60000).Draw(t, "rated")), Voltage: 460,
			Efficiency: unit.Share(rapid.Float64Range(0.8, 0.96).Draw(t, "eta")), PowerFactor: unit.Share(rapid.Float64Range(0.7, 0.92).Draw(t, "pf"))}
		m.FullLoad = unit.Current(float64(m.Rated) / float64(m.Efficiency*m.PowerFactor) / (math.Sqrt(3) * 460))
		x := rapid.Float64Range(0.05, 1.4).Draw(t, "load")
		i, err := m.Current(m.Rated * unit.Power(x))
		if err != nil {
			t.Fatal(err)
		}
		p, err := m.Shaft(i.Value, 0)
		if err != nil || math.Abs(float64(p.Value/m.Rated)-x) > 1e-6 {
			t.Fatalf("load %g comes back as %g, %v", x, float64(p.Value/m.Rated), err)
		}
		if more, err := m.Current(m.Rated * unit.Power(x+0.01)); err != nil || more.Value <= i.Value {
			t.Fatalf("more load, no more amps: %v", err)
		}
	})
}
