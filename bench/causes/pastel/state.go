package pastel

import (
	"math"
	"slices"
)

const (
	dense    = 2.0  // drag of a kg of residual layer over that of cake: it is compacted
	offline  = 1.35 // stress of a pulse with the fan off over that against the airflow
	squeezed = 700  // dP at which cakeDrag holds [Pa]
)

// machine is the state that is integrated.
type machine struct {
	p                     *plant
	cake, layer, embedded []float64 // per row
	x, dp, dirty          float64   // share of design flow; dP; static pressure before the filters [Pa]
	after                 float64   // after-filter at design flow [Pa]
	head, headLow         float64   // header [Pa gauge]; lowest since it was last asked
	headMean              float64   // over the last step
	bin                   float64   // [kg]
	came, passed, away    float64   // dust that came, that passed the filters, that was taken away [kg]
	cloud                 float64   // puffs on the leak detector
	high, low             float64   // pressures in the gauge's lines [Pa]
	stuck                 float64   // how long the troubled valve still stays open [s]
	opening, blade        float64   // the damper's, and the loss it last had
}

func newMachine(l luck, p *plant) *machine {
	m := &machine{p: p, after: p.after * l.in(1, 1.5), head: p.set, headLow: p.set, x: 1}
	for range p.rows {
		m.cake = append(m.cake, l.in(0, 0.6)*(p.high-p.low)/(p.cakeDrag*p.face()))
		m.layer = append(m.layer, p.layer)
		m.embedded = append(m.embedded, p.embedded)
	}
	m.bin = l.in(0.05, 0.4) * p.bin * p.bulk
	return m
}

// copied is the machine as it stands.
func (m *machine) copied() *machine {
	o := *m
	o.cake, o.layer, o.embedded = slices.Clone(m.cake), slices.Clone(m.layer), slices.Clone(m.embedded)
	return &o
}

// renew puts new filters in.
func (m *machine) renew() {
	for i := range m.cake {
		m.away += (m.cake[i] + m.layer[i]) * m.rowArea()
		m.cake[i], m.layer[i], m.embedded[i] = 0, 0, 0.1*m.p.embedded
	}
}

func (m *machine) rowArea() float64 { return m.p.area / float64(m.p.rows) }

// step carries the machine over dt with the conditions of the slot and what the trouble does.
func (m *machine) step(dt float64, s *slot, e *effects) {
	if s.run {
		m.filter(dt, s, e)
	} else {
		m.x, m.dp, m.dirty = 0, 0, 0
	}
	m.refill(dt, s, e)
	m.lines(dt, e)
	m.cloud *= math.Exp(-dt / m.p.puffTime)
}

// filter solves the operating point and lets the rows share air and dust.
func (m *machine) filter(dt float64, s *slot, e *effects) {
	p := m.p
	stiff := p.cakeDrag * s.cake * e.cake
	if p.squeeze > 0 && m.dp > 100 {
		stiff *= math.Pow(m.dp/squeezed, p.squeeze)
	}
	each, sum := m.rowArea(), 0.0
	for i := range m.cake {
		drag := p.media + m.embedded[i] + e.clogged + stiff*(m.cake[i]+dense*m.layer[i])
		if i == e.row && e.hole > 0 {
			drag *= 1 - 0.12*e.hole
		}
		sum += each / drag
	}
	m.balance(p.design/sum*s.thick, s, e)
	m.dp = m.x * p.design / sum * s.thick
	dust := p.loading * s.dust * e.dust
	for i := range m.cake {
		drag := p.media + m.embedded[i] + e.clogged + stiff*(m.cake[i]+dense*m.layer[i])
		in := dust * p.uneven[i] * m.dp / s.thick / drag * dt
		if i == e.row {
			lost := in * 0.08 * e.hole
			m.passed += lost * each
			m.came += lost * each
			in -= lost
		}
		m.cake[i] += in
		m.came += in * each
		m.embedded[i] += p.ages * in
	}
	if p.after > 0 {
		m.after += p.afterGrowth * dt * m.x * s.dust * (1 + 40*e.hole*e.hole + 12*e.hole)
	}
}

// balance finds where fan and system meet, by Newton's way from the last point: the difference is concave and falls.
func (m *machine) balance(filters float64, s *slot, e *effects) {
	p := m.p
	opening := math.Max(0.03, s.open*e.open+e.opens*(1-s.open))
	if opening != m.opening {
		m.opening, m.blade = opening, p.damper/math.Pow(opening, p.bladeExp)
	}
	hoods := 1 / math.Sqrt(p.duct*e.duct)
	ducts := 1 / ((hoods + e.inleak/math.Sqrt(p.duct)) * (hoods + e.inleak/math.Sqrt(p.duct)))
	square := s.density * (ducts + m.blade)
	linear := filters + m.after*s.thick
	top := p.fanTop * e.fan * s.density * e.speed * e.speed
	x := max(m.x, 0.05)
	for range 20 {
		bend := top * p.fanFall * math.Pow(x/e.speed, p.fanExp)
		f := top - bend - square*x*x - linear*x
		dx := f / (bend*p.fanExp/x + 2*square*x + linear)
		x = max(0.01, x+dx)
		if math.Abs(dx) < 2e-4 {
			break
		}
	}
	m.x, m.dirty = x, -s.density*ducts*x*x
}

// lines lets the gauge's two lines follow the plenums.
func (m *machine) lines(dt float64, e *effects) {
	high, low := m.dirty*(1-e.highOff), (m.dirty-m.dp)*(1-e.lowOff)
	m.high += (high - m.high) * dt / (dt + e.highLag)
	m.low += (low - m.low) * dt / (dt + e.lowLag)
}

// gauge is what the lines bring to it.
func (m *machine) gauge(e *effects) float64 {
	if e.crossed {
		return m.low - m.high
	}
	return m.high - m.low
}

// shed takes off the dust of a row that a pulse of a stress moves, the stress being a share of that at the set pressure.
func (m *machine) shed(row int, stress float64, s *slot, e *effects) {
	p := m.p
	stress *= s.loose / e.sticky
	back := min(0.92, p.returns+e.carry)
	if !s.run {
		stress, back = stress*offline, 0.3*back
	}
	force := math.Pow(max(0, stress), p.spread)
	weight := 1 + m.layer[row]/p.settled // the thicker a layer, the more of it a pulse tears off
	off, deep := -math.Expm1(-p.easy*force)*m.cake[row], -math.Expm1(-p.hard*force*weight)*m.layer[row]
	m.cake[row] -= off
	grips := min(1, p.grips*e.grips) * m.cake[row]
	m.cake[row] -= grips
	m.layer[row] += grips - deep
	fell := off + deep
	near := min(back, p.returns)
	n := float64(p.rows)
	for i := range m.cake {
		m.cake[i] += (back - near) * fell / n
	}
	m.cake[(row+1)%p.rows] += 0.7 * near * fell
	m.cake[(row+p.rows-1)%p.rows] += 0.3 * near * fell
	m.bin += (1 - back) * fell * m.rowArea()
}
