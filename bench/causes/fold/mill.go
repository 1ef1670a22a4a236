package fold

import (
	"math"
	"math/rand/v2"

	"dustwright/collector"
	"dustwright/unit"
)

const (
	inch = unit.InchWater
	psi  = unit.Psi
	cv   = unit.ConductanceOfKv * unit.KvOfCv
	cfm  = 4.719474e-4
)

// What holds the airflow.
const (
	byHand = iota
	holdsFlow
	holdsSuction
	holdsDamper
)

// leaks is what passes the filters, as the leak detector has it.
type leaks struct {
	base, puff, fade, seal float64 // steady, after a good pulse; time the puff takes to fade and a hole to cake up [s]
	typical                float64 // dust that comes off in a usual pulse [kg]
}

// motor drives the fan.
type motor struct {
	rated, eff      float64 // [W]
	idle, per       float64 // idle current [A], current in phase per shaft power [A/W]
	full, volt, cos float64
}

// mill is one machine as it really is.
type mill struct {
	seed         uint64
	flow         float64 // design [m3/s]
	rows, perRow int
	each, area   float64 // of a cartridge, of a row [m2]
	cloth        cloth
	timer        timer
	timerGain    float64 // of the controller's own reading
	hdr          header
	fan          blower
	motor        motor
	duct, leak   float64
	bend, suck   float64
	outlet       float64
	after, clog  float64 // after-filter's loss per flow; what it has taken before
	clogs        float64 // its growth per second
	damper       blades
	open, speed  float64 // as trimmed
	fastest      float64
	holds        int
	branches     []float64 // share of the ducts' conductance
	gated        bool      // production opens and closes branches
	gen, drop    float64   // dust made [kg/s], share that drops at once
	capture      float64
	used         float64 // dust the filters met before the log [kg/m2]
	bin          bin
	leaks        leaks
	sky          sky
	installed    float64 // days before the log
	conc         float64 // dust in the air at design [kg/m3]
}

// drawMill makes up a machine.
func drawMill(g *rand.Rand, seed uint64) *mill {
	m := &mill{seed: seed, rows: 3 + g.IntN(9), perRow: 1 + g.IntN(3), timerGain: 1 + 0.015*g.NormFloat64()}
	if happens(g, 0.1) {
		m.rows += 4
	}
	m.each = between(g, 8, 24)
	m.area = m.each * float64(m.perRow)
	v := between(g, 0.0085, 0.018)
	m.flow = v * m.area * float64(m.rows)
	m.sky = drawSky(g)
	m.drawCloth(g, v)
	m.drawHeader(g)
	m.drawPath(g)
	m.drawTrim(g)
	m.leaks = leaks{base: scaled(g, 0.4, 12), fade: scaled(g, 3, 20), seal: scaled(g, 60, 700)}
	m.leaks.puff = m.leaks.base * scaled(g, 0.8, 5)
	lifted := (m.timer.high - m.timer.low) / v / m.cloth.k2
	m.leaks.typical = 0.7 * lifted * m.area
	return m
}

