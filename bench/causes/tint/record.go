package tint

import (
	"math"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/sense"
)

// line is one row of the log, or one look at the machine: a figure for each channel.
type line [sense.NumChannels]float64

// look is what could be seen of the machine now.
func (s *state) look(l *logger, out *line) {
	i := min(int((s.t-1e-6)/hourSec), len(s.hours)-1)
	h, m := &s.hours[i], s.m
	*out = line{sense.DP: s.shown, sense.AfterfilterDP: s.afterDP * s.x, sense.Flow: s.x * m.flow, sense.FlowIndex: s.x * l.index,
		sense.Temperature: h.kelvin, sense.Humidity: h.humid, sense.Barometer: h.baro, sense.Damper: h.damperShown, sense.BinMass: math.NaN(),
		sense.BinLevel: max(h.heap, s.bin/s.full()), sense.Header: s.header(h, s.t)}
	if s.cleans || s.left > 0 {
		out[sense.Cleaning] = 1
	}
	if s.on {
		out[sense.Running] = 1
		out[sense.FanCurrent] = m.current(s.x, h.speed, h.density)
		out[sense.FanPower] = math.Sqrt(3) * m.volts * 0.85 * out[sense.FanCurrent]
		out[sense.InletSP] = -m.duct * h.duct * h.density / m.air * math.Pow(s.x/(1+h.gap), m.suction)
		peak := m.puff
		if s.last.valve == s.row {
			peak += 45 * h.hole
		}
		out[sense.Emission] = s.x*(m.emission*(0.7+0.3*h.feed)+10*h.hole) + peak*math.Exp(-(s.t-s.last.at)/m.puffs)
	}
}

// recorder puts looks together to rows.
type recorder struct {
	l       *logger
	s       *state
	out     *sense.Series
	noise   [sense.NumChannels]made.Dice // one each, so that a fault changes no other channel's noise
	luck    made.Dice
	start   int64
	held    []pulse // come in the next row
	running []bool  // row by row, whether or not the log tells
	gauges  [sense.NumChannels]gauge
}

// write runs the machine through its hours and keeps the log.
func (l *logger) write(seed uint64, m *machine, hours []hour, row int) *recorder {
	r := &recorder{l: l, s: newState(m, hours, row, made.Throw(seed, 5)), luck: made.Throw(seed, 6), gauges: l.gauges}
	zone := time.FixedZone("", 3600*l.zone)
	r.start = time.Date(2025, 1, 6+l.startDay, 0, 0, 0, 0, zone).UnixNano()
	r.out = &sense.Series{Zone: zone, Source: "tint"}
	for ch := range r.noise {
		r.noise[ch] = made.Throw(seed, uint64(20+ch))
	}
	rows := int(float64(len(hours)) * hourSec / l.step)
	r.out.Time = make([]int64, 0, rows)
	for ch := range r.out.Col {
		if l.gauges[ch].there && (m.after > 0 || sense.Channel(ch) != sense.AfterfilterDP) {
			r.out.Col[ch] = make([]float64, 0, rows)
		}
	}
	for k := range rows {
		r.row(float64(k) * l.step)
	}
	return r
}

// row runs the machine through one row's time and writes it.
func (r *recorder) row(from float64) {
	var sum, now line
	low, n, cleaning := math.Inf(1), 0.0, 0.0
	to := from + r.l.step
	for t := from + r.l.scan; t <= to+1e-6; t += r.l.scan {
		r.s.step(t)
		if r.l.snapshot && t < to-1e-6 && (r.l.peakHold || !r.l.gauges[sense.HeaderLow].there) {
			continue // nobody looks
		}
		r.s.look(r.l, &now)
		low, n, cleaning = min(low, now[sense.Header]), n+1, max(cleaning, now[sense.Cleaning])
		for ch, v := range now {
			sum[ch] += v
		}
	}
	if !r.l.snapshot {
		for ch := range sum {
			if sum[ch] /= n; r.l.headerSnapshot && sense.Channel(ch) == sense.Header {
				sum[ch] = now[ch]
			}
		}
		now = sum
	}
	now[sense.Cleaning] = cleaning
	if len(r.s.fired) > 0 && r.l.peakHold {
		for _, f := range r.s.fired {
			low = min(low, f.after)
		}
	}
	now[sense.HeaderLow], now[sense.BinMass] = low, math.NaN()
	r.keep(from, to, &now)
}

// keep writes a row as the instruments have it, if it is written at all.
func (r *recorder) keep(from, to float64, now *line) {
	fired := r.s.fired
	if r.l.late {
		fired, r.held = r.held, fired
		r.s.fired = nil
	}
	now[sense.Pulse] = float64(len(fired))
	if r.s.emptied > 0 && !r.luck.Chance(r.l.forgets) {
		kg := r.s.emptied / r.s.m.rate * r.s.m.loading * r.s.m.flow
		now[sense.BinMass] = math.Round(kg/5) * 5
	}
	r.s.fired, r.s.emptied = r.s.fired[:0], 0
	lost := r.luck.Float64() < r.l.lostRow || r.s.hours[int(from/hourSec)].lost || r.l.whenRunning && now[sense.Running] == 0 && len(fired) == 0
	at := to * (1 + r.l.clock.gains)
	if to > r.l.clock.jumpsAt {
		at += r.l.clock.jump
	}
	stamp := r.start + int64(math.Round(at))*1e9
	if n := r.out.Len(); lost || n > 0 && stamp <= r.out.Time[n-1] {
		return
	}
	k := r.out.Len()
	r.out.Time = append(r.out.Time, stamp)
	r.running = append(r.running, now[sense.Running] > 0.5)
	for ch, col := range r.out.Col {
		if col == nil {
			continue
		}
		v := r.gauges[ch].read(now[ch], to, r.noise[ch])
		if e := r.gauges[ch].every; e > 1 && k%e != 0 {
			v = math.NaN()
		}
		r.out.Col[ch] = append(col, v)
	}
	for _, f := range fired {
		if r.l.numbers {
			r.out.Pulses = append(r.out.Pulses, sense.Firing{Row: int32(k), Valve: uint8(f.valve)})
		}
	}
}
