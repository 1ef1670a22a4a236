package pastel

import (
	"math"

	"dustwright/sense"
)

// values are what there is to be measured at the end of a step.
func (r *runner) values(dt float64, s *slot) *figures {
	m, p, e := r.m, r.p, &r.e
	var v figures
	watts, amps := r.load(s)
	v[sense.DP], v[sense.InletSP] = r.reading, m.dirty
	v[sense.AfterfilterDP] = m.after * s.thick * m.x
	v[sense.Flow], v[sense.FlowIndex] = m.x*p.design, 55*m.x
	v[sense.FanCurrent], v[sense.FanPower] = amps, watts/p.eta
	v[sense.Header], v[sense.HeaderLow] = m.head, m.head
	if r.log.averages {
		v[sense.Header] = m.headMean
	}
	if m.headLow < m.head { // a damped transmitter doesn't see all of a short fall, and a scan a second comes late for it
		fall := (m.head - m.headLow) * seen(r.log.inst[sense.Header].damping)
		if !r.log.peakHold {
			fall *= math.Exp(-2 * r.noise.Float64() / p.recovery)
		}
		v[sense.HeaderLow], m.headLow = m.head-fall, m.head
	}
	v[sense.Damper] = min(1, max(0.03, s.open*e.open+e.opens*(1-s.open)))
	if e.hidden {
		v[sense.Damper] = s.open
	}
	if s.run {
		v[sense.Running] = 1
	}
	if r.clean {
		v[sense.Cleaning] = 1
	}
	v[sense.Temperature], v[sense.Humidity], v[sense.Barometer] = s.kelvin+e.warm, min(0.99, s.humid+e.wet), s.baro
	v[sense.Emission] = r.emission(dt, s)
	v[sense.BinLevel] = min(1, max(m.bin/(p.bin*p.bulk), e.heap))
	return &v
}

// emission is what the leak detector sees in the mean over a step: charge goes with dust and velocity.
func (r *runner) emission(dt float64, s *slot) float64 {
	if !s.run {
		return 0
	}
	m, p, e := r.m, r.p, &r.e
	u := dt / p.puffTime
	puffs := m.cloud * math.Expm1(u) / u // cloud is that at the end of the step
	if u > 30 {
		puffs = 0
	}
	return m.x * (p.haze*(0.75+0.25*s.dust*e.dust)*(1+e.carry) + 14*e.hole*math.Sqrt(m.dp/700) + puffs)
}

// seen is the share of a short fall of the header that a transmitter with a time constant [s] catches: the fall stays
// for about two seconds.
func seen(damping float64) float64 { return -math.Expm1(-2 / damping) }
