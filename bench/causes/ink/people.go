package ink

import "math"

// happens is one event.
func (m *machine) happens(e *event) {
	switch e.what {
	case fanOn:
		m.wanted = true
	case fanOff:
		m.wanted = false
	case work:
		m.rate = e.v
	case hoods:
		m.gates = e.v
	case demand:
		m.fill(m.t)
		m.tank.demand = e.v
	case airOn, airOff:
		m.fill(m.t)
		m.tank.off = e.what == airOff
	case lookBin:
		m.emptyBin(m.p.trigger)
	case trim:
		m.trim(e.v)
	case setPoints:
		m.low, m.high = e.v, e.w
	case newFilters:
		m.renew()
		m.old = 1
	case otherDust:
		m.fine, m.hard = e.v, e.w
	case powerDip:
		m.dipUntil = m.t + e.v
		m.seat = 0
	}
}

// emptyBin is somebody who empties the bin where it is fuller than a share.
func (m *machine) emptyBin(above float64) {
	if m.bin < above*m.p.bin || m.e.full || m.p.rotary {
		return
	}
	left := 0.04 * m.d.Float64() * m.p.bin
	m.taken += (m.bin - left) * m.p.bulk
	m.bin = left
}

// trim sets the damper for design flow, or a little off.
func (m *machine) trim(off float64) {
	p := m.p
	if p.drive >= driveFixed || !m.runs {
		return
	}
	blade := p.damper * (1 - math.Cos(math.Pi/2*m.open))
	left := m.rho/2*square(m.q/blade) + p.lift(p.flow, 1, m.rho) - p.lift(m.q, 1, m.rho) + (m.suck+m.dp+m.afterLoss(m.q))*(1-p.flow/max(m.q, 0.1*p.flow))
	share := p.flow * math.Sqrt(m.rho/2/max(left, 10)) / p.damper
	open := min(1, 2/math.Pi*math.Acos(1-min(1, share))*(1+off))
	m.open = math.Round(100*min(1.12*m.open, max(0.88*m.open, open))) / 100
}
