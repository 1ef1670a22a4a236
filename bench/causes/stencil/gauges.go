package stencil

import (
	"math"
	"math/rand/v2"

	"dustwright/sense"
)

// tube is the dP gauge with its sensing lines: what the pressure at its ports is, late and wrong.
type tube struct {
	lag   float64 // of a line that is partly plugged, as many are [s]
	own   bool    // the controller has a gauge of its own, with lines that are not the log's
	port  float64 // at the log's gauge [Pa]
	sees  float64 // what the controller sees [Pa]
	stuck float64 // air shut in behind a plug [K], as it was when it was shut in
}

// follow moves the gauge on by dt.
func (g *tube) follow(w *world, dt float64) {
	dp := w.now.dp
	right := g.sees + (dp-g.sees)*(1-math.Exp(-dt/5))
	lag, at := g.lag, dp
	if l := w.level(lineOff); l > 0 {
		switch behind := w.now.suction + dp; {
		case w.kind < 0.55: // the clean side's line is off or cracked
			at = dp - min(1, 0.15+0.95*l)*behind
		case w.kind < 0.8: // crossed
			at = -dp
		default: // both off
			at = dp * 0.1 * (1 - l)
		}
	}
	shut := 0.0
	if l := w.level(plugged); l > 0 {
		lag = 500 * math.Exp(6.5*l)
		if w.kind < 0.5 {
			if g.stuck == 0 {
				g.stuck = w.air.temperature
			}
			shut = (10 + 45*l) * (w.air.temperature - g.stuck)
		}
	} else {
		g.stuck = 0
	}
	if w.kind >= 0.3 && w.level(plugged) > 0 && dp == 0 {
		lag *= 2.5 // a plug holds better one way
	}
	g.port += (at + shut - g.port) * (1 - math.Exp(-dt/lag))
	g.sees = g.port
	if g.own {
		g.sees = right
	}
}

// meter is an instrument and how it errs.
type meter struct {
	noise, grow  float64 // scatter, always and at full flow
	gain, offset float64
	warm         float64 // drift with temperature, per K
	side         float64 // errors to one side only
	step         float64
	loss         float64 // share of readings lost
	floor        float64 // the least it can show
}

// read is what it shows.
func (m *meter) read(r *rand.Rand, v, flow, kelvin float64) float64 {
	n, lost, wide := r.NormFloat64(), r.Float64(), r.ExpFloat64()
	v = v*(1+m.gain) + m.offset + m.warm*(kelvin-293) + n*(m.noise+m.grow*flow) + m.side*wide
	if m.step > 0 {
		v = math.Round(v/m.step) * m.step
	}
	if lost < m.loss {
		return math.NaN()
	}
	return max(m.floor, v) + 0 // no minus zero
}

// bench are the instruments of a shop, cheap and rough ones.
func bench(r *rand.Rand, s *shop) [sense.NumChannels]meter {
	var m [sense.NumChannels]meter
	rough := 0.3 + 1.4*r.Float64()
	loss := 0.012 * r.Float64() * r.Float64()
	g := func(sd float64) float64 { return sd * rough * r.NormFloat64() }
	dp := func() meter {
		return meter{noise: 2 * rough, grow: 12 * rough * r.Float64(), gain: g(0.015), offset: g(6), warm: g(0.35),
			step: pick(r, 1.0, 2.5, 5, 10, 10, 20, 24.9), loss: loss, floor: -500}
	}
	m[sense.DP], m[sense.AfterfilterDP], m[sense.InletSP] = dp(), dp(), dp()
	if r.Float64() < 0.5 {
		m[sense.DP].floor = 0
	}
	m[sense.InletSP].floor = -5000
	q := s.design
	m[sense.Flow] = meter{grow: 0.025 * rough * q, gain: g(0.02), side: -0.008 * q * r.Float64(), step: 0.005 * q, loss: loss}
	m[sense.FlowIndex] = meter{grow: 0.03 * rough, gain: g(0.05), warm: g(0.001), step: 0.005, loss: loss}
	m[sense.Header] = meter{noise: 1500 * rough, gain: g(0.01), offset: g(3000), warm: g(120), step: pick(r, 1000.0, 2000, 5000, 6895, 10000), loss: loss}
	m[sense.HeaderLow] = m[sense.Header]
	m[sense.HeaderLow].noise *= 0.5
	m[sense.HeaderLow].side = -0.7 * m[sense.Header].noise // the lowest of many readings
	m[sense.FanCurrent] = meter{grow: 0.006 * rough * s.full, gain: g(0.02), step: s.full * pick(r, 0.005, 0.01, 0.02, 0.03, 0.05), loss: loss}
	m[sense.FanPower] = meter{grow: 0.008 * rough * s.rated, gain: g(0.02), step: pick(r, 1.0, 10, 50, 100), loss: loss}
	m[sense.Damper] = meter{noise: 0.003 * rough, offset: g(0.01), step: 0.01, loss: loss}
	m[sense.Temperature] = meter{noise: 0.2, offset: g(0.8), step: pick(r, 0.1, 0.5, 1), loss: loss}
	m[sense.Humidity] = meter{noise: 0.008, offset: g(0.03), step: 0.01, loss: loss}
	m[sense.Barometer] = meter{noise: 15, offset: g(80), step: pick(r, 10.0, 100), floor: 5e4}
	m[sense.Emission] = meter{noise: 0.05 * rough, grow: 0.12 * rough, side: 0.1 * rough * r.Float64(), step: pick(r, 0.01, 0.05, 0.1), loss: loss}
	m[sense.BinLevel] = meter{noise: 0.008 * rough, offset: g(0.015), step: pick(r, 0.01, 0.02, 0.05, 0.1), loss: loss}
	m[sense.BinMass] = meter{noise: 0.5, step: pick(r, 0.5, 1, 5)}
	return m
}
