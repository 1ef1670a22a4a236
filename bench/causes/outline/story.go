package outline

import (
	"math"
	"math/rand/v2"
)

// story is what happens to a machine without anything being wrong with it.
type story struct {
	name string
	turn func(w *world, k *knobs) // nil: nothing
	own  func(rec *recorder)      // what it does to an instrument, nil: nothing
}

// tale draws one for a log of so many seconds; it begins somewhere in the log, mostly late.
func tale(r *rand.Rand, m *machine, length float64) story {
	from := length * within(r, 0.3, 0.97)
	for0 := func(days float64) func(t float64) bool {
		until := from + days*day
		return func(t float64) bool { return t >= from && t < until }
	}
	since := func(t float64) bool { return t >= from }
	size := r.Float64()
	switch r.IntN(13) {
	case 0:
		during := for0(within(r, 4, 9))
		return story{name: "heavy week", turn: func(w *world, k *knobs) {
			if during(w.s.t) {
				k.dust *= 1.2 + 0.5*size
			}
		}}
	case 1:
		return newFilters(from, size)
	case 2:
		low, high := m.control.low*(0.92+0.3*size), 0.0
		high = max(m.control.high*within(r, 0.95, 1.2), low+150)
		return story{name: "set points", turn: func(w *world, k *knobs) {
			if since(w.s.t) {
				k.low, k.high = k.low*low/m.control.low, k.high*high/m.control.high
			}
		}}
	case 3:
		factor := math.Exp(within(r, -0.35, 0.35))
		return story{name: "damper trimmed", turn: func(w *world, k *knobs) {
			if since(w.s.t) && m.duct.damper != noDamper {
				k.open = math.Round(100*m.duct.opening(m.duct.loss(k.open)*factor)) / 100
			}
		}}
	case 4:
		during := for0(within(r, 2, 7))
		return story{name: "damp weather", turn: func(w *world, k *knobs) {
			if during(w.s.t) {
				k.tack += 0.05 + 0.2*size
			}
		}}
	case 5:
		return story{name: "transmitter drifts", own: func(rec *recorder) { rec.drift(from, (size-0.5)*140) }}
	case 6:
		return story{name: "gap", own: func(rec *recorder) {
			rec.gaps = append(rec.gaps, [2]float64{from, from + (1+4*size)*day})
		}}
	case 7:
		return story{name: "more shifts", turn: func(w *world, k *knobs) {
			if since(w.s.t) && w.s.running {
				k.dust *= 1 + 0.15*size // the fan runs longer by the calendar, see lengthen
			}
		}}
	case 8:
		during := for0(within(r, 0.2, 1.5))
		return story{name: "compressor service", turn: func(w *world, k *knobs) {
			if during(w.s.t) {
				k.set *= 0.9 - 0.2*size
			}
		}}
	case 9:
		during := for0(within(r, 3, 12))
		return story{name: "bin late", turn: func(w *world, k *knobs) {
			if during(w.s.t) {
				k.notice = max(k.notice, 0.75+0.15*size)
			}
		}}
	case 10:
		return story{name: "gauge put right", own: func(rec *recorder) { rec.step(from, (size-0.5)*0.07, (r.Float64()-0.5)*30) }}
	case 11:
		return story{name: "regulator set", turn: func(w *world, k *knobs) {
			if since(w.s.t) {
				k.set *= 0.94 + 0.14*size
			}
		}}
	}
	return story{name: "quiet"}
}

// lengthen is the calendar's side of more shifts: from then on the fan's evening stops come later.
func lengthen(c *calendar, from float64) {
	for i := range c.slots {
		s := &c.slots[i]
		if s.at < from || s.fan || i == 0 {
			continue
		}
		room := day
		if i+1 < len(c.slots) {
			room = c.slots[i+1].at - s.at
		}
		more := min(5*hour, room-2*hour)
		if more > 0 {
			s.at += more
		}
	}
}

// newFilters puts new ones in; somebody closes the damper for them, or not.
func newFilters(from, size float64) story {
	return story{name: "new filters", turn: func(w *world, k *knobs) {
		if w.s.t < from {
			return
		}
		if !w.s.renewed {
			w.s.renewed = true
			for i := range w.m.rows {
				w.s.row[i] = row{media: w.m.media.clean}
			}
		}
		if size < 0.5 && w.m.duct.damper != noDamper {
			k.open *= 1 - 0.12*math.Exp(-w.s.row[0].dose/150)
		}
	}}
}
