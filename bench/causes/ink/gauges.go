package ink

import (
	"math"

	"dustwright/sense"
)

// sums are what a gateway adds up between two rows.
type sums struct {
	took float64
	area float64 // of the header's pressure by time, up to which it is added
	of   [sense.NumChannels]float64
	peak float64
	now  [sense.NumChannels]float64
}

// add takes in how the machine stood since the last event.
func (s *sums) add(m *machine, dt float64) {
	m.show(&s.now)
	for c, v := range s.now {
		s.of[c] += v * dt
	}
	s.of[sense.Header] += m.tank.area - s.area - m.tank.p*dt
	s.area = m.tank.area
	s.peak = max(s.peak, s.now[sense.Emission])
	s.took += dt
}

// show is what a perfect observer sees.
func (m *machine) show(out *[sense.NumChannels]float64) {
	m.fill(m.t)
	p := m.p
	amps := 0.0
	if m.runs {
		amps = p.amps(m.shaft)
	}
	stand := m.open * m.e.blade
	if m.e.slipped {
		stand = m.open
	}
	out[sense.DP], out[sense.AfterfilterDP], out[sense.Flow] = m.seen, m.afterLoss(m.q), m.q
	out[sense.FlowIndex] = square(m.q/p.flow) * p.rho / m.rho
	out[sense.Header], out[sense.HeaderLow] = m.tank.p, m.tank.low
	out[sense.FanCurrent], out[sense.FanPower], out[sense.InletSP] = amps, m.shaft/p.eta, -m.suck
	out[sense.Damper] = min(1, max(0.03, stand))
	out[sense.Running], out[sense.Cleaning] = boolean(m.runs), boolean(m.cleaning)
	out[sense.Temperature], out[sense.Humidity], out[sense.Barometer] = m.temp, m.wet, m.baro
	out[sense.Emission], out[sense.BinLevel] = m.emission(), m.bin/p.bin
}

// gauge follows the pressures through the sensing lines. A plugged line leaks slowly, and what it holds warms and cools.
func (m *machine) gauge(dt float64) {
	real := [2]float64{-m.suck, -m.suck - m.dp}
	for i := range m.lines {
		want := real[i] * (1 - m.e.off[i])
		if lag := m.e.lag[i]; lag > 0 {
			w := 1 - math.Exp(-dt/lag)
			m.lines[i] += w * (want - m.lines[i])
		} else {
			m.lines[i] = want
		}
	}
	m.seen = m.lines[0] - m.lines[1]
	if m.e.crossed > 0 {
		m.seen = -m.seen
	}
}

// emission is what a leak detector sees, 1 with sound filters at usual work.
func (m *machine) emission() float64 {
	if !m.runs {
		return 0
	}
	usual := m.p.loading * m.p.flow * m.p.passes
	return (m.dust*(m.p.passes+m.e.hole) + m.puff/12) / usual
}
