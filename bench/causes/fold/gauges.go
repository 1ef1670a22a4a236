package fold

import (
	"math"
	"math/rand/v2"

	"dustwright/sense"
)

// gauge is one instrument with its wire, as far as it differs from a perfect one.
type gauge struct {
	gain, zero   float64 // factor, and what is added
	noise, share float64 // deviation of a reading, and what is added of it per reading
	step         float64 // it is shown in
	dead         float64 // a change below this is not reported
	damp         float64 // time it takes to follow [s]
	drift        float64 // share per day
	spikes       float64 // chance of one in a row
	stuck        float64 // chance of getting stuck, per day
	hangs        float64 // how long [s]
	out          float64 // chance of no reading
	lo, hi       float64 // range
	cut          float64 // below this it shows zero
	late         bool    // a row late
}

// drawGauges draws all instruments.
func (c *recorder) drawGauges(g *rand.Rand) {
	m := c.run.m
	wide := 1.6 * (m.timer.high + 2*inch)
	kinds := [sense.NumChannels]gauge{
		sense.DP:            {gain: 0.015, zero: 4, noise: 6, share: 0.008, step: 5, hi: wide, lo: -wide},
		sense.AfterfilterDP: {gain: 0.02, zero: 4, noise: 3, share: 0.01, step: 5, hi: 1500, lo: -20},
		sense.Flow:          {gain: 0.03, noise: 0.012 * m.flow, share: 0.01, step: 0.004 * m.flow, hi: 2.2 * m.flow},
		sense.FlowIndex:     {gain: 0.1, noise: 1.2, share: 0.01, step: 0.4, hi: 220},
		sense.Header:        {gain: 0.01, zero: 1500, noise: 1200, step: 1500, hi: 1e6},
		sense.FanCurrent:    {gain: 0.015, noise: 0.006 * m.motor.full, share: 0.004, step: 0.004 * m.motor.full, hi: 3 * m.motor.full},
		sense.FanPower:      {gain: 0.015, noise: 0.006 * m.motor.rated, share: 0.004, step: 0.003 * m.motor.rated, hi: 3 * m.motor.rated},
		sense.InletSP:       {gain: 0.015, zero: 5, noise: 7, share: 0.01, step: 6, hi: 100, lo: -5000},
		sense.Damper:        {gain: 0.015, zero: 0.006, noise: 0.002, step: 0.006, hi: 1},
		sense.Temperature:   {gain: 0.001, zero: 0.7, noise: 0.15, step: 0.2, hi: 360, lo: 240},
		sense.Humidity:      {gain: 0.03, zero: 0.02, noise: 0.006, step: 0.008, hi: 0.99, lo: 0.02},
		sense.Barometer:     {gain: 0.0005, zero: 60, noise: 12, step: 20, hi: 106000, lo: 76000},
		sense.Emission:      {gain: 0.15, noise: 0.03 * m.leaks.base, share: 0.12, step: 0.01 * m.leaks.base, hi: 120 * m.leaks.base},
		sense.BinLevel:      {gain: 0.03, zero: 0.01, noise: 0.008, step: 0.008, hi: 1},
	}
	bad := happens(g, 0.15) // a plant with poor instruments
	for ch := range sense.NumChannels {
		k := kinds[ch]
		worse := scaled(g, 0.35, 2.2)
		if bad {
			worse *= 1.7
		}
		k.gain = clamp(1+k.gain*worse*g.NormFloat64(), 0.85, 1.15)
		k.zero *= worse * g.NormFloat64()
		k.noise *= worse
		k.share *= worse
		k.step *= scaled(g, 0.15, 5)
		if happens(g, 0.12) {
			k.dead = 2.5*k.noise + k.step
		}
		if happens(g, 0.35) {
			k.damp = scaled(g, 2, 60)
		}
		if happens(g, 0.2) {
			k.drift = 0.0003 * g.NormFloat64()
		}
		if happens(g, 0.12) {
			k.spikes = scaled(g, 2e-5, 2e-3)
		}
		if happens(g, 0.06) {
			k.stuck, k.hangs = 0.05, scaled(g, 1200, 30000)
		}
		if happens(g, 0.15) {
			k.out = scaled(g, 1e-4, 0.02)
		}
		k.late = happens(g, 0.03)
		c.gauges[ch] = k
	}
	d := &c.gauges[sense.DP]
	d.dead = math.Min(d.dead, 0.04*m.timer.high)
	d.damp = math.Min(d.damp, 20)
	d.step = math.Min(d.step, 25)
	if happens(g, 0.5) { // many show nothing below zero
		d.lo = -0.02 * inch * float64(g.IntN(3))
	}
	if happens(g, 0.3) {
		d.step = 0.05 * inch
	}
	c.gauges[sense.Flow].cut = pickOne(g, 0, 0.06, 0.1) * m.flow
	if happens(g, 0.25) { // a few paddles one above the other
		c.gauges[sense.BinLevel].step = 0.25
		c.gauges[sense.BinLevel].noise = 0.002
	}
	low := c.gauges[sense.Header] // the same instrument
	low.dead, low.damp, low.spikes = 0, 0, low.spikes/2
	c.gauges[sense.Header].dead = math.Min(c.gauges[sense.Header].dead, 8000)
	c.gauges[sense.HeaderLow] = low
}

