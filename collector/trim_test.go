package collector

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"dustwright/unit"
)

func trim(t testing.TB, c *Collector, change func(*TrimRequest)) *Trim {
	t.Helper()
	r := NewTrimRequest()
	r.Step = unit.InchWater
	change(&r)
	out, err := c.Trim(r)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestTrimHoldsTheFlow: at every position of the schedule the operating point is the flow asked for, the positions open as the
// filters age, and each lies within its own limits.
func TestTrimHoldsTheFlow(t *testing.T) {
	c := dc1(t)
	rapid.Check(t, func(rt *rapid.T) {
		cfm := rapid.Float64Range(3000, 4400).Draw(rt, "flow")
		out := trim(t, c, func(r *TrimRequest) {
			r.Flow = unit.Flow(cfm * unit.CubicFoot / 60)
			r.FilterDP = unit.Pressure(rapid.Float64Range(0.5, 5).Draw(rt, "dp") * unit.InchWater)
		})
		open := unit.Share(0)
		for _, s := range append([]TrimStep{*out.Now}, out.Steps...) {
			if s.Held && math.Abs(float64(s.Point.Flow/out.Flow)-1) > 1e-6 {
				rt.Fatalf("%s across the filters, %s open: flow %s, want %s", s.FilterDP.In(0), s.Open.In(0), s.Point.Flow.In(0), out.Flow.In(0))
			}
			if !s.Held && (s.Open != 1 || s.Point.Flow > out.Flow) {
				rt.Fatalf("not held, yet %s open and flow %s", s.Open.In(0), s.Point.Flow.In(0))
			}
			if !(s.Low <= s.Open && s.Open <= s.High) {
				rt.Fatalf("position %v outside its limits %v to %v", s.Open, s.Low, s.High)
			}
		}
		for _, s := range out.Steps {
			if s.Open < open {
				rt.Fatalf("the damper closes as the filters age: %v after %v", s.Open, open)
			}
			open = s.Open
		}
	})
}

func TestTrimOfTheExample(t *testing.T) {
	c := dc1(t)
	out := trim(t, c, func(r *TrimRequest) { r.FilterDP, r.Damper = 3*unit.InchWater, 0.5 })
	// By hand: fan 11.8 in. at 4200 cfm times 1.17342/1.20138 = 11.525; less inlet 3.5, filters 0.7, after-filter 1.0.
	near(t, "damper loss with new filters", float64(out.New.DamperLoss), 6.325*unit.InchWater, 1e-3)
	// The damper fully open, from its third point: fan 9.2 in. ... leaves 1.4 in. at 5250 cfm; the rest is 11.525-3.5-1.0-loss.
	loss := float64(pathOf(t).damper.Loss(1, out.Flow, unit.Density(pathOf(t).rho)))
	near(t, "last held", float64(out.LastHeld), (11.525-3.5-1.0)*unit.InchWater-loss, 1e-3)
	if out.NowPoint == nil || out.NowPoint.Flow >= c.Duty.Flow || out.Now.FilterDP <= 3*unit.InchWater {
		t.Errorf("with the damper at 50 %% and 3 in. w.g. the flow is below design, so that at design flow the filters take more: %+v", out.NowPoint)
	}
	near(t, "dp carried to design flow", float64(out.Now.FilterDP), 3*unit.InchWater*float64(c.Duty.Flow/out.NowPoint.Flow), 1e-6)
	near(t, "flow left alone", float64(out.LeftAlone.Flow), 4102*unit.CubicFoot/60, 2e-3)
	if got := out.Steps[len(out.Steps)-1].FilterDP; math.Abs(float64(got-c.Filters.MaxDP)) > 1e-9 || len(out.Steps) != 7 {
		t.Errorf("the schedule has %d steps and ends at %s", len(out.Steps), got.In(unit.US))
	}
}

func warned(fs []Finding, id string) bool {
	for _, f := range fs {
		if f.ID == id {
			return true
		}
	}
	return false
}

func TestTrimWarnings(t *testing.T) {
	for _, tt := range []struct {
		id     string
		change func(*Collector)
		ask    func(*TrimRequest)
	}{
		{"motor-overload", func(c *Collector) { c.Fan.FullLoadCurrent, c.Fan.MotorPower = 14, 8500 }, func(r *TrimRequest) { r.Damper = 1 }},
		{"duct-velocity", func(*Collector) {}, func(r *TrimRequest) { r.Flow = 1.6 }},
		{"damper-open", func(c *Collector) { c.Filters.MaxDP = 9 * unit.InchWater }, func(*TrimRequest) {}},
		{"duct-velocity-end", func(c *Collector) { c.Filters.MaxDP = 12 * unit.InchWater }, func(*TrimRequest) {}},
		{"afterfilter-worn", func(*Collector) {}, func(*TrimRequest) {}},
		{"damper-extrapolated", func(*Collector) {}, func(r *TrimRequest) { r.Flow = 1.2 }},
		{"fan-hunting", func(*Collector) {}, func(r *TrimRequest) { r.Flow = 0.6 }},
	} {
		t.Run(tt.id, func(t *testing.T) {
			c := dc1(t)
			tt.change(c)
			out := trim(t, c, tt.ask)
			if !warned(out.Warnings, tt.id) {
				t.Errorf("no warning %q among %v", tt.id, out.Warnings)
			}
		})
	}
	if w := trim(t, dc1(t), func(*TrimRequest) {}).Warnings; len(w) != 1 || w[0].ID != "afterfilter-worn" {
		t.Errorf("the example deserves one warning, got %v", w)
	}
}

func TestTrimWithoutMuchKnown(t *testing.T) {
	c := dc1(t)
	c.Damper.Points = nil
	out := trim(t, c, func(*TrimRequest) {})
	if !math.IsNaN(float64(out.New.Open)) || !(out.New.DamperLoss > 0) || out.LeftError == nil {
		t.Errorf("without damper points: position %v, loss %v, left alone %v", out.New.Open, out.New.DamperLoss, out.LeftError)
	}
	c = dc1(t)
	c.Filters.CleanDP, c.Filters.MaxDP, c.Duty.InletSP = unit.Pressure(math.NaN()), unit.Pressure(math.NaN()), unit.Pressure(math.NaN())
	out = trim(t, c, func(*TrimRequest) {})
	var gaps []string
	for _, g := range out.Gaps {
		gaps = append(gaps, g.Key)
	}
	if got := strings.Join(gaps, " "); got != "filters.clean_dp duty.inlet_sp filters.max_dp" {
		t.Errorf("gaps %q", got)
	}
	sure := trim(t, dc1(t), func(*TrimRequest) {}).New
	if w := out.New.High - out.New.Low; w <= sure.High-sure.Low {
		t.Errorf("with less known the position is surer: %v instead of %v", w, sure.High-sure.Low)
	}
	c.Fan.Curve = nil
	if _, err := c.Trim(NewTrimRequest()); !errors.Is(err, ErrMissing) {
		t.Errorf("without a fan curve: %v", err)
	}
}

func TestFlowThatCannotBeHad(t *testing.T) {
	r := NewTrimRequest()
	r.Flow = 3
	_, err := dc1(t).Trim(r)
	if !errors.Is(err, ErrNoOperatingPoint) || !strings.Contains(err.Error(), "even without filters and with the damper fully open") {
		t.Errorf("3 m3/s: %v", err)
	}
	r.Flow = 30
	if _, err = dc1(t).Trim(r); !errors.Is(err, ErrNoOperatingPoint) {
		t.Errorf("30 m3/s: %v", err)
	}
}
