package life

import (
	"math"
	"slices"
	"time"

	"dustwright/collector"
	"dustwright/sense"
)

// While a controller cleans on demand, every cleaning ends at the low set point whatever has become of the filters: until
// cleaning no longer gets down to it, the dP just after cleaning says no more than that the filters are better than that.
// What shows their ageing is how many pulses a cleaning takes. A pulse takes its share of what can still be taken, so that
// the dP falls towards what cleaning without end would leave:
//
//	D(n) = A + (H - A) e^(-k n)        A = (L e^(kn) - H) / (e^(kn) - 1)
//
// with H the dP just before cleaning, L just after, n the pulses between. Where cleaning goes on without end, A is what is
// read, so that one course joins the other. k is what it takes for new filters to come down to L, since their A is on file.
// Source: the share that a pulse removes, from memory of pulse-jet cleaning models; its use here is our own.

// Where pulses are only counted, or a flag says when it cleans, and no single cleaning is seen, the share u of the running time
// spent cleaning stands in for n: between two cleanings the dP rises by what it was lowered by, so that at the usual rise of this
// machine n goes with u/(1 - u).

// Numbers of that. Judgement, from rehearsals whose truth is known.
const (
	seasonedBy  = 1.25 // what the first days make of the clean dP
	firstDays   = 7    // days whose pulses count as those of new filters
	newDoubt    = 0.15 // relative error of k had from new filters
	oldDoubt    = 0.35 // the same had from filters that were not new: the quickest cleaning seen
	mostDoubt   = 0.5  // relative error of A beyond which a point says nothing
	around      = 4    // days with cleanings on either side whose pulses are averaged
	manyCounted = 3    // days held for each that a cleaning was counted on, up to which counted ones tell
	restLeft    = 0.1  // of what stands between the filters and the middle between the set points, that a standstill leaves,
	restSpread  = 0.15 // and how unsure that is
)

// How it shows that the dP is held, by the low end of a week and the high end of the day as read, in parts of the way from the
// low set point to the high one. Judgement, from made-up machines whose truth is known.
const (
	neverDone   = 0.92               // share of the time spent cleaning from which it does not come to its end
	seldom      = 0.3                // and below which it surely does: a shift that ends before it has begun long leaves any other
	lowShared   = 0.1                // between the two the low end of the week lies below this
	lowUnseen   = 0.35               // where no cleaning is seen, it lies below this
	lowHeld     = 0.65               // where only the dP shows them, it lies below this,
	swingHeld   = 0.3                // and the high end above it by this,
	finishedGap = 4 * 24 * time.Hour // how long after a cleaning that surely came to its end others still do
	surelyHeld  = 3                  // days with such cleanings, after which a dP before them was held
)

// hold is how a controller held the dP of one life.
type hold struct {
	life     *sense.Life
	sets     setPoints
	interval float64 // between pulses [s]; NaN unknown
	clean    float64 // dP of new filters [Pa]; NaN unknown
	by       witness
	until    time.Time // it was held until then, where single cleanings are not told for sure
	ended    []ended   // days on which cleanings came to their end, oldest first
	perPulse float64   // k
	doubt    float64   // its relative error
}

// witness is what tells of cleanings.
type witness int

const (
	unseen  witness = iota // nothing
	byFall                 // the dP alone
	byShare                // the share of the time spent cleaning; pulses are in parts of the time that is not
	counted                // single ones, by the pulses or the flag that go with them
)

// ended is a day on which cleanings came to their end.
type ended struct {
	point                *sense.LifePoint
	before, after        float64 // dP at design flow [Pa]
	own, coarse          float64 // pulses that a cleaning took on that day, and their standard uncertainty that days share; NaN not known
	pulses, pulsesUnsure float64 // the same in the days around, and how unsure that is; NaN not known
}

// holdOf is nil where nothing holds the dP, or where the file does not say between which set points.
func holdOf(l *sense.Life, c *collector.Collector, changes []sense.Change) *hold {
	if low, high := c.SetPoints.Low, c.SetPoints.High; !l.Pulsed || c.Cleaning.Mode != collector.OnDemand || !(low > 0) || !(high > low) {
		return nil
	}
	h := &hold{life: l, sets: setPointsOf(c, changes), interval: float64(c.Header.Interval), clean: float64(c.Filters.CleanDP), perPulse: math.NaN()}
	h.cleanings()
	if h.clean > 0 {
		h.calibrate()
	}
	return h
}

