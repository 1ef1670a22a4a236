package draft

import (
	"math"

	"dustwright/sense"
)

// advance lets dt seconds pass: air, dust, compressed air, sensing lines, then what can be read.
func (m *machine) advance(dt float64) {
	p, c := m.plant, m.recipe()
	hour := int(m.now / 3600)
	warm, press := m.sky.warm[hour], m.sky.press[hour]
	fan := m.works[m.at].fan
	if fan {
		warm += p.process + c.warm
	}
	n := &m.net
	n.density = press / 287 / warm / 1.2
	n.speed, n.strength, n.duct = m.h.speed, m.h.strength, m.h.duct*c.gate
	n.damper = min(1, p.trim*m.trimmed()*m.h.damper)
	n.hole = m.h.leak / math.Sqrt(p.duct)
	shaft := 0.0
	if fan {
		m.blowThrough(dt, c)
		shaft = n.density * p.fan.shaft(m.w.total/p.flow, n.speed) * (0.4 + 0.6*n.strength) / n.speed
	} else {
		m.w = wind{}
	}
	m.compressed(dt, fan)
	m.lines(dt)
	m.puff *= math.Exp(-dt / p.puffTime)
	m.now += dt
	m.read(dt, shaft, warm)
}

// trimmed is where the damper stands over its usual place, by those whose job it is.
func (m *machine) trimmed() float64 {
	switch {
	case m.story.during("damper trimmed", m.now):
		return m.story.value
	case m.renewed && m.story.name == "new filters and trim":
		return 0.85
	}
	return 1
}

// blowThrough moves the air and the dust in it.
func (m *machine) blowThrough(dt float64, c recipe) {
	p, n := m.plant, &m.net
	damp := m.h.resist
	if m.story.during("damp spell", m.now) {
		damp *= 1.12
	}
	m.dust.conduct(p, m.w.dp, damp)
	n.filters = 1 / m.dust.sum
	n.after = p.after * (1 + p.afterRise*m.days + m.dust.slip/(p.conc*p.flow*86400*0.15))
	m.w = n.solve()
	dust := p.conc * c.dust * m.h.dust * m.w.hoods * dt
	m.dust.load(p, dust, m.w.dp)
	if over := m.dust.bin/p.bin - 0.7; m.h.carry > 0 && over > 0 {
		m.dust.carry(p, dust*m.h.carry*over)
	}
	m.days += dt / 86400
}

// compressed lets header and receiver go on.
func (m *machine) compressed(dt float64, fan bool) {
	a := &m.plant.air
	in := pressure{set: a.set * m.h.set, fill: a.fill + m.h.slow*m.plant.control.every, far: m.habits.far, makes: a.makes}
	if m.story.during("header set", m.now) {
		in.set *= m.story.value
	}
	if m.h.bleed > 0 {
		in.bleed = -a.onTime / math.Log(1-a.drop) / m.h.bleed
	}
	others := a.others * (0.6 + 0.4*math.Sin(m.now/700)*math.Sin(m.now/5100))
	switch {
	case !fan && a.nights:
		in.makes, others = 0, 0.05*a.others
	case !fan:
		others *= 0.3
	case m.story.during("busy compressor", m.now):
		others = min(others*m.story.value, 1.08*a.makes) // it can be felt, and no more
	}
	in.others = others * m.air.receiver / a.off
	if m.h.short > 0 {
		in.makes = min(in.makes, others*(1-m.h.short))
	}
	m.air.step(a, in, dt)
}

// lines brings the pressures of both sides to the gauge.
func (m *machine) lines(dt float64) {
	m.dirty = follow(m.dirty, -m.w.inlet*m.h.dirtySees, m.h.dirtyLag, dt)
	m.pure = follow(m.pure, -(m.w.inlet+m.w.dp)*m.h.cleanSee, m.h.cleanLag, dt)
	m.gauge = (m.dirty - m.pure) * (1 - m.h.bridged)
	if m.h.crossed {
		m.gauge = -m.gauge
	}
	if m.story.name == "gauge drift" {
		m.gauge += m.story.value * m.now / (float64(m.rows) * m.step)
	}
}

// follow is a lag of the first order.
func follow(was, is, lag, dt float64) float64 {
	if lag <= 0 {
		return is
	}
	return is + (was-is)*math.Exp(-dt/lag)
}

// read takes what every transmitter would see.
func (m *machine) read(dt, shaft, warm float64) {
	p, v := m.plant, &m.last
	electric, amps, running := 0.0, 0.0, 0.0
	if m.works[m.at].fan {
		electric, amps, running = shaft/0.91, p.fan.current(shaft), 1
	}
	v[sense.DP] = m.gauge
	v[sense.AfterfilterDP] = m.w.afterDP
	v[sense.Flow] = m.w.total
	v[sense.FlowIndex] = m.w.total / p.flow * m.habits.index * math.Sqrt(m.net.density)
	v[sense.Header] = m.air.header
	if m.habits.far > 0 {
		v[sense.Header] = m.air.far
		m.low = min(m.low, m.air.far)
	}
	v[sense.FanCurrent], v[sense.FanPower] = amps, electric
	v[sense.InletSP] = -m.w.inlet
	v[sense.Damper] = p.trim * m.trimmed()
	if m.telling {
		v[sense.Damper] = m.net.damper
	}
	v[sense.Running] = running
	v[sense.Cleaning] = 0
	if m.clean.on || m.clean.left > 0 {
		v[sense.Cleaning] = 1
		m.flagged = true
	}
	hour := int(m.now / 3600)
	v[sense.Temperature] = warm
	v[sense.Humidity] = min(0.99, m.sky.damp[hour]*math.Exp(-0.055*(warm-m.sky.warm[hour]))+m.h.humid)
	v[sense.Barometer] = m.sky.press[hour]
	hole := 0.0
	if m.h.hole > 0 {
		hole = 700 * m.h.hole / float64(p.rows)
	}
	v[sense.Emission] = (p.haze*(0.4*running+m.recipe().dust*m.h.dust*running*0.6+hole*running) + m.puff)
	v[sense.BinLevel] = m.dust.bin / p.bin
	for ch, x := range v {
		m.sum[ch] += x * dt
	}
}
