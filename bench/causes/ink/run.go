package ink

import (
	"math"
	"slices"

	"dustwright/bench/causes/made"
	"dustwright/judge"
)

// machine is the collector as it stands at a time. It goes from event to event; between two of them the air stands still,
// the cake grows along its dose and the header fills.
type machine struct {
	p    *plant
	cal  *calendar
	tr   *trouble // nil: sound
	d    made.Dice
	t    float64
	next int // of the events
	step float64

	runs, wanted bool
	dipUntil     float64
	hourSeen     int

	patch                 []patch
	rowG, rowH, rowDose   []float64
	dose, k, fine, hard   float64
	old, blinded          float64
	stale                 bool
	falling               float64 // of the conductance, with the dose
	after, afterK         float64
	open, hold, gates     float64
	rate                  float64
	low, high             float64
	q, dp, suck, flowIn   float64
	shaft, turn, friction float64
	rho, viscous          float64
	temp, wet, baro       float64

	tank     tank
	e        effects
	level    float64
	cleaning bool
	pulseAt  float64
	beat     float64 // the controller's interval by its own clock
	seat     int
	left     int
	shots    []shot

	bin, taken float64 // m3, kg
	fullAt     float64
	passed     float64 // kg
	puff       float64
	dust, came float64 // kg/s now; kg in all
	gone       float64
	lines      [2]float64
	seen       float64 // what the gauge is given
	sums       *sums
	pulsed     pulsed
	ranFor     float64 // s
	cleanedFor float64 // s of these in which it cleaned
	busy       float64 // the share of late
	watched    int     // the row whose valve is looked at
}

// newMachine is the plant's machine some way into its filters' life.
func newMachine(d made.Dice, p *plant, cal *calendar, tr *trouble, step float64) *machine {
	m := &machine{p: p, cal: cal, tr: tr, d: d, t: cal.from, step: step, hourSeen: -1, k: p.cakeK, fine: 1, hard: 1, blinded: 1, gates: 1, hold: 1, open: p.open,
		low: p.low, high: p.high, friction: 0.02, pulseAt: math.Inf(1), fullAt: math.Inf(1), viscous: 1, rho: p.rho}
	m.e.row, m.e.valve = make([]float64, p.rows), make([]float64, p.rows)
	m.e.reset()
	m.rowG, m.rowH, m.rowDose = make([]float64, p.rows), make([]float64, p.rows), make([]float64, p.rows)
	m.old, m.beat = d.Between(0.5, 1.05), p.interval*(1+0.002*d.NormFloat64())
	m.patch = make([]patch, len(p.reach))
	for i := range m.patch {
		m.patch[i].base = p.clean + m.old*p.seasoned*d.Between(0.8, 1.1)
		m.lay(i, m.patch[i].base+p.span*d.Float64()*d.Float64()*1.3)
	}
	m.stale = true
	m.after = p.after * d.Between(1.02, 1.5)
	m.afterK = p.after * d.Spread(0.03, 0.25) / (30 * day * 0.4 * p.loading * p.flow * p.passes)
	m.bin = p.bin * d.Between(0.05, 0.4)
	if p.rotary {
		m.bin = 0.1 * p.bin
	}
	m.tank = tank{p: p.set, at: m.t, low: p.set, line: p.loads + 0.2*bar, lineAt: m.t, demand: p.draw, loaded: true}
	m.sky()
	return m
}

// twin is the same machine with nothing wrong, from now on.
func (m *machine) twin(d made.Dice) *machine {
	o := *m
	o.tr, o.d, o.sums, o.shots = nil, d, nil, nil
	o.patch, o.rowG, o.rowH, o.rowDose = slices.Clone(m.patch), slices.Clone(m.rowG), slices.Clone(m.rowH), slices.Clone(m.rowDose)
	o.e.row, o.e.valve = slices.Clone(m.e.row), slices.Clone(m.e.valve)
	return &o
}

