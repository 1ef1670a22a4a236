package collector

import (
	"errors"
	"math"

	"dustwright/fan"
	"dustwright/unit"
)

// How far the figures of a file usually lie from the machine, as standard deviations. common practice, no source.
const (
	curveSD     = 0.03                  // a fan's pressure against its curve: casting, clearances, the elbow before it
	suctionSD   = 0.06                  // inlet suction at commissioning, with the flow it was taken at
	traverseSD  = 0.03                  // the flows of the damper points, by traverse
	openingSD   = 0.02                  // a damper's position, read from its quadrant, of fully open
	readingSD   = 0.05 * unit.InchWater // a dP read from a gauge [Pa]
	cleanSD     = 0.10                  // new filters against their clean dP
	temperature = 8.0                   // the air's temperature where it is not given [K]
	humiditySD  = 0.3                   // the same for humidity; it hardly counts
)

// Given says which of the conditions somebody measured or chose; the rest is what the file or usual practice
// says, and is less certain.
type Given struct {
	FilterDP, AfterFilterDP, Air bool
	Reading                      bool // FilterDP is what the gauge shows at the flow as it is, not at design flow
}

// doubt is one thing that is not certain, as two alternatives to what is reckoned with.
type doubt struct {
	name   string
	weight float64 // 2 where the alternatives lie one standard deviation off, 1 where they are the ends of what can be
	down   func(*tweak, *Conditions)
	up     func(*tweak, *Conditions)
}

// doubts lists what is not certain about an answer under conditions.
func (c *Collector) doubts(p *AirPath, g Given) []doubt {
	curve := func(s float64) func(*tweak, *Conditions) { return func(w *tweak, _ *Conditions) { w.curve = s } }
	duct := func(s float64) func(*tweak, *Conditions) { return func(w *tweak, _ *Conditions) { w.duct = s } }
	ds := []doubt{
		{"the fan curve", 2, curve(-curveSD), curve(curveSD)},
		{"the duct loss", 2, duct(-1), duct(1)},
		c.filterDoubt(p, g),
	}
	if p.damper != nil {
		flow := func(s float64) func(*tweak, *Conditions) { return func(w *tweak, _ *Conditions) { w.dampFlow = s } }
		kind := func(k fan.DamperKind) func(*tweak, *Conditions) { return func(w *tweak, _ *Conditions) { w.kind = k } }
		open := func(s float64) func(*tweak, *Conditions) {
			return func(_ *tweak, c *Conditions) { c.Damper = unit.Share(min(1, max(0, float64(c.Damper)+s))) }
		}
		ds = append(ds, doubt{"the flows of the damper points", 2, flow(-traverseSD), flow(traverseSD)},
			doubt{"the make of the damper", 1, kind(fan.Opposed), kind(fan.SingleBlade)},
			doubt{"the damper's position", 2, open(-openingSD), open(openingSD)})
	}
	if c.AfterFilter.Fitted && !g.AfterFilterDP {
		ds = append(ds, c.afterDoubt(p))
	}
	if !g.Air {
		air := func(s float64) func(*tweak, *Conditions) {
			return func(_ *tweak, cond *Conditions) {
				*cond = cond.In(c.SiteAir(RefTemperature+unit.Temperature(s*temperature), refHumidity+unit.Share(s*humiditySD)))
			}
		}
		ds = append(ds, doubt{"the air's temperature", 2, air(-1), air(1)})
	}
	if math.IsNaN(float64(c.Fan.Density)) {
		rho := func(s float64) func(*tweak, *Conditions) { return func(w *tweak, _ *Conditions) { w.fanDensity = s } }
		ds = append(ds, doubt{"the density of the fan curve", 1, rho(-0.05), rho(0.05)})
	}
	return ds
}

// filterDoubt is how far the filters' dP may be off.
func (c *Collector) filterDoubt(p *AirPath, g Given) doubt {
	add := func(pa float64) func(*tweak, *Conditions) {
		return func(_ *tweak, c *Conditions) { c.FilterDP = unit.Pressure(max(0, float64(c.FilterDP)+pa)) }
	}
	switch {
	case g.FilterDP || g.Reading:
		return doubt{"the dP reading", 2, add(-readingSD), add(readingSD)}
	case math.IsNaN(float64(c.Filters.CleanDP)):
		return doubt{"the clean dP", 1, add(-p.filterDP / 2), add(p.filterDP)}
	}
	return doubt{"the clean dP", 2, add(-cleanSD * p.filterDP), add(cleanSD * p.filterDP)}
}

// afterDoubt is how far an after-filter nobody read may have risen: to its max dP, or to two and a half times clean
// where that is not known. common practice, no source.
func (c *Collector) afterDoubt(p *AirPath) doubt {
	top := float64(c.AfterFilter.MaxDP)
	if math.IsNaN(top) {
		top = 2.5 * p.afterDP
	}
	set := func(pa float64) func(*tweak, *Conditions) {
		return func(_ *tweak, c *Conditions) { c.AfterFilterDP = unit.Pressure(pa) }
	}
	return doubt{"the after-filter, which nobody read", 1, set(p.afterDP), set(top)}
}

// band is the range an answer lies in and what widens it most.
type band struct {
	low, high float64
	mostly    string
}

