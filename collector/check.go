package collector

import (
	"math"

	"dustwright/duct"
	"dustwright/fan"
	"dustwright/filter"
	"dustwright/unit"
)

// Check lists what in the file looks wrong or odd, the values being readable and free of contradiction (see Validate):
// each with its numbers and where the limit comes from. Nothing found is an empty list, not a proof.
func (c *Collector) Check() []Finding {
	k := &checker{c: c}
	k.filters()
	k.setPoints()
	k.fan()
	k.motor()
	k.damper()
	k.ducts()
	k.header()
	k.duty()
	return k.out
}

type checker struct {
	c   *Collector
	out []Finding
}

func (k *checker) find(id string, w Weight, key string, text Text, source string) {
	k.out = append(k.out, Finding{id, w, key, text, source})
}

// Filtration velocities through cartridges: fume and fine dust 1 to 2 ft/min, others up to 4 (trade figures, from
// memory).
const (
	fpm         = unit.Foot / 60
	fineMost    = 2 * fpm
	anyMost     = 4 * fpm
	anyLeast    = 0.5 * fpm
	canMost     = 300 * fpm
	canLight    = 200 * fpm
	fromMemory  = "trade figures, from memory"
	seasonedMax = 6 * unit.InchWater
)

// filters looks at air-to-cloth and dP.
func (k *checker) filters() {
	c := k.c
	v := unit.Velocity(float64(c.Duty.Flow) / float64(c.Filters.Area()))
	class, _ := duct.ClassOfDust(c.Duty.Dust)
	fine := light(class)
	switch {
	case v > anyMost:
		k.find("air-to-cloth", Wrong, "filters.area_each", Say("air-to-cloth is %s through %s of media; cartridges take {1 to 4 ft/min|5 to 20 mm/s}: check area_each, per_row and the flow", v, c.Filters.Area()), fromMemory)
	case fine && v > fineMost:
		k.find("air-to-cloth", Odd, "filters.area_each", Say("air-to-cloth is %s through %s of media; for fume and fine dust {1 to 2 ft/min|5 to 10 mm/s} is usual: expect a shorter filter life", v, c.Filters.Area()), fromMemory)
	case v < anyLeast:
		k.find("air-to-cloth", Odd, "filters.area_each", Say("air-to-cloth is only %s through %s of media: check area_each, per_row and the flow", v, c.Filters.Area()), fromMemory)
	}
	switch can := filter.CanVelocity(c.Duty.Flow, c.Filters.OpenArea); {
	case can > canMost:
		k.find("can-velocity", Wrong, "filters.open_area", Say("the air rises at %s through the %s between the filters (can velocity); above {300 ft/min|1.5 m/s} dust that a pulse takes off is carried back up", can, c.Filters.OpenArea), fromMemory)
	case can > canLight && light(class):
		k.find("can-velocity", Odd, "filters.open_area", Say("the air rises at %s through the %s between the filters (can velocity); for light and fine dust stay below {200 ft/min|1 m/s}, or what a pulse takes off is carried back up", can, c.Filters.OpenArea), fromMemory)
	}
	if dp := c.Filters.CleanDP; dp > unit.InchWater {
		k.find("clean-dp", Odd, "filters.clean_dp", Say("new filters at %s; below {1 in. w.g.|250 Pa} is usual", dp), commonPractice)
	}
	if dp := c.Filters.MaxDP; dp > 1.5*seasonedMax {
		k.find("max-dp", Odd, "filters.max_dp", Say("filters are to go to %s; above {6 in. w.g.|1500 Pa} check the airflow, then change", dp), commonPractice)
	}
}

// light reports a dust that is fine or light: it blinds media sooner and rises with the air sooner.
func light(class duct.DustClass) bool {
	return class == duct.DustFume || class == duct.DustVapour || class == duct.DustFineLight
}

