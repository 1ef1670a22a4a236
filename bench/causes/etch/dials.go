package etch

import (
	"math"
	"math/rand/v2"

	"dustwright/sense"
	"dustwright/unit"
)

// dial is one channel's instrument: layers that are applied one after the other. Zero values are a perfect one.
type dial struct {
	gain, zero float64 // errors
	drift      float64 // of the zero [1/day]
	lag        float64 // [s]
	noise      float64
	turbulent  float64 // noise in proportion to the reading
	step       float64 // of its display
	low, high  float64 // ends of its range
	spikes     float64 // chance of a row
	spike      float64 // size
	sticks     float64 // chance of a row that it sticks
	stick      float64 // how long, in rows
	repeats    float64 // chance that the reading before is written again
	holes      float64 // chance of no reading
	late       float64 // time of the first reading [s]
	dead       bool
}

// dials are all instruments of a log and what its logger does.
type dials struct {
	of       [sense.NumChannels]dial
	pulses   int     // 0 valve numbers, 1 counts only, 2 none
	missed   float64 // chance that a row is missing
	gaps     [][2]float64
	jump     [2]float64 // from when to when the clock is wrong
	by       float64    // by how much [s]
	jitter   float64    // of the rows' times [s]
	asleep   bool       // rows are written only while the fan runs
	lostFire bool       // pulses of missing rows are lost; else they stand in the next one
}

// gauge draws the instruments.
func gauge(b *bench, r *rand.Rand) *dials {
	d := &dials{}
	care := span(r, 0.15, 1.6) * span(r, 0.4, 1) // how bad this plant's instruments are
	amps := b.fullLoad()
	air := pick(r, unit.InchWater*0.1, unit.InchWater*0.05, unit.InchWater*0.01, 10, 1, 5, 0.98)
	press := pick(r, 1*unit.Psi, 0.5*unit.Psi, 0.1*unit.Psi, 1e4, 5e3, 1e3)
	inf := math.Inf(1)
	top := 0.0
	for _, top = range []float64{1500, 2000, 2500, 3000, 5000} {
		if top > 1.7*b.high {
			break
		}
	}
	bottom := pick(r, 0.0, -0.02*top, -top)
	set := func(c sense.Channel, scale, step float64, ends [2]float64) *dial {
		x := &d.of[c]
		x.gain = 0.015 * care * r.NormFloat64()
		x.zero = 0.004 * care * scale * r.NormFloat64()
		x.drift = 0.00006 * care * scale * r.NormFloat64()
		x.lag = pick(r, 0.0, 1, 3, 8, 20) * span(r, 0.5, 1.5)
		x.noise = 0.005 * care * scale * span(r, 0.2, 1.5)
		x.turbulent = 0.012 * care * r.Float64()
		x.step, x.low, x.high = step, ends[0], ends[1]
		x.untidy(care, scale, r)
		return x
	}
	set(sense.DP, b.high, air, [2]float64{bottom, top})
	set(sense.AfterfilterDP, 300, air, [2]float64{0, 1250})
	set(sense.Flow, b.flow, b.flow/pick(r, 100.0, 300, 1000), [2]float64{0, 3 * b.flow}).turbulent += 0.015 * r.Float64()
	set(sense.FlowIndex, 1, 0.002, [2]float64{0, inf}).turbulent += 0.02 * r.Float64()
	set(sense.Header, b.set*0.5, press, [2]float64{0, 1e6}).turbulent /= 4
	d.of[sense.HeaderLow] = d.of[sense.Header] // the same transmitter
	set(sense.FanCurrent, amps, pick(r, 0.01, 0.1, 0.1, 0.5), [2]float64{0, 6 * amps})
	set(sense.FanPower, b.motor, pick(r, 10.0, 50, 100), [2]float64{0, 3 * b.motor})
	set(sense.InletSP, 800, air, [2]float64{-2500, pick(r, 0.0, 50)})
	set(sense.Damper, 0.4, pick(r, 0.01, 0.005, 0.05), [2]float64{0, 1})
	set(sense.Temperature, 12, pick(r, 0.1, 0.5, 1, 5.0/9), [2]float64{230, 360}).turbulent = 0
	d.of[sense.Temperature].gain = 0
	set(sense.Humidity, 0.6, 0.01, [2]float64{0.02, 1})
	set(sense.Barometer, 4000, pick(r, 10.0, 100), [2]float64{7e4, 1.08e5}).turbulent = 0
	d.of[sense.Barometer].gain = 0
	set(sense.Emission, 2, pick(r, 0.01, 0.05, 0.1), [2]float64{0, pick(r, 20.0, 50, 100)}).turbulent += span(r, 0.03, 0.25)
	set(sense.BinLevel, 0.8, pick(r, 0.01, 0.05), [2]float64{0, 1}).noise += 0.02 * r.Float64()
	d.of[sense.BinMass] = dial{gain: 0.03 * r.NormFloat64(), step: pick(r, 0.5, 1, 5), high: inf}
	if r.Float64() < 0.12 {
		d.of[sense.HeaderLow].dead = true // it is read at the row's time only
	}
	for _, c := range []sense.Channel{sense.FlowIndex, sense.FanPower, sense.Humidity, sense.Barometer, sense.Emission,
		sense.BinLevel, sense.Damper, sense.Flow, sense.InletSP, sense.FanCurrent, sense.BinMass} {
		if r.Float64() < 0.035 {
			d.of[c].dead = true
		}
	}
	d.of[sense.AfterfilterDP].dead = !b.fitted
	if b.story == "drift" {
		c := pick(r, sense.DP, sense.DP, sense.Header, sense.InletSP, sense.FanCurrent)
		d.of[c].drift = pick(r, -1.0, 1) * span(r, 0.04, 0.11) * [...]float64{sense.DP: b.high, sense.Header: b.set, sense.InletSP: 900, sense.FanCurrent: amps}[c] / (b.end / day)
		d.of[sense.HeaderLow].drift = d.of[sense.Header].drift
	}
	d.logger(b, care, r)
	return d
}

