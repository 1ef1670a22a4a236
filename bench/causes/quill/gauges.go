package quill

import (
	"math"
	"math/rand/v2"

	"dustwright/sense"
	"dustwright/unit"
)

// gauge is an instrument of the cheap kind.
type gauge struct {
	step, noise    float64 // of its display, and of its electronics, in the channel's unit
	gain, offset   float64
	wander, walked float64 // share by which its reading walks in a day, and has so far
	lost, ghosts   float64 // share of readings that don't arrive, 1 for a channel that isn't logged, and that are an echo from anywhere between 0 and 1
	least, most    float64 // of its range
	dead           float64 // below this it shows zero
	every          int     // rows from one reading to the next
}

// gauges draws the instruments of a plant.
func gauges(r *rand.Rand, g *rig, step float64) [sense.NumChannels]gauge {
	var out [sense.NumChannels]gauge
	for ch := range out {
		out[ch] = gauge{gain: 1, least: math.Inf(-1), most: math.Inf(1), every: 1}
	}
	messy := 1.5 * (1 - 0.7*g.care) * r.Float64()
	lost := 0.01 * messy * r.Float64()
	cheap := func(ch sense.Channel, step, noise, error float64) *gauge {
		o := &out[ch]
		o.step, o.noise, o.lost, o.gain = step, noise*(0.4+messy), lost, 1+error*messy*r.NormFloat64()
		return o
	}
	display := pick(r, 0.01, 0.01, 0.02, 0.05, 0.1) * unit.InchWater
	dp := cheap(sense.DP, display, 2, 0.015)
	dp.offset, dp.most = 8*messy*r.NormFloat64(), 10*unit.InchWater
	dp.least = either(r.Float64() < 0.4, 0, dp.least) // some show no negative pressure
	after := cheap(sense.AfterfilterDP, display, 2, 0.015)
	after.offset, after.lost = 5*messy*r.NormFloat64(), either(g.after == 0, 1, lost)
	cheap(sense.InletSP, pick(r, 0.01, 0.05, 0.1)*unit.InchWater, 3, 0.02)
	cheap(sense.Flow, 0.005*g.flow, 0.008*g.flow, 0.03)
	cheap(sense.FlowIndex, 0.1, 0.5, 0.2).wander = 0.004 * messy
	header := cheap(sense.Header, pick(r, 0.1, 0.5, 1)*unit.Psi, 600, 0.01)
	header.every = either(r.Float64() < 0.3, max(1, int(between(r, 10, 300)/step)), 1) // some are on a slow bus of their own
	cheap(sense.HeaderLow, header.step, 1200, 0.01).gain = header.gain
	cheap(sense.FanCurrent, 0.1, 0.006*g.amps, 0.03).dead = between(r, 0.03, 0.1) * g.amps
	cheap(sense.FanPower, 10, 0.006*g.motor, 0.02)
	cheap(sense.Damper, 0.01, 0.003, 0)
	cheap(sense.Temperature, 0.1, 0.1, 0)
	wet := cheap(sense.Humidity, 0.01, 0.01, 0.06)
	wet.least, wet.most = 0, 1
	cheap(sense.Barometer, 10, 20, 0)
	leak := cheap(sense.Emission, 0.1, 0.3, 0.2)
	leak.gain *= between(r, 3, 15)
	leak.offset, leak.wander, leak.least = between(r, 0, 3), 0.03*(0.3+messy), 0
	bin := cheap(sense.BinLevel, 0.01, 0.01, 0.03)
	bin.ghosts, bin.least, bin.most = 0.03*messy*r.Float64(), 0, 1
	bin.lost, out[sense.Pulse].lost = either(r.Float64() < 0.2, 1, lost), either(r.Float64() < 0.2, 1.0, 0) // not in every plant
	return out
}

// read shows a value in a row of so many seconds. It draws as often whatever the value is: twins share their noise.
func (o *gauge) read(v, h float64, row int, r *rand.Rand) float64 {
	noise, walk, ghost, lost := r.NormFloat64(), r.NormFloat64(), r.Float64(), r.Float64()
	o.walked += o.wander*math.Sqrt(h/dayLong)*walk - o.walked*h/dayLong/20
	v = v*o.gain*(1+o.walked) + o.offset + o.noise*noise
	v = either(ghost < o.ghosts, ghost/o.ghosts, either(math.Abs(v) < o.dead, 0, v))
	if o.step > 0 {
		v = math.Round(v/o.step) * o.step
	}
	return either(lost < o.lost || row%o.every != 0, math.NaN(), max(o.least, min(o.most, v)))
}
