package text

import (
	"io"

	"dustwright/collector"
	"dustwright/unit"
)

// Point prints an operating point.
func Point(w io.Writer, sys unit.System, c *collector.Collector, e collector.Estimate) error {
	p := &page{sys: sys}
	p.title(c)
	p.gates(e.Shut)
	switch {
	case e.AtMost:
		p.say("The fan moves at most about %s (%s of design, surely not above %s): what the damper takes is not known.", e.Flow, share(e.Flow, c.Duty.Flow), e.High)
	default:
		p.say("The fan moves about %s (%s of design), between %s and %s.", e.Flow, share(e.Flow, c.Duty.Flow), e.Low, e.High)
	}
	p.gatesTell(e)
	if e.HoodFlow < e.Flow {
		p.say("Of that %s comes through the hoods, the rest leaks in.", e.HoodFlow)
	}
	if e.Rising {
		p.say("That is left of the peak of the fan curve: the fan may hunt.")
	}
	p.gap()
	losses(p, c, e.OperatingPoint, e.Conditions.Damper, e.AtMost)
	p.table()
	load(p, c, e.OperatingPoint)
	p.ducts(e.Branches, e.Shut)
	p.gap()
	p.say("Reckoned with %s and %s across the filters at design flow.", p.air(e.Conditions.Density, e.Given.Air), e.Conditions.FilterDP)
	if e.Mostly != "" {
		p.say("What widens the answer most is %s.", e.Mostly)
	}
	p.gaps(e.Gaps)
	return p.print(w)
}

// losses writes what the fan's pressure is spent on.
func losses(p *page, c *collector.Collector, o collector.OperatingPoint, open unit.Share, noDamper bool) {
	p.row("fan static pressure", p.q(o.Fan))
	if o.Inlet > 0 {
		p.row("  inlet and ducts", p.q(o.Inlet))
	}
	p.row("  filters", p.q(o.Filters))
	if c.AfterFilter.Fitted {
		p.row("  after-filter", p.q(o.AfterFilter))
	}
	if !noDamper {
		p.row("  damper, "+p.q(open)+" open", p.q(o.Damper))
	}
}

// load writes shaft power and motor current, where they are known.
func load(p *page, c *collector.Collector, o collector.OperatingPoint) {
	if known(o.Power) {
		remark := ""
		if s := share(o.Power, c.Fan.MotorPower); s != "" {
			remark = s + " of the motor's " + p.q(c.Fan.MotorPower)
		}
		p.row("shaft power", p.q(o.Power), remark)
	}
	if known(o.Current) {
		p.row("motor current", p.q(o.Current), "give or take "+p.q(2*o.CurrentSD)+"; full load "+p.q(c.Fan.FullLoadCurrent))
	}
}