// drawCloth draws filters, dust and controller, which belong together: the set points lie above what the filters
// take when clean.
func (m *mill) drawCloth(g *rand.Rand, v float64) {
	fresh, ripe := between(g, 110, 240), between(g, 90, 330)
	c := &m.cloth
	c.media, c.season = fresh/v, ripe/v
	c.throat = fresh * between(g, 0.1, 0.35) / (v * v)
	t := &m.timer
	t.low = to((fresh*(1+c.throat*v*v/fresh)+ripe)*between(g, 1.2, 1.65)/inch, 0.1) * inch
	t.high = t.low + to(between(g, 0.6, 2), 0.1)*inch
	rise := scaled(g, 700, 16000) // from low to high at usual load [s]
	m.conc = scaled(g, 0.15e-3, 4e-3)
	m.drop = between(g, 0.1, 0.5)
	m.gen = m.conc * m.flow
	met := m.conc * (1 - m.drop) * v * rise
	c.k2 = (t.high - t.low) / v / met
	c.squeeze = between(g, 0, 0.5)
	c.bares = between(g, 0.4, 0.85)
	c.back = between(g, 0.08, 0.45)
	c.stays = between(g, 0.02, 0.15)
	c.usual, c.sloughs = 1.5*met, between(g, 0, 0.2)
	c.ripe = met * scaled(g, 60, 400)
	m.capture = between(g, 0.15, 0.8)
	m.installed = scaled(g, 20, 600)
	m.used = m.conc * (1 - m.drop) * v * m.installed * day * 0.3
	c.creep = between(g, 0.05, 0.35) * (c.media + c.season) / (m.conc * v * 400 * day * 0.3)
	t.mode = collector.OnDemand
	if p := g.Float64(); p > 0.92 {
		t.mode = collector.Continuous
	} else if p > 0.8 {
		t.mode = collector.Timed
	}
	t.whole, t.least = happens(g, 0.3), 1+g.IntN(4)
	if happens(g, 0.45) {
		t.downtime = 1 + g.IntN(4)
	}
	if happens(g, 0.2) {
		t.backup = between(g, 4, 24) * 3600
	}
	t.own = happens(g, 0.2)
	t.damping = scaled(g, 2, 25)
	for i := range m.rows {
		t.order = append(t.order, i+1)
	}
	switch g.IntN(4) {
	case 0: // odd ones first
		t.order = t.order[:0]
		for _, from := range []int{1, 2} {
			for i := from; i <= m.rows; i += 2 {
				t.order = append(t.order, i)
			}
		}
	case 1:
		for i := range m.rows {
			t.order[i] = m.rows - i
		}
	}
}

// drawHeader draws tank, valves and supply so that a pulse takes a quarter to a half of the pressure.
func (m *mill) drawHeader(g *rand.Rand) {
	h := &m.hdr
	h.set = to(between(g, 48, 92), 1) * psi
	h.valve = scaled(g, 14, 60) * cv
	h.on = to(between(g, 80, 200), 10) / 1000
	share := between(g, 0.22, 0.48) * h.set / (h.set + ambient)
	h.volume = h.on * h.valve * ambient * 1.25 / -math.Log(1-share)
	h.interval = pickOne(g, 6.0, 8, 10, 10, 12, 15, 20, 30)
	h.clock = clamp(1+0.008*g.NormFloat64(), 0.97, 1.03)
	if m.timer.mode != collector.OnDemand {
		h.interval = pickOne(g, 10.0, 15, 20, 30, 45)
	}
	perPulse := h.volume * share * (h.set + ambient) / ambient
	h.supply = perPulse / (h.interval * between(g, 0.2, 0.7))
	h.droop = between(g, 0.04, 0.35) * 1e5
	h.line = math.Max(h.set+0.6e5, between(g, 6, 7.8)*1e5)
	h.swing = between(g, 0.1, 0.9) * 1e5
	h.period = scaled(g, 50, 600)
	h.demand = between(g, 0, 0.6) * 1e5
	if h.line-h.swing/2-h.demand < h.set && happens(g, 0.9) {
		h.line = h.set + h.swing/2 + 1.6*h.demand
	}
	h.weep, h.nightOff = scaled(g, 3, 80)*3600, happens(g, 0.2)
	for i := range h.trim {
		h.trim[i] = clamp(1+0.04*g.NormFloat64(), 0.88, 1.12)
	}
}

// drawPath draws ducts, outlet, damper and a fan that fits them.
func (m *mill) drawPath(g *rand.Rand) {
	m.suck = between(g, 450, 1700)
	m.bend = between(g, 1.82, 2)
	m.leak = scaled(g, 0.004, 0.06)
	dense := m.sky.baro / 101325 * 293.15 / (m.sky.indoor + m.sky.heat)
	m.duct = m.flow / math.Pow(m.suck/dense, 1/m.bend) / (1 + m.leak)
	m.outlet = between(g, 50, 240) / (m.flow * m.flow)
	after := 0.0
	if happens(g, 0.55) {
		after = between(g, 130, 300)
		m.after = after / m.flow
		m.clog = between(g, 0, 1.2)
		m.clogs = between(g, 0.4, 1.5) * 0.25 * inch / (30 * day) / after
	}
	m.damper = blades{open: between(g, 12, 45) / (m.flow * m.flow), tight: between(g, 0.01, 0.06), power: between(g, 1, 1.8)}
	sum := m.suck + (m.timer.low+m.timer.high)/2 + (m.outlet+m.damper.open)*m.flow*m.flow + after*(1+m.clog)
	if p := g.Float64(); p > 0.9 {
		m.holds = holdsFlow
	} else if p > 0.84 {
		m.holds = holdsSuction
	} else if p > 0.72 {
		m.holds = holdsDamper
	}
	m.speed, m.fastest = 1, 1.06
	spare := sum * between(g, 0.07, 0.32)
	if m.holds == holdsFlow || m.holds == holdsSuction {
		m.speed = between(g, 0.84, 0.95)
		spare = 0
	}
	b := &m.fan
	b.middle = m.flow * between(g, 0.85, 1.12) / m.speed
	b.shape(between(g, 0, 0.22), between(g, 0.7, 0.86), between(g, 1.55, 1.9))
	b.head = 1
	unitHead, _ := b.gives(m.flow, m.speed, dense)
	b.head = (sum + spare) / unitHead
	eff := between(g, 0.58, 0.76)
	b.idle = between(g, 0.28, 0.5)
	if happens(g, 0.65) {
		b.peak = between(g, 1.1, 1.45)
	}
	b.power = 1
	b.power = m.flow * (sum + spare) / eff / b.takes(m.flow, m.speed, dense)
	m.fitMotor(g, dense)
	m.splitDucts(g)
}