// spread works out how far an answer moves with everything that is not certain: each doubt's two alternatives in turn,
// added by squares on each side (JCGM 100, 5.1, by finite differences). f may return NaN for an alternative
// under which there is no answer; it is then left out.
func (c *Collector) spread(p *AirPath, cond Conditions, doubts []doubt, f func(*AirPath, Conditions) float64) band {
	value := f(p, cond)
	var below, above, most float64
	b := band{}
	for _, d := range doubts {
		lo, hi := 0.0, 0.0
		for _, change := range []func(*tweak, *Conditions){d.down, d.up} {
			w, changed := tweak{}, cond
			change(&w, &changed)
			other, err := c.airPath(w)
			if err != nil { // the alternative contradicts the commissioning points: it cannot be
				continue
			}
			if delta := d.weight * (f(other, changed) - value); !math.IsNaN(delta) {
				lo, hi = min(lo, delta), max(hi, delta)
			}
		}
		below, above = below+lo*lo, above+hi*hi
		if size := hi - lo; size > most {
			most, b.mostly = size, d.name
		}
	}
	b.low, b.high = value-math.Sqrt(below), value+math.Sqrt(above)
	return b
}

// Estimate is an operating point with its width.
type Estimate struct {
	OperatingPoint
	Low, High  unit.Flow        // the flow lies between, about 95 times in 100; NaN for a limit that is not known
	AtMost     bool             // without damper points the flow found is the most there can be
	Mostly     string           // what widens the answer most, as it stands in a sentence
	Conditions Conditions       // what it was asked under; FilterDP is the one at design flow
	Given      Given            // what of it somebody measured or chose
	Branches   []BranchVelocity // nil without branches
	Shut       []string         // gates that are shut
	AllOpen    unit.Flow        // the flow with these gates open as well; NaN where none is shut
	Gaps       []Gap            // what the file does not say
}

// Estimate is Point with its width: how far the flow moves with what is not certain about the machine. With g.Reading
// cond.FilterDP is what the gauge shows at the flow as it is (see PointFromReading). The errors are those of AirPath
// and Point.
func (c *Collector) Estimate(cond Conditions, g Given) (Estimate, error) {
	d, err := c.Ducts()
	if err != nil {
		return Estimate{}, err
	}
	return c.EstimateWith(cond, g, d)
}

// EstimateWith is Estimate with some gates shut: the ducts' resistance is above cond.DuctExtra by what that makes of it.
func (c *Collector) EstimateWith(cond Conditions, g Given, d *Ducts) (Estimate, error) {
	p, err := c.AirPath()
	if err != nil {
		return Estimate{}, err
	}
	e := Estimate{AtMost: p.damper == nil, Given: g, Shut: d.Shut(), AllOpen: unit.Flow(math.NaN()), Gaps: p.gapsWith(d)}
	open := cond
	cond = d.under(cond)
	o, at, err := p.solve(cond, g)
	if err != nil {
		return Estimate{}, err
	}
	b := c.spread(p, cond, append(c.doubts(p, g), d.doubts()...), func(p *AirPath, cond Conditions) float64 { return p.flowOrEnd(cond, g) })
	cond.FilterDP = at
	e.OperatingPoint, e.Low, e.High, e.Mostly, e.Conditions = o, unit.Flow(max(0, b.low)), unit.Flow(b.high), b.mostly, cond
	e.Branches = d.At(o.HoodFlow)
	if e.AtMost {
		e.Low = unit.Flow(math.NaN())
	}
	if len(d.gates) > 0 {
		open.FilterDP = at
		e.AllOpen = unit.Flow(p.flowOrEnd(open, Given{}))
	}
	return e, nil
}

// gapsWith lists what the file does not say of the machine with these ducts.
func (p *AirPath) gapsWith(d *Ducts) []Gap {
	out := append(p.Gaps(), d.Gaps()...)
	if len(d.gates) > 0 && p.duct == 0 {
		out = append(out, Gap{"duty.inlet_sp", Say("a shut gate takes nothing from the air in all here, since the ducts' own loss is not known; in truth there is less")})
	}
	return out
}

// under is the conditions with the gates as they are.
func (d *Ducts) under(c Conditions) Conditions {
	if d.extra == 0 {
		return c
	}
	c.DuctExtra = (1+c.DuctExtra)*(1+d.extra) - 1
	return c
}

// doubts is what is not certain about the ducts with gates shut.
func (d *Ducts) doubts() []doubt {
	if d.extra == d.extraLo {
		return nil
	}
	shared := func(_ *tweak, c *Conditions) { c.DuctExtra = (1+c.DuctExtra)/(1+d.extra)*(1+d.extraLo) - 1 }
	return []doubt{{"how much of the duct loss lies where all branches share it", 1, func(*tweak, *Conditions) {}, shared}}
}

// solve is Point, or PointFromReading where FilterDP is a reading; at is the filters' dP at design flow.
func (p *AirPath) solve(cond Conditions, g Given) (o OperatingPoint, at unit.Pressure, err error) {
	if g.Reading {
		return p.PointFromReading(cond, cond.FilterDP)
	}
	o, err = p.Point(cond)
	return o, cond.FilterDP, err
}

// flowOrEnd is the flow of the operating point, or the end of the fan curve where it lies beyond.
func (p *AirPath) flowOrEnd(cond Conditions, g Given) float64 {
	o, _, err := p.solve(cond, g)
	var none *NoPoint
	switch {
	case errors.As(err, &none):
		return float64(none.Flow)
	case err != nil:
		return math.NaN()
	}
	return float64(o.Flow)
}
