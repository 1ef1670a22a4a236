package wash

import (
	"math"

	"dustwright/collector"
)

// machine is the collector at a time [s of the sheet].
type machine struct {
	p *plant
	s *sheet
	t float64

	run  int // the span of the sheet that is on, or comes next
	on   bool
	hour int

	bank            bank
	x, speed, hold  float64 // flow, speed and set suction as shares of design
	open, belt      float64
	silt, clog      float64 // of duct and after-filter, 1 clean
	stretch         float64 // of the air's viscosity
	density, temp   float64
	dp, afterDP     float64 // [Pa]
	suction         float64
	watts, amps     float64
	humid           float64
	fines, thick    float64 // how fine and how much the dust of the job is, 1 usual
	leakPuff, puffs float64 // what a pulse shakes through a hole, and through sound media

	tank               tank
	onTime, interval   float64
	low, high          float64
	cleaning           bool
	due                float64
	next, left         int
	forced             float64 // somebody cleans by hand until then
	fired              []uint8
	high1, low1, gauge float64 // what the lines hold, and the gauge between them [Pa]
	slug               float64 // water in a line [Pa]
	blown, handsOff    float64 // when the lines were last blown out, and until when they were off
	shopBy             float64

	bin     float64 // [kg]
	carried float64 // taken away since the last row [kg]
	deeds   []deed
	did     int
	eased   map[string]int // what people turned, and how often
	ill     *trouble

	ranFor, cleanedFor float64
}

func newMachine(p *plant, s *sheet, age float64) *machine {
	m := &machine{p: p, s: s, bank: newBank(p, age*p.seasonBy*3), speed: p.drive.speed, hold: 1, open: p.open, belt: 1, silt: 1, clog: 1, stretch: 1,
		density: p.air, fines: 1, thick: 1, onTime: p.onTime, interval: p.interval, low: p.low, high: p.high, hour: -1, shopBy: 1, blown: -99 * day,
		eased: map[string]int{}, ill: &trouble{}, temp: s.hours[0].temp}
	m.tank = tank{p.tank.set, p.tank.set}
	m.bin = 0.2 * p.bin * p.bulk
	return m
}

// clone is another machine in the same state.
func (m *machine) clone() *machine {
	c := *m
	c.bank = m.bank.clone()
	c.fired = nil
	c.eased = map[string]int{}
	for k, v := range m.eased {
		c.eased[k] = v
	}
	return &c
}

// work drives the machine on to a time; what happens goes into the book and, where there is one, to the scribe.
func (m *machine) work(until float64, b *book, w *scribe) {
	for m.t < until {
		m.begin()
		e := m.ill.now(m)
		dt := m.stride(until)
		m.blow(&e)
		m.feel(&e, dt)
		b.add(m, &e, dt)
		if w != nil {
			w.segment(m, &e, dt)
		}
		m.settle(&e, dt)
		set, shop := m.supply(&e)
		m.tank = tank{m.tank.later(&m.p.tank, dt, air{set, shop, e.supply, e.bleed}), m.tank.lowest}
		m.t += dt
		m.control(&e, b)
	}
}

// supply is what the regulator is set to and the shop has [Pa].
func (m *machine) supply(e *effect) (set, shop float64) {
	l := &m.s.hours[m.hour]
	band := 0.1 * bar * math.Sin(m.t/97+3*math.Sin(m.t/1900)) // the compressor loads and unloads
	return m.p.tank.set * e.regulator, max(0, l.shop*m.shopBy*e.shop+band)
}

// begin sees to what an hour and a moment bring.
func (m *machine) begin() {
	for m.did < len(m.deeds) && m.deeds[m.did].at <= m.t {
		m.deeds[m.did].do(m)
		m.did++
	}
	if h := int(m.t / hour); h != m.hour {
		m.hour = min(h, len(m.s.hours)-1)
		m.hourly()
	}
	for m.run < len(m.s.runs) && m.s.runs[m.run].off <= m.t {
		m.run++
	}
	was := m.on
	m.on = m.run < len(m.s.runs) && m.s.runs[m.run].on <= m.t
	if was && !m.on {
		m.left, m.cleaning = m.p.downtime*m.p.rows, false
		m.slough()
	}
	if m.on && !was {
		m.left = 0
	}
}

// slough lets what is far too thick fall when no air holds it any longer.
func (m *machine) slough() {
	for i := range m.bank.rows {
		m.bin += m.bank.shake(m.p, i, 0.02, false)
	}
}

// stride is how long nothing changes.
func (m *machine) stride(until float64) float64 {
	most := 60.0
	if !m.on && m.left == 0 {
		most = 600
	}
	if m.on && !m.cleaning && m.p.mode == collector.OnDemand && m.gauge > m.high-0.04*(m.high-m.low) {
		most = 7.3
	}
	end := min(m.t+most, until, (math.Floor(m.t/600)+1)*600)
	if m.run < len(m.s.runs) {
		for _, at := range [2]float64{m.s.runs[m.run].on, m.s.runs[m.run].off} {
			if at > m.t {
				end = min(end, at)
			}
		}
	}
	if m.pulses() && m.due > m.t {
		end = min(end, m.due)
	} else if m.pulses() {
		end = min(end, m.t+0.5)
	}
	if m.did < len(m.deeds) && m.deeds[m.did].at > m.t {
		end = min(end, m.deeds[m.did].at)
	}
	return max(end-m.t, 1e-3)
}

