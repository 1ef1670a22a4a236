package collector

import (
	"math"

	"dustwright/unit"
)

// FlowAtEnd is the airflow left when the filters have reached their max dP and the damper is fully open [m3/s]: at most design
// flow, to which the damper is trimmed as long as it can. after is the after-filter's dP at design flow [Pa]; NaN counts as new.
// NaN where the file does not say max dP, fan curve and damper points, or fan and system do not meet. Source: see Point.
func (c *Collector) FlowAtEnd(after unit.Pressure) unit.Flow {
	nan := unit.Flow(math.NaN())
	p, err := c.AirPath()
	if err != nil || !p.DamperKnown() || !(c.Filters.MaxDP > 0) {
		return nan
	}
	cond := p.Conditions()
	cond.FilterDP = c.Filters.MaxDP
	if !math.IsNaN(float64(after)) {
		cond.AfterFilterDP = after
	}
	o, err := p.Point(cond)
	if err != nil {
		return nan
	}
	return min(o.Flow, c.Duty.Flow)
}
