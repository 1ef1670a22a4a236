package fan

import (
	"errors"
	"math"
	"testing"

	"dustwright/unit"
	"dustwright/unit/unittest"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if d := math.Abs(got - want); !(d <= tol) {
		t.Errorf("%s: got %.8g, want %.8g within %.2g", what, got, want, tol)
	}
}

// published returns the points of one wheel in the digitised table.
func published(t testing.TB, wheel string) (points []CurvePoint, power []PowerPoint) {
	t.Helper()
	for _, r := range unittest.Table(t, "testdata/fan_curves_backward_inclined.csv") {
		if r.Text("fan") == wheel {
			q := unit.Flow(r.Float("flow_m3_s"))
			points = append(points, CurvePoint{q, unit.Pressure(r.Float("dp_Pa"))})
			power = append(power, PowerPoint{q, unit.Power(r.Float("shaft_W"))})
		}
	}
	return points, power
}

const wheel15 = "BI double-width 15 in"

func TestPublishedCurves(t *testing.T) {
	for _, r := range unittest.Table(t, "testdata/fan_curves_backward_inclined.csv") {
		points, power := published(t, r.Text("fan"))
		c, err := NewCurve(points, power, 25, 1.2)
		if err != nil {
			t.Fatal(err)
		}
		q := unit.Flow(r.Float("flow_m3_s"))
		p, err := c.Pressure(q, 1.2, 25)
		near(t, "pressure", float64(p), r.Float("dp_Pa"), 1e-6)
		if err != nil {
			t.Error(err)
		}
		w, err := c.Power(q, 1.2, 25)
		near(t, "power", float64(w), r.Float("shaft_W"), 1e-6)
		if err != nil {
			t.Error(err)
		}
		near(t, "efficiency", float64(StaticEfficiency(q, p, w)), r.Float("efficiency"), 1e-4)
	}
}

func TestFanLaws(t *testing.T) {
	for _, r := range unittest.Table(t, "testdata/fan_laws.csv") {
		l := Law{SpeedRatio: r.Float("speed_ratio"), DensityRatio: r.Float("density_ratio")}
		old := r.Float("old")
		got := map[string]float64{"flow": float64(l.Flow(unit.Flow(old))), "pressure": float64(l.Pressure(unit.Pressure(old))),
			"power": float64(l.Power(unit.Power(old)))}[r.Text("quantity")]
		near(t, r.Text("case")+" "+r.Text("quantity"), got, r.Float("new"), r.Float("abs_tolerance"))
	}
}

func TestOutsideTheCurve(t *testing.T) {
	points, power := published(t, wheel15)
	c, err := NewCurve(points, power, 25, 1.2)
	if err != nil {
		t.Fatal(err)
	}
	p, err := c.Pressure(8, 1.2, 25)
	var out *OutsideCurve
	if !errors.Is(err, ErrOutsideCurve) || !errors.As(err, &out) || !math.IsNaN(float64(p)) {
		t.Fatalf("8 m3/s: %g Pa, %v", float64(p), err)
	}
	near(t, "upper end in the error", float64(out.High), 7.026807, 1e-6)
	if want := "the fan's pressure points run from 1.886 to 7.027 m3/s at this speed; 8.000 m3/s lies outside"; err.Error() != want {
		t.Errorf("got %q, want %q", err, want)
	}
	if _, err := c.Pressure(8, 1.2, 30); err != nil {
		t.Errorf("at 30/25 of the speed 8 m3/s lies inside: %v", err)
	}
	if p, err := c.Pressure(unit.Flow(math.NaN()), 1.2, 25); err != nil || !math.IsNaN(float64(p)) {
		t.Errorf("NaN gives %g, %v", float64(p), err)
	}
	bare, err := NewCurve(points, nil, 25, 1.2)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := bare.Power(3, 1.2, 25); !errors.Is(err, ErrNoPower) || bare.HasPower() {
		t.Errorf("a curve without power: %v", err)
	}
	lo, hi := c.Range(50)
	near(t, "range at double speed", float64(lo+hi), 2*(1.885664+7.026807), 1e-6)
	pk, at := c.Peak(2.4, 50)
	near(t, "peak at double speed and density", float64(pk), 8*3389.816, 1e-6)
	near(t, "its flow", float64(at), 2*1.885664, 1e-9)
}

func TestWrongCurves(t *testing.T) {
	ok := []CurvePoint{{0, 1000}, {1, 900}}
	nan := unit.Pressure(math.NaN())
	for name, run := range map[string]func() error{
		"one point":      func() error { _, err := NewCurve(ok[:1], nil, 1, 1); return err },
		"no speed":       func() error { _, err := NewCurve(ok, nil, 0, 1); return err },
		"no density":     func() error { _, err := NewCurve(ok, nil, 1, unit.Density(nan)); return err },
		"same flow":      func() error { _, err := NewCurve([]CurvePoint{{1, 5}, {1, 4}}, nil, 1, 1); return err },
		"NaN":            func() error { _, err := NewCurve([]CurvePoint{{0, nan}, {1, 4}}, nil, 1, 1); return err },
		"negative flow":  func() error { _, err := NewCurve([]CurvePoint{{-1, 5}, {1, 4}}, nil, 1, 1); return err },
		"one power":      func() error { _, err := NewCurve(ok, []PowerPoint{{0, 1}}, 1, 1); return err },
		"negative power": func() error { _, err := NewCurve(ok, []PowerPoint{{0, 1}, {1, -2}}, 1, 1); return err },
	} {
		if run() == nil {
			t.Errorf("%s was accepted", name)
		}
	}
}

func TestInletElbow(t *testing.T) {
	for _, r := range unittest.Table(t, "testdata/fan_system_effect_inlet_elbow.csv") {
		for col, d := range map[string]float64{"no_duct": 0, "duct_2D": 2, "duct_5D": 5} {
			c, err := InletElbow(r.Float("R_over_H"), d, r.Text("vanes") != "none")
			if err != nil {
				t.Error(err)
			}
			near(t, r.Text("vanes")+" "+r.Text("R_over_H")+" "+col, c, r.Float(col), 1e-9)
		}
	}
	for _, bad := range [][2]float64{{0.4, 0}, {2.1, 0}, {1, -1}, {1, 6}} {
		if _, err := InletElbow(bad[0], bad[1], false); !errors.Is(err, ErrOutsideTable) {
			t.Errorf("%v: %v", bad, err)
		}
	}
	near(t, "1.20 velocity pressures at 20 m/s", float64(InletElbowLoss(1.2, 20, 1.2)), 288, 1e-9)
}

func BenchmarkPressure(b *testing.B) {
	points, power := published(b, wheel15)
	c, err := NewCurve(points, power, 25, 1.2)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := c.Pressure(4, 1.15, 25); err != nil {
			b.Fatal(err)
		}
	}
}
