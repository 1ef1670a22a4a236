package wash

import (
	"math"
	"slices"

	"dustwright/bench/causes/made"
	"dustwright/sense"
)

// pace is how often a logger writes, from a time on.
type pace struct {
	from, every float64 // [s]
	burst       float64 // and for so long at a time once in two hours, where not 0
}

// scribe writes the log: a logger, a historian or a person.
type scribe struct {
	d    made.Dice
	kit  *kit
	late *kit // after somebody swapped instruments
	swap float64

	paces    []pace
	means    bool // over the time since the last row
	keeps    float64
	changes  bool // only what changed
	holds    bool // and what did not stands again
	asleep   bool // while the fan stands
	byHand   []float64
	numbered bool // it knows which valve fired
	gaps     []span
	jumps    float64 // the clock is set, then [s of the sheet]
	jump     float64 // by so much [s]
	base     float64 // unix time of the sheet's start [s]
	phase    float64 // other phase of the motor, from a spell on
	seldom   float64 // the header is asked only so often, where not 0 [s]
	asked    float64

	out    *sense.Series
	from   float64
	next   float64
	hands  int
	now    [sense.NumChannels]float64
	sum    [sense.NumChannels]float64
	last   [sense.NumChannels]float64
	lastAt float64
	weight float64
	lowest float64
	fired  []uint8
}

// segment writes what falls into a step.
func (w *scribe) segment(m *machine, e *effect, dt float64) {
	w.fired = append(w.fired, m.fired...)
	m.fired = m.fired[:0]
	m.feels(e, &w.now)
	w.now[sense.FanCurrent] *= 1 + w.phase*math.Round(0.5+0.5*math.Sin(m.t/(9*day)))
	w.lowest = min(w.lowest, m.tank.lowest)
	m.tank.lowest = m.tank.p
	end := m.t + dt
	if m.t < w.from {
		w.next, w.lastAt = w.from, w.from
		return
	}
	at := m.t
	for due := w.due(m, at); due < end; due = w.due(m, at) {
		due = max(due, at)
		w.now[sense.Header] = w.header(m, e, due-m.t)
		w.gather(due - at)
		w.row(m, due)
		at = due
		w.advance(due)
	}
	w.now[sense.Header] = w.header(m, e, dt/2)
	w.gather(end - at)
}

// header is the tank's pressure some seconds on.
func (w *scribe) header(m *machine, e *effect, dt float64) float64 {
	if w.kit[sense.Header] == nil {
		return 0
	}
	set, shop := m.supply(e)
	return m.tank.later(&m.p.tank, dt, air{set, shop, e.supply, e.bleed})
}

// gather adds to the means.
func (w *scribe) gather(dt float64) {
	if !w.means || dt <= 0 {
		return
	}
	w.weight += dt
	for c := range w.sum {
		w.sum[c] += w.now[c] * dt
	}
}

// due is when the next row is written, if nothing else happens.
func (w *scribe) due(m *machine, at float64) float64 {
	if w.byHand != nil {
		for w.hands < len(w.byHand) && w.byHand[w.hands] < at {
			w.hands++
		}
		if w.hands < len(w.byHand) {
			return w.byHand[w.hands]
		}
		return math.Inf(1)
	}
	if w.changes && at >= w.lastAt+w.keeps && at > w.lastAt && w.changed() {
		return at
	}
	return w.next
}

// changed tells whether something moved by more than its band since the last row.
func (w *scribe) changed() bool {
	for c, band := range [...]float64{sense.DP: 15, sense.FanCurrent: 0.6, sense.Running: 0.5, sense.Cleaning: 0.5, sense.InletSP: 40, sense.BinLevel: 0.03} {
		if band > 0 && w.kit[c] != nil && math.Abs(w.now[c]-w.last[c]) > band*(1+math.Abs(w.last[c])*0.02) {
			return true
		}
	}
	return false
}

