package collector

import (
	"errors"
	"fmt"
	"math"

	"dustwright/air"
	"dustwright/fan"
	"dustwright/unit"
)

// TrimRequest says what a damper position is asked for. NaN leaves a field open; start with NewTrimRequest.
type TrimRequest struct {
	Flow          unit.Flow     // to be held; NaN = design flow
	FilterDP      unit.Pressure // read across the filters now; NaN = not read
	Damper        unit.Share    // open now; NaN = not known, the reading then counts as taken at Flow
	AfterFilterDP unit.Pressure // read across the after-filter now; NaN = not read, it counts as new
	Step          unit.Pressure // of the schedule; NaN = a sixth of the way
	Air           air.State     // at the fan; counts only with AirGiven
	AirGiven      bool          // somebody measured Air; else it is the site's at RefTemperature
	Shut          []string      // branches whose gates are shut
}

// NewTrimRequest leaves everything open.
func NewTrimRequest() TrimRequest {
	nan := math.NaN()
	return TrimRequest{Flow: unit.Flow(nan), FilterDP: unit.Pressure(nan), Damper: unit.Share(nan),
		AfterFilterDP: unit.Pressure(nan), Step: unit.Pressure(nan)}
}

// TrimStep is one state of the filters with the damper position that holds the flow there.
type TrimStep struct {
	FilterDP     unit.Pressure // across the filters at the flow to be held
	Open         unit.Share    // NaN without damper points
	Low, High    unit.Share    // the position lies between, about 95 times in 100
	Extrapolated bool          // beyond the damper's commissioning points
	DamperLoss   unit.Pressure // what the damper has to take; negative when even no damper at all would not do
	Held         bool          // the flow is held; else Open is 1 and Flow what is left
	Point        OperatingPoint
	Mostly       string // what widens the position most
}

// Trim is the answer to "where do I set the damper".
type Trim struct {
	Flow      unit.Flow  // to be held
	Now       *TrimStep  // nil where no dP was read
	NowOpen   unit.Share // position now as given; NaN if not
	NowPoint  *OperatingPoint
	New       TrimStep
	Steps     []TrimStep // from new filters to their max dP, or to where the damper is fully open
	ToMaxDP   bool       // Steps end at max dP
	LastHeld  unit.Pressure
	LeftAt    TrimStep       // the state whose position LeftAlone keeps
	LeftAlone OperatingPoint // new filters with the damper left where it was
	LeftError error          // instead of LeftAlone, where there is no operating point
	Motor     fan.Motor
	Density   unit.Density     // of the air it is reckoned with
	AirGiven  bool             // that air was measured; else it is the site's at RefTemperature
	Shut      []string         // gates that are shut
	Branches  []BranchVelocity // at the flow to be held
	AtEnd     []BranchVelocity // at the flow left at max dP with the damper fully open; nil where it is held
	Warnings  []Finding
	Gaps      []Gap
}

// Trim finds the damper positions that hold a flow: now, with new filters, and step by step as they age.
//
// The damper has to take what the fan gives at that flow less inlet and ducts, filters and after-filter. LastHeld is
// the filters' dP at which the damper is fully open: beyond it the flow falls. Power does not change along the schedule,
// since the fan stays at one point of its curve; LeftAlone shows what happens when new filters go in and nobody
// touches the damper. It returns ErrMissing without a fan curve and ErrNoOperatingPoint where the fan cannot give the
// flow at all. Source: DESIGN.md section 4, operating point; positions by fan.Damper.
func (c *Collector) Trim(r TrimRequest) (*Trim, error) {
	t, out, err := c.trimNow(r)
	if err != nil {
		return nil, err
	}
	out.New = t.step(unit.Pressure(t.p.filterDP)*t.scale(), false)
	t.schedule(out, r.Step)
	t.leftAlone(out)
	out.Branches = t.ducts.At(t.flow)
	if last := out.Steps[len(out.Steps)-1]; !last.Held && last.Point.Flow > 0 {
		out.AtEnd = t.ducts.At(last.Point.Flow)
	}
	out.Warnings = c.trimWarnings(out)
	return out, nil
}

// TrimNow is the part of Trim that looks at the present alone: Now, NowPoint and LastHeld, a tenth of the work.
func (c *Collector) TrimNow(r TrimRequest) (*Trim, error) {
	_, out, err := c.trimNow(r)
	return out, err
}

