package collector

import (
	"math"
	"slices"
	"testing"

	"dustwright/header"
	"dustwright/unit"
)

func ids(fs []Finding) []string {
	var out []string
	for _, f := range fs {
		out = append(out, f.ID)
	}
	return out
}

// TestCheckFinds: one thing is made wrong at a time, and is found with its weight; nothing else appears that the example does
// not show too, except what is named.
func TestCheckFinds(t *testing.T) {
	base := ids(dc1(t).Check())
	if want := []string{"air-to-cloth", "combustible"}; !slices.Equal(base, want) {
		t.Fatalf("the example shows %v, want %v", base, want)
	}
	const in = unit.InchWater
	for _, tt := range []struct {
		id     string
		weight Weight
		change func(*Collector)
	}{
		{"air-to-cloth", Wrong, func(c *Collector) { c.Filters.AreaEach /= 2 }},
		{"air-to-cloth", Odd, func(c *Collector) { c.Filters.AreaEach *= 10 }},
		{"can-velocity", Odd, func(c *Collector) { c.Filters.OpenArea *= 0.7 }},
		{"can-velocity", Wrong, func(c *Collector) { c.Filters.OpenArea *= 0.45 }},
		{"clean-dp", Odd, func(c *Collector) { c.Filters.CleanDP = 1.5 * in }},
		{"max-dp", Odd, func(c *Collector) { c.Filters.MaxDP = 10 * in }},
		{"low-below-clean", Wrong, func(c *Collector) { c.SetPoints.Low = 0.6 * in }},
		{"high-above-max", Wrong, func(c *Collector) { c.SetPoints.High, c.Filters.MaxDP = 5*in, 4.5*in }},
		{"alarm-above-max", Odd, func(c *Collector) { c.SetPoints.Alarm = 7 * in }},
		{"set-points-close", Odd, func(c *Collector) { c.SetPoints.Low = 3.8 * in }},
		{"high-high", Odd, func(c *Collector) { c.SetPoints.High, c.SetPoints.Alarm, c.Filters.MaxDP = 6.5*in, 7*in, 8*in }},
		{"density", Note, func(c *Collector) { c.Site.Elevation = 1600 }},
		{"fan-weak-for-duty", Wrong, func(c *Collector) { c.Duty.InletSP = -10 * in; c.Damper.Points = nil }},
		{"fan-short", Wrong, func(c *Collector) { c.Duty.InletSP = -7 * in; c.Damper.Points = nil }},
		{"fan-short", Odd, func(c *Collector) { c.Filters.MaxDP = 7 * in }},
		{"fan-hunting", Odd, func(c *Collector) { c.Duty.Flow, c.Damper.Points = 0.5, nil }},
		{"air-path", Wrong, func(c *Collector) { c.Damper.Points[2].Flow *= 1.5 }},
		{"curve-rises", Odd, func(c *Collector) { c.Fan.Curve[5].Pressure = 12 * in }},
		{"fan-efficiency", Wrong, func(c *Collector) { c.Fan.Power[2].Power /= 2 }},
		{"motor-size", Wrong, func(c *Collector) { c.Fan.MotorPower = 5000 }},
		{"motor-size", Note, func(c *Collector) { c.Fan.MotorPower = 30000 }},
		{"motor-overload", Odd, func(c *Collector) { c.Fan.MotorPower = 9000 }},
		{"nameplate", Odd, func(c *Collector) { c.Fan.FullLoadCurrent = 37 }},
		{"damper-points", Wrong, func(c *Collector) { c.Damper.Points[1].Flow = c.Damper.Points[0].Flow }},
		{"damper-points", Odd, func(c *Collector) { c.Damper.Points[0].FilterDP = 2 * in }},
		{"branch-sum", Odd, func(c *Collector) { c.Branches[0].Flow *= 0.7 }},
		{"duct-velocity", Wrong, func(c *Collector) { c.Branches[0].Diameter *= 1.3 }},
		{"min-velocity", Odd, func(c *Collector) { c.Duty.MinDuctVelocity = 5 }},
		{"header-small", Odd, func(c *Collector) { c.Header.Volume /= 2 }},
		{"header-set", Odd, func(c *Collector) { c.Header.Set = 30 * unit.Psi }},
		{"on-time", Odd, func(c *Collector) { c.Header.OnTime = 0.5 }},
		{"interval", Odd, func(c *Collector) { c.Header.Interval = 3 }},
		{"header-recovery", Wrong, func(c *Collector) { c.Header.Interval = 3 }},
		{"air-short", Wrong, func(c *Collector) { c.Header.SupplyFlow /= 4 }},
		{"loading", Odd, func(c *Collector) { c.Duty.Loading = 30 * unit.Grain / unit.CubicFoot }},
	} {
		t.Run(tt.id+" "+string(tt.weight), func(t *testing.T) {
			c := dc1(t)
			tt.change(c)
			for _, f := range c.Check() {
				if f.ID == tt.id && f.Weight == tt.weight {
					if f.Source == "" || f.Text.In(unit.US) == "" || f.Text.In(unit.SI) == "" {
						t.Errorf("without source or text: %+v", f)
					}
					return
				}
			}
			t.Errorf("not found among %v", ids(c.Check()))
		})
	}
}