// fitMotor takes the next size of motor that carries the fan.
func (m *mill) fitMotor(g *rand.Rand, dense float64) {
	most := 0.0
	for _, x := range []float64{0.8, 1, 1.2, 1.35} {
		most = math.Max(most, m.fan.takes(x*m.flow, 1, dense))
	}
	o := &m.motor
	for _, hp := range []float64{2, 3, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 200, 250} {
		if o.rated = hp * unit.Horsepower; o.rated > 1.04*most {
			break
		}
	}
	o.eff, o.cos, o.volt = between(g, 0.86, 0.955), between(g, 0.8, 0.89), pickOne(g, 400.0, 460, 480, 575)
	o.full = o.rated / (math.Sqrt(3) * o.volt * o.eff * o.cos)
	o.per = o.full * o.cos / o.rated
	o.idle = o.full * math.Sqrt(1-o.cos*o.cos)
}

// splitDucts shares the ducts between branches.
func (m *mill) splitDucts(g *rand.Rand) {
	n := 1 + g.IntN(6)
	sum := 0.0
	for range n {
		s := between(g, 0.5, 1.5)
		m.branches = append(m.branches, s)
		sum += s
	}
	for i := range m.branches {
		m.branches[i] /= sum
	}
	m.gated = n > 2 && happens(g, 0.35)
}

// drawTrim sets the damper for design flow at usual filters.
func (m *mill) drawTrim(g *rand.Rand) {
	m.open = 1
	if m.holds == holdsFlow || m.holds == holdsSuction {
		return
	}
	m.open = to(m.opening(m.flow, m.usual())*between(g, 0.96, 1.05), 0.01)
	m.open = clamp(m.open, 0.05, 1)
}

// usual is the pressure difference across the filters on a usual day [Pa]; by the clock they are cleaned more than need be.
func (m *mill) usual() float64 {
	if m.timer.mode != collector.OnDemand {
		return 0.4 * (m.timer.low + m.timer.high)
	}
	return (m.timer.low + m.timer.high) / 2
}

// opening is the damper position at which a flow passes with that pressure difference across the filters.
func (m *mill) opening(flow, across float64) float64 {
	s := newBench(m)
	left, _ := s.air.spare(&m.fan, flow)
	loss := (left-across)/(s.air.dense*flow*flow) + s.m.damper.loss(m.open)
	return m.damper.opening(loss)
}

// fitBin sizes the bin for the days it takes to fill.
func (m *mill) fitBin(g *rand.Rand, load float64) {
	b := &m.bin
	b.bulk = scaled(g, 220, 1400)
	if b.days == 0 {
		b.days = scaled(g, 0.6, 9)
	}
	b.full = math.Max(m.gen*load*b.days*day*0.95/0.66, 1)
	b.volume = b.full / b.bulk
	b.hopper = m.gen * load * 3600 * scaled(g, 1.5, 8)
	b.emptyAt = between(g, 0.45, 0.68)
	b.every = pickOne(g, 1.0, 2, 4) * 3600
	if b.days > 4 {
		b.every = 24 * 3600
	}
	b.lift = between(g, 0.25, 0.5)
}
