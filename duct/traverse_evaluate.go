package duct

import (
	"fmt"
	"math"
	"slices"

	"dustwright/unit"
)

// Limits of the evaluation.
const (
	fewestReadings = 4    // fewer usable readings are no traverse; common practice, no source
	fewestShare    = 0.5  // of the points, likewise
	tenth          = 0.1  // a velocity pressure above this share of the largest counts as live
	evenShare      = 0.75 // share of live readings an acceptable plane has: AMCA 203, ASHRAE 111 (from memory)
	swirlLimit     = 20.0 // mean angle above which the flow is cyclonic [degrees]: Method 1 section 11.4 (from memory)
	lowReading     = 5.0  // readings below so many half-widths of the gauge's fixed error are doubted: the velocity is then off by 10 %
)

// Evaluate works out the flow: area times the mean of the velocities sqrt(2 VP/rho), times the probe's coefficient.
// The mean is over velocities, not over velocity pressures. The order of the readings does not matter. Readings that can't be right are
// named in Flags and their places filled from the pattern of the others; what was not given is named in Missing, with a default that widens the
// uncertainty. NaN in a field means not given.
//
// Errors: ErrSection; ErrNoAir where the conditions that are given make no air (steam, vacuum); ErrTooFewReadings where fewer than four
// readings, or fewer than half of the points, are usable, or where most velocity pressures are negative (hoses swapped).
// Source: Q = A Cp mean sqrt(2 VP/rho): 40 CFR 60 App. A-1 Method 2, ISO 5802; uncertainty: JCGM 100:2008 section 5.1.2, first
// order, k = 2. Check values: testdata/epa_method2_velocity.csv and the simulated traverses of the tests.
func (t *Traverse) Evaluate(model AirModel) (TraverseResult, error) {
	if err := t.Section.check(); err != nil {
		return TraverseResult{}, err
	}
	e := evaluation{t: *t, round: t.Section.IsRound()}
	nan := math.NaN()
	e.r = TraverseResult{Area: t.Section.Area(), Rule: t.Rule, DesignShare: nan}
	e.r.Before, e.r.After = float64(t.Before/t.Section.Hydraulic()), float64(t.After/t.Section.Hydraulic())
	if e.t.Rule == RuleUnknown {
		e.t.Rule = e.t.findRule()
		e.r.Rule, e.r.RuleFound = e.t.Rule, e.t.Rule != RuleUnknown
	}
	for _, r := range t.Readings {
		e.speeds = e.speeds || !math.IsNaN(float64(r.Velocity))
	}
	if err := e.air(model); err != nil {
		return TraverseResult{}, err
	}
	e.instrument()
	e.cells = e.t.cells(float64(e.r.Density), e.coefficient)
	if err := e.sortOut(); err != nil {
		return TraverseResult{}, err
	}
	e.mean()
	e.profile()
	e.uncertainty()
	e.site()
	return e.r, nil
}

// evaluation is one run of Evaluate.
type evaluation struct {
	t           Traverse // a copy with the rule filled in
	r           TraverseResult
	round       bool
	speeds      bool // the instrument shows velocities: the density does not enter the flow
	coefficient float64
	fixed       float64 // half-width of the gauge's fixed error [Pa or m/s]
	step        float64 // resolution [Pa or m/s]
	cells       []cell
	shape       pattern
	shaped      bool
	airTerms    []Term
}

func (e *evaluation) note(format string, args ...any) {
	e.r.Notes = append(e.r.Notes, fmt.Sprintf(format, args...))
}

// sortOut decides the fate of every cell.
func (e *evaluation) sortOut() error {
	usable, backwards, read := 0, 0, 0
	for i := range e.cells {
		c := &e.cells[i]
		switch {
		case c.usable():
			usable++
			read++
		case c.backwards:
			backwards++
			read++
		}
	}
	switch {
	case backwards > read/2 && !e.speeds:
		return fmt.Errorf("%w: %d of %d velocity pressures are zero or negative; look whether the hoses on the gauge are swapped and the tip points into the flow",
			ErrTooFewReadings, backwards, read)
	case usable < fewestReadings || float64(usable) < fewestShare*float64(len(e.cells)):
		return fmt.Errorf("%w: %d of %d points; a traverse needs at least %d and half of its points", ErrTooFewReadings, usable, len(e.cells), fewestReadings)
	}
	out, tooMany := map[int]bool(nil), false
	e.shape, out, tooMany, e.shaped = outOfPattern(e.cells, e.round)
	if tooMany {
		e.note("More than a fifth of the readings fit no smooth pattern, so none was taken out. Repeat the traverse; if it comes out the same, the place is not fit for one.")
	}
	for i := range e.cells {
		e.judge(&e.cells[i], out[i])
	}
	e.flags()
	return nil
}

