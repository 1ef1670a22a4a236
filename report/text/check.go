package text

import (
	"io"
	"strconv"
	"strings"

	"dustwright/collector"
	"dustwright/unit"
)

// Check prints what looks wrong in a collector's file and what can be answered from it.
func Check(w io.Writer, sys unit.System, c *collector.Collector, found []collector.Finding, answers []collector.Answer) error {
	p := &page{sys: sys}
	p.title(c)
	p.checkHeadline(found, answers)
	if len(found) > 0 {
		p.gap()
		for _, f := range found {
			p.indented("  "+mark(f.Weight)+" ", "%s.%s", capital(f.Text.In(p.sys)), source(f))
		}
	}
	p.gap()
	p.say("What this file lets the tool answer:")
	for _, a := range answers {
		p.answer(a)
	}
	p.gap()
	p.say("Not in the file, so not checked: the velocity between the filters (can velocity), which needs the housing's plan area; for light dust stay below {200 ft/min|1 m/s}, trade figure from memory.")
	return p.print(w)
}

// checkHeadline sums up.
func (p *page) checkHeadline(found []collector.Finding, answers []collector.Answer) {
	wrong, odd, can := 0, 0, 0
	for _, f := range found {
		switch f.Weight {
		case collector.Wrong:
			wrong++
		case collector.Odd:
			odd++
		default:
		}
	}
	for _, a := range answers {
		if a.Can {
			can++
		}
	}
	switch {
	case wrong > 0:
		p.say("%s cannot stay as it is in this file, and %s worth a look.", things(wrong), areIs(odd))
	case odd > 0:
		p.say("Nothing contradicts itself; %s worth a look.", areIs(odd))
	default:
		p.say("Nothing in this file looks wrong.")
	}
	p.say("%d of %d questions can be answered from it.", can, len(answers))
}

func things(n int) string { return capital(plural(n, "thing")) }

func areIs(n int) string {
	switch n {
	case 0:
		return "nothing else is"
	case 1:
		return "1 thing is"
	}
	return strconv.Itoa(n) + " things are"
}

// source closes a finding with where its limit comes from.
func source(f collector.Finding) string {
	if f.Source == "" {
		return ""
	}
	return " (" + f.Source + ")"
}

// answer writes one question.
func (p *page) answer(a collector.Answer) {
	prefix := "  " + strings.Repeat(" ", 2-len(strconv.Itoa(a.Number))) + strconv.Itoa(a.Number) + "  "
	switch {
	case !a.Can:
		p.indented(prefix+"no   ", "%s Add %s.", a.Asks, strings.Join(a.Needs, ", "))
	case len(a.Better) > 0:
		p.indented(prefix+"yes  ", "%s Better with %s.", a.Asks, strings.Join(a.Better, ", "))
	default:
		p.indented(prefix+"yes  ", "%s", a.Asks)
	}
}
