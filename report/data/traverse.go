package data

import (
	"dustwright/duct"
	"dustwright/unit"

	"dustwright/collector"
)

// Section is the inside of a duct; the sizes it does not have are null.
type Section struct {
	Shape    string   `json:"shape"`
	Diameter Quantity `json:"diameter"`
	Width    Quantity `json:"width"`
	Height   Quantity `json:"height"`
	Area     Quantity `json:"area"`
}

func metre(x unit.Length) Quantity { return Quantity{number(x), "m"} }

// size leaves out a size the shape does not have.
func size(x unit.Length) Quantity {
	if x == 0 {
		return Quantity{nil, "m"}
	}
	return metre(x)
}

func section(s duct.Section) Section {
	shape := "rectangular"
	if s.IsRound() {
		shape = "round"
	}
	return Section{shape, size(s.Diameter), size(s.Width), size(s.Height), Quantity{number(s.Area()), "m2"}}
}

// Term is one line of the uncertainty budget; all three numbers are shares.
type Term struct {
	Name    string   `json:"name"`
	Basis   string   `json:"basis"`
	Assumed bool     `json:"assumed"`
	Input   *float64 `json:"input"`
	Slope   *float64 `json:"slope"`
	Flow    *float64 `json:"flow"`
	Share   *float64 `json:"varianceShare"`
}

// PointFlag is a reading that can't be right or can't be trusted.
type PointFlag struct {
	Traverse int      `json:"traverse"`
	Point    int      `json:"point"`
	Line     int      `json:"line"`
	Fate     string   `json:"fate"`
	Why      string   `json:"why"`
	Read     Quantity `json:"read"`
	Expected Quantity `json:"expected"`
}

// LineMean is the mean velocity on one line of the traverse.
type LineMean struct {
	Traverse int      `json:"traverse"`
	Velocity Quantity `json:"velocity"`
}

// Profile is the shape of the flow over the duct.
type Profile struct {
	MaxOverMean *float64   `json:"maxOverMean"`
	MinOverMean *float64   `json:"minOverMean"`
	Skew        *float64   `json:"skew"`
	SkewOn      int        `json:"skewOn"`
	Exponent    *float64   `json:"exponent"`
	AboveTenth  *float64   `json:"aboveTenth"`
	Even        bool       `json:"even"`
	Swirl       *float64   `json:"meanSwirlDegrees"`
	Lines       []LineMean `json:"traverses"`
}

// Unread is a cell of the file that could not be read.
type Unread struct {
	Line   int    `json:"line"`
	Column int    `json:"column"`
	Text   string `json:"text"`
}

// Traverse is the answer of the traverse command for a file of readings.
type Traverse struct {
	Collector  string      `json:"collector"`
	Place      string      `json:"place"`
	Measured   string      `json:"measured"`
	By         string      `json:"by"`
	Flow       Range       `json:"flow"`
	Relative   *float64    `json:"standardUncertainty"`
	Design     *float64    `json:"designShare"`
	Standard   Range       `json:"standardFlow"`
	Mass       Range       `json:"massFlow"`
	Velocity   Quantity    `json:"meanVelocity"`
	MeanVP     Quantity    `json:"velocityPressureOfMean"`
	Section    Section     `json:"section"`
	Density    Quantity    `json:"density"`
	Rule       string      `json:"rule"`
	RuleFound  bool        `json:"ruleFromPositions"`
	Upstream   *float64    `json:"upstreamDiameters"`
	Downstream *float64    `json:"downstreamDiameters"`
	Points     int         `json:"points"`
	Used       int         `json:"used"`
	Profile    Profile     `json:"profile"`
	Flags      []PointFlag `json:"flags"`
	Budget     []Term      `json:"budget"`
	Missing    []Gap       `json:"missing"`
	Notes      []string    `json:"notes"`
	Unread     []Unread    `json:"unread"`
	Remarks    []string    `json:"remarks"`
}

