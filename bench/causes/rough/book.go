package rough

import (
	"math"
	"math/rand/v2"
	"time"

	"dustwright/sense"
	"dustwright/unit"
)

// pen is one instrument.
type pen struct {
	noise, step, dead float64 // standard deviation, resolution, change below which nothing is written
	lag               float64 // damping [s]
	gain, zero, slope float64 // factor, offset, drift of the offset a day
	lo, hi            float64 // range
	mean              bool    // writes the interval's mean
	lost, spiky       float64 // share of readings lost, and of spikes
	has               bool
	sum, soft, last   float64
	stuck             int // rows to go
}

// book is the logger.
type book struct {
	every, next, since float64
	r                  *rand.Rand
	pens               [sense.NumChannels]pen
	times              []int64
	col                [sense.NumChannels][]float64
	pulses             []sense.Firing
	waiting            []uint8 // firings of this row
	mass               float64
	sampledLow         bool // header_low only at the row
	numbers            bool // the log tells which valves fired
	jitter, miss       float64
	check              float64 // hour of the monitor's zero check, negative: none
	perfect            bool
}

// newBook draws logger and instruments.
func newBook(r *rand.Rand, p *plan, perfect bool) *book {
	b := &book{every: one(r, 10, 30, 60, 60, 60, 60, 120, 300, 300, 600, 900), r: r, perfect: perfect, numbers: r.Float64() < 0.85,
		sampledLow: r.Float64() < 0.25, jitter: one(r, 0, 0, 0.5, 3), miss: one(r, 0, 0, 0.01, 0.08), check: one(r, -1, 3, 7)}
	if perfect {
		b.every, b.sampledLow, b.numbers, b.jitter, b.miss, b.check = 10, false, true, 0, 0, -1
	}
	mess := r.Float64() * 1.6
	in, psi := float64(unit.InchWater), float64(unit.Psi)
	set := func(c sense.Channel, often, size, noise float64, step ...float64) {
		q := pen{has: r.Float64() < often, noise: noise * size * (0.2 + mess), step: one(r, step...), lag: spread(r, 1, 25), gain: 1 + 0.012*mess*r.NormFloat64(),
			zero: 0.004 * mess * size * r.NormFloat64(), slope: 0.0003 * mess * size * r.NormFloat64(), lo: math.Inf(-1), hi: math.Inf(1), mean: r.Float64() < 0.4}
		if r.Float64() < 0.15 {
			q.dead = size * between(r, 0.005, 0.02)
		}
		if r.Float64() < 0.4 {
			q.lost, q.spiky = 0.01*mess*r.Float64(), 0.0008*mess*r.Float64()
		}
		if perfect {
			q = pen{has: true, gain: 1, lo: math.Inf(-1), hi: math.Inf(1), noise: 0.001 * size}
		}
		b.pens[c] = q
	}
	set(sense.DP, 1, 3*in, 0.012, 0.01*in, 0.02*in, 0.05*in, 0.1*in)
	if r.Float64() < 0.3 && !perfect {
		b.pens[sense.DP].lo = 0
		b.pens[sense.DP].hi = one(r, 6, 8, 10) * in
	}
	set(sense.Flow, 0.35, p.flow, 0.012, 0, 0.005, 0.02)
	set(sense.FlowIndex, 0.1, 50, 0.015, 0.1)
	set(sense.Header, 0.7, p.set, 0.004, 0.1*psi, 0.5*psi, psi)
	set(sense.HeaderLow, 0.5, p.set, 0.004, 0.1*psi, 0.5*psi, psi)
	set(sense.FanCurrent, 0.6, p.full, 0.006, 0.01, 0.1, 0.5)
	set(sense.FanPower, 0.2, p.motor, 0.006, 10, 100)
	set(sense.InletSP, 0.5, p.inlet, 0.012, 0.01*in, 0.05*in)
	set(sense.Damper, 0.35, 1, 0.001, 0.01, 0.001)
	set(sense.Temperature, 0.4, 20, 0.01, 0.1, 1)
	set(sense.Humidity, 0.35, 0.5, 0.015, 0.01, 0.001)
	set(sense.Barometer, 0.2, 500, 0.05, 10, 100)
	set(sense.Emission, 0.4, 4, 0.05, 0.01, 0.1)
	set(sense.BinLevel, 0.35, 1, 0.015, 0.01, 0.05, 0.1)
	set(sense.AfterfilterDP, 0.7, in, 0.01, 0.01*in, 0.05*in)
	b.pens[sense.AfterfilterDP].has = b.pens[sense.AfterfilterDP].has && p.after > 0
	for _, exact := range [...]struct {
		c     sense.Channel
		often float64
	}{{sense.Running, 0.75}, {sense.Cleaning, 0.6}, {sense.Pulse, 0.6}, {sense.BinMass, 0.2}} {
		b.pens[exact.c] = pen{has: r.Float64() < exact.often || perfect}
	}
	return b
}

