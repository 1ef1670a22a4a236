package duct

import (
	"errors"
	"fmt"
	"math"

	"dustwright/unit"
)

// ErrNoRule: no rule covers this duct.
var ErrNoRule = errors.New("no rule for traverse points covers this duct")

// narrow is the ErrNoRule of a duct of so small a hydraulic diameter [m].
type narrow unit.Length

// Error tells it in both systems of units: it does not know its reader.
func (d narrow) Error() string {
	return d.says(fmt.Sprintf("%.1f in (%.0f mm)", float64(d)/unit.Inch, 1000*float64(d)), "4 in (100 mm)")
}

// In tells it in one.
func (d narrow) In(sys unit.System) string {
	if sys == unit.SI {
		return d.says(fmt.Sprintf("%.0f mm", 1000*float64(d)), "100 mm")
	}
	return d.says(fmt.Sprintf("%.1f in", float64(d)/unit.Inch), "4 in")
}

// Unwrap returns ErrNoRule.
func (d narrow) Unwrap() error { return ErrNoRule }

func (narrow) says(is, least string) string {
	return fmt.Sprintf("%v: it is %s across, and rules begin at %s; take the flow from a hood static pressure or a flow meter", ErrNoRule, is, least)
}

// smallest and smallRule bound the ducts of Method 1A: below 4 in nothing is published, from 12 in on Method 1 holds.
const (
	smallest  = 4 * unit.Inch
	smallRule = 12 * unit.Inch
)

// PlanRequest is what a sheet of points is made for.
type PlanRequest struct {
	Section Section
	Rule    Rule
	// Before and After are the straight duct ahead of and behind the place, to the next elbow, branch, damper or change of
	// size [m]; NaN where nobody measured it.
	Before, After unit.Length
}

// Point is one place to hold the probe.
type Point struct {
	Line     int         // which port, from 1
	Number   int         // order on the line from 1, from the near wall to the far one
	FromWall unit.Length // depth of the probe's tip from the inside of the near wall
	Counts   int         // 2 where the clearance from the wall makes two points one: the reading counts twice
	Moved    bool        // moved off its rule's position to keep clear of the wall
}

// Line is one port and the straight way of the probe behind it.
type Line struct {
	Number int
	Angle  float64     // round: degrees round the duct from the first port
	Offset unit.Length // rectangular: distance of the port along the width, from the inside of the left wall
	Depth  unit.Length // from wall to wall along the probe
}

// Plan is a sheet of points to measure.
type Plan struct {
	Section       Section
	Rule          Rule
	Before, After float64 // straight duct in hydraulic diameters, NaN unknown
	Lines         []Line
	Points        []Point
	Notes         []string // what about the place or the rule the person must know; {US|SI} marks what is said otherwise in SI
}

// NewPlan lays out the points of a traverse.
// The section needs a hydraulic diameter of 4 in (0.10 m) or more, else the error is ErrNoRule; so it is for LogLinear in
// a rectangular duct, for RuleUnknown, and ErrSection for a section without size. Unknown (NaN) straight lengths give as
// many points as a poor place needs, and a note.
//
// Source: positions see RoundPositions and SidePositions. Method 1's numbers of points at 8 diameters before and 2 after are from memory of
// section 11.2; where its figures 1-1 and 1-2 step between that and 2 and half a diameter could not be read, so the largest number of
// figure 1-2 (16) is taken there, and the largest of figure 1-1 (24 round, 25 rectangular) closer. The numbers of the
// log rules are ours, within what ASHRAE 111 asks (round 12 to 30 on 2 or 3 diameters, rectangular 25 or more).
// Check values: testdata/epa_method1_circular_points.csv, testdata/epa_method1_rect_matrix.csv.
func NewPlan(r PlanRequest) (Plan, error) {
	if err := r.Section.check(); err != nil {
		return Plan{}, err
	}
	d := r.Section.Hydraulic()
	p := Plan{Section: r.Section, Rule: r.Rule, Before: float64(r.Before / d), After: float64(r.After / d)}
	switch {
	case d < smallest*(1-1e-9):
		return Plan{}, narrow(d)
	case r.Rule == RuleUnknown:
		return Plan{}, fmt.Errorf("%w: a rule must be chosen, one of %v", ErrNoRule, ruleNames()[1:])
	case r.Rule == LogLinear && !r.Section.IsRound():
		return Plan{}, fmt.Errorf("%w: log-linear positions are for round ducts; take log-tchebycheff or method1 for a rectangular one", ErrNoRule)
	}
	p.placeNotes()
	if r.Section.IsRound() {
		p.round()
	} else {
		p.rectangular()
	}
	return p, nil
}

// place grades the straight duct: 0 as the rules prefer it, 1 allowed, 2 too close to a disturbance, 3 unknown.
type place uint8

const (
	placeGood place = iota
	placeAllowed
	placeClose
	placeUnknown
)