// NewTraverse shapes a traverse and its result; costs says how much wider the flow is for each missing input, in the words the page uses.
func NewTraverse(t duct.Traverse, r duct.TraverseResult, costs func(duct.MissingInput) string, sys unit.System) Traverse {
	around := func(value, relative float64, symbol string) Range {
		return Range{number(value), number(value * (1 - 2*relative)), number(value * (1 + 2*relative)), symbol}
	}
	p := r.Profile
	out := Traverse{Collector: t.Tag, Place: t.Place, Measured: t.Measured, By: t.By,
		Flow: around(float64(r.Flow), r.Relative, "m3/s"), Relative: number(r.Relative), Design: number(r.DesignShare),
		Standard: around(float64(r.Standard), r.StandardRelative, "m3/s"), Mass: around(float64(r.Mass), r.StandardRelative, "kg/s"),
		Velocity: metreSecond(r.Mean), MeanVP: pa(r.MeanVP), Section: section(t.Section), Density: Quantity{number(r.Density), "kg/m3"},
		Rule: r.Rule.String(), RuleFound: r.RuleFound, Upstream: number(r.Before), Downstream: number(r.After), Points: r.Readings, Used: r.Used,
		Profile: Profile{number(p.MaxOverMean), number(p.MinOverMean), number(p.Skew), p.SkewLine, number(p.Exponent), number(p.AboveTenth), p.Even,
			number(p.MeanSwirl), []LineMean{}},
		Flags: []PointFlag{}, Budget: []Term{}, Missing: []Gap{}, Notes: notes(r.Notes, sys), Unread: []Unread{}, Remarks: keys(t.Remarks)}
	for _, m := range p.LineMeans {
		out.Profile.Lines = append(out.Profile.Lines, LineMean{m.Line, metreSecond(m.Velocity)})
	}
	for _, f := range r.Flags {
		out.Flags = append(out.Flags, PointFlag{f.Line, f.Number, f.Row, f.Fate.String(), f.Why, metreSecond(f.Read), metreSecond(f.Expected)})
	}
	for _, b := range r.Budget {
		out.Budget = append(out.Budget, Term{b.Name, b.Basis, b.Assumed, number(b.Standard), number(b.Slope), number(b.Flow), number(b.Share)})
	}
	for _, m := range r.Missing {
		out.Missing = append(out.Missing, Gap{m.What, costs(m)})
	}
	for _, f := range t.Unread {
		out.Unread = append(out.Unread, Unread{f.Line, f.Column, f.Text})
	}
	return out
}

// Port is one hole in the duct and the way of the probe behind it.
type Port struct {
	Traverse int      `json:"traverse"`
	Angle    *float64 `json:"angleDegrees"`
	Offset   Quantity `json:"offset"`
	Depth    Quantity `json:"depth"`
}

// Place is one point to measure.
type Place struct {
	Traverse int      `json:"traverse"`
	Point    int      `json:"point"`
	FromWall Quantity `json:"fromWall"`
	Counts   int      `json:"counts"`
	Moved    bool     `json:"movedFromWall"`
}

// Points is the answer of the traverse command with --points.
type Points struct {
	Section    Section  `json:"section"`
	Rule       string   `json:"rule"`
	Upstream   *float64 `json:"upstreamDiameters"`
	Downstream *float64 `json:"downstreamDiameters"`
	Ports      []Port   `json:"ports"`
	Points     []Place  `json:"points"`
	Notes      []string `json:"notes"`
	Cautions   []string `json:"cautions"`
}

// notes are those of a plan or a result in the units of a system.
func notes(list []string, sys unit.System) []string {
	out := []string{}
	for _, n := range list {
		out = append(out, collector.Marked(n).In(sys))
	}
	return out
}

// NewPoints shapes a sheet of points; sentences are in the units of sys.
func NewPoints(p duct.Plan, cautions []string, sys unit.System) Points {
	out := Points{Section: section(p.Section), Rule: p.Rule.String(), Upstream: number(p.Before), Downstream: number(p.After), Ports: []Port{}, Points: []Place{},
		Notes: notes(p.Notes, sys), Cautions: cautions}
	for _, l := range p.Lines {
		port := Port{Traverse: l.Number, Offset: Quantity{nil, "m"}, Depth: metre(l.Depth)}
		if p.Section.IsRound() {
			port.Angle = number(l.Angle)
		} else {
			port.Offset = metre(l.Offset)
		}
		out.Ports = append(out.Ports, port)
	}
	for _, x := range p.Points {
		out.Points = append(out.Points, Place{x.Line, x.Number, metre(x.FromWall), x.Counts, x.Moved})
	}
	return out
}