// advance sets when the next row is due.
func (w *scribe) advance(at float64) {
	if w.byHand != nil {
		w.hands++
		return
	}
	p := w.paces[0]
	for _, o := range w.paces {
		if o.from <= at {
			p = o
		}
	}
	w.next = (math.Floor(at/p.every+1e-6) + 1) * p.every
	if p.burst > 0 && math.Mod(w.next, 7200) > p.burst {
		w.next = (math.Floor(at/7200) + 1) * 7200
	}
}

// row writes one row, unless nobody does at the time.
func (w *scribe) row(m *machine, at float64) {
	defer w.fresh(at)
	if w.away(m, at) {
		w.fired = w.fired[:0]
		return
	}
	if w.swap > 0 && at >= w.swap {
		w.kit, w.swap = w.late, 0
	}
	stamp := math.Round((w.base + at) * 1000)
	if at >= w.jumps && w.jump != 0 {
		stamp += w.jump * 1000
	}
	time, s := int64(stamp)*1e6, w.out
	if n := len(s.Time); n > 0 && s.Time[n-1] >= time {
		return
	}
	s.Time = append(s.Time, time)
	for c := range sense.NumChannels {
		if w.kit[c] != nil {
			s.Col[c] = append(s.Col[c], w.reading(m, c, at))
		}
	}
	w.pulses()
}

// away tells that no row is written.
func (w *scribe) away(m *machine, at float64) bool {
	for _, g := range w.gaps {
		if at >= g.on && at < g.off {
			return true
		}
	}
	return w.asleep && !m.on && m.left == 0 || w.byHand != nil && m.t < m.handsOff
}

// reading is what one instrument says.
func (w *scribe) reading(m *machine, c sense.Channel, at float64) float64 {
	v := w.now[c]
	if w.means && w.weight > 0 {
		v = w.sum[c] / w.weight
	}
	g := w.kit[c]
	switch c {
	case sense.HeaderLow:
		v = w.lowest
	case sense.Header:
		if w.seldom > 0 && at < w.asked+w.seldom {
			return math.NaN()
		}
		w.asked = at
	case sense.Pulse:
		if w.numbered {
			return math.NaN()
		}
		return float64(len(w.fired))
	case sense.BinMass:
		v = m.carried
		m.carried = 0
		if v == 0 {
			return math.NaN()
		}
	}
	if w.changes && !w.holds && math.Abs(v-w.last[c]) < 1e-9 && c > sense.DP {
		return math.NaN()
	}
	v = g.read(v, (at-w.from)/day, w.d)
	if w.byHand != nil {
		v = w.byEye(c, v)
	}
	return v
}

// byEye is what somebody writes down: rounded, a digit swapped, yesterday's again.
func (w *scribe) byEye(c sense.Channel, v float64) float64 {
	n := len(w.out.Col[c])
	switch u := w.d.Float64(); {
	case u < 0.02:
		return math.NaN()
	case u < 0.035 && n > 1:
		return w.out.Col[c][n-1]
	case u < 0.045 && c == sense.DP:
		return max(0, v+float64(made.OneOf(w.d, -500, -100, 100, 250)))
	}
	switch c {
	case sense.DP, sense.AfterfilterDP:
		return round(v, 0.1*inWater)
	case sense.Header:
		return round(v, 0.1*bar)
	case sense.BinLevel:
		return round(v, 0.1)
	}
	return v
}

// pulses hands over what fired since the last row.
func (w *scribe) pulses() {
	if w.kit[sense.Pulse] != nil && w.numbered {
		for _, v := range w.fired {
			w.out.Pulses = append(w.out.Pulses, sense.Firing{Row: int32(len(w.out.Time) - 1), Valve: v})
		}
	}
	w.fired = w.fired[:0]
}

// fresh begins the time of the next row.
func (w *scribe) fresh(at float64) {
	w.last, w.lastAt, w.weight, w.sum = w.now, at, 0, [sense.NumChannels]float64{}
	w.lowest = w.now[sense.Header]
}

// finish drops columns that were never read.
func (w *scribe) finish() {
	for c := range w.out.Col {
		if col := w.out.Col[c]; !slices.ContainsFunc(col, func(v float64) bool { return !math.IsNaN(v) }) {
			w.out.Col[c] = nil
		}
	}
}
