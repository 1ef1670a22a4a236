package collector

import (
	"math"

	"dustwright/unit"
)

// trimWarnings is what a trim must say before anybody goes to the damper.
func (c *Collector) trimWarnings(t *Trim) []Finding {
	var out []Finding
	add := func(id string, w Weight, key string, text Text, source string) {
		out = append(out, Finding{id, w, key, text, source})
	}
	full := c.Fan.FullLoadCurrent
	if over(t.LeftAlone.Current, full) && t.LeftError == nil {
		add("motor-overload", Wrong, "fan.full_load_current", Say("with new filters and the damper left at %s open the flow is %s and the motor draws about %s, above its full-load %s: close the damper down before the fan is started",
			t.LeftAt.Open, t.LeftAlone.Flow, t.LeftAlone.Current, full), "motor nameplate")
	}
	if over(t.LeftAlone.Power, c.Fan.MotorPower) && t.LeftError == nil && !over(t.LeftAlone.Current, full) {
		add("motor-overload", Wrong, "fan.motor_power", Say("with new filters and the damper left at %s open the fan takes %s at the shaft, above the motor's %s: close the damper down before the fan is started",
			t.LeftAt.Open, t.LeftAlone.Power, c.Fan.MotorPower), "motor nameplate")
	}
	if p := t.New.Point; over(p.Current, full) || over(p.Power, c.Fan.MotorPower) {
		add("motor-overload", Wrong, "duty.flow", Say("at %s itself the fan takes %s and the motor draws about %s: the motor is too small for this flow",
			t.Flow, p.Power, p.Current), "motor nameplate")
	}
	out = append(out, lowVelocities("duct-velocity", t.Branches, t.Flow, "")...)
	last := t.Steps[len(t.Steps)-1]
	if !last.Held {
		add("damper-open", Odd, "filters.max_dp", Say("the damper is fully open at %s across the filters, before their max dP of %s; from there the flow falls, to about %s at max dP",
			t.LastHeld, last.FilterDP, last.Point.Flow), "fan curve")
		out = append(out, lowVelocities("duct-velocity-end", t.AtEnd, last.Point.Flow, ", with the damper fully open at max dP")...)
	}
	if worn := t.LastHeld - (c.AfterFilter.MaxDP - c.AfterFilter.CleanDP); c.AfterFilter.Fitted && worn < last.FilterDP && last.Held {
		add("afterfilter-worn", Note, "afterfilter.max_dp", Say("as the after-filter rises to its max dP of %s, the damper is fully open at %s across the filters already",
			c.AfterFilter.MaxDP, max(0, worn)), "fan curve")
	}
	if t.New.Point.Rising {
		add("fan-hunting", Odd, "fan.curve", Say("at %s the fan works left of the peak of its curve and may hunt", t.Flow), "fan curve")
	}
	if t.New.Extrapolated {
		add("damper-extrapolated", Note, "damper.points", Say("the position with new filters lies beyond the commissioning points; measure the flow after setting it"), commonPractice)
	}
	return out
}

// over reports a figure above its limit; unknown ones are not.
func over[Q ~float64](value, limit Q) bool { return value > limit }

// lowVelocities names the branches in which dust would drop out.
func lowVelocities(id string, branches []BranchVelocity, flow unit.Flow, when string) []Finding {
	var out []Finding
	for _, b := range branches {
		if b.Low && !math.IsNaN(float64(b.Velocity)) {
			out = append(out, Finding{id, Wrong, "branch", Say("in %q the air moves at %s at %s%s, below the %s that keeps this dust moving: it will drop out there",
				b.Name, b.Velocity, flow, when, b.Least), "[duty] min_duct_velocity or the dust's class"})
		}
	}
	return out
}