// gradePlace grades straight lengths given in hydraulic diameters; NaN is unknown.
// Source: 40 CFR 60 App. A-1 Method 1 sections 1.2 and 11.1: 8 and 2 diameters preferred, 2 and 0.5 the least.
func gradePlace(before, after float64) place {
	switch {
	case before < 2 || after < 0.5:
		return placeClose
	case !(before >= 0) || !(after >= 0):
		return placeUnknown
	case before >= 8 && after >= 2:
		return placeGood
	}
	return placeAllowed
}

func (p *Plan) note(format string, args ...any) {
	p.Notes = append(p.Notes, fmt.Sprintf(format, args...))
}

// placeNotes says what the straight lengths mean.
func (p *Plan) placeNotes() {
	switch gradePlace(p.Before, p.After) {
	case placeUnknown:
		p.note("The straight duct before and after the place was not given: measure both, in diameters. Points are laid out as for a poor place.")
	case placeClose:
		p.note("Closer than 2 diameters behind a disturbance or half a diameter ahead of one (here %s before, %s after): no rule covers this place. Look for a better one; the flow found here can be well off.",
			diameters(p.Before), diameters(p.After))
	case placeAllowed:
		p.note("8 diameters before and 2 after are preferred; here there are %s and %s. Method 1's steps in between could not be verified, so the larger number of points is taken.",
			diameters(p.Before), diameters(p.After))
	}
	if p.Section.Hydraulic() < smallRule*(1-1e-9) && p.Rule == Method1 {
		p.note("Below {12 in|0.30 m} Methods 1A and 2C apply: a standard pitot tube, not the S type, and a slim one (details from memory).")
	}
}

// diameters prints a straight length for a sentence.
func diameters(x float64) string {
	if math.IsNaN(x) {
		return "an unknown length"
	}
	return fmt.Sprintf("%.1f diameters", x)
}

// round lays out a round duct: two diameters for Method 1, three for the log rules.
func (p *Plan) round() {
	d := p.Section.Diameter
	grade := gradePlace(p.Before, p.After)
	lines, points := 3, 8
	switch {
	case p.Rule == Method1:
		lines, points = 2, p.method1Count()/2
	case d < smallRule*(1-1e-9):
		points = 6
	case grade != placeGood:
		points = 10
	}
	if p.Rule == LogTchebycheff && points == 10 {
		p.note("The 10 log-Tchebycheff positions on a diameter are from memory of ISO 3966.")
	}
	for i := range lines {
		p.Lines = append(p.Lines, Line{Number: i + 1, Angle: float64(i) * 180 / float64(lines), Depth: d})
		p.addLine(i+1, d, RoundPositions(p.Rule, points))
	}
}

// method1Count is the number of points Method 1 asks of this place.
func (p *Plan) method1Count() int {
	round := p.Section.IsRound()
	switch gradePlace(p.Before, p.After) {
	case placeGood:
		switch {
		case p.Section.Hydraulic() > 24*unit.Inch*(1+1e-9):
			return 12
		case round:
			return 8
		}
		return 9
	case placeClose:
		if round {
			return 24
		}
		return 25
	}
	return 16
}

// rectangular lays out a grid: ports along the width, the probe goes through the height.
func (p *Plan) rectangular() {
	w, h := p.Section.Width, p.Section.Height
	across, deep := sideCount(w), sideCount(h)
	if p.Rule == Method1 {
		long, short := method1Matrix(p.method1Count())
		across, deep = long, short
		if h > w {
			across, deep = short, long
		}
	}
	for i, x := range SidePositions(p.Rule, across) {
		p.Lines = append(p.Lines, Line{Number: i + 1, Offset: unit.Length(x) * w, Depth: h})
		p.addLine(i+1, h, SidePositions(p.Rule, deep))
	}
}

// method1Matrix splits a number of points of a rectangular duct over its sides.
// Source: 40 CFR 60 App. A-1 Method 1 Table 1-1 (from memory). Check values: testdata/epa_method1_rect_matrix.csv.
func method1Matrix(points int) (long, short int) {
	short = int(math.Sqrt(float64(points)))
	return points / short, short
}

// sideCount is the number of log-Tchebycheff points along a side [m].
// Source: an instrument appendix quoting ISO 3966 and ASHRAE 111 (verified).
func sideCount(side unit.Length) int {
	switch {
	case side < 30*unit.Inch*(1-1e-9):
		return 5
	case side <= 36*unit.Inch*(1+1e-9):
		return 6
	}
	return 7
}

// addLine puts points at the given shares of depth, clear of the walls where Method 1 says so: a point too close is moved out, and where two
// end up on one spot they become one that counts twice.
func (p *Plan) addLine(line int, depth unit.Length, shares []float64) {
	least := unit.Length(0)
	if p.Rule == Method1 {
		least = clearance(p.Section.Hydraulic())
	}
	first := len(p.Points)
	for _, s := range shares {
		at := unit.Length(s) * depth
		clear := min(max(at, least), depth-least)
		if n := len(p.Points); n > first && clear-p.Points[n-1].FromWall < 1e-6 {
			p.Points[n-1].Counts++
			continue
		}
		p.Points = append(p.Points, Point{Line: line, Number: len(p.Points) - first + 1, FromWall: clear, Counts: 1, Moved: clear != at})
	}
}