// pulses tells whether the controller is about to fire.
func (m *machine) pulses() bool {
	if !m.on {
		return m.left > 0
	}
	return m.cleaning || m.p.mode != collector.OnDemand || m.t < m.forced
}

// making is the dust that comes, as a share of design.
func (m *machine) making(e *effect) float64 {
	return m.s.hours[m.hour].work[int(m.t/600)%6] * m.thick * e.dust
}

// settle lays the dust down and lets small things go their way.
func (m *machine) settle(e *effect, dt float64) {
	l := &m.s.hours[m.hour]
	m.temp += (l.temp - m.temp) * dt / (dt + 1500)
	m.density = (l.baro - 0.378*vapour(l.dew)) / 287.05 / m.temp
	m.puffs *= math.Exp(-dt / 15)
	m.leakPuff *= math.Exp(-dt / 25)
	m.bank.wet += (max(e.wet, m.humid) - m.bank.wet) * dt / (dt + e.soaks)
	if !m.on {
		return
	}
	m.ranFor += dt
	if m.cleaning {
		m.cleanedFor += dt
	}
	hoods := max(0, m.x*(1-e.lost(m)))
	kg := m.making(e) * m.p.loading * m.p.flow * math.Pow(min(hoods, 1.2), 0.4) * dt / (1 - e.heap)
	for i := range m.bank.rows {
		m.bank.rows[i].hard = max(m.bank.rows[i].hard, e.hard*m.p.high/m.p.face)
		m.bank.rows[i].shut = 0
		if e.heap > 0.35 && 3*i >= 2*len(m.bank.rows) {
			m.bank.rows[i].shut = e.heap - 0.3
		}
	}
	m.bank.deal(m.p, kg*m.fines)
	m.clog += m.p.ages * dt * (1 + 0.5*m.through(e))
}

// through is what the filters let by, 1 as usual.
func (m *machine) through(e *effect) float64 {
	return e.hole * (1 + 0.6*m.leakPuff) * (0.3 + m.making(e))
}

// control lets the controller look at its gauge and fire.
func (m *machine) control(e *effect, b *book) {
	reads := m.gauge
	if m.p.ownSwitch {
		reads = m.dp
	}
	if m.p.mode == collector.OnDemand && m.on {
		m.demand(reads)
	}
	if !m.pulses() || e.mute || m.due > m.t {
		return
	}
	v := m.p.order[m.next]
	m.next = (m.next + 1) % m.p.rows
	m.due = m.t + m.interval*m.p.ticks
	if !m.on {
		m.left--
	}
	if w := m.fuse(e, v); w {
		return
	}
	m.fired = append(m.fired, uint8(v))
	m.pulse(e, v, b)
}

// fuse tells whether the card does not drive a valve though the controller counts on.
func (m *machine) fuse(e *effect, v int) bool {
	return e.fuse > 0 && float64((v*7)%m.p.rows) < e.fuse*float64(m.p.rows)
}

// demand starts and ends cleaning on the gauge's word.
func (m *machine) demand(reads float64) {
	switch {
	case reads >= m.high && !m.cleaning:
		m.cleaning = true
		if m.p.restarts {
			m.next = 0
		}
		m.due = max(m.due, m.t)
	case reads <= m.low && m.cleaning && (!m.p.whole || m.next == 0):
		m.cleaning = false
	}
}

// pulse fires a valve.
func (m *machine) pulse(e *effect, v int, b *book) {
	share, hit := 1.0, 1.0
	if v == e.valve {
		share, hit = e.sip, e.punch
	}
	before := m.tank.p
	blow := m.tank.pulse(m.p, m.onTime, share) * hit
	b.drop(v, before-m.tank.p)
	b.count(m)
	fell := m.bank.shake(m.p, v-1, blow/math.Sqrt(m.fines), m.on)
	if m.on {
		m.puffs = min(4, m.puffs+0.4*blow)
		if v == e.torn {
			m.leakPuff = 1
		}
	}
	if e.stuck { // what can't get down
		fell = 0
	}
	m.bin = min(m.bin+fell, 1.03*m.p.bin*m.p.bulk)
}

// feel is what the sensing lines bring to the gauge.
func (m *machine) feel(e *effect, dt float64) {
	dirty, clean := -m.suction*(1-e.offHigh), -(m.suction+m.dp)*(1-e.offLow)
	m.high1 += (dirty - m.high1) * follows(dt, e.slowHigh)
	m.low1 += (clean - m.low1) * follows(dt, e.slowLow)
	m.gauge = m.high1 - m.low1 + m.slug
	if e.crossed {
		m.gauge = -m.gauge
	}
	if m.t < m.handsOff {
		m.gauge = 0
	}
}

// follows is the share of a difference that a line evens out in a time.
func follows(dt, slow float64) float64 {
	if slow < dt/9 {
		return 1
	}
	return 1 - math.Exp(-dt/max(1, slow))
}