// advance goes from event to event up to a time.
func (m *machine) advance(to float64) {
	for m.t < to {
		n := min(to, m.t+m.step, m.pulseAt)
		if m.next < len(m.cal.events) {
			n = min(n, m.cal.events[m.next].at)
		}
		if m.dipUntil > m.t {
			n = min(n, m.dipUntil)
		}
		n = max(n, m.t)
		dt := n - m.t
		m.pass(dt)
		m.t = n
		if m.sums != nil && dt > 0 {
			m.sums.add(m, dt)
		}
		for m.next < len(m.cal.events) && m.cal.events[m.next].at <= m.t {
			m.happens(&m.cal.events[m.next])
			m.next++
		}
		if h := int((m.t - m.cal.from) / 600); h != m.hourSeen {
			m.hourSeen = h
			m.sky()
			m.emptyBin(0.85) // its lamp is lit
		}
		m.suffer()
		m.start(m.wanted && m.t >= m.dipUntil)
		if m.t >= m.pulseAt {
			m.fire()
		}
		m.settle()
		m.gauge(dt)
		m.control()
	}
}

// suffer brings the trouble to what it is now.
func (m *machine) suffer() {
	if m.tr == nil {
		return
	}
	l := m.tr.level(m.t)
	if math.Abs(l-m.level) > 0.01 || l != m.level && (l == 0 || l == 1) {
		m.level = l
		m.befall(l)
	}
	m.blind(m.e.blind)
	m.soak()
}

// soak brings the cake to the air's and the trouble's dampness.
func (m *machine) soak() {
	m.thicken(m.p.cakeK * m.fine * m.e.k * (1 + m.p.damp*max(0, m.wet-0.65)/0.3))
}

// sky brings the air to the weather, between its hours.
func (m *machine) sky() {
	x := (m.t - m.cal.from) / hour
	i := min(max(0, int(x)), len(m.cal.warm)-1)
	j, w := min(i+1, len(m.cal.warm)-1), x-float64(i)
	between := func(of []float64) float64 { return of[i] + w*(of[j]-of[i]) }
	m.temp, m.wet, m.baro = between(m.cal.warm), min(0.99, between(m.cal.wet)+m.e.wet), between(m.cal.high)
	m.rho = m.baro / 287 / m.temp * (1 - 0.01*m.wet)
	m.viscous = math.Pow(m.temp/(294+m.p.warmth), 0.7)
	m.soak()
}

// pass lets the time between two events go by.
func (m *machine) pass(dt float64) {
	if dt <= 0 {
		return
	}
	p := m.p
	m.puff *= math.Exp(-dt / 12)
	m.dust = 0
	if m.runs && m.q > 0 {
		m.ranFor += dt
		m.cleanedFor += dt * boolean(m.cleaning)
		m.busy += (boolean(m.cleaning) - m.busy) * min(1, dt/day)
		caught := min(1, m.flowIn/p.flow)
		m.dust = p.loading * p.flow * m.rate * m.e.dust * caught
		full := m.bin >= p.bin
		drops := p.presep
		if full && m.e.carry > 0 {
			drops *= 1 - m.carries()
			m.dust *= 1 + 1.3*m.carries() // stirred up again
		}
		kg := m.dust * dt
		m.came += kg
		m.intoBin(drops * kg)
		kg *= 1 - drops
		through := kg * min(0.3, p.passes+m.e.hole)
		m.passed += through
		m.deposit(kg - through)
		m.after = min(5*p.after, m.after+m.afterK*through)
		if p.rotary && !m.e.full {
			m.gone += max(0, m.bin-0.12*p.bin) * p.bulk
			m.bin = min(m.bin, 0.12*p.bin)
		}
	}
}

// carries is what a full bin gives back of what would fall in: the less the slower the air goes up.
func (m *machine) carries() float64 { return m.e.carry * min(1, square(m.q/m.p.flow)) }

// intoBin lets dust fall.
func (m *machine) intoBin(kg float64) {
	m.bin += kg / m.p.bulk
	if m.bin >= m.p.bin {
		m.gone += (m.bin - m.p.bin) * m.p.bulk // up the hopper's walls
		m.bin = m.p.bin
		if m.e.full {
			m.fullAt = min(m.fullAt, m.t)
		}
	}
}

// onset is when the trouble was there.
func (m *machine) onset() float64 {
	if m.tr.cause == judge.BinOverfull {
		return m.fullAt
	}
	return m.tr.onset
}

// restless reports that a machine that cleans on demand did little else.
func restless(m *machine) bool {
	return m.p.mode == "on-demand" && (m.cleanedFor > 0.45*m.ranFor || m.busy > 0.6)
}
