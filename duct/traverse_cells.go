package duct

import (
	"cmp"
	"math"
	"slices"

	"dustwright/unit"
)

// cell is one point of a traverse with all its readings put together.
type cell struct {
	line, number int
	across, deep float64 // place as shares of width and of the probe's way; across is NaN in round ducts, both where not known
	counts       int
	repeats      int     // readings behind v
	v            float64 // velocity as the probe gives it, coefficient included; NaN: none
	vp           float64 // velocity pressure behind v, coefficient left out; NaN for velocity instruments
	spread       float64 // standard deviation of repeated readings of v, NaN without
	backwards    bool    // the velocity pressure was zero or negative
	swirl        float64
	row          int
	fate         Fate
	why          string
	expected     float64 // velocity by the pattern, NaN
	doubt        float64 // relative standard uncertainty of a filled value
}

// usable tells whether the cell has a velocity of its own.
func (c *cell) usable() bool { return c.v > 0 && !c.backwards }

// cells puts the readings of each point together in order of line and number, whatever order they came in, and adds the points that nobody
// read. rho is the density, coefficient the probe's.
func (t *Traverse) cells(rho, coefficient float64) []cell {
	readings := slices.Clone(t.Readings)
	slices.SortFunc(readings, func(a, b Reading) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Number, b.Number), cmp.Compare(a.Position, b.Position),
			cmp.Compare(a.VP, b.VP), cmp.Compare(a.Velocity, b.Velocity), cmp.Compare(a.Row, b.Row))
	})
	var cells []cell
	for i := 0; i < len(readings); {
		j := i + 1
		for j < len(readings) && readings[i].Line > 0 && readings[i].Number > 0 &&
			readings[j].Line == readings[i].Line && readings[j].Number == readings[i].Number {
			j++
		}
		cells = append(cells, gather(readings[i:j], rho, coefficient))
		i = j
	}
	cells = addUnread(cells)
	t.locate(cells, readings)
	return cells
}

// gather makes one cell of the readings of one point.
func gather(group []Reading, rho, coefficient float64) cell {
	first := group[0]
	nan := math.NaN()
	c := cell{line: first.Line, number: first.Number, counts: max(1, first.Counts), across: nan, deep: nan, v: nan, vp: nan, spread: nan, swirl: nan, row: first.Row, expected: nan}
	var vs, swirls []float64
	for _, r := range group {
		if !math.IsNaN(r.Swirl) {
			swirls = append(swirls, math.Abs(r.Swirl))
		}
		x, fromPressure := float64(r.Velocity), false
		if !math.IsNaN(float64(r.VP)) {
			x, fromPressure = float64(r.VP), true
		}
		switch {
		case math.IsNaN(x):
			continue
		case x <= 0:
			c.backwards = true
			c.v = 0
			c.vp = x
			continue
		case fromPressure:
			x = math.Sqrt(2 * x / rho)
		}
		vs = append(vs, coefficient*x)
	}
	c.swirl, _ = meanAndDeviation(swirls)
	if len(vs) == 0 {
		return c
	}
	c.backwards = false
	c.repeats = len(vs)
	c.v, c.spread = meanAndDeviation(vs)
	c.vp = rho / 2 * (c.v / coefficient) * (c.v / coefficient)
	return c
}

// meanAndDeviation returns the mean and the standard deviation of one; NaN for none, NaN deviation for a single value.
func meanAndDeviation(xs []float64) (mean, deviation float64) {
	var sum, squares float64
	for _, x := range xs {
		sum += x
	}
	mean = sum / float64(len(xs))
	for _, x := range xs {
		squares += (x - mean) * (x - mean)
	}
	return mean, math.Sqrt(squares / float64(len(xs)-1))
}

// addUnread adds a cell without reading for every point that other lines have and this one lacks. Only where every reading says
// where it belongs.
func addUnread(cells []cell) []cell {
	lines, numbers := 0, 0
	have := map[[2]int]bool{}
	for _, c := range cells {
		if c.line <= 0 || c.number <= 0 {
			return cells
		}
		lines, numbers = max(lines, c.line), max(numbers, c.number)
		have[[2]int{c.line, c.number}] = true
	}
	if lines*numbers > 4*len(cells) {
		return cells // numbers of another kind, not points on lines
	}
	nan := math.NaN()
	for l := 1; l <= lines; l++ {
		for n := 1; n <= numbers; n++ {
			if !have[[2]int{l, n}] {
				cells = append(cells, cell{line: l, number: n, counts: 1, across: nan, deep: nan, v: nan, vp: nan, spread: nan, swirl: nan, expected: nan})
			}
		}
	}
	slices.SortFunc(cells, func(a, b cell) int { return cmp.Or(cmp.Compare(a.line, b.line), cmp.Compare(a.number, b.number)) })
	return cells
}

