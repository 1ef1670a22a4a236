package wear

import (
	"math"
	"time"

	"dustwright/bench/causes/made"
)

// trouble is a cleaning that is worse for a while, until somebody puts it right. Its laws are made up.
type trouble struct {
	from, to float64 // [s] since the record began
	ramp     float64 // in which it comes to its worst [s]
	left     float64 // share of the strength of pulses that is left at its worst
	closed   float64 // share of the rows that no pulse reaches any more at its worst
	packs    float64 // dP at design flow that dust left lying comes to, as a share of the set's span
	slow     float64 // in which it does [s]
	stays    float64 // share of it that the repair does not get off at once
	bouts    int     // over all valves, by hand, before the fan starts again
	packed   float64 // what it has come to [Pa]
	mended   bool
}

// drawTrouble draws a valve or more that are dead, a header set low or that leaks, or a controller that hardly cleans.
func drawTrouble(d made.Dice, p *plant) *trouble {
	x := &trouble{from: d.Between(0.15, 0.75) * p.span, left: 1, packs: d.Between(0, 0.6), slow: d.Spread(3, 40) * day, stays: d.Between(0, 0.6), bouts: d.IntN(4)}
	lasts := d.Spread(2, 150) * day
	switch d.IntN(3) {
	case 0:
		x.closed = float64(1+d.IntN(max(1, p.rows/4))) / float64(p.rows)
	case 1:
		x.left = d.Between(0.15, 0.7)
	case 2:
		x.left, lasts = 0.05, min(lasts, 6*day)
	}
	x.to = x.from + lasts
	if d.Chance(0.5) {
		x.ramp = d.Between(0, 1) * lasts
	}
	return x
}

// bad is how bad it is at a time, 0 to 1.
func (x *trouble) bad(t float64) float64 {
	if x == nil || x.mended || t < x.from {
		return 0
	}
	return min(1, (t-x.from)/max(1, x.ramp))
}

// strip is what it makes of the strength of pulses.
func (x *trouble) strip(t float64) float64 {
	if x == nil {
		return 1
	}
	return 1 - x.bad(t)*(1-x.left)
}

// crowd is what it makes of the drag of all rows together: what passes no more through some passes through the others.
func (x *trouble) crowd(t float64) float64 {
	if x == nil {
		return 1
	}
	return 1 / (1 - x.bad(t)*x.closed)
}

// pack lets dt running seconds pass over what is left lying; after the repair it comes off in days.
func (x *trouble) pack(s *set, t, dt float64) {
	if x == nil {
		return
	}
	to, slow := x.bad(t)*x.packs*s.span, x.slow
	if x.mended {
		slow = 2 * day
	}
	x.packed += (to - x.packed) * (1 - math.Exp(-dt/slow))
}

// on is the drag of a set with it [Pa at design flow].
func (x *trouble) on(residual, t float64) float64 {
	if x == nil {
		return residual
	}
	return (residual + x.packed) * x.crowd(t)
}

// mend stops the fan for some hours once it is time, puts the cleaning right, and lets all valves fire by hand.
func (r *run) mend(t float64) {
	x := r.trouble
	if x == nil || x.mended || t < x.to {
		return
	}
	for range int(r.Between(1, 5) * hour / r.step) {
		r.stand(float64(len(r.now)) * r.step)
	}
	x.mended = true
	x.packed *= x.stays
	for range x.bouts {
		r.cake *= 1 - r.p.resting*r.Between(0.7, 1)
	}
}

// DrawRepaired makes a history in which nobody changes the filters, but the cleaning is bad for a while and then put right; the
// same seed makes the same one. It goes on for a month at least after the repair, which is returned, whatever limit binds.
func DrawRepaired(seed uint64) (*History, time.Time, error) {
	const tries = 60
	var err error
	for i := range uint64(tries) {
		d := made.Throw(seed, 0x4e1d+i)
		p := newPlant(d)
		p.earlier = 0
		x := drawTrouble(d, p)
		var h *History
		if h, _, err = live(d, p, x); err == nil {
			return h, p.when(x.to), nil
		}
	}
	return nil, time.Time{}, err
}