// setPoints looks at the controller's limits against the filters.
func (k *checker) setPoints() {
	c, s := k.c, k.c.SetPoints
	if s.Low <= c.Filters.CleanDP {
		k.find("low-below-clean", Wrong, "setpoints.low", Say("the low set point %s is not above the new filters' %s: once cleaning has started it would never stop", s.Low, c.Filters.CleanDP), "definition of on-demand cleaning")
	}
	if s.High > c.Filters.MaxDP {
		k.find("high-above-max", Wrong, "setpoints.high", Say("the high set point %s is above the filters' max dP %s: they would be due for change before they are cleaned", s.High, c.Filters.MaxDP), "definition of on-demand cleaning")
	}
	if s.Alarm > c.Filters.MaxDP {
		k.find("alarm-above-max", Odd, "setpoints.alarm", Say("the alarm %s comes only above the filters' max dP %s", s.Alarm, c.Filters.MaxDP), commonPractice)
	}
	if s.High-s.Low < 0.5*unit.InchWater {
		k.find("set-points-close", Odd, "setpoints.high", Say("low and high lie only %s apart: cleaning will start and stop all the time; {1 to 2 in. w.g.|250 to 500 Pa} is usual", s.High-s.Low), commonPractice)
	}
	if s.High > seasonedMax {
		k.find("high-high", Odd, "setpoints.high", Say("cleaning starts only at %s; low, high and alarm at {2.0, 4.0 and 6.0 in. w.g.|500, 1000 and 1500 Pa} are usual", s.High), commonPractice)
	}
}

// fan looks at the curve, and whether it can do what is asked.
func (k *checker) fan() {
	c := k.c
	rho := c.SiteAir(unit.Temperature(math.NaN()), unit.Share(math.NaN())).Density()
	if ratio := unit.Share(rho / c.Fan.Density); math.Abs(float64(ratio)-1) > 0.05 {
		k.find("density", Note, "site.elevation", Say("the air here is %s, the fan curve is for %s: pressure and power are %s of the curve's", rho, c.Fan.Density, ratio), "fan laws")
	}
	p, err := c.AirPath()
	if err != nil {
		if len(c.Fan.Curve) > 0 {
			k.find("air-path", Wrong, "fan.curve", Say("%s", err.Error()), "fan = inlet and ducts + filters + after-filter + damper")
		}
		return
	}
	k.curve()
	t := &trimmer{c: c, p: p, base: p.Conditions(), flow: c.Duty.Flow}
	held := t.lastHeld()
	switch {
	case held < c.Filters.CleanDP:
		k.find("fan-weak-for-duty", Wrong, "duty.flow", Say("with the damper fully open the fan holds %s only up to %s across the filters, less than new ones take (%s): design flow cannot be had", c.Duty.Flow, max(0, held), c.Filters.CleanDP), "fan curve")
	case held < c.SetPoints.High:
		k.find("fan-short", Wrong, "setpoints.high", Say("the fan holds %s only up to %s across the filters, below the high set point %s: the flow is short before cleaning starts", c.Duty.Flow, held, c.SetPoints.High), "fan curve")
	case held < c.Filters.MaxDP:
		k.find("fan-short", Odd, "filters.max_dp", Say("the fan holds %s only up to %s across the filters, below their max dP %s: flow, not dP, will end their life", c.Duty.Flow, held, c.Filters.MaxDP), "fan curve")
	}
	if _, peak := p.curve.Peak(p.Conditions().Density, unit.Speed(p.speed)); c.Duty.Flow < peak {
		k.find("fan-hunting", Odd, "duty.flow", Say("design flow lies left of the fan curve's peak at %s: the fan may hunt", peak), "fan curve")
	}
}

// curve looks at the points themselves.
func (k *checker) curve() {
	pts := k.c.Fan.Curve
	top := 0
	for i := range pts {
		if pts[i].Pressure > pts[top].Pressure {
			top = i
		}
	}
	for i := top + 1; i < len(pts); i++ {
		if pts[i].Pressure > pts[i-1].Pressure {
			k.find("curve-rises", Odd, "fan.curve", Say("right of its peak the curve rises again, from %s to %s at %s: check that point", pts[i-1].Pressure, pts[i].Pressure, pts[i].Flow), commonPractice)
		}
	}
	for _, pw := range k.c.Fan.Power {
		dp := unit.Pressure(math.NaN())
		for _, pt := range pts {
			if pt.Flow == pw.Flow {
				dp = pt.Pressure
			}
		}
		if eta := fan.StaticEfficiency(pw.Flow, dp, pw.Power); eta > 0.88 {
			k.find("fan-efficiency", Wrong, "fan.power", Say("at %s curve and power give a static efficiency of %s; fans reach 60 to 85 %%: one of the two is wrong", pw.Flow, eta), commonPractice)
		}
	}
}

