package ink

import (
	"math"

	"dustwright/bench/causes/made"
	"dustwright/sense"
)

// gauge is one instrument as the log knows it.
type gauge struct {
	zero, gain, noise, flutter float64 // flutter: a share of the reading while the fan runs
	step, drift                float64 // resolution, and how far it wanders a day
	lost                       float64
	band                       float64 // what it must move to be reported
	least, most                float64
	wider                      int // how often its band was widened
}

// fit draws the instruments.
func (l *logger) fit(p *plant) {
	d, w := l.d, l.worse
	set := func(ch sense.Channel, full, noise, step float64) *gauge {
		g := &gauge{zero: 0.002 * full * w * d.NormFloat64(), gain: 1 + 0.012*w*d.NormFloat64(), noise: noise * (0.3 + w), step: step,
			drift: 4e-5 * full * w * d.NormFloat64(), lost: 0.004 * w * d.Float64() * d.Float64(), least: math.Inf(-1), most: math.Inf(1)}
		g.band = max(step, full*made.OneOf(d, 0.002, 0.005, 0.005, 0.01))
		l.gauges[ch] = g
		return g
	}
	g := set(sense.DP, p.gaugeTop, 3, made.OneOf(d, 1, 1, 2.5, 10, 0.05*inWater))
	g.flutter, g.most, g.least = d.Between(0.004, 0.03), p.gaugeTop, -p.gaugeTop
	g.band = min(max(g.band, 1.3*g.flutter*p.high), 0.15*(p.high-p.low))
	if p.unipolar {
		g.least = 0
	}
	g = set(sense.AfterfilterDP, 1250, 2, made.OneOf(d, 1.0, 2.5, 10))
	g.least, g.most, g.flutter = 0, 1250, 0.01
	g = set(sense.InletSP, 5000, 5, made.OneOf(d, 1.0, 5, 10))
	g.most, g.flutter = 0, d.Between(0.004, 0.02)
	g.band = max(g.band, 1.5*g.flutter*p.suction)
	g = set(sense.Flow, p.flow*1.5, 0.004*p.flow, p.flow/500)
	g.gain, g.flutter, g.least = 1+0.03*d.NormFloat64(), d.Between(0.005, 0.03), 0
	g.band = max(g.band, 1.5*g.flutter*p.flow)
	g = set(sense.FlowIndex, 100, 0.3, 0.1)
	g.gain, g.flutter, g.least = d.Between(40, 70), d.Between(0.01, 0.04), 0
	g.band = max(g.band, 1.5*g.flutter*g.gain)
	g = set(sense.Header, 10*bar, 0.01*bar, made.OneOf(d, 0.01*bar, 0.05*bar, psi))
	g.least = 0
	if p.mode != "on-demand" { // the dips of every pulse would fill the archive
		g.band = max(g.band, d.Between(0.3, 1.1)*p.drop*(p.set+p.ambient))
	}
	low := *g
	low.noise *= 1.5
	l.gauges[sense.HeaderLow] = &low
	full := p.motor / (math.Sqrt(3) * p.volts * p.eta * p.cosPhi)
	g = set(sense.FanCurrent, 1.5*full, 0.002*full, made.OneOf(d, 0.1, 0.1, 0.5, full/100))
	g.flutter, g.least = d.Between(0.003, 0.02), 0
	g.band = max(g.band, 1.5*g.flutter*0.7*full)
	g = set(sense.FanPower, 1.3*p.motor, 0.002*p.motor, p.motor/1000)
	g.flutter, g.least, g.band = 0.01, 0, 0.015*p.motor
	g = set(sense.Damper, 1, 0.001, 0.01)
	g.drift, g.least, g.most = 0, 0, 1
	set(sense.Temperature, 50, 0.1, 0.1)
	g = set(sense.Humidity, 1, 0.008, 0.01)
	g.least, g.most, g.zero = 0, 1, 0.03*d.NormFloat64()
	set(sense.Barometer, 20000, 20, 10)
	g = set(sense.Emission, 100, 0.02*l.scale, made.OneOf(d, 0.1, 0.01, 0.4))
	g.gain, g.flutter, g.least, g.most, g.zero = l.scale, d.Between(0.05, 0.25), 0, 100, 0.1*d.Float64()
	g.band = max(g.band, 0.6*l.scale)
	g = set(sense.BinLevel, 1, 0.012, 0.01)
	g.band = 0.03
	g.least, g.most = 0, 1
	l.gauges[sense.Running], l.gauges[sense.Cleaning] = &gauge{gain: 1, band: 0.5, most: 1}, &gauge{gain: 1, band: 0.5, most: 1}
	l.gauges[sense.BinMass] = &gauge{gain: 1}
	for _, g := range l.gauges {
		if g != nil {
			g.band = max(g.band, 2.5*g.noise)
		}
	}
}

// read is what an instrument gives for what is there.
func (l *logger) read(ch sense.Channel, v, days float64, runs bool, mean float64) float64 {
	g := l.gauges[ch]
	if g.lost > 0 && l.d.Chance(g.lost) {
		return math.NaN()
	}
	v = v*g.gain + g.zero + g.drift*days
	if g.noise > 0 {
		s := g.noise
		if runs {
			s += g.flutter * math.Abs(v)
		}
		v += s * mean * l.d.NormFloat64()
	}
	if g.step > 0 {
		v = math.Round(v/g.step) * g.step
	}
	return min(g.most, max(g.least, v))
}

// replace puts another logger in: other instruments on the same points.
func (l *logger) replace(p *plant) {
	had := l.gauges
	l.worse = l.d.Between(0.2, 1.5)
	l.fit(p)
	for ch, g := range had {
		if g == nil {
			l.gauges[ch] = nil
		}
	}
}
