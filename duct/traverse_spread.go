package duct

import "math"

// profileTerms is what a finite number of points on a real profile costs.
func (e *evaluation) profileTerms() {
	var sum, squares, weights, n float64
	mean := float64(e.r.Mean)
	for i := range e.cells {
		v, w := e.cells[i].counted()
		if w == 0 || e.cells[i].fate == FateFilled {
			continue // a filled place brings no evidence of its own
		}
		sum += w * (v - mean) * (v - mean)
		squares += w * w
		weights += w
		n++
	}
	each, basis := math.Sqrt(sum/weights*n/math.Max(n-1, 1))/mean, "spread of all readings"
	if e.shaped {
		each, basis = e.shape.fit.ResidualSD, "readings off the smooth pattern"
	}
	e.add(Term{Name: "profile, scatter", Basis: basis, Standard: each * math.Sqrt(squares) / weights, Slope: 1})
	e.linesTerm()
	half, known := e.ruleError()
	basis = "equal weights on power laws of 1/5 to 1/10"
	if !known {
		half, basis = ruleUnknownHalf, "assumed"
	}
	cost := e.add(Term{Name: "profile, the rule itself", Basis: basis, Assumed: !known, Standard: half / sqrt3, Slope: 1})
	if !known {
		e.missing(MissingInput{What: "rule, position", Value: math.NaN(), Assumed: "points of equal weight at unknown places", Costs: cost})
	}
	grade := gradePlace(e.r.Before, e.r.After)
	cost = e.add(Term{Name: "profile, the place", Basis: [...]string{"straight duct as preferred", "straight duct as allowed", "too close to a disturbance", "assumed"}[grade],
		Assumed: grade == placeUnknown, Standard: placeSigma(grade), Slope: 1})
	if grade == placeUnknown {
		e.missing(MissingInput{What: "upstream, downstream", Value: math.NaN(), Assumed: "a middling place; straight duct before and after is not given", Costs: cost})
	}
	if swirl := e.r.Profile.MeanSwirl; swirl > 0 {
		e.add(Term{Name: "swirl", Basis: "mean angle", Standard: (1 - math.Cos(swirl*math.Pi/180)) / sqrt3, Slope: 1})
	}
}

// linesTerm is how far the lines of a round duct, which all go through its middle, disagree.
func (e *evaluation) linesTerm() {
	means := e.r.Profile.LineMeans
	switch {
	case !e.round || len(means) == 0:
	case len(means) == 1:
		e.add(Term{Name: "profile, lines differ", Basis: "one diameter only", Standard: oneLineSigma, Slope: 1})
	default:
		vs := make([]float64, len(means))
		for i, m := range means {
			vs[i] = float64(m.Velocity)
		}
		_, deviation := meanAndDeviation(vs)
		e.add(Term{Name: "profile, lines differ", Basis: "means of the lines", Standard: deviation / math.Sqrt(float64(len(vs))) / float64(e.r.Mean), Slope: 1})
	}
}

// ruleError is the largest error the weights make on power-law profiles with 1/5 to 1/10, at the places the readings stand; false where they are
// not known. Source: integration of the power law over the section, worked out here.
func (e *evaluation) ruleError() (half float64, known bool) {
	for n := 5.0; n <= 10; n++ {
		var sum, weights float64
		for i := range e.cells {
			c := &e.cells[i]
			_, w := c.counted()
			if w == 0 {
				continue
			}
			law := wallTerm(c.deep)
			if !e.round && !math.IsNaN(c.across) {
				law += wallTerm(c.across)
			}
			sum += w * math.Exp(law/n)
			weights += w
		}
		true1 := n / (n + 1) // mean of the law along a side
		mean := true1
		switch {
		case e.round:
			mean = 2 * n * n / ((n + 1) * (2*n + 1))
		case !math.IsNaN(e.cells[0].across):
			mean = true1 * true1
		}
		half = math.Max(half, math.Abs(sum/weights/mean-1))
		if math.IsNaN(sum) {
			return math.NaN(), false
		}
	}
	return half, true
}

// filledTerms is what the places without a reading of their own cost.
func (e *evaluation) filledTerms() {
	var sum, filled, still, dropped, weights float64
	for i := range e.cells {
		c := &e.cells[i]
		v, w := c.counted()
		sum += v * w
		weights += w
		switch c.fate {
		case FateFilled:
			filled += w * w * v * v * c.doubt * c.doubt
		case FateZero:
			still += w * w * e.lowest() * e.lowest() / 3
		case FateDropped:
			dropped += float64(c.counts)
		}
	}
	e.add(Term{Name: "places filled from the pattern", Basis: "scatter of the pattern", Standard: math.Sqrt(filled) / sum, Slope: 1})
	e.add(Term{Name: "places counted as still", Basis: "what the gauge can't read", Standard: math.Sqrt(still) / sum, Slope: 1})
	if dropped > 0 {
		spread := e.r.Profile.MaxOverMean - e.r.Profile.MinOverMean
		e.add(Term{Name: "places left out", Basis: "spread of the others", Standard: spread / 2 / sqrt3 * dropped / (weights + dropped), Slope: 1})
	}
}