// locate finds each cell's place: from the reading's own position, else from the rule.
func (t *Traverse) locate(cells []cell, readings []Reading) {
	depth := t.depth()
	given := map[[2]int]unit.Length{}
	for _, r := range readings {
		if !math.IsNaN(float64(r.Position)) {
			given[[2]int{r.Line, r.Number}] = r.Position
		}
	}
	lines, numbers, counts := extent(cells)
	deep := t.lineShares(numbers, counts)
	ports := SidePositions(t.Rule, lines)
	for i := range cells {
		c := &cells[i]
		if at, ok := given[[2]int{c.line, c.number}]; ok && c.line > 0 {
			c.deep = float64(at / depth)
		} else if c.number >= 1 && c.number <= len(deep) {
			c.deep = deep[c.number-1]
		}
		if !t.Section.IsRound() && c.line >= 1 && c.line <= len(ports) {
			c.across = ports[c.line-1]
		}
		if !(c.deep > 0 && c.deep < 1) {
			c.deep = math.NaN()
		}
	}
}

// depth is the way of the probe from wall to wall.
func (t *Traverse) depth() unit.Length {
	if t.Section.IsRound() {
		return t.Section.Diameter
	}
	return t.Section.Height
}

// extent returns the number of lines, the points on the longest line and how often they count together.
func extent(cells []cell) (lines, numbers, counts int) {
	perLine := map[int]int{}
	for _, c := range cells {
		lines, numbers = max(lines, c.line), max(numbers, c.number)
		perLine[c.line] += c.counts
	}
	for _, n := range perLine {
		counts = max(counts, n)
	}
	return lines, numbers, counts
}

// lineShares are the rule's positions on a line of so many points, which count so often together; nil where the rule has none.
func (t *Traverse) lineShares(numbers, counts int) []float64 {
	if counts > numbers {
		if shares := t.planShares(t.Rule, counts); len(shares) == numbers {
			return shares
		}
	}
	return t.positions(t.Rule, numbers)
}

// positions are the rule's own shares of the way, before any wall clearance.
func (t *Traverse) positions(rule Rule, points int) []float64 {
	if t.Section.IsRound() {
		return RoundPositions(rule, points)
	}
	return SidePositions(rule, points)
}

// planShares are the shares of the way as a sheet of points has them, clear of the walls and put together.
func (t *Traverse) planShares(rule Rule, points int) []float64 {
	p := Plan{Section: t.Section, Rule: rule}
	p.addLine(1, t.depth(), t.positions(rule, points))
	shares := make([]float64, len(p.Points))
	for i, point := range p.Points {
		shares[i] = float64(point.FromWall / t.depth())
	}
	return shares
}

// findRule tells the rule from the written positions; RuleUnknown where none fits within 1.5 % of the way, or where a
// position is missing.
func (t *Traverse) findRule() Rule {
	byLine := map[int][]float64{}
	for _, r := range t.Readings {
		if math.IsNaN(float64(r.Position)) || r.Line <= 0 {
			return RuleUnknown
		}
		byLine[r.Line] = append(byLine[r.Line], float64(r.Position/t.depth()))
	}
	for _, rule := range []Rule{Method1, LogTchebycheff, LogLinear} {
		fits := len(byLine) > 0
		for _, shares := range byLine {
			slices.Sort(shares)
			fits = fits && t.fits(rule, slices.Compact(shares))
		}
		if fits {
			return rule
		}
	}
	return RuleUnknown
}

// fits tells whether the ascending shares are the rule's on some number of points, wall clearance applied or not.
func (t *Traverse) fits(rule Rule, shares []float64) bool {
	matches := func(want []float64) bool {
		return len(want) == len(shares) && len(want) > 0 &&
			slices.EqualFunc(want, shares, func(a, b float64) bool { return math.Abs(a-b) < 0.015 })
	}
	if matches(t.positions(rule, len(shares))) {
		return true
	}
	for points := len(shares); points <= 24; points++ {
		if matches(t.planShares(rule, points)) {
			return true
		}
	}
	return false
}
