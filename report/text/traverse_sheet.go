package text

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"dustwright/duct"
	"dustwright/judge"
	"dustwright/unit"
)

// largestFirst returns the terms by falling effect, equal ones in the order given.
func largestFirst(terms []duct.Term) []duct.Term {
	sorted := slices.Clone(terms)
	slices.SortStableFunc(sorted, func(a, b duct.Term) int {
		switch {
		case a.Flow > b.Flow:
			return -1
		case a.Flow < b.Flow:
			return 1
		}
		return 0
	})
	return sorted
}

// sheetCautions are the cautions of a sheet of points: drilling, then measuring.
func sheetCautions() []string { return []string{"open-duct", "traverse"} }

// SheetCautions returns the sentences a sheet of points opens with, in the units of a system.
func SheetCautions(sys unit.System) []string {
	var all []string
	for _, id := range sheetCautions() {
		all = append(all, judge.Caution(id).In(sys))
	}
	return append(all, deference)
}

// TraverseSheet prints the points to measure: ports, depths, notes, and below them the form to fill in, which the traverse command reads.
func TraverseSheet(w io.Writer, sys unit.System, plan duct.Plan) error {
	p := &page{sys: sys}
	p.caution(sheetCautions()...)
	p.say("Drill the ports with the fan locked out and standing; measure with it running as it does in service.")
	p.gap()
	p.say("Points to measure by %s: duct %s, %s of %s.", plan.Rule, p.inside(plan.Section), plural(len(plan.Lines), "traverse"),
		plural(len(plan.Points)/len(plan.Lines), "point"))
	p.gap()
	p.ports(plan)
	p.gap()
	p.depths(plan)
	p.gap()
	for _, note := range plan.Notes {
		p.indented("  ! ", "%s", p.marked(note))
	}
	for _, step := range []string{
		"Measure the duct's inside before anything else, across each port; dust on its floor takes area away: note it.",
		"Mark the depths on the probe beforehand, from the middle of its tip. Zero the gauge; keep tip and hoses clean and dry.",
		"Point the tip into the flow, within 5 degrees; wait until the gauge settles and note its middle. Seal the port round the probe.",
		"Take every point once, near wall first, traverse by traverse, and write down what it reads, odd or not; a dash where nothing can be read.",
		"Note temperature, barometer at the place, humidity and the static pressure in the duct, with suction negative; then close the ports.",
	} {
		p.indented("  - ", "%s", step)
	}
	p.gap()
	p.say("The form, for a file of its own (--csv prints it alone). Fill in the last column and the lines in brackets, leave what is not known:")
	p.gap()
	if err := p.print(w); err != nil {
		return err
	}
	return duct.WriteTraverse(w, plan.Blank(sys), sys)
}

// ports says where the holes go.
func (p *page) ports(plan duct.Plan) {
	for _, l := range plan.Lines {
		name := fmt.Sprintf("port %d", l.Number)
		switch {
		case !plan.Section.IsRound():
			p.row(name, p.mark(l.Offset), "from the inside of the left wall, along the width; the probe goes through the height")
		case l.Angle == 0:
			p.row(name, "anywhere", "round the duct where it can be reached; one traverse in the plane of the last elbow")
		default:
			p.row(name, strconv.FormatFloat(l.Angle, 'f', 0, 64)+" degrees", "round the duct from port 1")
		}
	}
}

// mark prints a depth as it is marked on a probe.
func (p *page) mark(depth unit.Length) string {
	at := float64(duct.Mark(depth, p.sys))
	if p.sys == unit.SI {
		return strconv.FormatFloat(at*1000, 'f', 0, 64) + " mm"
	}
	return strconv.FormatFloat(at/unit.Inch, 'f', 2, 64) + " in"
}

// depths writes the depths of the first line's points; all lines have the same.
func (p *page) depths(plan duct.Plan) {
	p.row("point", "depth from the inside of the near wall", "")
	for _, x := range plan.Points {
		if x.Line != 1 {
			break
		}
		var remarks []string
		if x.Counts > 1 {
			remarks = append(remarks, "counts twice: two points of the rule fall together here")
		}
		if x.Moved {
			remarks = append(remarks, "moved clear of the wall")
		}
		p.row(strconv.Itoa(x.Number), p.mark(x.FromWall), strings.Join(remarks, "; "))
	}
}