// spike is how far a disturbed reading can be off.
func spike(ch sense.Channel, x float64) float64 {
	switch ch {
	case sense.Temperature:
		return 15
	case sense.Barometer:
		return 2000
	}
	return 2 * x
}

// shown is what a channel shows, row by row.
func (c *recorder) shown(ch sense.Channel) []float64 {
	truth := c.col[ch]
	out := make([]float64, len(truth))
	k := c.gauges[ch]
	tag := 200 + uint64(ch)*10
	seed := c.run.m.seed
	switch ch {
	case sense.Running, sense.Cleaning, sense.Pulse, sense.BinMass:
		copy(out, truth)
		if ch == sense.BinMass {
			for i := range out {
				out[i] = math.Round(out[i]*2) / 2
			}
		}
		return out
	}
	gain, zero := k.gain, k.zero
	swap := c.run.tale.of("instrument swapped")
	drift := c.run.tale.of("drift")
	wiped := c.run.tale.of("probe cleaned")
	v, last := math.NaN(), math.NaN()
	before := -1e9
	until, held := -1.0, 0.0
	for i, t := range c.time {
		row := int64(math.Round(t / c.step))
		x := truth[i]
		if k.late && i > 0 {
			x = truth[i-1]
		}
		if swap != nil && swap.channel == ch && t >= swap.from {
			gain, zero = k.gain*(1+0.04*swap.amount), 0
		}
		g := gain * (1 + k.drift*t/day)
		if drift != nil && drift.channel == ch {
			g *= 1 + 0.07*drift.amount*clamp((t-drift.from)/(c.run.days*day-drift.from), 0, 1)
		}
		if wiped != nil && ch == sense.Emission && t >= wiped.from {
			g *= 1.3
		}
		x = x*g + zero
		if k.damp > 0 && t-before < 3*c.step && !math.IsNaN(v) {
			x = v + (x-v)*(1-math.Exp(-c.step/k.damp))
		}
		v, before = x, t
		x += k.noise*bell(seed, tag, row) + k.share*math.Abs(x)*bell(seed, tag+1, row)
		if k.spikes > 0 && dice(seed, tag+2, row) < k.spikes {
			x += spike(ch, x) * (dice(seed, tag+3, row) - 0.4)
		}
		if d := int64(math.Floor(t / day)); k.stuck > 0 && t > until && dice(seed, tag+4, d) < k.stuck {
			if at := (float64(d) + dice(seed, tag+5, d)) * day; t >= at && t < at+k.hangs {
				until, held = at+k.hangs, x
			}
		}
		if t <= until {
			x = held
		}
		if x < k.cut {
			x = math.Min(x, 0)
		}
		x = clamp(to(x, k.step), k.lo, k.hi)
		if k.dead > 0 && !math.IsNaN(last) && math.Abs(x-last) < k.dead {
			x = last
		}
		last = x
		out[i] = x
		if k.out > 0 && dice(seed, tag+6, row) < k.out {
			out[i] = math.NaN()
		}
	}
	return out
}