// open makes room for so many rows.
func (b *book) open(rows int) {
	b.times = make([]int64, 0, rows+16)
	for c := range b.pens {
		if b.pens[c].has {
			b.col[c] = make([]float64, 0, rows+16)
		}
	}
}

// count notes a pulse.
func (s *scene) count(v int) {
	if b := s.book; b != nil && b.r.Float64() >= b.miss {
		b.waiting = append(b.waiting, uint8(v+1))
	}
}

// truth is what the instruments should show now.
func (s *scene) truth() [sense.NumChannels]float64 {
	p, a := s.plan, &s.air
	var v [sense.NumChannels]float64
	v[sense.DP], v[sense.AfterfilterDP], v[sense.Flow], v[sense.FlowIndex] = s.shown, a.after, a.flow, 50*a.flow/p.flow
	v[sense.Header], v[sense.HeaderLow] = s.header, s.lowest
	if s.on {
		v[sense.FanCurrent] = p.full * amps.at(a.shaft/p.motor)
		v[sense.FanPower] = (a.shaft + 0.04*p.motor) / 0.92
		v[sense.Running] = 1
		v[sense.Emission] = 2 + 0.15*s.spike + 60*s.outlet
	}
	if s.ctl.cleans && !s.knob.mute {
		v[sense.Cleaning] = 1
	}
	v[sense.InletSP], v[sense.Damper] = -a.suction, bounded(p.opening*s.knob.trim, 0, 1)
	v[sense.Temperature], v[sense.Barometer] = s.sky.temperature+p.warm, s.sky.pressure
	v[sense.Humidity] = bounded(s.sky.humidity+s.knob.wet, 0, 0.99)
	v[sense.BinLevel] = min(1.05, s.bin/(p.bin*p.bulk))
	if s.knob.hidden {
		v[sense.BinLevel] = 0.4
	}
	return v
}

// note takes the present in, and writes a row when it is due.
func (b *book) note(s *scene, dt float64) {
	v := s.truth()
	for c := range b.pens {
		if q := &b.pens[c]; q.has && q.noise > 0 {
			q.sum += v[c] * dt
			if q.lag > 0 {
				q.soft += (v[c] - q.soft) * min(1, dt/q.lag)
			} else {
				q.soft = v[c]
			}
		}
	}
	if s.t < b.next-1e-6 {
		return
	}
	b.write(s, v)
	b.next = math.Floor(s.t/b.every+1+1e-9) * b.every
	b.since, s.lowest = s.t, s.header
}

