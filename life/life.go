// Package life says how long a set of filters has left: the distribution of the date at which the
// first of four limits is reached (dP, airflow, pulse air, after-filter), when to order, and which
// date costs least. It reads the level that ages (for pulsed filters the dP just after cleaning, for
// others the dP itself, at design flow) against running hours or the dust taken up, weighs some seventy
// curves and their ends by how well they fit, and lets earlier lives of the same machine and its
// sisters say what is usual. Early on the dust and the earlier lives tell most, near the end the
// curve; the handing over is done by their variances. METHOD.md gives the equations, their sources and where
// they fail. NaN is a reading that is missing or a limit that is not known; the package never
// returns NaN in a date.
//
// # Where to look
//
//   - life.go: what goes in and comes out. fromsense.go: how it is gathered from a record. basis.go: what a forecast rests on, in words.
//   - bins.go, outlook.go: a life as the engine sees it. shapes.go, endsline.go: the curves. posterior.go: their weights. wander.go: how a
//     record errs about its curve. trend.go: the local trend. calibration.go: the model's numbers.
//   - pool.go, midlife.go, present.go: earlier lives, sisters' lives, and the present one with all that informs it.
//   - held.go, rest.go, setpoints.go, stepped.go, tended.go: records whose level is not the filters' own: held at a set point, standing,
//     set points moved, a fault's step, a damper that somebody tends.
//   - flowlimit.go, pulseair.go: the limits that are not a dP. first.go: the first of all. ahead.go: the level some hours on. calendar.go:
//     hours become dates.
//   - replace.go: the date of least cost, and what waiting costs.
package life

import (
	"math"
	"sync"
	"time"

	"dustwright/unit"
)

// Limit names what ends a life.
type Limit string

// The limits, in the words of the contract.
const (
	ByDP          Limit = "dp"
	ByFlow        Limit = "flow"
	ByAir         Limit = "air"
	ByAfterfilter Limit = "afterfilter"
)

// Point is one reading in a life.
type Point struct {
	At    time.Time
	Hours float64       // running hours since the filters were put in, or since the record starts
	DP    unit.Pressure // at design flow; NaN missing
	Sigma unit.Pressure // standard uncertainty of DP, without what all points share; NaN unknown
	Dust  float64       // [kg/m2] dust taken up since the start; NaN unknown
	Doubt float64       // relative error of DP that points nearby share, beyond what all share; 0 none
}

// Record is one life.
type Record struct {
	Points     []Point // by rising hours; others are put in order
	StartKnown bool    // Hours count from the day the filters were put in
	Ended      bool    // the filters were changed after the last point
	Sister     bool    // of another collector of the same kind
	Held       bool    // the dP was held at the low set point throughout: the points say no more than that the filters are better than that
	ByPulses   bool    // while the dP was held at the low set point, points were told by the pulses that a cleaning took
}

// Gauge is another thing that ages: pulse air or after-filter.
type Gauge struct {
	Points []Mark
	Limit  float64 // NaN unknown
	New    float64 // level when new; NaN unknown
	// Usual is what it usually gains in a running hour, and Age the running hours since it was new: they
	// stand in where there are no points. 0 leaves the gauge out then.
	Usual, Age float64
}

// Mark is one reading of a Gauge.
type Mark struct {
	At    time.Time
	Hours float64 // running hours since it was new, or since the record starts
	Value float64
}

