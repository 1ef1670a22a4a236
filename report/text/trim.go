package text

import (
	"io"
	"math"

	"dustwright/collector"
	"dustwright/unit"
)

// ScheduleStep is a round step of filter dP for a trim's schedule in a system of units: 1 in. w.g. or 250 Pa, a half of
// that for filters whose life is short.
func ScheduleStep(sys unit.System, maxDP unit.Pressure) unit.Pressure {
	step := unit.Pressure(unit.InchWater)
	if sys == unit.SI {
		step = 250
	}
	if maxDP < 4*step {
		step /= 2
	}
	return step
}

// Trim prints where the damper goes.
func Trim(w io.Writer, sys unit.System, c *collector.Collector, t *collector.Trim) error {
	p := &page{sys: sys}
	p.caution("live", "open-collector")
	p.title(c)
	p.gates(t.Shut)
	p.trimHeadline(c, t)
	if len(t.Warnings) > 0 {
		p.gap()
		p.findings(t.Warnings)
	}
	p.gap()
	p.trimSchedule(t)
	p.gap()
	p.trimLoad(c, t)
	p.table()
	p.ducts(t.Branches, t.Shut)
	p.gap()
	p.say("Reckoned with %s.", p.air(t.Density, t.AirGiven))
	if t.New.Mostly != "" {
		p.say("Positions are read between their limits, about 95 times in 100. What widens them most is %s. Set the damper, then measure the flow.", t.New.Mostly)
	}
	p.gaps(t.Gaps)
	return p.print(w)
}

// trimHeadline is the sentence to act on.
func (p *page) trimHeadline(c *collector.Collector, t *collector.Trim) {
	if !known(t.New.Open) {
		p.say("To hold %s with new filters the damper has to take %s; without its commissioning points no position can be given.", t.Flow, t.New.DamperLoss)
		return
	}
	if n := t.Now; n != nil {
		if t.NowPoint != nil {
			p.say("At %s open the flow is now about %s (%s of design).", t.NowOpen, t.NowPoint.Flow, share(t.NowPoint.Flow, c.Duty.Flow))
		}
		switch {
		case n.Held:
			p.say("Set the damper to %s open now (%s to %s) for %s.", n.Open, n.Low, n.High, t.Flow)
		default:
			p.say("Open the damper fully: with %s across the filters even that leaves only %s of the %s wanted.", n.FilterDP, n.Point.Flow, t.Flow)
		}
	}
	p.say("With new filters set it to %s open (%s to %s) for %s.", t.New.Open, t.New.Low, t.New.High, t.Flow)
	last := t.Steps[len(t.Steps)-1]
	if last.Held {
		p.say("Open it as they age; at %s across the filters it stands at %s.", last.FilterDP, last.Open)
	} else {
		p.say("Open it as they age; it is fully open at %s across the filters.", t.LastHeld)
	}
}

// trimSchedule is the table of later openings.
func (p *page) trimSchedule(t *collector.Trim) {
	if !known(t.New.Open) {
		p.row("dP across filters", "damper takes", "")
		for i, s := range t.Steps {
			p.row(p.q(s.FilterDP), p.q(max(0, s.DamperLoss)), trimRemark(t, i))
		}
		return
	}
	p.row("dP across filters", "damper open", "between", "flow", "")
	for i, s := range t.Steps {
		remark := trimRemark(t, i)
		if s.Extrapolated {
			remark = join(remark, "beyond the commissioning points")
		}
		p.row(p.q(s.FilterDP), p.q(s.Open), p.q(s.Low)+" - "+p.q(s.High), p.q(s.Point.Flow), remark)
	}
}

// trimRemark says what is special about a step of the schedule.
func trimRemark(t *collector.Trim, i int) string {
	switch {
	case i == 0:
		return "new filters"
	case !t.Steps[i].Held:
		return "flow no longer held"
	case i == len(t.Steps)-1 && !t.ToMaxDP:
		return "nothing left for the damper"
	case i == len(t.Steps)-1:
		return "max dP"
	}
	return ""
}

func join(a, b string) string {
	if a == "" {
		return b
	}
	return a + ", " + b
}

// trimLoad says how far power and current move.
func (p *page) trimLoad(c *collector.Collector, t *collector.Trim) {
	type state struct {
		name string
		o    collector.OperatingPoint
	}
	var states []state
	if t.NowPoint != nil {
		states = append(states, state{"now", *t.NowPoint})
	}
	states = append(states, state{"set for " + p.q(t.Flow), t.New.Point})
	if t.LeftError == nil {
		states = append(states, state{"new filters, damper at " + p.q(t.LeftAt.Open), t.LeftAlone})
	}
	if !known(t.New.Point.Power) {
		return
	}
	p.row("", "flow", "shaft power", "motor current", "")
	for _, s := range states {
		amps := ""
		if known(s.o.Current) {
			amps = p.q(s.o.Current)
		}
		remark := ""
		if x := share(s.o.Current, c.Fan.FullLoadCurrent); x != "" {
			remark = x + " of full load"
		}
		if d := float64(s.o.Power / states[0].o.Power); math.Abs(d-1) > 0.005 && known(s.o.Power) {
			remark = join(remark, signed(d-1)+" power")
		}
		p.row(s.name, p.q(s.o.Flow), p.q(s.o.Power), amps, remark)
	}
	if t.NowPoint == nil && t.Now == nil && t.LeftError == nil && known(t.LeftAt.FilterDP) {
		p.say("%s is where filters at %s had it.", t.LeftAt.Open, t.LeftAt.FilterDP)
	}
}

// signed is a change as a signed percentage.
func signed(x float64) string {
	s := unit.Share(x).In(unit.US)
	if x > 0 {
		return "+" + s
	}
	return s
}