// write writes a row.
func (b *book) write(s *scene, v [sense.NumChannels]float64) {
	row, span, r := len(b.times), max(s.t-b.since, 0.1), b.r
	at := s.cal.start.UnixNano() + int64((s.t+b.jitter*r.NormFloat64())*1e9)
	if row > 0 {
		at = max(at, b.times[row-1]+1e6)
	}
	b.times = append(b.times, at)
	var late []uint8 // firings that come only with the next row
	if n := len(b.waiting); n > 0 && b.miss > 0 && r.Float64() < 2*b.miss {
		late, b.waiting = []uint8{b.waiting[n-1]}, b.waiting[:n-1]
	}
	for c := range b.pens {
		q := &b.pens[c]
		if !q.has {
			continue
		}
		x := q.soft
		switch ch := sense.Channel(c); {
		case ch == sense.Pulse:
			x = float64(len(b.waiting))
		case ch == sense.BinMass:
			x = b.mass
			b.mass = 0
			if x == 0 {
				x = math.NaN()
			}
		case ch == sense.HeaderLow:
			x = v[c]
			if b.sampledLow {
				x = s.header
			}
		case ch == sense.Running || ch == sense.Cleaning:
			x = v[c]
		case q.mean:
			x = q.sum / span
		}
		if sense.Channel(c) == sense.Emission && b.check >= 0 && math.Abs(math.Mod(s.t, day)/hour-b.check) < 0.1 {
			x = 0
		}
		q.sum = 0
		b.col[c] = append(b.col[c], q.show(x, s, r))
	}
	if b.pens[sense.Pulse].has && b.numbers {
		for _, f := range b.waiting {
			b.pulses = append(b.pulses, sense.Firing{Row: int32(row), Valve: f})
		}
	}
	b.waiting = append(b.waiting[:0], late...)
}

// show is what the instrument makes of a value.
func (q *pen) show(x float64, s *scene, r *rand.Rand) float64 {
	if q.noise == 0 {
		return x
	}
	if q.lost > 0 && r.Float64() < q.lost {
		return math.NaN()
	}
	if q.stuck > 0 {
		q.stuck--
		return q.last
	}
	if q.lost > 0 && r.Float64() < 2e-5 {
		q.stuck = 5 + r.IntN(200)
	}
	n := q.noise
	if !s.on {
		n *= 0.15
	}
	x = x*q.gain + q.zero + q.slope*s.t/day + n*r.NormFloat64()
	if q.spiky > 0 && r.Float64() < q.spiky {
		x *= 1 + 2*r.NormFloat64()
	}
	if q.step > 0 {
		x = math.Round(x/q.step) * q.step
	}
	x = bounded(x, q.lo, q.hi)
	if q.dead > 0 && math.Abs(x-q.last) < q.dead {
		return q.last
	}
	q.last = x
	return x
}

// series hands the log over, with a drifting transmitter and a gap where the tale has them, and outages.
func (b *book) series(r *rand.Rand, c *calendar, e tale) *sense.Series {
	out := &sense.Series{Zone: c.start.Location(), Source: "rough"}
	type hole struct{ from, to float64 }
	var gaps []hole
	if e.kind == "gap" {
		gaps = append(gaps, hole{min(e.at, c.end-3*day), min(e.at, c.end-3*day) + between(r, 0.5, 5)*day})
	}
	if !b.perfect && r.Float64() < 0.3 {
		for range 1 + r.IntN(4) {
			at := between(r, 0.05, 0.97) * c.end
			gaps = append(gaps, hole{at, at + spread(r, 0.2, 12)*hour})
		}
	}
	if len(gaps) == 0 && e.kind != "drift" {
		out.Time, out.Col, out.Pulses = b.times, b.col, b.pulses
		return out
	}
	keep := make([]int32, len(b.times))
	for i, t := range b.times {
		at := time.Duration(t - c.start.UnixNano()).Seconds()
		keep[i] = -1
		lost := false
		for _, g := range gaps {
			lost = lost || at >= g.from && at < g.to && at < c.end-2*hour
		}
		if lost {
			continue
		}
		keep[i] = int32(len(out.Time))
		out.Time = append(out.Time, t)
		if e.kind == "drift" && at > e.at*0.3 {
			b.col[sense.DP][i] += 90 * e.x * (at - e.at*0.3) / (c.end - e.at*0.3)
		}
	}
	for ch, col := range b.col {
		if col == nil {
			continue
		}
		out.Col[ch] = make([]float64, 0, len(out.Time))
		for i, x := range col {
			if keep[i] >= 0 {
				out.Col[ch] = append(out.Col[ch], x)
			}
		}
	}
	for _, f := range b.pulses {
		if keep[f.Row] >= 0 {
			f.Row = keep[f.Row]
			out.Pulses = append(out.Pulses, f)
		}
	}
	return out
}