// motor looks at the nameplate against the fan.
func (k *checker) motor() {
	c, f := k.c, k.c.Fan
	p, err := c.AirPath()
	if err == nil {
		shaft, amps, _ := p.load(c.Duty.Flow, p.Conditions())
		switch {
		case shaft > f.MotorPower:
			k.find("motor-size", Wrong, "fan.motor_power", Say("at design flow the fan takes %s at the shaft, more than the motor's %s (about %s against %s full load)", shaft, f.MotorPower, amps, f.FullLoadCurrent), "fan curve")
		case shaft < 0.4*f.MotorPower:
			k.find("motor-size", Note, "fan.motor_power", Say("at design flow the fan takes only %s of the motor's %s: motor amps say little about the flow", shaft, f.MotorPower), commonPractice)
		}
		most := unit.Power(math.NaN())
		for _, pt := range f.Power {
			if s := pt.Power * unit.Power(p.rho/float64(f.Density)); !(s <= most) {
				most = s
			}
		}
		if most > f.MotorPower && shaft <= f.MotorPower {
			k.find("motor-overload", Odd, "fan.motor_power", Say("with the damper open too far the fan can take %s, more than the motor's %s: never run it without filters or with the damper left open after new ones", most, f.MotorPower), "fan curve")
		}
	}
	amps := float64(f.MotorPower) / (math.Sqrt(3) * float64(f.Voltage) * float64(f.MotorEfficiency) * float64(f.PowerFactor))
	if r := float64(f.FullLoadCurrent) / amps; math.Abs(r-1) > 0.12 {
		k.find("nameplate", Odd, "fan.full_load_current", Say("the nameplate says %s; its power, voltage, efficiency and power factor give %s: check them", f.FullLoadCurrent, unit.Current(amps)), "P = sqrt(3) V I cos(phi) eta")
	}
}

// damper looks at the commissioning points.
func (k *checker) damper() {
	pts := k.c.Damper.Points
	for i := 1; i < len(pts); i++ {
		if pts[i].Flow <= pts[i-1].Flow {
			k.find("damper-points", Wrong, "damper.points", Say("opening the damper from %s to %s brings no more flow (%s, %s): one of the readings is wrong", pts[i-1].Open, pts[i].Open, pts[i-1].Flow, pts[i].Flow), "more open, more flow")
		}
	}
	for _, pt := range pts {
		want := float64(k.c.Filters.CleanDP) * float64(pt.Flow) / float64(k.c.Duty.Flow)
		if r := float64(pt.FilterDP) / want; r > 2 || r < 0.5 {
			k.find("damper-points", Odd, "damper.points", Say("at %s open the filters took %s at %s; clean_dp leads to %s there: were the filters new?", pt.Open, pt.FilterDP, pt.Flow, unit.Pressure(want)), "dP in proportion to flow")
		}
	}
}

// header looks at the pulse air.
func (k *checker) header() {
	h := k.c.Header
	if h.Set > 100*unit.Psi || h.Set < 40*unit.Psi {
		k.find("header-set", Odd, "header.set", Say("the header is set to %s; {60 psi is usual, 60 to 120 psi|410 kPa is usual, 410 to 830 kPa} in the EPA texts; the filters' maker sets the upper limit", h.Set), commonPractice)
	}
	if h.OnTime > 0.3 || h.OnTime < 0.05 {
		k.find("on-time", Odd, "header.on_time", Say("pilots are energised for %s; 80 to 200 ms is usual", h.OnTime), commonPractice)
	}
	if h.Interval < 5 {
		k.find("interval", Odd, "header.interval", Say("pulses follow every %s; 10 s is usual, 5 to 30 s are seen", h.Interval), commonPractice)
	}
	use, err := k.c.AirUse(NewAirRequest())
	if err == nil { // else the file says too little, and Answers tells so
		k.out = append(k.out, use.Findings...)
	}
}

// duty looks at the dust.
func (k *checker) duty() {
	d := k.c.Duty
	if d.Loading > 20*unit.Grain/unit.CubicFoot {
		k.find("loading", Odd, "duty.loading", Say("a dust loading of %s is more than cartridges usually take without a pre-separator", d.Loading), fromMemory)
	}
	if d.Combustible == "yes" || d.Combustible == "unknown" {
		k.find("combustible", Note, "duty.combustible", Say("the dust is or may be combustible: explosion protection is not judged here and never declared adequate; have it assessed"), "this tool informs and defers")
	}
}