// trimNow returns also what the rest of Trim is worked out with.
func (c *Collector) trimNow(r TrimRequest) (*trimmer, *Trim, error) {
	p, err := c.AirPath()
	if err != nil {
		return nil, nil, err
	}
	d, err := c.Ducts(r.Shut...)
	if err != nil {
		return nil, nil, err
	}
	t := &trimmer{c: c, p: p, ducts: d, base: d.under(p.Conditions()), flow: r.Flow, given: Given{AfterFilterDP: !math.IsNaN(float64(r.AfterFilterDP)), Air: r.AirGiven}}
	if math.IsNaN(float64(r.Flow)) {
		t.flow = c.Duty.Flow
	}
	if r.AirGiven {
		t.base = t.base.In(r.Air)
	}
	if t.given.AfterFilterDP {
		t.base.AfterFilterDP = r.AfterFilterDP
	}
	if err := t.possible(); err != nil {
		return nil, nil, err
	}
	out := &Trim{Flow: t.flow, Motor: p.motor, Density: t.base.Density, AirGiven: r.AirGiven, Shut: d.Shut(),
		Gaps: p.gapsWith(d), NowOpen: r.Damper, LastHeld: t.lastHeld()}
	if !math.IsNaN(float64(r.FilterDP)) {
		if err := t.now(out, r); err != nil {
			return nil, nil, err
		}
	}
	return t, out, nil
}

// trimmer holds what stays the same over all steps.
type trimmer struct {
	c     *Collector
	p     *AirPath
	ducts *Ducts
	base  Conditions
	flow  unit.Flow
	given Given
}

// scale brings a dP at design flow to the flow to be held (and viscosity as it is).
func (t *trimmer) scale() unit.Pressure {
	return unit.Pressure(float64(t.flow) / t.p.flow * float64(t.base.Viscosity) / t.p.mu)
}

// possible refuses a flow the fan cannot give even without any filter, with the numbers.
func (t *trimmer) possible() error {
	lo, hi := t.p.curve.Range(t.base.Speed)
	if !(t.flow >= lo && t.flow <= hi) {
		return fmt.Errorf("%w: %s is asked for, and the fan curve runs from %s to %s (%s, %s to %s)", ErrNoOperatingPoint,
			t.flow.In(unit.US), lo.In(unit.US), hi.In(unit.US), t.flow.In(unit.SI), lo.In(unit.SI), hi.In(unit.SI))
	}
	if t.lastHeld() > 0 {
		return nil
	}
	cond := t.base
	cond.Damper = 1
	r, _ := t.p.resistances(cond)
	q := float64(t.flow)
	return &NoPoint{Flow: t.flow, Fan: unit.Pressure(t.p.fanPressure(q, cond)), Inlet: unit.Pressure(r.duct * q * q),
		AfterFilter: unit.Pressure(r.after * q), Damper: unit.Pressure(r.damper * q * q), Tight: true}
}

// left is what the damper has to take at the flow to be held [Pa].
func (t *trimmer) left(p *AirPath, cond Conditions) float64 {
	r, _ := p.resistances(cond)
	r.damper = 0
	q := float64(t.flow)
	return p.fanPressure(q, cond) - r.at(q)
}

// open is the position at which the damper takes that; 1 where it would have to take less than it does fully open.
func (t *trimmer) open(p *AirPath, cond Conditions) float64 {
	pos, err := p.damper.Open(unit.Pressure(t.left(p, cond)), t.flow, cond.Density)
	if err != nil && !errors.Is(err, fan.ErrDamperRange) {
		return math.NaN()
	}
	return float64(pos.Open)
}

// lastHeld is the dP across the filters, at the flow to be held, at which the damper is fully open; without damper
// points that at which nothing is left for it.
func (t *trimmer) lastHeld() unit.Pressure {
	cond := t.base
	cond.FilterDP = 0
	least := unit.Pressure(0)
	if t.p.damper != nil {
		least = t.p.damper.Loss(1, t.flow, cond.Density)
	}
	return unit.Pressure(t.left(t.p, cond)) - least
}

