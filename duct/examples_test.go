package duct

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"dustwright/unit"
	"dustwright/unit/unittest"
)

// The worked examples that are about ducts and hoods; those on fans and motors are held where those live.
func TestWorkedExamples(t *testing.T) {
	ft := unit.Length(unit.Foot)
	grinder := unit.Velocity(390 * cfm / float64(Round(inches(4)).Area()))
	inch := func(pa unit.Pressure) float64 { return float64(pa) / inwgWarm } // the examples work with 4005
	wheel, err := GrindingExhaust(GrindingWheel, inches(22), inches(4.5))
	if err != nil {
		t.Fatal(err)
	}
	flange := Orifice{Bore: 0.0222, Duct: 0.07391, Taps: FlangeTaps}
	discharge, err := flange.Discharge(4 * 0.12 / (math.Pi * 0.07391 * 1.85e-5))
	if err != nil {
		t.Fatal(err)
	}
	chart := Segment{Section: Round(inches(20)), Length: 100 * ft, Roughness: 0.15e-3}
	sph := unit.Pressure(1.69 * inwgWarm)
	results := map[string]float64{
		"grinder_branch/V":     float64(grinder) / fpm,
		"grinder_branch/VP":    inch(VelocityPressure(grinder, stdAir)),
		"grinder_branch/SPh":   inch(HoodStatic(unit.Flow(390*cfm), Round(inches(4)), 0.65, stdAir)),
		"osha_wheel/Q":         float64(wheel) / cfm,
		"grinder_no_loss/VP":   inch(VelocityPressure(4490*fpm, stdAir)),
		"grinder_no_loss/SP2":  -inch(HoodStatic(unit.Flow(4490*fpm*float64(Round(inches(3.5)).Area())), Round(inches(3.5)), 0, stdAir)),
		"hood_sp_nonstd/Q":     float64(FlowFromHoodStatic(sph, Round(inches(6)), 0.78, 0.95*stdAir)) / cfm,
		"tp_sign/TP":           inch(TotalPressure(-3.50*inwgWarm, 2.00*inwgWarm)),
		"door/V":               2300 * cfm / float64(Rect(3*ft, 7*ft).Area()) / fpm,
		"capture_sphere/Q":     float64(PointSinkFlow(100*fpm, 0.5*ft)) / cfm,
		"friction_chart/dp100": float64(chart.Loss(unit.Flow(4000*cfm), Air{stdAir, muRoom})) / inwg,
		"friction_chart/V":     4000 * cfm / float64(Round(inches(20)).Area()) / fpm,
		"orifice_C/C":          discharge,
	}
	checked := 0
	for _, row := range unittest.Table(t, "testdata/worked_examples.csv") {
		got, ours := results[row.Text("id")+"/"+row.Text("output")]
		if !ours {
			continue
		}
		checked++
		want := row.Float("expected")
		tolerance := strings.Fields(row.Text("tolerance"))
		figure, err := strconv.ParseFloat(tolerance[0], 64)
		if err != nil {
			t.Fatalf("%s:%d: tolerance %q", row.Path, row.Line, row.Text("tolerance"))
		}
		if len(tolerance) > 1 && tolerance[1] == "%" {
			figure *= want / 100
		}
		within(t, row.Text("id")+" "+row.Text("output"), got, want, math.Abs(figure))
	}
	if checked != len(results) {
		t.Errorf("%d of %d examples found in the table", checked, len(results))
	}
}

// The usual rule of thumb for a small open duct end, from memory: at one foot an 8 in duct needs about
// eleven times its capture velocity in square feet.
func TestCaptureFlow(t *testing.T) {
	q := CaptureFlow(100*fpm, unit.Length(unit.Foot), Round(inches(8)).Area())
	near(t, "cfm", float64(q)/cfm, 100*(10+math.Pi*64/4/144), 1e-9)
}
