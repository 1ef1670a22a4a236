package tint

import (
	"math"

	"dustwright/bench/causes/made"
	"dustwright/sense"
)

// gauge is one instrument as a shop keeps it; all but lost in the unit of its channel.
type gauge struct {
	least, most   float64
	step          float64 // of its scale or display
	noise, zero   float64
	drift         float64 // of the zero, a day
	scale         float64
	sticks        float64 // the needle moves only when the reading has moved by this
	lost          float64 // share of readings that do not arrive
	stuckFrom, to float64 // the needle keeps still [s]
	every         int     // reads in every so many rows only
	there         bool

	at float64 // of the needle
}

// clock is how the log's time is wrong.
type clock struct {
	gains   float64 // share of time it runs fast
	jumpsAt float64 // [s] it is put right, or the hour changes
	jump    float64 // [s]
}

// logger is how the plant keeps its log.
type logger struct {
	step, scan       float64
	snapshot         bool // rows are what is read at their end, else means
	headerSnapshot   bool
	peakHold         bool // header_low knows each pulse, else it is the lowest of the scans
	lowLost          float64
	numbers, counter bool    // the pulses come with their valves; the log counts them
	late             bool    // pulses come in the row after
	whenRunning      bool    // nothing is logged with the fan off
	lostRow, forgets float64 // share of rows, and of bins emptied, that are not written
	index            float64 // flow index at design flow
	clock            clock
	gauges           [sense.NumChannels]gauge
	startDay         int
	zone             int
}

// newLogger draws the instruments and how they are read.
func newLogger(d made.Dice, m *machine, days int) *logger {
	l := &logger{step: made.OneOf(d, 10.0, 30, 60, 60, 60, 60, 60, 60, 120, 300, 300, 600, 900), snapshot: d.Chance(0.5), headerSnapshot: d.Chance(0.6), peakHold: d.Chance(0.65),
		numbers: d.Chance(0.75), counter: d.Chance(0.7), late: d.Chance(0.15), whenRunning: d.Chance(0.15), lostRow: made.OneOf(d, 0, 0, 0.001, 0.01),
		lowLost: made.OneOf(d, 0, 0, 0, 0.05, 0.3), index: d.Between(15, 90), startDay: 7 * d.IntN(60), zone: d.IntN(13) - 6, forgets: made.OneOf(d, 0, 0.05, 0.3)}
	l.scan = min(60, max(10, l.step/2))
	if l.snapshot && l.step < 60 {
		l.scan = l.step
	}
	span := float64(days) * 24 * hourSec
	l.clock = clock{gains: made.OneOf(d, 0, 0, 3e-5, 3e-4), jumpsAt: d.Between(0, 4) * span, jump: made.OneOf(d, -3600.0, 3600, 3600, 480, -900)}
	spans := l.spans(m)
	full, poor := d.Chance(0.55), d.Spread(0.4, 2.5)
	for ch := range sense.NumChannels {
		missing := [2]float64{gone[ch], gone[ch] * 0.15}
		g := gauge{every: 1, there: !d.Chance(missing[0])}
		if full {
			g.there = !d.Chance(missing[1])
		}
		if r := spans[ch]; r[1] > r[0] {
			g.least, g.most = r[0], r[1]
			g.draw(d, poor, span)
		}
		l.gauges[ch] = g
	}
	l.fit(d)
	return l
}

// gone is how often a plant that lacks something lacks this.
var gone = [sense.NumChannels]float64{sense.AfterfilterDP: 0.3, sense.Flow: 0.7, sense.FlowIndex: 0.75, sense.Header: 0.1, sense.HeaderLow: 0.35,
	sense.FanCurrent: 0.2, sense.FanPower: 0.7, sense.InletSP: 0.35, sense.Damper: 0.4, sense.Running: 0.1, sense.Cleaning: 0.4, sense.Temperature: 0.35,
	sense.Humidity: 0.5, sense.Barometer: 0.7, sense.Emission: 0.45, sense.BinLevel: 0.5, sense.BinMass: 0.5}