// judge decides one cell's fate.
func (e *evaluation) judge(c *cell, out bool) {
	leverage := 0.0
	if e.shaped {
		var logV float64
		logV, leverage = e.shape.at(c)
		c.expected = math.Exp(logV)
	}
	low := e.lowest()
	switch {
	case out:
		c.fate, c.why = FateFilled, "it does not fit the pattern of the other readings"
	case c.backwards && (c.expected > 2*low || math.IsNaN(c.expected) && e.median() > 4*low):
		c.fate, c.why = FateFilled, "zero or negative amid flowing air: a blocked or turned tip, or a hose off"
	case c.backwards:
		c.fate, c.why = FateZero, "zero or negative where the air is slow anyway: still air or backflow"
	case math.IsNaN(c.v):
		c.fate, c.why = FateFilled, "no reading"
	case c.v < low:
		c.fate, c.why = FateDoubted, "below what the gauge reads well"
	case c.swirl > swirlLimit:
		c.fate, c.why = FateDoubted, fmt.Sprintf("the flow stands %.0f degrees to the duct", c.swirl)
	case !e.shaped && (c.v > 3*e.median() || c.v < e.median()/3):
		c.fate, c.why = FateDoubted, "far from the other readings"
	}
	if c.fate != FateFilled {
		return
	}
	if math.IsNaN(c.expected) {
		c.fate = FateDropped
		return
	}
	c.doubt = math.Max(0.05, e.shape.sigma*math.Sqrt(1+leverage))
}

// lowest is the velocity below which the gauge's fixed error is worth more than 10 %.
func (e *evaluation) lowest() float64 {
	if e.speeds {
		return lowReading * e.fixed * e.coefficient
	}
	return e.coefficient * math.Sqrt(2*lowReading*e.fixed/float64(e.r.Density))
}

// median is the median velocity of the usable cells.
func (e *evaluation) median() float64 {
	var vs []float64
	for i := range e.cells {
		if e.cells[i].usable() {
			vs = append(vs, e.cells[i].v)
		}
	}
	slices.Sort(vs)
	return (vs[(len(vs)-1)/2] + vs[len(vs)/2]) / 2
}

// flags writes out the cells that were not simply used.
func (e *evaluation) flags() {
	for i := range e.cells {
		c := &e.cells[i]
		e.r.Readings++
		if c.fate == FateUsed || c.fate == FateDoubted || c.fate == FateZero {
			e.r.Used++
		}
		if c.fate != FateUsed {
			e.r.Flags = append(e.r.Flags, PointFlag{Line: c.line, Number: c.number, Row: c.row, Fate: c.fate, Why: c.why,
				Read: unit.Velocity(c.v), Expected: unit.Velocity(c.expected)})
		}
	}
}

// counted is the velocity a cell enters the mean with, and its weight; weight 0 where it is left out.
func (c *cell) counted() (v, weight float64) {
	switch c.fate {
	case FateZero:
		return 0, float64(c.counts)
	case FateFilled:
		return c.expected, float64(c.counts)
	case FateDropped:
		return 0, 0
	}
	return c.v, float64(c.counts)
}

// mean works out mean velocity and flow.
func (e *evaluation) mean() {
	var sum, weights float64
	for i := range e.cells {
		v, w := e.cells[i].counted()
		sum += v * w
		weights += w
	}
	v := sum / weights
	r := &e.r
	r.Mean = unit.Velocity(v)
	r.MeanVP = VelocityPressure(r.Mean, r.Density)
	r.Flow = unit.Flow(v * float64(r.Area))
	r.Mass = unit.MassFlow(float64(r.Flow) * float64(r.Density))
	r.Standard = unit.StdFlow(float64(r.Mass) / unit.StdAirDensity)
	if e.t.Design > 0 {
		r.DesignShare = float64(r.Flow / e.t.Design)
	}
}