// cleanings finds out what tells of cleanings, and lists the days on which they came to their end.
func (h *hold) cleanings() {
	var single, shared []ended
	numbered, logged := 0, false
	for i := range h.life.Points {
		p := &h.life.Points[i]
		if p.Before > p.DP && p.DP > 0 {
			e := ended{point: p, before: p.Before, after: p.DP, own: p.PulsesPerCycle, coarse: known(p.PulsesSigma)}
			single = append(single, e)
			if e.own > 0 {
				numbered++
			}
		}
		u := h.share(p)
		logged = logged || u >= 0
		if u > 0 && u < neverDone {
			flow := asRead(p)
			shared = append(shared, ended{point: p, before: h.sets.high.then(p.At) / flow, after: h.sets.low.then(p.At) / flow, own: u / (1 - u)})
		}
	}
	switch {
	case logged:
		h.by = byShare
	case len(single) > 0:
		h.by = byFall
	}
	h.until = h.heldUntil()
	notHeld := func(e ended) bool { return !h.holds(e.point, 0) }
	if shared = slices.DeleteFunc(shared, notHeld); logged && manyCounted*numbered >= len(shared) {
		h.by, h.ended = counted, single
	} else if logged {
		h.ended = shared
	} else {
		h.ended = slices.DeleteFunc(single, notHeld)
	}
	h.average()
}

// share is the share of the running time spent cleaning; NaN unknown.
func (h *hold) share(p *sense.LifePoint) float64 {
	if p.PulseRate >= 0 && h.interval > 0 {
		return p.PulseRate * h.interval / 3600
	}
	return p.Cleaning
}

// asRead is what a dP at design flow is multiplied by to be as it is read.
func asRead(p *sense.LifePoint) float64 {
	if p.Flow > 0 {
		return p.Flow
	}
	return 1
}

// average is the pulses of the days around: a cleaning's length is told in whole rows, and what follows from it bends.
func (h *hold) average() {
	for i := range h.ended {
		near := h.ended[max(0, i-around):min(len(h.ended), i+around+1)]
		var n, sum, square, coarse float64
		for _, e := range near {
			if p := e.own; p > 0 {
				n, sum, square, coarse = n+1, sum+p, square+p*p, coarse+e.coarse
			}
		}
		mean := sum / n
		e := &h.ended[i]
		e.pulses, e.pulsesUnsure = mean, math.Hypot(math.Sqrt(math.Max(0, square/n-mean*mean)/n), coarse/n)
	}
}

// calibrate finds k from what new filters took, or where the record does not begin with them, from the quickest cleanings.
func (h *hold) calibrate() {
	born := seasonedBy * h.clean
	var all, coarse []float64
	days := 0
	for _, e := range h.ended {
		if !(e.after > 1.1*born) || !(e.pulses > 0) {
			continue
		}
		if days++; h.life.StartKnown && days > firstDays {
			break
		}
		all = append(all, math.Log((e.before-born)/(e.after-born))/e.pulses)
		coarse = append(coarse, e.coarse/e.pulses)
	}
	if len(all) == 0 {
		return
	}
	slices.Sort(all)
	h.perPulse, h.doubt = all[len(all)/2], newDoubt
	if !h.life.StartKnown {
		h.perPulse, h.doubt = all[len(all)*9/10], oldDoubt
	}
	h.doubt = math.Hypot(h.doubt, medianOr(coarse, 0))
}

// left is what cleaning without end would leave, told by the pulses that a cleaning takes, and its relative error; false
// where they do not tell.
func (h *hold) left(e *ended) (dp, doubt float64, ok bool) {
	if !(h.perPulse > 0) || !(e.own > 0) {
		return 0, 0, false
	}
	share := math.Exp(-h.perPulse * e.pulses)
	dp = (e.after - share*e.before) / (1 - share)
	unsure := math.Hypot(h.doubt, e.pulsesUnsure/e.pulses)
	doubt = (e.before - e.after) * share * math.Abs(math.Log(share)) / ((1 - share) * (1 - share)) * unsure / dp
	return dp, doubt, dp > 0.7*h.clean && doubt < mostDoubt
}

