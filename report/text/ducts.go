package text

import (
	"strings"

	"dustwright/collector"
)

// gates says which gates are shut, where any is.
func (p *page) gates(shut []string) {
	names := make([]string, len(shut))
	for i, s := range shut {
		names[i] = quoted(s)
	}
	switch len(shut) {
	case 0:
	case 1:
		p.say("With the gate of %s shut:", names[0])
	default:
		p.say("With the gates of %s shut:", strings.Join(names, ", "))
	}
}

// gatesTell says what shut gates do: how much more air there would be with them open, and where dust drops out now.
func (p *page) gatesTell(e collector.Estimate) {
	if len(e.Shut) == 0 {
		return
	}
	if known(e.AllOpen) {
		p.say("With all gates open it moves about %s.", e.AllOpen)
	}
	var slow []string
	for _, b := range e.Branches {
		if b.Low {
			slow = append(slow, quoted(b.Name))
		}
	}
	slowest, ok := collector.Slowest(e.Branches)
	switch {
	case len(slow) > 0:
		p.say("Dust drops out in %s: below %s it does not stay in the air.", strings.Join(slow, ", "), slowest.Least)
	case ok && known(slowest.Least):
		p.say("All ducts that are open keep the dust moving; the slowest is %s with %s.", quoted(slowest.Name), slowest.Velocity)
	}
}

// ducts writes the duct velocities, and, with gates shut, what that makes of each branch's flow.
func (p *page) ducts(list []collector.BranchVelocity, shut []string) {
	if len(shut) == 0 {
		for _, b := range list {
			p.row("duct "+quoted(b.Name), p.q(b.Velocity), p.ductRemark(b))
		}
		return
	}
	p.gap()
	p.row("duct", "flow", "of design", "velocity", "")
	for _, b := range list {
		if b.Shut {
			p.row(b.Name, "shut", "", "", "")
			continue
		}
		p.row(b.Name, p.q(b.Flow), share(b.Flow, b.Design), p.q(b.Velocity), p.ductRemark(b))
	}
}

// ductRemark holds a velocity against what keeps the dust moving.
func (p *page) ductRemark(b collector.BranchVelocity) string {
	switch {
	case !known(b.Velocity):
		return "diameter or flow not given"
	case b.Low:
		return "below " + p.q(b.Least) + ": dust drops out"
	case known(b.Least):
		return "at least " + p.q(b.Least) + " wanted"
	}
	return ""
}
