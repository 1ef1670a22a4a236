package ink

import "math"

// shot is a valve that was told to fire.
type shot struct {
	at       float64
	position int
}

// pulsed is what the header did at the pulses.
type pulsed struct {
	count, from   float64 // pulses and the sum of what they began at [Pa]
	culprit, drop float64 // pulses of the troubled row's valve, sums of what they took of the absolute pressure
}

// fire lets the next valve of the order fire.
func (m *machine) fire() {
	p := m.p
	row := p.order[m.seat]
	m.seat = (m.seat + 1) % p.rows
	m.shots = append(m.shots, shot{m.t, row})
	jet := m.blow(row, m.t) / m.hard
	if !m.runs {
		jet *= 1.2
	}
	off := m.shed(row, jet)
	m.puff += 0.5 * p.passes * off
	if m.tr != nil && row == m.tr.position { // what bridged the hole is blown away
		m.puff += 40 * m.dust * m.e.hole
	}
	m.tell(row)
	falls := p.falls * (1 - 0.2*(m.q/p.flow-1))
	if m.bin >= p.bin && m.e.carry > 0 {
		falls *= 1 - m.carries()
	}
	if !m.runs {
		falls = 1
	}
	m.intoBin(falls * off)
	if back := (1 - falls) * off; back > 0 && m.q > 0 {
		if row+1 < p.rows { // a part lands on the row below
			m.dusted(row+1, 0.4*back)
			back *= 0.6
		}
		m.deposit(back)
	}
	m.pulseAt = m.t + m.beat
	if m.left > 0 {
		if m.left--; m.left == 0 {
			m.pulseAt, m.cleaning = math.Inf(1), false
		}
	}
}

// dusted lays dust on one row evenly.
func (m *machine) dusted(row int, kg float64) {
	more := m.k * kg / (m.p.patchArea() * float64(m.p.patches))
	for j := range m.p.patches {
		i := row*m.p.patches + j
		m.lay(i, m.drag(i)+more)
	}
	m.lookAt(row)
}

// tell adds the pulse of a row's valve to the tally.
func (m *machine) tell(row int) {
	n := &m.pulsed
	n.count++
	n.from += m.tank.lastFrom
	if row == m.watched {
		n.culprit++
		n.drop += (m.tank.lastFrom - m.tank.lastUntil) / (m.tank.lastFrom + m.p.ambient)
	}
}

// control starts and stops the cleaning.
func (m *machine) control() {
	if m.e.mute {
		m.pulseAt = math.Inf(1)
		m.cleaning = m.e.shown && m.runs
		if !m.runs {
			m.left = 0
		}
		return
	}
	if !m.runs {
		return
	}
	if m.p.mode != "on-demand" {
		m.cleaning = true
		if math.IsInf(m.pulseAt, 1) {
			m.pulseAt = m.t + m.beat
		}
		return
	}
	x := m.dp
	if m.p.sharedGauge {
		x = m.seen
	}
	x += 0.004 * m.high * m.d.NormFloat64()
	switch {
	case x >= m.high+m.e.high && (!m.cleaning || math.IsInf(m.pulseAt, 1)):
		m.cleaning, m.pulseAt = true, m.t+1
	case x <= m.low && m.cleaning:
		m.cleaning, m.pulseAt = false, math.Inf(1)
	}
}

// start starts or stops the fan. What is cleaned after the stop is begun.
func (m *machine) start(runs bool) {
	if runs == m.runs {
		return
	}
	m.runs = runs
	m.pulseAt, m.cleaning, m.left = math.Inf(1), false, 0
	if !runs {
		m.slough()
	}
	if !runs && !m.wanted && m.p.downtime > 0 && !m.e.mute {
		m.left = m.p.downtime * m.p.rows
		m.pulseAt = m.t + m.p.interval + 20
		m.cleaning = true
	}
}
