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

// Numbers of that. Judgement, from rehearsals whose truth is known.
const (
	seasonedBy  = 1.25               // what the first days make of the clean dP
	firstDays   = 7                  // days whose pulses count as those of new filters
	newDoubt    = 0.15               // relative error of k had from new filters
	oldDoubt    = 0.35               // the same had from filters that were not new: the quickest cleaning seen
	mostDoubt   = 0.5                // relative error of A beyond which a point says nothing
	around      = 4                  // days with cleanings on either side whose pulses are averaged
	heldShare   = 0.2                // how far above the low set point the low end of a week lies at most while it is held there, as a share of the way to the high one
	finishedGap = 4 * 24 * time.Hour // how long after a cleaning that came to its end others still do
	surelyHeld  = 3                  // days with cleanings that came to their end, after which a dP before them was held
)

// hold is how a controller held the dP of one life.
type hold struct {
	life      *sense.Life
	low, high float64 // set points [Pa]
	clean     float64 // dP of new filters [Pa]; NaN unknown
	ended     []ended // days on which cleanings came to their end, oldest first
	perPulse  float64 // k
	doubt     float64 // its relative error
}

// ended is a day on which cleanings came to their end.
type ended struct {
	point                *sense.LifePoint
	before, after        float64 // dP at design flow [Pa]
	pulses, pulsesUnsure float64 // that a cleaning took in these days, and how unsure that is; NaN not known
}

// holdOf is nil where nothing holds the dP, or where the file does not say between which set points.
func holdOf(l *sense.Life, c *collector.Collector) *hold {
	h := &hold{life: l, low: float64(c.SetPoints.Low), high: float64(c.SetPoints.High), clean: float64(c.Filters.CleanDP), perPulse: math.NaN()}
	if !l.Pulsed || c.Cleaning.Mode != collector.OnDemand || !(h.low > 0) || !(h.high > h.low) {
		return nil
	}
	for i := range l.Points {
		if p := &l.Points[i]; p.Before > p.DP && p.DP > 0 {
			h.ended = append(h.ended, ended{point: p, before: p.Before, after: p.DP})
		}
	}
	h.average()
	if h.clean > 0 {
		h.calibrate()
	}
	return h
}

// average is the pulses of the days around: a cleaning's length is told in whole rows, and what follows from it bends.
func (h *hold) average() {
	for i := range h.ended {
		near := h.ended[max(0, i-around):min(len(h.ended), i+around+1)]
		var n, sum, square float64
		for _, e := range near {
			if p := e.point.PulsesPerCycle; p > 0 {
				n, sum, square = n+1, sum+p, square+p*p
			}
		}
		mean := sum / n
		e := &h.ended[i]
		e.pulses, e.pulsesUnsure = mean, math.Sqrt(math.Max(0, square/n-mean*mean)/n)
	}
}

// calibrate finds k from what new filters took, or where the record does not begin with them, from the quickest cleanings.
func (h *hold) calibrate() {
	born := seasonedBy * h.clean
	var all []float64
	for _, e := range h.ended {
		if !(e.after > 1.1*born) || !(e.pulses > 0) {
			continue
		}
		all = append(all, math.Log((e.before-born)/(e.after-born))/e.pulses)
		if h.life.StartKnown && len(all) == firstDays {
			break
		}
	}
	if len(all) == 0 {
		return
	}
	slices.Sort(all)
	h.perPulse, h.doubt = all[len(all)/2], newDoubt
	if !h.life.StartKnown {
		h.perPulse, h.doubt = all[len(all)*9/10], oldDoubt
	}
}

// left is what cleaning without end would leave, told by the pulses that a cleaning takes, and its relative error; false
// where they do not tell.
func (h *hold) left(e *ended) (dp, doubt float64, ok bool) {
	if !(h.perPulse > 0) || !(e.point.PulsesPerCycle > 0) {
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
				started[p.At] = p
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
		r.Points = h.below()
	}
	return r
}

// holds reports that the dP of a point was held: cleanings come to their end later still, or did so lately; where none is
// seen, the low end of the week lies about the low set point. so is how many of h.ended lie up to the point.
func (h *hold) holds(p *sense.LifePoint, so int) bool {
	switch {
	case len(h.ended) == 0:
		return p.Low < h.low+heldShare*(h.high-h.low)
	case len(h.ended)-so >= surelyHeld:
		return true
	}
	return so > 0 && p.At.Sub(h.ended[so-1].point.At) < finishedGap
}

// below is all that is known of a life whose dP was held throughout: that what cleaning leaves is on its way from the dP of
// new filters to the low set point, and not there yet.
func (h *hold) below() []Point {
	ps := h.life.Points
	if len(ps) < leastPoints || !(h.clean > 0) || !(h.low > h.clean) {
		return record(h.life).Points
	}
	var out []Point
	for k := 1; k <= leastPoints; k++ {
		p := &ps[(len(ps)-1)*k/leastPoints]
		if !(p.Hours > 0) {
			continue
		}
		pt := pointOf(p)
		way := (h.low - h.clean) * p.Hours / ps[len(ps)-1].Hours
		pt.DP = pressure(h.clean + 0.5*way)
		pt.Doubt = way / math.Sqrt(12) / float64(pt.DP)
		out = append(out, pt)
	}
	return out
}
