package pastel

import "math"

// choke is the share of the sonic flow at a ratio of absolute pressures. Source: ISO 6358.
func choke(ratio, critical float64) float64 {
	if ratio <= critical {
		return 1
	}
	u := (ratio - critical) / (1 - critical)
	return math.Sqrt(max(0, 1-u*u))
}

// inflow is what the supply brings, as a rate of the header's pressure [Pa/s]: shop air through regulator and orifice; and
// how fast that falls with the pressure [1/s] while the regulator closes.
func (m *machine) inflow(s *slot, e *effects) (rate, falls float64) {
	p := m.p
	line, head := (p.line*s.line)*e.line+atmosphere, m.head+atmosphere
	lift := (p.set*s.set*e.set - m.head) / p.droop
	if lift <= 0 || line <= head {
		return 0, 0
	}
	full := p.feed * e.supply * line * choke(head/line, p.rim) * reference / p.tank
	if lift >= 1 {
		return full, 0
	}
	return full * lift, full / p.droop
}

// outflow is what an opening lets go [Pa/s], as a share of a valve.
func (m *machine) outflow(share float64) float64 {
	head := m.head + atmosphere
	return m.p.valve * share * head * choke(atmosphere/head, m.p.rim) * reference / m.p.tank
}

// refill carries the header on in short steps until it rests.
func (m *machine) refill(dt float64, s *slot, e *effects) {
	const short, rest = 0.5, 5.0
	sum, left := 0.0, dt
	for left > 0 {
		h := min(short, left)
		leak := e.bleed
		if m.stuck > 0 {
			leak, m.stuck = leak+e.sticks, m.stuck-h
		}
		rate, falls := m.inflow(s, e)
		if leak > 0 {
			rate -= m.outflow(leak)
		}
		m.head = max(0, m.head+h*rate/(1+h*falls)) // linearly implicit, as it is stiff
		if rate > 0 {
			m.head = min(m.head, m.p.set*s.set*e.set)
		}
		m.headLow = min(m.headLow, m.head)
		left -= h
		if math.Abs(rate) < rest && m.stuck <= 0 {
			sum += m.head * (h + left)
			break
		}
		sum += m.head * h
	}
	m.headMean = sum / dt
}

// pulse opens a valve, and returns the stress on its row as a share of that of a sound valve at the set pressure.
func (m *machine) pulse(row int, s *slot, e *effects) float64 {
	const steps = 8
	lift, time := 1.0, m.p.onTime
	if row == e.row {
		lift, time = e.lift, time*e.onShare
		m.stuck = e.sticksFor
	}
	if e.fuse || lift == 0 {
		return 0
	}
	sum := 0.0
	for range steps {
		in, _ := m.inflow(s, e)
		sum += m.head
		m.head = max(0, m.head+(in-m.outflow(lift+e.bleed))*time/steps)
	}
	m.headLow = min(m.headLow, m.head)
	usual := m.p.set * (1 - 0.5*m.p.valve*reference*m.p.onTime/m.p.tank)
	return lift * sum / steps / usual * min(1, 0.2+0.8*time/m.p.onTime)
}
