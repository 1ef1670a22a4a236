package duct

import (
	"math"

	"dustwright/unit"
)

// Defaults for what was not given, and the widths that go with them. All are common practice or judgement, no source. "half" is a half-width of an
// even distribution (JCGM 100 section 4.3.7: standard uncertainty is half/sqrt 3), "sigma" a standard uncertainty.
const (
	roomTemperature   = 294.26 // 70 degF [K]
	temperatureHalf   = 30.0   // [K] when nobody measured
	temperatureSigma  = 1.0    // [K] measured
	barometerSigma    = 5e3    // [Pa] neither barometer nor elevation given
	elevationSigma    = 1.3e3  // [Pa] weather, when only the elevation is given
	barometerRead     = 300.0  // [Pa] measured
	staticSigma       = 1.2e3  // [Pa] not given
	staticRead        = 0.02   // share, given
	ratioDefault      = 0.010  // humidity ratio of shop air between winter and a muggy summer [kg/kg]
	ratioHalf         = 0.010
	humiditySigma     = 0.05 // relative humidity, measured
	wetBulbSigma      = 0.5  // [K]
	densitySigma      = 0.005
	pitotCoefficient  = 0.99 // standard pitot tube: 40 CFR 60 App. A-1 Method 2 (from memory)
	pitotHalf         = 0.01 // coefficient given
	pitotHalfAssumed  = 0.02 // coefficient not given
	speedHalf         = 0.01 // calibration factor of a velocity instrument
	pressureAccuracy  = 0.015
	velocityAccuracy  = 0.03
	pressureStep      = 0.01 * unit.InchWater // [Pa] when the digits don't show it
	velocityStep      = 10 * unit.Foot / 60   // [m/s]
	dimensionHalf     = unit.Inch / 8         // tape across a sheet-metal duct [m]
	dimensionHalfPart = 0.005                 // and at least this share
	oneLineSigma      = 0.02                  // a round duct of which one diameter was measured
	ruleUnknownHalf   = 0.03                  // equal weights at unknown places
)

const sqrt3 = 1.7320508075688772

// placeSigma is what the flow loses in certainty by the place's straight duct: judgement, no source.
func placeSigma(p place) float64 {
	return [...]float64{placeGood: 0.005, placeAllowed: 0.015, placeClose: 0.04, placeUnknown: 0.025}[p]
}

// have tells whether a number was given.
func have[T ~float64](x T) bool { return !math.IsNaN(float64(x)) }

// missing notes an input that was not given, and what not knowing it costs.
func (e *evaluation) missing(m MissingInput) { e.r.Missing = append(e.r.Missing, m) }

// add puts a term into the budget unless it is nothing; it returns its effect on the flow.
func (e *evaluation) add(t Term) float64 {
	t.Flow = math.Abs(t.Standard * t.Slope)
	if t.Flow > 0 {
		e.r.Budget = append(e.r.Budget, t)
	}
	return t.Flow
}

// uncertainty fills the budget and the interval.
func (e *evaluation) uncertainty() {
	r := &e.r
	for _, t := range e.airTerms {
		e.add(t)
	}
	e.gaugeTerms()
	e.areaTerm()
	e.profileTerms()
	e.filledTerms()
	var variance, air float64
	for _, t := range r.Budget {
		variance += t.Flow * t.Flow
	}
	for i := range r.Budget {
		r.Budget[i].Share = r.Budget[i].Flow * r.Budget[i].Flow / variance
	}
	r.Relative = math.Sqrt(variance)
	r.StandardRelative = r.Relative // Q goes with rho^-1/2, Q rho with rho^1/2: the same width
	if e.speeds {
		for _, t := range e.airTerms {
			air += t.Standard * t.Standard // density terms, see density()
		}
		r.StandardRelative = math.Sqrt(variance + air)
	}
	r.Low, r.High = r.Flow*unit.Flow(1-2*r.Relative), r.Flow*unit.Flow(1+2*r.Relative)
}

// nudge is how far a cell's velocity moves when its reading moves by u either way [Pa, or m/s].
func (e *evaluation) nudge(c *cell, u float64) float64 {
	if e.speeds {
		return e.coefficient * u
	}
	rho := float64(e.r.Density)
	return e.coefficient * (math.Sqrt(2*(c.vp+u)/rho) - math.Sqrt(2*math.Max(c.vp-u, 0)/rho)) / 2
}

