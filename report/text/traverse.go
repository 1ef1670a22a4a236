package text

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"dustwright/duct"
	"dustwright/unit"
)

// Traverse prints the flow of a traverse: the flow with its width first, the readings that can't be right, then where the width comes from.
func Traverse(w io.Writer, sys unit.System, t duct.Traverse, r duct.TraverseResult) error {
	p := &page{sys: sys}
	if len(r.Flags) > 0 || len(r.Notes) > 0 || len(t.Unread) > 0 {
		p.caution("traverse")
	}
	p.traverseTitle(t)
	p.say("The duct carries %s, between %s and %s 95 times in 100%s.", r.Flow, r.Low, r.High, designShare(r))
	p.gap()
	p.traverseFigures(t, r)
	p.profile(r)
	p.flags(r)
	p.unread(t)
	if len(r.Notes) > 0 {
		p.gap()
		p.say("About the place and the readings:")
		for _, note := range r.Notes {
			p.indented("  - ", "%s", p.marked(note))
		}
	}
	p.budget(r)
	if len(r.Missing) > 0 {
		p.gap()
		p.say("Not given, and what that costs:")
		for _, m := range r.Missing {
			p.indented("  - ", "%s: %s.", m.What, TraverseCost(m, sys))
		}
	}
	if len(t.Remarks) > 0 {
		p.gap()
		p.say("Remarks in the file:")
		for _, remark := range t.Remarks {
			p.indented("  - ", "%s", remark)
		}
	}
	return p.print(w)
}

// traverseTitle names collector, place, time and person, as far as they are written.
func (p *page) traverseTitle(t duct.Traverse) {
	var parts []string
	for _, s := range []string{t.Tag, t.Place, t.Measured} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	if t.By != "" {
		parts = append(parts, "by "+t.By)
	}
	if len(parts) > 0 {
		p.say("%s", strings.Join(parts, ", "))
	}
}

// designShare compares with design, where that is known.
func designShare(r duct.TraverseResult) string {
	if math.IsNaN(r.DesignShare) {
		return ""
	}
	return "; that is " + traverseShare(r.DesignShare) + " of design"
}

// traverseShare prints a share with the digits that matter.
func traverseShare(x float64) string {
	switch {
	case math.IsNaN(x):
		return "unknown"
	case math.Abs(x) < 0.0995:
		return strconv.FormatFloat(100*x, 'f', 1, 64) + " %"
	}
	return strconv.FormatFloat(100*x, 'f', 0, 64) + " %"
}

// traverseFigures writes what the flow consists of.
func (p *page) traverseFigures(t duct.Traverse, r duct.TraverseResult) {
	p.row("mean velocity", p.q(r.Mean), "velocity pressure of it "+p.q(r.MeanVP))
	p.row("area", p.q(r.Area), p.inside(t.Section))
	p.row("air in the duct", p.q(r.Density), "")
	p.row("standard flow", p.q(r.Standard), p.marked("at {0.075 lb/ft³|1.2 kg/m³}"))
	p.row("mass flow", p.q(r.Mass), "")
	p.row("uncertainty", traverseShare(r.Relative), "one standard uncertainty; the bounds above are two")
	rule := "rule: " + r.Rule.String()
	if r.Rule == duct.RuleUnknown {
		rule = "no rule known"
	}
	p.row("points", fmt.Sprintf("%d of %d", r.Used, r.Readings), rule)
}

// inside describes a section.
func (p *page) inside(s duct.Section) string {
	if s.IsRound() {
		return "round, " + p.q(s.Diameter) + " inside"
	}
	return p.q(s.Width) + " wide, " + p.q(s.Height) + " high inside"
}

// profile writes the shape of the flow.
func (p *page) profile(r duct.TraverseResult) {
	f := r.Profile
	p.row("highest point", ratio(f.MaxOverMean), "times the mean; lowest "+ratio(f.MinOverMean))
	if f.SkewLine > 0 {
		p.row("skew", traverseShare(f.Skew), fmt.Sprintf("of the mean, between the halves of traverse %d", f.SkewLine))
	}
	if !math.IsNaN(f.Exponent) {
		p.row("power law", "1/"+strconv.FormatFloat(f.Exponent, 'f', 1, 64), "about 1/7 in a long straight duct")
	}
	fit := "75 % or more is a plane that measures well"
	if !f.Even {
		fit = "below 75 %: the flow is too uneven here"
	}
	p.row("above a tenth of the highest", traverseShare(f.AboveTenth), fit)
	if !math.IsNaN(f.MeanSwirl) {
		p.row("mean swirl", strconv.FormatFloat(f.MeanSwirl, 'f', 0, 64)+" degrees", "20 degrees is the most")
	}
}

// ratio prints a ratio near one.
func ratio(x float64) string { return strconv.FormatFloat(x, 'f', 2, 64) }

// flags lists readings that can't be right.
func (p *page) flags(r duct.TraverseResult) {
	if len(r.Flags) == 0 {
		return
	}
	p.gap()
	p.say("Readings that can't be right or can't be trusted:")
	for _, f := range r.Flags {
		where := "reading"
		if f.Line > 0 && f.Number > 0 {
			where = fmt.Sprintf("traverse %d, point %d", f.Line, f.Number)
		}
		if f.Row > 0 {
			where += fmt.Sprintf(" (line %d)", f.Row)
		}
		text := capital(f.Why) + "; " + f.Fate.String()
		if f.Read > 0 && f.Fate != duct.FateZero {
			text += ". It reads " + p.q(f.Read)
			if known(f.Expected) {
				text += ", the others say about " + p.q(f.Expected)
			}
		} else if known(f.Expected) && f.Fate == duct.FateFilled {
			text += " with " + p.q(f.Expected)
		}
		p.indented("  ! ", "%s: %s.", where, text)
	}
}

// unread lists cells that could not be read.
func (p *page) unread(t duct.Traverse) {
	if len(t.Unread) == 0 {
		return
	}
	p.gap()
	p.say("Cells that could not be read:")
	for _, f := range t.Unread {
		p.indented("  ! ", "%s.", f.Error())
	}
}

// budget writes where the width comes from, the largest part first.
func (p *page) budget(r duct.TraverseResult) {
	p.gap()
	p.say("Where the width comes from (standard uncertainty of the flow by each, and its share of the whole):")
	for _, t := range largestFirst(r.Budget) {
		if t.Share < 0.005 {
			continue
		}
		p.row(t.Name, strconv.FormatFloat(100*t.Flow, 'f', 2, 64)+" %", strconv.FormatFloat(100*t.Share, 'f', 0, 64)+" %", t.Basis)
	}
}

// TraverseCost says what stands in for a missing input and how much wider the flow is for it.
func TraverseCost(m duct.MissingInput, sys unit.System) string {
	text := m.Assumed
	switch {
	case math.IsNaN(m.Value):
	case m.Kind == unit.KindNumber:
		text = strconv.FormatFloat(m.Value, 'g', 3, 64) + " taken, " + text
	default:
		text = unit.Print(m.Kind, m.Value, sys) + " taken, " + text
	}
	return text + "; adds " + traverseShare(m.Costs) + " (one standard uncertainty of the flow)"
}