// record builds the life: what the pulses of a cleaning tell while the dP is held; else, while it is held, the starts after
// a standstill; and the low end of a week's running where cleaning does not get down to the low set point.
func (h *hold) record(rests []rest, downtime bool) Record {
	r := Record{StartKnown: h.life.StartKnown, Ended: h.life.Ended}
	started := map[time.Time]Point{}
	if rested, ok := restRecord(h.life, rests, downtime); ok {
		for _, p := range rested.Points {
			if p.Doubt > 0 {
				started[p.At] = h.rested(p)
			}
		}
	}
	next := 0 // of h.ended
	for i := range h.life.Points {
		p := &h.life.Points[i]
		pt := pointOf(p)
		var dp, doubt float64
		told := false
		if next < len(h.ended) && h.ended[next].point == p {
			dp, doubt, told = h.left(&h.ended[next])
			next++
		}
		start, rested := started[p.At]
		held := h.holds(p, next)
		switch {
		case told && (!rested || doubt < start.Doubt):
			pt.DP, pt.Doubt, r.ByPulses = pressure(dp), doubt, true
		case held && rested:
			pt = start
		case held:
			continue
		case p.Low > 0:
			pt.DP = pressure(p.Low)
		}
		r.Points = append(r.Points, pt)
	}
	if len(r.Points) < leastPoints {
		r.Points, r.Held = h.below()
	}
	return r
}

// rested is a start after a standstill, less what the cleaning before it may have left: that takes most of what stands between
// the filters and the middle between the set points.
func (h *hold) rested(p Point) Point {
	usual := 0.0
	for i := range h.life.Points {
		if at := &h.life.Points[i]; at.At.Equal(p.At) {
			usual = (h.sets.low.then(p.At) + h.sets.high.then(p.At)) / 2 / asRead(at)
		}
	}
	if cake := usual - float64(p.DP); cake > 0 {
		p.DP -= pressure(restLeft * cake)
		p.Doubt = math.Hypot(p.Doubt, restSpread*cake/float64(p.DP))
	}
	return p
}

// holds reports that the dP of a point was held. Where single cleanings are told for sure, they come to their end later still, or
// did so lately; so is how many of h.ended lie up to the point.
func (h *hold) holds(p *sense.LifePoint, so int) bool {
	if h.by != counted {
		return p.At.Before(h.until)
	}
	if len(h.ended)-so >= surelyHeld {
		return true
	}
	return so > 0 && p.At.Sub(h.ended[so-1].point.At) < finishedGap
}

// heldUntil is when cleaning ceased to come to its end: the time before which most days look held and after which most do not,
// since filters do not get better again.
func (h *hold) heldUntil() time.Time {
	ps := h.life.Points
	best, balance, at := 0, 0, -1
	for i := range ps {
		if balance++; !h.looksHeld(&ps[i]) {
			balance -= 2
		}
		if balance > best {
			best, at = balance, i
		}
	}
	if at < 0 {
		return time.Time{}
	}
	return ps[at].At.Add(time.Second)
}

// looksHeld goes by one point alone.
func (h *hold) looksHeld(p *sense.LifePoint) bool {
	low, high := h.sets.low.then(p.At), h.sets.high.then(p.At)
	way := func(dp float64) float64 { return (dp*asRead(p) - low) / (high - low) }
	switch x, u := way(p.Low), h.share(p); h.by {
	case byShare:
		return u < seldom || u < neverDone && x < lowShared
	case byFall:
		return x < lowHeld && !(way(p.High)-x < swingHeld)
	default:
		return x < lowUnseen
	}
}

// below is all that is known of a life whose dP was held throughout: that what cleaning leaves is on its way from the dP of
// new filters to the low set point, and not there yet. It is false where even that is not, and the points are those read.
func (h *hold) below() (points []Point, held bool) {
	ps := h.life.Points
	if len(ps) < leastPoints {
		return record(h.life).Points, false
	}
	low := h.sets.low.then(h.life.End) / asRead(&ps[len(ps)-1])
	if !(h.clean > 0) || !(low > h.clean) {
		return record(h.life).Points, false
	}
	var out []Point
	for k := 1; k <= leastPoints; k++ {
		p := &ps[(len(ps)-1)*k/leastPoints]
		if !(p.Hours > 0) {
			continue
		}
		pt := pointOf(p)
		if end := h.life.End; !end.IsZero() && pt.At.After(end) { // the last day's stands for its noon
			pt.At = end
		}
		way := (low - h.clean) * p.Hours / ps[len(ps)-1].Hours
		pt.DP = pressure(h.clean + 0.5*way)
		pt.Doubt = way / math.Sqrt(12) / float64(pt.DP)
		out = append(out, pt)
	}
	return out, true
}