// Input is all that a forecast is made from. NaN or zero leaves a field open.
type Input struct {
	At           time.Time // as of when; later points are not used
	Lives        []Record  // oldest first; the present life is the last one not ended
	Pulsed       bool      // the filters are cleaned by pulses
	CleanDP      unit.Pressure
	MaxDP        unit.Pressure
	FlowLimit    unit.Pressure // dP at design flow at which the fully open damper lets only 95 % of design flow pass
	FlowDoubt    float64       // relative standard uncertainty of FlowLimit
	FlowHeld     unit.Pressure // dP at design flow with which enough air still passes: FlowLimit lies above; 0 unknown
	FlowAssumed  bool          // nothing but the dP tells the airflow
	AirLevel     unit.Pressure // dP that cleaning leaves when the pulses use what air there is to spare; 0 unknown, or no limit
	Shared       float64       // relative standard uncertainty that all points share
	Air          Gauge         // mean pulse air [m3/s, standard] against 80 % of the supply
	Afterfilter  Gauge         // its dP at design flow [Pa]
	HoursPerWeek float64       // running time to come [h]; 0 or NaN: as in the record
	LeadTime     time.Duration // from order to delivery
	Risk         unit.Share    // chance that the filters are due before the ordered ones arrive; 0 means 1 in 10
	FaultSince   time.Time     // earliest onset of a fault that raises the dP and can be put right; zero none
	FaultThere   time.Time     // by when it had come; zero unknown
}

// Dates are the 10, 50 and 90 % dates of the end of the life. A zero time is beyond three years.
type Dates struct{ P10, P50, P90 time.Time }

// Result is what a forecast says.
type Result struct {
	Known bool // false: nothing could be said; Missing says why
	Dates
	Hours   [3]float64    // the same in running hours from At
	Limit   Limit         // the one that most likely binds first
	OrderBy time.Time     // zero: beyond three years
	Due     time.Time     // date reached with probability Risk
	Fine    bool          // so little is left of a short life, and that is so sure, that the time of day matters
	Cured   *Dates        // once the fault present is put right; nil where Input names none
	Limits  []LimitResult // each limit for itself, the likeliest first
	Fan     []FanPoint    // the level that ages, from now on
	Basis   []string      // what it rests on, in sentences
	Missing []Missing     // what could not be taken into account
}

// LimitResult is one limit for itself.
type LimitResult struct {
	Limit Limit
	Dates
	First float64 // probability that it is the first of all
}

// FanPoint is the level expected at a time.
type FanPoint struct {
	At            time.Time
	P10, P50, P90 unit.Pressure
}

// Missing is something a forecast had to do without.
type Missing struct{ What, Costs string }

// horizon is how far dates are given.
const horizon = 3 * 365.25 * 24 * time.Hour

// fineLife is what is left of a life, and the width of what is said of it, below which the time of day matters, where what has
// gone of it is no more than shortLife: filters that served for months go on a day. Judgement.
const (
	fineLife  = 72 * time.Hour
	shortLife = 20 * 24 * time.Hour
)

// Forecast says how long the filters have left. It is a pure function of its input and safe for
// concurrent use; a typical one takes some 20 ms. Points after Input.At are ignored, so that a
// forecast as of a past day can be made from a whole record.
func Forecast(in Input) Result {
	r, _, _ := Plan(in, Costs{})
	return r
}

