package collector

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"dustwright/unit"
	"dustwright/unit/unittest"
)

// TestCommissioningPointsComeBack: with the damper where it stood and the filters as they were read, the operating point is
// the flow that was measured; no formula between the two may lose anything.
func TestCommissioningPointsComeBack(t *testing.T) {
	c := dc1(t)
	p, err := c.AirPath()
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range c.Damper.Points {
		cond := p.Conditions()
		cond.Damper = d.Open
		cond.FilterDP = d.FilterDP * unit.Pressure(float64(c.Duty.Flow)/float64(d.Flow))
		o, err := p.Point(cond)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "flow at "+d.Open.In(unit.US), float64(o.Flow), float64(d.Flow), 1e-7)
		near(t, "filters at "+d.Open.In(unit.US), float64(o.Filters), float64(d.FilterDP), 1e-6)
		back, at, err := p.PointFromReading(cond, d.FilterDP)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "flow from the reading", float64(back.Flow), float64(d.Flow), 1e-6)
		near(t, "dP at design flow from the reading", float64(at), float64(cond.FilterDP), 1e-6)
	}
}

func TestNoOperatingPoint(t *testing.T) {
	c := dc1(t)
	c.Fan.Curve = c.Fan.Curve[2:6] // 2500 to 5000 cfm
	c.Damper.Points = nil
	p, err := c.AirPath()
	if err != nil {
		t.Fatal(err)
	}
	cond := p.Conditions()
	cond.FilterDP = 30 * unit.InchWater
	_, err = p.Point(cond)
	var none *NoPoint
	if !errors.Is(err, ErrNoOperatingPoint) || !errors.As(err, &none) || none.Beyond {
		t.Fatalf("tight system: %v", err)
	}
	const tight = "fan and system do not meet: the fan gives 14.0 in. w.g. at 2500 cfm, the first point of its curve, and the filters alone need 17.9 in. w.g. at this flow: the flow lies below the curve (SI: fan 3479 Pa, system 4905 Pa)"
	if err.Error() != tight {
		t.Errorf("got  %s\nwant %s", err, tight)
	}
	cond.FilterDP, cond.AfterFilterDP, cond.DuctExtra = 0, 0, -0.9
	if _, err = p.Point(cond); !errors.As(err, &none) || !none.Beyond {
		t.Errorf("loose system: %v", err)
	}
	cond.Damper = unit.Share(math.NaN())
	if _, err = p.Point(cond); err == nil {
		t.Error("a damper position that is not known was taken for one")
	}
	c.Fan.Curve = nil
	_, err = c.AirPath()
	if !errors.Is(err, ErrMissing) {
		t.Errorf("no curve: %v", err)
	}
}

func TestPointAllocatesNothing(t *testing.T) {
	p, err := dc1(t).AirPath()
	if err != nil {
		t.Fatal(err)
	}
	cond := p.Conditions()
	cond.Damper, cond.LeakArea, cond.DuctExtra = 0.45, 0.001, 0.1
	if n := testing.AllocsPerRun(100, func() {
		if _, err := p.Point(cond); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("Point allocates %v times a solve, want none", n)
	}
}

func BenchmarkPoint(b *testing.B) {
	p, err := dc1(b).AirPath()
	if err != nil {
		b.Fatal(err)
	}
	cond := p.Conditions()
	b.ReportAllocs()
	for b.Loop() {
		cond.Damper = 0.3 + unit.Share(math.Mod(float64(cond.Damper)+0.01, 0.7))
		if _, err := p.Point(cond); err != nil {
			b.Fatal(err)
		}
	}
}

// TestPointAgainstSecondOpinion compares with operating points that a general numerical library found.
func TestPointAgainstSecondOpinion(t *testing.T) {
	p, err := dc1(t).AirPath()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range unittest.Table(t, "testdata/points.csv") {
		cond := p.Conditions()
		cond.Damper = unit.Share(row.Float("open"))
		cond.FilterDP = unit.Pressure(row.Float("filter_inwg") * unit.InchWater)
		cond.AfterFilterDP = unit.Pressure(row.Float("after_inwg") * unit.InchWater)
		cond.Density = unit.Density(row.Float("density_kg_m3"))
		cond.Speed *= unit.Speed(row.Float("speed_ratio"))
		cond.DuctExtra, cond.FanLoss = row.Float("duct_extra"), row.Float("fan_loss")
		o, err := p.Point(cond)
		if err != nil {
			t.Errorf("line %d: %v", row.Line, err)
			continue
		}
		near(t, fmt.Sprintf("line %d: flow", row.Line), float64(o.Flow), row.Float("flow_m3_s"), 1e-4)
		near(t, fmt.Sprintf("line %d: power", row.Line), float64(o.Power), row.Float("shaft_W"), 1e-4)
	}
}
