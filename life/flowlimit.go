package life

import (
	"math"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

// flowLeast is the share of design flow below which the airflow counts as lost.
// Source: DESIGN.md section 4, life.
const flowLeast = 0.95

// fileFlow is the relative standard uncertainty of an airflow worked out from the file's fan curve, ducts and damper alone.
// Common practice, no source.
const fileFlow = 0.04

// damperTrust is how much of what an airflow is off where the damper stands it is off too where it stands open. Judgement.
const damperTrust = 0.5

// flowLimit is the dP at design flow at which the fully open damper lets only the least flow pass, and its relative standard
// uncertainty; NaN where the file does not allow it to be said. Where the airflow is measured and the damper's place known,
// what the machine moves less than the file makes of it counts as dP that the filters no longer have.
func flowLimit(f *sense.Features, c *collector.Collector) (limit unit.Pressure, doubt float64) {
	after := unit.Pressure(math.NaN())
	if m := f.Get(sense.AfterfilterLevel).Now; m.Known() {
		after = unit.Pressure(m.Value)
	}
	limit, more := lastHeld(c, flowLeast, after), lastHeld(c, flowLeast+flowStep, after)
	if !(limit > 0) {
		return unit.Pressure(math.NaN()), 0
	}
	off, unsure := lacking(f, c, after)
	limit -= off
	if !(limit > 0) || !(more > 0) {
		return unit.Pressure(math.NaN()), 0
	}
	return limit, math.Abs(float64(limit+off-more)) / flowStep * unsure / float64(limit)
}

// flowStep is over which share of design flow the slope of that dP is taken.
const flowStep = 0.02

// lastHeld is the dP at design flow at which the fully open damper still lets a share of design flow pass; the drag is the
// same at both flows.
func lastHeld(c *collector.Collector, share float64, after unit.Pressure) unit.Pressure {
	r := collector.NewTrimRequest()
	r.Flow, r.AfterFilterDP = unit.Flow(share)*c.Duty.Flow, after
	t, err := c.TrimNow(r)
	if err != nil {
		return unit.Pressure(math.NaN())
	}
	return t.LastHeld / unit.Pressure(share)
}

// lacking is by how much the filters' dP at design flow would have to be higher for the file to give the airflow that is
// measured, drawn towards nothing by how unsure both are, below 0 where the machine moves more; and the relative standard
// uncertainty of the airflow that is left. It is 0 where nothing is measured.
func lacking(f *sense.Features, c *collector.Collector, after unit.Pressure) (dp unit.Pressure, unsure float64) {
	open, share, read := f.Get(sense.DamperOpen).Now, f.Get(sense.FlowShare).Now, f.Get(sense.DPRaw).Now
	if !measured(f) || !open.Known() || !share.Known() || !read.Known() || !(share.Value > 0.3) {
		return 0, fileFlow
	}
	path, err := c.AirPath()
	if err != nil {
		return 0, fileFlow
	}
	cond := path.Conditions()
	cond.Damper = unit.Share(math.Max(0, math.Min(1, open.Value)))
	if !math.IsNaN(float64(after)) {
		cond.AfterFilterDP = after
	}
	now := read.Value / share.Value
	low, high := 0.0, 3*math.Max(now, known(float64(c.Filters.MaxDP)))
	flow := func(dp float64) float64 {
		cond.FilterDP = unit.Pressure(dp)
		o, err := path.Point(cond)
		if err != nil {
			return math.NaN()
		}
		return float64(o.Flow) / float64(c.Duty.Flow)
	}
	if !(flow(low) > share.Value && flow(high) < share.Value) {
		return 0, fileFlow
	}
	for range 40 {
		if mid := (low + high) / 2; flow(mid) > share.Value {
			low = mid
		} else {
			high = mid
		}
	}
	seen := share.Sigma / share.Value
	trust := damperTrust * fileFlow * fileFlow / (fileFlow*fileFlow + seen*seen)
	if !(trust > 0) {
		return 0, fileFlow
	}
	return unit.Pressure(trust * (low - now)), math.Sqrt(1-trust) * fileFlow
}

// measured reports that something other than the dP, the damper and the file tells the airflow.
func measured(f *sense.Features) bool {
	for _, m := range f.FlowBy {
		if m.Name == sense.ByMeasurement || m.Name == sense.ByFlowIndex {
			return true
		}
	}
	return false
}

// flowHeld is the dP at design flow with which the machine still moves enough air, by what is measured: the open damper lets
// more pass, so that the limit lies above. It is 0 where that is not known.
func flowHeld(f *sense.Features) unit.Pressure {
	share, dp := f.Get(sense.FlowShare).Now, f.Get(sense.DPRaw).Now
	if !measured(f) || !dp.Known() || !share.Known() || !(share.Value-share.Sigma > flowLeast) {
		return 0
	}
	return unit.Pressure(dp.Value / share.Value)
}
