package duct

import (
	"math"

	"dustwright/solve"
)

// pattern is the smooth shape fitted to the logarithms of the velocities: a power law of the distance from the wall with a tilt. It says what
// a point should read by all the others.
//
// Round: log v = c + (1/n) log(y/R) + tilt of each line; rectangular: one power law along each side and one tilt along each. Terms the
// points can't tell apart are left out. Source: power-law profile of turbulent flow, common practice; the tilt is ours.
type pattern struct {
	columns []func(*cell) float64
	fit     solve.Fit
	sigma   float64 // residual standard deviation of log v, not below patternFloor
	wall    int     // column of the wall term, -1 where it could not be fitted
}

// Limits of the pattern's judgement on single readings; common practice, no source. A reading is out of the pattern when it is off by 25 % in velocity
// or more, and by more than the scatter of the others explains.
const (
	patternFloor  = 0.03 // scatter of log v below which nothing is believed: readings of a live flow flicker by 3 %
	patternOff    = 0.25 // log v
	patternSpread = 4.0  // standard deviations with many readings to compare; more with few, see limit
	patternShare  = 0.2  // largest share of readings that may be out before the pattern itself is doubted
)

// wallTerm is the logarithm of the distance from the nearer wall over half the way.
func wallTerm(share float64) float64 { return math.Log(2 * math.Min(share, 1-share)) }

// patternColumns returns the terms that can be told apart over the usable cells.
func patternColumns(cells []cell, round bool) (columns []func(*cell) float64, wall int) {
	columns = append(columns, func(*cell) float64 { return 1 })
	wall = -1
	try := func(f func(*cell) float64) bool {
		before, varies, n := math.NaN(), false, 0
		for i := range cells {
			if !cells[i].usable() {
				continue
			}
			x := f(&cells[i])
			if math.IsNaN(x) {
				return false
			}
			n++
			varies = varies || n > 1 && math.Abs(x-before) > 1e-6
			before = x
		}
		if varies {
			columns = append(columns, f)
		}
		return varies
	}
	if try(func(c *cell) float64 { return wallTerm(c.deep) }) {
		wall = len(columns) - 1
	}
	if !round {
		try(func(c *cell) float64 { return wallTerm(c.across) })
		try(func(c *cell) float64 { return 2*c.across - 1 })
		try(func(c *cell) float64 { return 2*c.deep - 1 })
		return columns, wall
	}
	lines := map[int]bool{}
	for _, c := range cells {
		lines[c.line] = true
	}
	for line := range len(lines) + 1 {
		try(func(c *cell) float64 {
			if c.line != line {
				return 0 * c.deep
			}
			return 2*c.deep - 1
		})
	}
	return columns, wall
}

// fitPattern fits the shape to the usable cells that out does not name; ok is false where there are fewer than three
// readings more than terms.
func fitPattern(cells []cell, round bool, out map[int]bool) (p pattern, ok bool) {
	p.columns, p.wall = patternColumns(cells, round)
	for ; len(p.columns) > 0; p.columns = p.columns[:len(p.columns)-1] {
		var rows [][]float64
		var logs []float64
		for i := range cells {
			if cells[i].usable() && !out[i] {
				rows = append(rows, p.row(&cells[i]))
				logs = append(logs, math.Log(cells[i].v))
			}
		}
		if len(rows) < len(p.columns)+3 {
			continue
		}
		fit, err := solve.LeastSquares(rows, logs, nil)
		if err != nil { // terms that can't be told apart: the last one goes
			continue
		}
		p.fit, p.sigma = fit, math.Max(fit.ResidualSD, patternFloor)
		if p.wall >= len(p.columns) {
			p.wall = -1
		}
		return p, p.wall >= 0
	}
	return p, false
}

func (p *pattern) row(c *cell) []float64 {
	row := make([]float64, len(p.columns))
	for j, f := range p.columns {
		row[j] = f(c)
	}
	return row
}

// at returns the pattern's log v at a cell and the leverage x'(X'X)^-1 x; NaN where the cell's place is not known.
func (p *pattern) at(c *cell) (logV, leverage float64) {
	row := p.row(c)
	for j, x := range row {
		logV += p.fit.Param[j] * x
		for k, y := range row {
			leverage += x * y * p.fit.Cov[j][k] / (p.fit.ResidualSD * p.fit.ResidualSD)
		}
	}
	if p.fit.ResidualSD == 0 || math.IsNaN(leverage) {
		leverage = 0 // a perfect fit: nothing is out of it
	}
	return logV, leverage
}

// limit is how many standard deviations off a reading may be with so many spare readings behind the scatter.
func limit(spare int) float64 { return patternSpread + 20/float64(spare) }

// outOfPattern finds the readings that don't belong, by taking out, one after the other, the one whose going
// helps the fit most, and then keeping only those that the pattern of the rest still refuses. It returns the pattern of the rest, and too
// many as true where more than a fifth of the readings would have to go: then none is named.
func outOfPattern(cells []cell, round bool) (p pattern, out map[int]bool, tooMany, ok bool) {
	usable := 0
	for i := range cells {
		if cells[i].usable() {
			usable++
		}
	}
	most := int(patternShare * float64(usable))
	out = map[int]bool{}
	whole, ok := fitPattern(cells, round, nil)
	if !ok {
		return whole, nil, false, false
	}
	p = whole
	for range most + 1 {
		worst := p.worst(cells, out)
		if worst < 0 {
			break
		}
		out[worst] = true
		next, fits := fitPattern(cells, round, out)
		if !fits || len(next.columns) < len(whole.columns) {
			delete(out, worst)
			break
		}
		p = next
	}
	for i := range cells {
		if out[i] && !p.refuses(&cells[i]) {
			delete(out, i)
		}
	}
	if again, fits := fitPattern(cells, round, out); fits {
		p = again
	}
	if len(out) > most {
		return whole, nil, true, true
	}
	return p, out, false, true
}

// worst returns the index of the usable cell whose removal takes most off the residuals, -1 for none.
func (p *pattern) worst(cells []cell, out map[int]bool) int {
	worst, gain := -1, 0.0
	for i := range cells {
		if !cells[i].usable() || out[i] {
			continue
		}
		logV, leverage := p.at(&cells[i])
		r := math.Log(cells[i].v) - logV
		if g := r * r / math.Max(1-leverage, 1e-9); g > gain && math.Abs(r)/math.Max(1-leverage, 1e-9) > patternOff {
			worst, gain = i, g
		}
	}
	return worst
}

// refuses tells whether the pattern, fitted without the cell, has no room for its reading.
func (p *pattern) refuses(c *cell) bool {
	logV, leverage := p.at(c)
	off := math.Abs(math.Log(c.v) - logV)
	return off > patternOff && off > limit(p.fit.N-len(p.columns))*p.sigma*math.Sqrt(1+leverage)
}