// profile describes the shape of the flow.
func (e *evaluation) profile() {
	p := &e.r.Profile
	mean := float64(e.r.Mean)
	*p = Profile{MaxOverMean: 0, MinOverMean: math.Inf(1), Exponent: math.NaN(), MeanSwirl: math.NaN()}
	if e.shaped && e.shape.fit.Param[e.shape.wall] > 0 {
		p.Exponent = 1 / e.shape.fit.Param[e.shape.wall]
	}
	largest, live, n := 0.0, 0, 0
	var swirls []float64
	for i := range e.cells {
		c := &e.cells[i]
		if v, w := c.counted(); w > 0 {
			p.MaxOverMean, p.MinOverMean = max(p.MaxOverMean, v/mean), min(p.MinOverMean, v/mean)
			largest = max(largest, v)
		}
		if !math.IsNaN(c.swirl) {
			swirls = append(swirls, c.swirl)
		}
	}
	for i := range e.cells {
		c := &e.cells[i]
		if math.IsNaN(c.v) {
			continue
		}
		n++
		if v, _ := c.counted(); v*v > tenth*largest*largest {
			live++
		}
	}
	p.AboveTenth = float64(live) / float64(n)
	p.Even = p.AboveTenth >= evenShare
	p.MeanSwirl, _ = meanAndDeviation(swirls)
	e.lines()
}

// lines fills the means of the lines and the skew.
func (e *evaluation) lines() {
	type sums struct{ all, near, far, n, nNear, nFar float64 }
	byLine := map[int]*sums{}
	var order []int
	for i := range e.cells {
		c := &e.cells[i]
		v, w := c.counted()
		if c.line <= 0 || w == 0 {
			continue
		}
		s := byLine[c.line]
		if s == nil {
			s = &sums{}
			byLine[c.line] = s
			order = append(order, c.line)
		}
		s.all += v * w
		s.n += w
		switch {
		case c.deep < 0.5-1e-9:
			s.near += v * w
			s.nNear += w
		case c.deep > 0.5+1e-9:
			s.far += v * w
			s.nFar += w
		}
	}
	p := &e.r.Profile
	for _, line := range order {
		s := byLine[line]
		p.LineMeans = append(p.LineMeans, LineMean{Line: line, Velocity: unit.Velocity(s.all / s.n)})
		if s.nNear > 0 && s.nFar > 0 {
			if skew := math.Abs(s.near/s.nNear-s.far/s.nFar) / float64(e.r.Mean); skew > p.Skew {
				p.Skew, p.SkewLine = skew, line
			}
		}
	}
}

// site adds what the place and the profile say about the measurement as a whole.
func (e *evaluation) site() {
	p := &e.r.Profile
	if !p.Even {
		e.note("Only %.0f %% of the velocity pressures are above a tenth of the largest; 75 %% is the least for a plane that measures well (from memory of AMCA 203). Measure in a straighter piece of duct.", 100*p.AboveTenth)
	}
	if p.MeanSwirl > swirlLimit {
		e.note("The flow stands %.0f degrees to the duct on average; above 20 degrees it is cyclonic and no pitot traverse is valid (from memory of Method 1).", p.MeanSwirl)
	}
	if gradePlace(e.r.Before, e.r.After) == placeClose {
		e.note("The place is closer than 2 diameters behind a disturbance or half a diameter ahead of one (%s before, %s after): no rule covers it.", diameters(e.r.Before), diameters(e.r.After))
	}
	if e.r.RuleFound {
		e.note("The rule is not named; the positions are those of %s.", e.r.Rule)
	}
	if plan, err := NewPlan(PlanRequest{Section: e.t.Section, Rule: e.r.Rule, Before: e.t.Before, After: e.t.After}); err == nil {
		want, have := 0, 0
		for _, point := range plan.Points {
			want += point.Counts
		}
		for i := range e.cells {
			have += e.cells[i].counts
		}
		if have < want {
			e.note("%d points were laid out; the rule asks for %d at this place.", have, want)
		}
	}
	if e.t.Section.Hydraulic() < smallest*(1-1e-9) {
		e.note("The duct is below {4 in|100 mm}: the probe itself takes a share of the area, and no rule covers it.")
	}
	if e.speeds {
		e.note("The readings are velocities: an instrument that shows standard velocity (most hot wires) must be set to the actual density, or its readings divided by the density factor first.")
	}
}
