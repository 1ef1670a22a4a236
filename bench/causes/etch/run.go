package etch

import (
	"math"
	"slices"

	"dustwright/sense"
)

// record is the clean log: what perfect instruments would have written, row by row.
type record struct {
	time  []float64 // [s]
	col   [sense.NumChannels][]float64
	fired []sense.Firing
}

func newRecord(b *bench) *record {
	r := &record{time: make([]float64, 0, int(b.end/b.every)+1)}
	for c := range r.col {
		r.col[c] = make([]float64, 0, cap(r.time))
	}
	return r
}

func (r *record) rows() int { return len(r.time) }

// after is the record from a row on.
func (r *record) after(from int) *record {
	out := &record{time: r.time[from:]}
	for c := range r.col {
		out.col[c] = r.col[c][from:]
	}
	for _, f := range r.fired {
		if int(f.Row) >= from {
			out.fired = append(out.fired, sense.Firing{Row: f.Row - int32(from), Valve: f.Valve})
		}
	}
	return out
}

// run moves the machine on to a time, and the record with it.
func (b *bench) run(s *state, rec *record, until float64) {
	for s.t < until {
		for s.event < len(b.events) && s.t >= b.events[s.event].at {
			b.events[s.event].do(b, s)
			s.event++
		}
		if s.t >= s.checked {
			s.now = b.way.at(s.t, b.end)
			s.visit(b)
			s.checked = s.t + 60
		}
		s.turned(b)
		dt := min(b.step, s.row-s.t)
		if !s.running && !s.cleaning && s.left == 0 {
			dt = s.row - s.t // nothing moves but the header
		}
		s.advance(b, dt)
		s.t += dt
		if s.t >= s.row {
			rec.take(b, s)
			s.row += b.every
		}
	}
}

// turned starts and stops the fan by the shop's hours.
func (s *state) turned(b *bench) {
	for s.flip < len(b.hours.flips) && s.t >= b.hours.flips[s.flip] {
		s.flip++
	}
	on := s.flip%2 == 1
	if on == s.running {
		return
	}
	s.running = on
	s.left = 0
	if !on {
		s.left = downtime(b)
		s.next = s.t + 20
	}
}

// advance is one step.
func (s *state) advance(b *bench, dt float64) {
	i := b.hours.at(s.t)
	if s.running {
		s.solve(b, s.now, s.density(b, i))
		s.load(b, b.hours.busy[i], dt)
	} else {
		s.q, s.hood, s.dp, s.tap, s.cabinet, s.shaft, s.emission = 0, 0, 0, 0, 0, 0, 0.02
		s.puff = 0
	}
	s.sense(dt)
	s.control(b, dt)
	s.emSum += s.emission + s.puffs(dt)
	s.steps++
}

// density of the air over that of the fan curve.
func (s *state) density(b *bench, i int) float64 {
	return b.hours.baro[i] / 287 / b.hours.temp[i] / rho0
}

// take writes a row.
func (r *record) take(b *bench, s *state) {
	i := b.hours.at(s.t)
	row := int32(len(r.time))
	r.time = append(r.time, s.t)
	put := func(c sense.Channel, v float64) { r.col[c] = append(r.col[c], v) }
	flag := func(c sense.Channel, on bool) {
		if on {
			put(c, 1)
		} else {
			put(c, 0)
		}
	}
	put(sense.DP, s.gauge)
	put(sense.AfterfilterDP, s.after*s.q)
	put(sense.Flow, s.q)
	put(sense.FlowIndex, s.q/b.flow*math.Sqrt(s.density(b, i)))
	put(sense.Header, s.press)
	put(sense.HeaderLow, s.lowest)
	l := s.shaft / b.motor
	amps, watts := 0.0, 0.0
	if s.running {
		amps = b.fullLoad() * math.Sqrt(b.magnet*b.magnet+(1-b.magnet*b.magnet)*l*l)
		watts = s.shaft/b.eff + 0.02*b.motor
	}
	put(sense.FanCurrent, amps)
	put(sense.FanPower, watts)
	put(sense.InletSP, s.tap)
	if s.now.hidden {
		put(sense.Damper, s.damper)
	} else {
		put(sense.Damper, s.place(s.now))
	}
	flag(sense.Running, s.running)
	flag(sense.Cleaning, s.flagged())
	put(sense.Pulse, float64(len(s.fired)))
	put(sense.Temperature, b.hours.temp[i])
	put(sense.Humidity, min(0.98, b.hours.damp[i]+s.now.moist))
	put(sense.Barometer, b.hours.baro[i])
	put(sense.Emission, s.emSum/float64(max(1, s.steps)))
	if !s.now.unseen {
		s.level = min(1.05, s.fill(b))
	}
	put(sense.BinLevel, s.level)
	if s.taken > 0 {
		put(sense.BinMass, s.taken)
	} else {
		put(sense.BinMass, math.NaN())
	}
	for _, v := range s.fired {
		r.fired = append(r.fired, sense.Firing{Row: row, Valve: v})
	}
	s.fired, s.lowest, s.taken, s.emSum, s.steps = s.fired[:0], s.press, 0, 0, 0
}

// twin is a copy that shares nothing.
func (s *state) twin() *state {
	t := *s
	t.fired = slices.Clone(s.fired)
	return &t
}