// spans are the ranges of the instruments.
func (l *logger) spans(m *machine) (r [sense.NumChannels][2]float64) {
	for ch, high := range map[sense.Channel]float64{sense.AfterfilterDP: 4 * inWater, sense.Flow: 1.6 * m.flow, sense.FlowIndex: 1.7 * l.index, sense.Header: 120 * psi,
		sense.HeaderLow: 120 * psi, sense.FanCurrent: 1.9 * m.amps, sense.FanPower: 3.3 * m.amps * m.volts * 0.85, sense.Damper: 1, sense.Humidity: 1, sense.Emission: 100, sense.BinLevel: 1} {
		r[ch][1] = high
	}
	r[sense.DP], r[sense.InletSP] = [2]float64{-0.5 * inWater, 10 * inWater}, [2]float64{-10 * inWater, 0}
	r[sense.Temperature], r[sense.Barometer] = [2]float64{253, 333}, [2]float64{80000, 108000}
	return r
}

// draw draws an instrument's faults.
func (g *gauge) draw(d made.Dice, poor, span float64) {
	wide := g.most - g.least
	g.step = wide / made.OneOf(d, 100.0, 200, 1000, 4000)
	g.noise, g.zero = wide*0.0015*poor*d.Between(0.4, 2), wide*0.003*poor*d.NormFloat64()
	g.drift, g.scale = wide*1e-4*poor*d.NormFloat64(), 1+0.012*poor*d.NormFloat64()
	g.lost = made.OneOf(d, 0, 0, 0, 0.0005, 0.005)
	if d.Chance(0.25) {
		g.sticks = wide * 0.003 * poor * d.Between(0.5, 2)
	}
	if d.Chance(0.07) {
		g.stuckFrom = d.Between(0, span)
		g.to = g.stuckFrom + d.Between(2, 30)*hourSec
	}
}

// fit gives the dials their usual scales: tenths of an inch, whole psi; a header read in slow rows; parts of a bin.
func (l *logger) fit(d made.Dice) {
	dp, tank := &l.gauges[sense.DP], &l.gauges[sense.Header]
	dp.there = true
	dp.step = made.OneOf(d, 0.1*inWater, 0.1*inWater, 0.05*inWater, 10.0, 0.01*inWater, 1)
	if d.Chance(0.2) {
		dp.least = 0 // a dial has a stop there
	}
	tank.step = made.OneOf(d, psi, psi, 0.1*psi, 1000)
	if l.step <= 300 && d.Chance(0.15) {
		tank.every = 5
	}
	low := *tank
	low.there, low.every, low.lost, low.sticks = l.gauges[sense.HeaderLow].there && tank.there, 1, l.lowLost, 0
	l.gauges[sense.HeaderLow] = low
	l.gauges[sense.Emission].drift /= 4
	l.gauges[sense.BinLevel].step = made.OneOf(d, 0.01, 0.05, 0.25)
	l.gauges[sense.Damper].step, l.gauges[sense.Damper].noise = 0.01, 0
	l.gauges[sense.Damper].zero *= 0.5
	l.gauges[sense.Flow].scale *= d.Between(0.92, 1.08)
	l.numbers = l.numbers || !l.counter
	l.gauges[sense.Pulse].there = l.counter
}

// read is what the instrument shows of a figure at a time; NaN is no reading.
func (g *gauge) read(v, t float64, d made.Dice) float64 {
	if g.most == g.least {
		return v
	}
	chance, noise := d.Float64(), d.NormFloat64()
	v = g.scale*v + g.zero + g.drift*t/(24*hourSec) + g.noise*noise
	if stuck := t > g.stuckFrom && t < g.to; !stuck && math.Abs(v-g.at) >= g.sticks {
		g.at = v
	}
	if chance < g.lost || math.IsNaN(v) {
		return math.NaN()
	}
	return min(g.most, max(g.least, math.Round(g.at/g.step)*g.step))
}