// step works out one state of the filters: dp across them at the flow to be held.
func (t *trimmer) step(dp unit.Pressure, read bool) TrimStep {
	cond, given := t.base, t.given
	cond.FilterDP, given.FilterDP = dp/t.scale(), read
	nan := unit.Share(math.NaN())
	s := TrimStep{FilterDP: dp, Open: nan, Low: nan, High: nan, DamperLoss: unit.Pressure(t.left(t.p, cond))}
	s.Held = dp <= t.lastHeld()
	if t.p.damper == nil {
		s.Point = t.p.describe(float64(t.flow), cond, t.lossy(cond, s.DamperLoss), 1)
		return s
	}
	pos, err := t.p.damper.Open(s.DamperLoss, t.flow, cond.Density)
	s.Open, s.Extrapolated = pos.Open, pos.Extrapolated && err == nil
	b := t.c.spread(t.p, cond, append(t.c.doubts(t.p, given), t.ducts.doubts()...), t.open)
	s.Low, s.High, s.Mostly = unit.Share(max(0, b.low)), unit.Share(min(1, b.high)), b.mostly
	cond.Damper = s.Open
	if s.Point, err = t.p.Point(cond); err != nil {
		s.Point = OperatingPoint{Flow: unit.Flow(math.NaN())}
	}
	return s
}

// lossy is the system with a damper of unknown make that takes just what is left.
func (t *trimmer) lossy(cond Conditions, loss unit.Pressure) resistances {
	r, _ := t.p.resistances(cond)
	r.damper = max(0, float64(loss)) / (float64(t.flow) * float64(t.flow))
	return r
}

// now works out the present state from the reading. Where the damper's position is known too, the present flow follows
// from both, and the reading is carried from it to the flow to be held.
func (t *trimmer) now(out *Trim, r TrimRequest) error {
	dp := r.FilterDP
	if !math.IsNaN(float64(r.Damper)) && t.p.damper != nil {
		cond := t.base
		cond.Damper = r.Damper
		o, at, err := t.p.PointFromReading(cond, dp)
		if err != nil {
			return fmt.Errorf("the dP and the damper position given do not go together: %w", err)
		}
		out.NowPoint = &o
		dp = at * t.scale()
	}
	s := t.step(dp, true)
	out.Now = &s
	return nil
}

// schedule is new filters to max dP in steps; where max dP is not known it ends where the flow is last held.
func (t *trimmer) schedule(out *Trim, step unit.Pressure) {
	from := out.New.FilterDP
	to := t.c.Filters.MaxDP * t.scale()
	if out.ToMaxDP = to > from; !out.ToMaxDP {
		to = max(out.LastHeld, from)
		out.Gaps = append(out.Gaps, Gap{"filters.max_dp", Say("the schedule ends where the damper is fully open, since the filters' max dP is not known")})
	}
	const fewest, most = 6, 60
	if !(step > 0) || (to-from)/step > most {
		step = (to - from) / fewest
	}
	out.Steps = append(out.Steps, out.New)
	first := math.Floor(float64(from/step)) + 1
	for i := range most + 1 {
		dp := unit.Pressure(first+float64(i)) * step
		if dp > from+step/10 && dp < to-step/10 {
			out.Steps = append(out.Steps, t.step(dp, false))
		}
	}
	if to > from {
		out.Steps = append(out.Steps, t.step(to, false))
	}
}

// leftAlone puts new filters in with the damper where it is now, or where the filters at the high set point (or else at
// the end of the schedule) had it.
func (t *trimmer) leftAlone(out *Trim) {
	if t.p.damper == nil {
		out.LeftError = &Missing{What: "what happens with the damper left alone", Keys: []string{"damper.points"}}
		return
	}
	switch high := t.c.SetPoints.High * t.scale(); {
	case !math.IsNaN(float64(out.NowOpen)):
		out.LeftAt = TrimStep{Open: out.NowOpen, FilterDP: unit.Pressure(math.NaN())}
		if out.Now != nil {
			out.LeftAt.FilterDP = out.Now.FilterDP
		}
	case out.Now != nil:
		out.LeftAt = *out.Now
	case high > out.New.FilterDP:
		out.LeftAt = t.step(high, false)
	default:
		out.LeftAt = out.Steps[len(out.Steps)-1]
	}
	cond := t.base
	cond.FilterDP, cond.Damper = out.New.FilterDP/t.scale(), out.LeftAt.Open
	out.LeftAlone, out.LeftError = t.p.Point(cond)
}
