package tint

import (
	"math"

	"dustwright/bench/causes/made"
	"dustwright/collector"
)

// cakeTurns is the time of running in which a cake follows what is around it [s].
const cakeTurns = 2 * hourSec

// pulse is one firing.
type pulse struct {
	valve         int
	at            float64
	before, after float64 // header
}

// state is the machine at a moment. Everything in it follows from the last event in closed form.
type state struct {
	m     *machine
	hours []hour
	row   int // the troubled one, 0 none
	luck  made.Dice

	t, x, dp   float64
	dust       []float64 // on each row
	rise       float64   // dP the cake takes by now, share of the usual
	stays      float64   // what stays in the media by now, likewise
	resist     []float64
	passed     float64 // dust a row has seen
	afterDP    float64 // of the after-filter at design flow
	bin        float64 // dust in the bin, and what was taken away so far, of a mean row
	gone, fed  float64
	shown      float64 // dP on the gauge
	on, cleans bool
	left       int // downtime pulses
	next       int
	due        float64
	last       pulse
	lastRow    float64 // when the troubled valve fired last [s]
	fired      []pulse // since the row before
	emptied    float64 // since the row before
	count      int     // pulses in all
	cleaned    float64 // seconds of cleaning with the fan on, and of running
	ran        float64
}

func newState(m *machine, hours []hour, row int, luck made.Dice) *state {
	s := &state{m: m, hours: hours, row: row, luck: luck, dust: make([]float64, m.rows), resist: make([]float64, m.rows), lastRow: -1e9, x: 1, rise: hours[0].rise, stays: hours[0].stays}
	s.last = pulse{after: m.set, at: -1e6}
	for i := range s.dust {
		s.dust[i] = (m.middle() - m.media - m.resid) * luck.Between(0.5, 1.2)
	}
	if m.seasons > 0 {
		s.passed = m.seasons * luck.Between(0, 0.5)
	} else {
		s.passed = math.Inf(1)
	}
	s.afterDP = m.after * luck.Between(1, 1.3)
	return s
}

// seasoned is the share of what stays in the media that is there by now.
func (s *state) seasoned() float64 {
	if math.IsInf(s.passed, 1) {
		return 1
	}
	return -math.Expm1(-s.passed / max(1, s.m.seasons))
}

// step goes on to a time, which lies in one hour.
func (s *state) step(to float64) {
	i := min(int((to-1e-6)/hourSec), len(s.hours)-1)
	h := &s.hours[i]
	dt, clock := to-s.t, to-1e-6-float64(i)*hourSec
	if s.t == float64(i)*hourSec {
		s.tend(h)
	}
	on := clock >= h.from && clock < h.to
	s.turn(on)
	s.clean(h, to)
	if on {
		s.load(h, dt)
		s.ran += dt
	} else {
		s.dp, s.x = 0, 0
	}
	s.gauge(h, dt)
	s.t = to
}

// tend is what is done at the full hour.
func (s *state) tend(h *hour) {
	if h.renewed {
		clear(s.dust)
		s.passed = 0
		if s.m.seasons == 0 {
			s.m.seasons = s.m.rate * hourSec * 150
		}
	}
	urgent := h.heap == 0 && h.to > h.from && s.bin > 0.8*s.full() // dust hangs out of it
	if urgent || h.empties && s.bin > s.m.emptyAt*s.full() {
		s.emptied, s.gone, s.bin = s.emptied+s.bin, s.gone+s.bin, 0
	}
}

// turn is the fan's switch.
func (s *state) turn(on bool) {
	switch {
	case s.on && !on:
		s.left, s.cleans = s.m.downtime*s.m.rows, false
		for i, w := range s.dust {
			s.dust[i] -= s.m.sheds * w
			s.bin += s.m.sheds * w / float64(len(s.dust))
		}
	case on && !s.on:
		s.left = 0
	}
	s.on = on
}

