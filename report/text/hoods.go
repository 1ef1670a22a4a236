package text

import (
	"io"

	"dustwright/collector"
	"dustwright/unit"
)

// Hoods prints what the hoods should show, and, where they were read, whether they still draw the air commissioning asked for.
func Hoods(w io.Writer, sys unit.System, c *collector.Collector, h *collector.Hoods) error {
	p := &page{sys: sys}
	p.caution("live", "traverse")
	p.title(c)
	if h.Read == 0 {
		p.hoodSheet(h)
	} else {
		p.hoodsRead(h)
	}
	p.gap()
	p.say("Reckoned with %s.", p.air(h.Density, h.AirGiven))
	if h.Read > 0 {
		p.say("Each flow lies between its limits about 95 times in 100. Design flow is what commissioning asked for: whether a hood catches is seen at the work, with smoke, and not told by its flow.")
	}
	p.gaps(h.Gaps)
	return p.print(w)
}

// hoodSheet is the sheet to take along.
func (p *page) hoodSheet(h *collector.Hoods) {
	p.say("Read the static pressure at the tap behind each hood, all gates as they work, and hold it against this sheet:")
	p.gap()
	p.row("hood", "design flow", "should show", "between", "duct velocity", "read")
	for i := range h.Hoods {
		x := &h.Hoods[i]
		velocity := p.q(x.Velocity)
		if x.Velocity < x.Least {
			velocity += " !"
		}
		between := ""
		if known(x.Expected) {
			between = x.ExpectHigh.Finely(p.sys) + " to " + x.ExpectLow.Finely(p.sys)
		}
		p.row(x.Name, p.q(x.Design), x.Expected.Finely(p.sys), between, velocity, "________")
	}
	p.table()
	for i := range h.Hoods {
		if x := &h.Hoods[i]; x.Velocity < x.Least {
			p.indented("  ! ", "below the %s that keeps this dust moving: it drops out there even at design flow.", x.Least)
			break
		}
	}
}

// hoodsRead is what the readings tell.
func (p *page) hoodsRead(h *collector.Hoods) {
	for _, s := range h.Says {
		p.say("%s.", capital(s.In(p.sys)))
	}
	p.gap()
	p.row("hood", "read", "should show", "flow", "between", "of design", "")
	for i := range h.Hoods {
		x := &h.Hoods[i]
		if x.State == collector.HoodUnread {
			p.row(x.Name, "not read", x.Expected.Finely(p.sys), "", "", "", "")
			continue
		}
		between := ""
		if known(x.Flow) {
			between = p.q(x.Low) + " to " + p.q(x.High)
		}
		p.row(x.Name, x.Read.Finely(p.sys), x.Expected.Finely(p.sys), p.q(x.Flow), between, share(x.Flow, x.Design), hoodWord(x.State))
	}
}

// hoodWord says how a hood stands to what commissioning asked for.
func hoodWord(s collector.HoodState) string {
	switch s {
	case collector.HoodShort:
		return "short of air"
	case collector.HoodPerhaps:
		return "probably short"
	case collector.HoodAsWanted:
		return "has its air"
	case collector.HoodMore:
		return "more than design"
	case collector.HoodUnsure:
		return "can't be said, the width is too large"
	default:
		return "nothing to compare with"
	}
}