// gaugeTerms is what the readings themselves carry.
func (e *evaluation) gaugeTerms() {
	var sum, step, fixed, spread float64
	for i := range e.cells {
		c := &e.cells[i]
		v, w := c.counted()
		sum += v * w
		if c.fate != FateUsed && c.fate != FateDoubted {
			continue
		}
		s := w * e.nudge(c, e.step/2/sqrt3) / math.Sqrt(float64(c.repeats))
		step += s * s
		fixed += w * e.nudge(c, e.fixed/sqrt3)
		if c.repeats > 1 {
			spread += w * w * c.spread * c.spread / float64(c.repeats)
		}
	}
	e.accuracyTerms(fixed / sum)
	resolution := Term{Name: "reading, resolution", Basis: "given or from the digits written", Standard: math.Sqrt(step) / sum, Slope: 1}
	if !have(e.t.Instrument.Resolution) {
		resolution.Basis, resolution.Assumed = "assumed", true
	}
	if cost := e.add(resolution); resolution.Assumed {
		kind := unit.KindPressure
		if e.speeds {
			kind = unit.KindVelocity
		}
		e.missing(MissingInput{What: "resolution", Kind: kind, Value: e.step, Assumed: "smallest step of the reading", Costs: cost})
	}
	e.add(Term{Name: "repeated readings", Basis: "their spread", Standard: math.Sqrt(spread) / sum, Slope: 1})
	e.probeTerm()
}

// accuracyTerms is the gauge's error, which all readings share: a part that goes with the reading, and a fixed one that moves the flow by fixed.
func (e *evaluation) accuracyTerms(fixed float64) {
	i := e.t.Instrument
	part := Term{Name: "gauge, share of the reading", Basis: "given", Slope: 0.5}
	rest := Term{Name: "gauge, fixed part", Basis: "given", Standard: fixed, Slope: 1}
	share := pressureAccuracy
	if e.speeds {
		share, part.Slope = velocityAccuracy, 1
	}
	switch {
	case have(i.AccuracyShare):
		share = float64(i.AccuracyShare)
	case have(i.AccuracyPressure):
		share = 0
	default:
		part.Basis, part.Assumed, rest.Assumed = "assumed", true, true
	}
	if !have(i.AccuracyPressure) {
		rest.Basis = "one step of the reading"
	}
	part.Standard = share / sqrt3
	if cost := math.Hypot(e.add(part), e.add(rest)); part.Assumed {
		e.missing(MissingInput{What: "accuracy", Kind: unit.KindShare, Value: share, Assumed: "of the reading, and one step", Costs: cost})
	}
}

// probeTerm is the probe's coefficient.
func (e *evaluation) probeTerm() {
	i := e.t.Instrument
	half, basis := pitotHalf, "given"
	if e.speeds {
		half = speedHalf
	}
	assumed := !have(i.Coefficient)
	if assumed {
		basis = "assumed"
		if !e.speeds {
			half = pitotHalfAssumed
		}
	}
	if have(i.CoefficientWidth) {
		half = i.CoefficientWidth
	}
	cost := e.add(Term{Name: "probe coefficient", Basis: basis, Assumed: assumed, Standard: half / sqrt3 / e.coefficient, Slope: 1})
	if !assumed {
		return
	}
	text := "standard pitot tube; an S type (0.84) would mean 15 % less flow"
	if e.speeds {
		text = "no calibration factor"
	}
	e.missing(MissingInput{What: "probe", Kind: unit.KindNumber, Value: e.coefficient, Assumed: text, Costs: cost})
}

// areaTerm is the duct's inside dimensions.
func (e *evaluation) areaTerm() {
	s := e.t.Section
	relative := func(side unit.Length) float64 {
		half := math.Max(dimensionHalf, dimensionHalfPart*float64(side))
		if have(e.t.Tolerance) {
			half = float64(e.t.Tolerance)
		}
		return half / sqrt3 / float64(side)
	}
	t := Term{Name: "area", Basis: "given", Assumed: !have(e.t.Tolerance), Slope: 1}
	if t.Assumed {
		t.Basis = "assumed"
	}
	if s.IsRound() {
		t.Standard, t.Slope = relative(s.Diameter), 2
	} else {
		t.Standard = math.Hypot(relative(s.Width), relative(s.Height))
	}
	cost := e.add(t)
	if t.Assumed {
		side := s.Diameter
		if !s.IsRound() {
			side = min(s.Width, s.Height)
		}
		e.missing(MissingInput{What: "tolerance", Kind: unit.KindLength, Value: math.Max(dimensionHalf, dimensionHalfPart*float64(side)),
			Assumed: "half-width of the inside dimensions", Costs: cost})
	}
}