// load puts a stretch's dust on the rows, each by its share of the flow.
func (s *state) load(h *hour, dt float64) {
	m, sum := s.m, 0.0
	turned := -math.Expm1(-dt / cakeTurns) // a cake gets damp, or another product's, by and by
	s.rise += (h.rise - s.rise) * turned
	s.stays += (h.stays - s.stays) * turned
	base := m.media + m.resid*s.stays*s.seasoned()
	bend := m.bend / (m.high - m.low)
	for i, w := range s.dust {
		r := base*m.uneven[i] + s.rise*w*(1+bend*w)
		s.resist[i] = r
		sum += 1 / r
	}
	n := float64(m.rows)
	s.x = m.wind(h, n/sum, s.afterDP)
	s.dp = m.across(n/sum, s.x)
	hood := s.x / (1 + h.gap)
	dust := m.rate * h.feed * math.Pow(hood, m.captures) * dt
	for i := range s.dust {
		s.dust[i] += dust * n / (sum * s.resist[i])
	}
	s.fed += dust
	s.passed += dust
	s.afterDP += m.grows * dt * s.x * (1 + 25*h.hole)
}

// gauge is what the dP gauge has behind its lines.
func (s *state) gauge(h *hour, dt float64) {
	want := h.gain*s.dp + h.zero
	if h.lag > 0 {
		want += (s.shown - want) * math.Exp(-dt/h.lag)
	}
	s.shown = want
}

// clean fires the pulses due until a time. The controller has the dP the gauge showed last.
func (s *state) clean(h *hour, to float64) {
	m := s.m
	switch {
	case !s.on:
		s.cleans = false
	case m.mode != collector.OnDemand:
		s.cleans = true
	default:
		s.cleans = s.shown >= h.high || s.cleans && s.shown > min(h.low, h.high-25) || h.byHand
	}
	if s.cleans && !h.mute {
		s.cleaned += to - s.t
	}
	if s.due < s.t && (s.cleans || s.left > 0) { // its clock and the log's have nothing to do with each other
		s.due = s.t + s.luck.Float64()*min(to-s.t, m.timer)
	}
	for s.due < to && (s.cleans || s.left > 0) {
		if !h.mute {
			s.pulse(h)
		}
		s.next, s.due = (s.next+1)%m.rows, s.due+m.timer
		s.left = max(0, s.left-1)
	}
}

// header is its pressure at a time.
func (s *state) header(h *hour, t float64) float64 {
	target := h.set * (1 - h.bleed)
	if s.m.shared { // loads and unloads between two pressures
		target *= 1 + 0.06*(math.Abs(2*math.Mod(t/s.m.cycle, 1)-1)-0.5)
	}
	if s.m.nightOff && !s.on && s.left == 0 {
		target *= 0.02
		return max(target, s.m.recovered(s.last.after, target, t-s.last.at, 0.01))
	}
	p := s.m.recovered(s.last.after, target, t-s.last.at, h.supply*(1-0.5*h.bleed))
	if since := t - s.lastRow; since < h.hangs {
		p = min(p, 0.35*target)
	}
	return p
}

// pulse fires the next valve.
func (s *state) pulse(h *hour) {
	m, i := s.m, s.next
	f := pulse{valve: i + 1, at: s.due, before: s.header(h, s.due)}
	lift := 1.0
	if f.valve == s.row {
		lift = h.lift
		if h.fails > 0 && s.luck.Float64() < h.fails {
			lift = 0
		}
		if s.lastRow = f.at; lift == 0 {
			s.lastRow = -1e9
		}
	}
	f.after = m.fallen(f.before, lift)
	worth := m.strength(f.before) * lift * h.take
	if !s.on {
		worth *= 1.2
	}
	off := m.taken(s.dust[i], worth)
	stays := 1 - h.back
	s.dust[i] -= off
	s.dust[(i+1)%m.rows] += off * stays * m.beside
	s.bin += off * stays * (1 - m.beside) / float64(m.rows)
	for k := range s.dust { // what whirls up from the bin settles on all
		s.dust[k] += off * h.back / float64(m.rows)
	}
	s.last = f
	s.count++
	s.fired = append(s.fired, f)
}

// full is the dust of a mean row that fills the bin.
func (s *state) full() float64 {
	return s.m.bin * s.m.bulk / (s.m.loading * s.m.flow) * s.m.rate
}