// untidy draws the layers that few instruments have.
func (x *dial) untidy(care, scale float64, r *rand.Rand) {
	if r.Float64() < 0.25*care {
		x.spikes, x.spike = 3e-4*r.Float64(), scale*span(r, 0.3, 1.5)
	}
	if r.Float64() < 0.12*care {
		x.sticks, x.stick = 6e-5*r.Float64(), span(r, 5, 120)
	}
	if r.Float64() < 0.15*care {
		x.repeats = 0.05 * r.Float64()
	}
	if r.Float64() < 0.3*care {
		x.holes = 0.01 * r.Float64() * r.Float64()
	}
	if r.Float64() < 0.03 {
		x.late = span(r, 1, 9) * day
	}
}

// logger draws what happens to whole rows.
func (d *dials) logger(b *bench, care float64, r *rand.Rand) {
	switch u := r.Float64(); {
	case u < 0.09:
		d.pulses = 1
	case u < 0.15:
		d.pulses = 2
	}
	d.missed = pick(r, 0.0, 0, 0.0005, 0.004) * care
	d.lostFire = r.Float64() < 0.5
	d.asleep = r.Float64() < 0.07
	d.jitter = pick(r, 0.0, 0, 0.3, 1.5)
	n := 0
	if b.story == "gaps" {
		n = 1 + r.IntN(4)
	} else if r.Float64() < 0.2 {
		n = 1
	}
	for range n {
		from := span(r, 0.1, 0.9) * b.end
		d.gaps = append(d.gaps, [2]float64{from, min(from+decades(r, 0.1, 5)*day, b.end-day)})
	}
	if r.Float64() < 0.12 {
		from := span(r, 0.1, 0.85) * b.end
		d.jump = [2]float64{from, from + span(r, 1, 20)*day}
		d.by = pick(r, -1.0, 1) * span(r, 2, 14) * 60
	}
}

// read lays the instrument over a clean column.
func (x *dial) read(b *bench, rec *record, clean []float64, r *rand.Rand) []float64 {
	out := make([]float64, len(clean))
	follow := 1.0
	if x.lag > 0 {
		follow = 1 - math.Exp(-b.every/x.lag)
	}
	y := clean[0]
	stuck, held := 0, 0.0
	for i, v := range clean {
		t := rec.time[i]
		if math.IsNaN(v) || t < x.late {
			out[i] = math.NaN()
			continue
		}
		if math.IsNaN(y) {
			y = v
		}
		y += (v - y) * follow
		z := y*(1+x.gain) + x.zero + x.drift*t/day
		if x.noise > 0 {
			z += r.NormFloat64() * (x.noise + x.turbulent*math.Abs(y))
		}
		if x.spikes > 0 && r.Float64() < x.spikes {
			z += x.spike * pick(r, -1.0, 1)
		}
		if x.step > 0 {
			z = math.Round(z/x.step) * x.step
		}
		z = min(x.high, max(x.low, z))
		switch {
		case stuck > 0:
			stuck--
			z = held
		case x.sticks > 0 && r.Float64() < x.sticks:
			stuck, held = int(x.stick), z
		case x.repeats > 0 && i > 0 && r.Float64() < x.repeats && !math.IsNaN(out[i-1]):
			z = out[i-1]
		}
		if x.holes > 0 && r.Float64() < x.holes {
			z = math.NaN()
		}
		out[i] = z
	}
	return out
}
