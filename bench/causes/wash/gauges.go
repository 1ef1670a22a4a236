package wash

import (
	"math"

	"dustwright/bench/causes/made"
	"dustwright/sense"
)

// gauge is an instrument as it comes: what it makes of what it feels.
type gauge struct {
	gain, off  float64
	slides     float64 // a day
	noise      float64 // as it stands
	shakes     float64 // of the reading
	step       float64
	least, top float64
	stiff      float64 // the hand moves only for more than this
	hand       float64 // where it stands
	lost       float64 // chance that a reading is not there
}

// read is what stands in the log.
func (g *gauge) read(v, days float64, d made.Dice) float64 {
	if g.lost > 0 && d.Chance(g.lost) {
		return math.NaN()
	}
	v = v*g.gain + g.off + g.slides*days
	if v != 0 || g.noise > 0 {
		v += g.noise*d.NormFloat64() + g.shakes*v*d.NormFloat64()
	}
	if g.stiff > 0 {
		if math.Abs(v-g.hand) > g.stiff {
			g.hand = v - math.Copysign(0.5*g.stiff, v-g.hand)
		}
		v = g.hand
	}
	v = min(g.top, max(g.least, v))
	if g.step > 0 {
		v = math.Round(v/g.step) * g.step
	}
	return min(g.top, max(g.least, v)) + 0 // never minus nothing
}

// kit is a plant's instruments, nil where there is none.
type kit [sense.NumChannels]*gauge

// newKit draws what a plant measures, and how well.
func newKit(d made.Dice, p *plant) *kit {
	k := &kit{}
	poor := d.Between(0, 1) * d.Between(0, 1)
	span := func() float64 { return 1 + 0.03*poor*d.NormFloat64() }
	lost := made.OneOf(d, 0, 0, 0, 0.002, 0.02)
	add := func(c sense.Channel, chance float64, g gauge) {
		if d.Chance(chance) {
			if g.gain == 0 {
				g.gain = span()
			}
			g.lost = lost
			k[c] = &g
		}
	}
	full := made.OneOf(d, 2500.0, 2500, 3000, 5000)
	if p.high > 1500 {
		full = 5000
	}
	add(sense.DP, 1, gauge{off: 8 * poor * d.NormFloat64(), noise: d.Between(0.3, 2) + 6*poor, shakes: d.Spread(0.003, 0.03), least: made.OneOf(d, 0, 0, -25, -0.1*full, -full),
		top: full, step: made.OneOf(d, 0, 1, 2.5, full/1000, 10), stiff: made.OneOf(d, 0, 0, 0, 30*poor)})
	if p.after > 0 {
		add(sense.AfterfilterDP, 0.75, gauge{noise: 1 + 3*poor, shakes: 0.01, top: 1000, step: made.OneOf(d, 1, 2.5, 10.0), off: 4 * poor * d.NormFloat64()})
	}
	add(sense.InletSP, 0.55, gauge{noise: 3 + 8*poor, shakes: d.Between(0.005, 0.03), least: -6000, top: made.OneOf(d, 0, 0, 300.0), step: made.OneOf(d, 1, 5, 10.0)})
	add(sense.Flow, 0.3, gauge{noise: 0.002 * p.flow, shakes: d.Between(0.01, 0.05), top: 1.8 * p.flow, gain: 1 + 0.06*d.NormFloat64()})
	if k[sense.Flow] == nil {
		add(sense.FlowIndex, 0.1, gauge{noise: 0.5, shakes: 0.02, top: 200, gain: d.Spread(0.5, 1.5)})
	}
	step := made.OneOf(d, 0.01, 0.05, 0.1)
	add(sense.FanCurrent, 0.72, gauge{noise: 0.002 * p.fan.amps, shakes: d.Between(0.002, 0.012), top: 3 * p.fan.amps, step: max(step, p.fan.amps/2000)})
	add(sense.FanPower, 0.22, gauge{shakes: d.Between(0.004, 0.015), top: 3 * p.fan.motor, step: 10})
	add(sense.Header, 0.7, gauge{noise: 0.004*bar + 0.02*bar*poor, top: 10 * bar, step: made.OneOf(d, 0.001, 0.01, 0.01, 0.05, 0.1) * bar, gain: 1 + 0.01*d.NormFloat64()})
	if k[sense.Header] != nil {
		add(sense.HeaderLow, 0.4, *k[sense.Header])
	}
	k.signals(d, p, add)
	return k
}

// signals are contacts, weather and what is weighed and told by probes.
func (k *kit) signals(d made.Dice, p *plant, add func(sense.Channel, float64, gauge)) {
	bit := gauge{gain: 1, top: 1}
	add(sense.Running, 0.85, bit)
	add(sense.Cleaning, 0.6, bit)
	add(sense.Pulse, 0.75, gauge{gain: 1, top: 1e9})
	if !p.drive.fitted {
		add(sense.Damper, 0.3, gauge{top: 1, step: made.OneOf(d, 0.001, 0.01, 0.05), gain: 1, noise: 0.001})
	}
	add(sense.Temperature, 0.45, gauge{noise: 0.1, top: 500, step: made.OneOf(d, 0.1, 0.5, 1), off: 0.7 * d.NormFloat64(), gain: 1})
	add(sense.Humidity, 0.25, gauge{noise: 0.004, top: 1, step: made.OneOf(d, 0.001, 0.01), off: 0.03 * d.NormFloat64(), gain: 1})
	add(sense.Barometer, 0.1, gauge{noise: 10, top: 2e5, step: 10, gain: 1})
	add(sense.Emission, 0.42, gauge{noise: 0.05, shakes: d.Between(0.1, 0.35), top: 100, step: made.OneOf(d, 0.01, 0.1), gain: 1, off: d.Between(0, 0.4)})
	add(sense.BinLevel, 0.3, gauge{noise: d.Between(0.002, 0.02), top: 1, step: 0.01, gain: 1})
	add(sense.BinMass, 0.3, gauge{gain: 1, top: 1e6, step: made.OneOf(d, 0.5, 1, 5, 10.0)})
	for c, g := range k {
		if g != nil && g.step < 0.02 && sense.Channel(c) == sense.FanCurrent {
			g.step = 0.01
		}
	}
}

// shown is what the damper's indicator says.
func (m *machine) shown(e *effect) float64 {
	if e.blind {
		return m.open
	}
	return min(1, max(0, m.open*e.damper))
}

// feels is what every instrument but those of the header stands in.
func (m *machine) feels(e *effect, v *[sense.NumChannels]float64) {
	l, p := &m.s.hours[m.hour], m.p
	on, cleans := 0.0, 0.0
	if m.on {
		on = 1
	}
	if m.pulses() && !e.mute {
		cleans = 1
	}
	v[sense.DP], v[sense.AfterfilterDP], v[sense.InletSP] = m.gauge, m.afterDP, -m.suction
	v[sense.Flow], v[sense.FlowIndex] = m.x*p.flow, 100*m.x
	v[sense.FanCurrent], v[sense.FanPower] = m.amps, m.watts/p.fan.eta
	v[sense.Damper], v[sense.Running], v[sense.Cleaning] = m.shown(e), on, cleans
	v[sense.Temperature] = m.temp
	v[sense.Humidity], v[sense.Barometer] = min(1, vapour(l.dew)/vapour(m.temp)), l.baro
	v[sense.Emission] = 0
	if m.on {
		v[sense.Emission] = p.breath * (m.through(e)*(0.4+0.6*m.x) + 0.25*m.puffs)
	}
	v[sense.BinLevel] = m.bin / (p.bin * p.bulk)
}