// Plan is Forecast together with the date of least cost for a change of the filters: fan energy and
// pulse air grow with the dP, a change in a hurry costs more than one in good time, and both are
// spread over the hours the filters served. It is false where no such date can be given: without a forecast
// of the dP, or where Costs.Planned is not known.
func Plan(in Input, c Costs) (r Result, cheapest Change, priced bool) {
	in = in.plausible()
	if in.At.IsZero() {
		in.At = lastReading(in)
	}
	asRead := in
	in, lift := stepped(in)
	at, age := present(in, in.At)
	views := at.views(&r)
	if len(views) == 0 {
		return r, Change{}, false
	}
	first := combine(views)
	cal := newCalendar(in, at)
	var group sync.WaitGroup
	if priced = at.main != nil && c.Planned > 0; priced {
		group.Go(func() { cheapest = at.cheapest(first, cal, c) }) // as long as all that follows
	}
	q := first.quantiles(0.1, 0.5, 0.9)
	r.Known, r.Hours = true, [3]float64{q[0], q[1], q[2]}
	r.Dates = cal.dates(q)
	risk := float64(in.Risk)
	if !(risk > 0 && risk < 1) {
		risk = 0.1
	}
	r.Due = cal.date(first.quantiles(risk)[0])
	r.OrderBy = OrderBy(r.Due, in.LeadTime)
	r.Fine = !r.P90.IsZero() && r.P50.Sub(in.At) < fineLife && r.P90.Sub(r.P10) < fineLife && cal.clock(age) < shortLife.Hours()
	for _, v := range views {
		r.Limits = append(r.Limits, LimitResult{Limit: v.limit, Dates: cal.dates(v.quantiles(0.1, 0.5, 0.9)), First: v.first})
	}
	r.Limit = r.Limits[0].Limit
	if at.main != nil {
		two := math.Min(cal.hours(8*7*24*time.Hour), age) // months, where the record is that long
		r.Fan = at.fan(cal, math.Min(math.Max(q[2], two), cal.hours(horizon)))
		for i := range r.Fan {
			p := &r.Fan[i]
			p.P10, p.P50, p.P90 = p.P10+lift, p.P50+lift, p.P90+lift
		}
	}
	r.Basis = at.basis(views, age)
	if !in.FaultSince.IsZero() {
		r.Cured = r.later(cured(asRead))
	}
	group.Wait()
	return r, cheapest, priced
}

// later is the dates of a life without the trouble of today: putting it right makes no filter's life shorter, though
// fewer readings, those before it, may say less. Nil where that changes nothing.
func (d Dates) later(cured *Dates) *Dates {
	if cured == nil {
		return nil
	}
	out := d
	for _, x := range [...]struct{ to, by *time.Time }{{&out.P10, &cured.P10}, {&out.P50, &cured.P50}, {&out.P90, &cured.P90}} {
		if !x.to.IsZero() && (x.by.IsZero() || x.by.After(*x.to)) { // zero is beyond three years
			*x.to = *x.by
		}
	}
	if out == d {
		return nil
	}
	return &out
}

// lastReading is the time of the newest point, of the filters or of what ages beside them.
func lastReading(in Input) time.Time {
	var at time.Time
	see := func(t time.Time) {
		if t.After(at) {
			at = t
		}
	}
	for _, l := range in.Lives {
		for _, p := range l.Points {
			see(p.At)
		}
	}
	for _, g := range [...]Gauge{in.Air, in.Afterfilter} {
		for _, p := range g.Points {
			see(p.At)
		}
	}
	return at
}

// plausible is an input in which a level that can't be is open, and no width is below nothing or beyond all.
func (in Input) plausible() Input {
	open := unit.Pressure(math.NaN())
	for _, p := range [...]struct {
		level *unit.Pressure
		open  unit.Pressure
	}{{&in.CleanDP, open}, {&in.MaxDP, open}, {&in.FlowLimit, open}, {&in.FlowHeld, 0}, {&in.AirLevel, 0}} {
		if !(*p.level > 0 && *p.level <= mostDP) {
			*p.level = p.open
		}
	}
	for _, share := range [...]*float64{&in.Shared, &in.FlowDoubt} {
		if !(*share > 0) {
			*share = 0
		}
		*share = min(*share, 1) // it says nothing
	}
	for _, g := range [...]*Gauge{&in.Air, &in.Afterfilter} {
		for _, level := range [...]*float64{&g.Limit, &g.New} {
			if !(*level > 0 && *level <= mostDP) {
				*level = math.NaN()
			}
		}
	}
	return in
}

// cured forecasts as if the fault were put right now: the readings since its onset say nothing of
// the filters, the running hours since then count all the same.
func cured(in Input) *Dates {
	since := in.FaultSince
	in.FaultSince = time.Time{}
	at, _ := present(in, since)
	views := at.views(&Result{})
	if len(views) == 0 {
		return nil
	}
	d := newCalendar(in, at).dates(combine(views).quantiles(0.1, 0.5, 0.9))
	return &d
}