func TestCheckOfTheLeastFile(t *testing.T) {
	c, err := Parse("least.toml", []byte("tag = \"X\"\nduty.flow = \"1000 cfm\"\nfilters = {rows = 4, per_row = 1, area_each = \"200 ft2\"}\n"))
	if err != nil {
		t.Fatal(err)
	}
	if got := c.Check(); got != nil {
		t.Errorf("nothing is known, yet found %v", ids(got))
	}
	can := 0
	for _, a := range c.Answers() {
		if a.Can {
			can++
		} else if len(a.Needs) == 0 {
			t.Errorf("question %d cannot be answered and needs nothing", a.Number)
		}
	}
	if can != 6 {
		t.Errorf("%d questions can be answered from the least file, want 6", can)
	}
	for _, a := range dc1(t).Answers() {
		if !a.Can || a.Better != nil {
			t.Errorf("question %d: the full file leaves %v %v open", a.Number, a.Needs, a.Better)
		}
	}
}

func TestAirUse(t *testing.T) {
	c := dc1(t)
	use, err := c.AirUse(NewAirRequest())
	if err != nil {
		t.Fatal(err)
	}
	// Bounds by hand: a pulse cannot take more than the valve's choked flow at full pressure for its open time, 0.205 s
	// (150 ms and the valve's own delays), nor more than the header holds above the barometer.
	choked := float64(header.Nozzle{C: c.Header.ValveFlow, B: 0.3}.Flow(unit.AbsPressure(60*unit.Psi+99180), 293.15, 99180))
	if m := float64(use.First.Air); m > choked*0.205 || m < choked*0.05 {
		t.Errorf("a pulse takes %g kg, choked flow is %g kg/s", m, choked)
	}
	near(t, "per cycle", float64(use.PerCycle), 6*float64(use.PerPulse), 1e-12)
	near(t, "per stop", float64(use.PerStop), 30*float64(use.PerPulse), 1e-12)
	near(t, "while cleaning", float64(use.WhileCleaning), float64(use.PerPulse)/10, 1e-12)
	near(t, "cost of 1000 pulses", use.CostPer1000Pulses, 0.35*float64(use.PerPulse)/unit.CubicFoot, 1e-9)
	near(t, "cost a year", use.CostPerYear, use.CostPer1000Pulses/1000*80*52*360, 1e-9)
	if !(use.Low < use.PerPulse && use.PerPulse < use.High) {
		t.Errorf("a pulse takes %v, between %v and %v", use.PerPulse, use.Low, use.High)
	}
	near(t, "shortest interval", float64(use.ShortestInterval), float64(header.StdVolume(use.First.Air))/(0.7*float64(c.Header.SupplyFlow)), 1e-9)
}

func TestAirUseLine(t *testing.T) {
	c := dc1(t)
	c.Header.Interval = 5 // takes more than the supply brings
	r := NewAirRequest()
	r.PipeBore, r.PipeLength, r.LinePressure = 0.0127, 30, 90*unit.Psi
	r.Receiver, r.DewPoint, r.Coldest = 0.005, 276.15, 266.15
	c.Header.SupplyFlow /= 2
	use, err := c.AirUse(r)
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range []string{"air-short", "receiver-small", "air-wet"} {
		if !warned(use.Findings, id) {
			t.Errorf("no %q among %v", id, ids(use.Findings))
		}
	}
	// V = t (out - in) Pa/(p1 - p2), by hand from its own terms.
	want := 30 * float64(use.Need-c.Header.SupplyFlow) * 99180 / (30 * unit.Psi)
	near(t, "receiver", float64(use.Receiver), want, 1e-3)
	r.LinePressure, r.PipeLength = 50*unit.Psi, 3000
	use, err = c.AirUse(r)
	if err != nil || !warned(use.Findings, "line-pressure") || !warned(use.Findings, "pipe-small") {
		t.Errorf("%v, findings %v", err, ids(use.Findings))
	}
	c.Header.SupplyFlow, c.Cost.AirPer = unit.StdFlow(math.NaN()), math.NaN()
	use, err = c.AirUse(NewAirRequest())
	if err != nil || !math.IsNaN(float64(use.Share)) || len(use.Gaps) != 2 || math.IsNaN(use.CostPerYear) {
		t.Errorf("without supply and price of air: %v, share %v, gaps %v, cost %v", err, use.Share, use.Gaps, use.CostPerYear)
	}
	if _, err := New().AirUse(r); err == nil {
		t.Error("an empty file has pulse air")
	}
}
