package sketch

import (
	"math"
	"math/rand/v2"
	"slices"

	"dustwright/unit"
)

// machine is the truth about a made-up collector. Pressures of the air side are in Pa at design
// flow; x is the flow as a share of design flow.
type machine struct {
	rows     int
	order    []int
	mode     string
	low      float64
	high     float64
	interval float64 // between pulses [s]
	downtime int     // cycles after a stop
	ownGauge bool    // the controller has a dP sensor of its own

	flow    float64 // design [m3/s]
	density float64 // at 20 degC on site [kg/m3]
	shutOff float64 // the fan's pressure is shutOff + bend x - fall x^2
	bend    float64
	fall    float64
	inlet   float64 // loss of ducts and hoods
	open    float64 // loss of the damper fully open
	blade   float64 // the damper's loss goes with position to the power of minus this
	trimmed float64 // share of design flow the damper was set to
	trimAt  float64 // the filters' dP when it was

	clean    float64 // new filters
	seasoned float64 // when the log begins or the filters have settled
	settle   float64 // running hours
	fresh    bool    // the filters are new when the log begins
	ageing   float64 // of the seasoned dP, Pa an hour
	exponent float64 // of the filters' dP over flow
	cake     float64 // at one load
	quick    float64 // share of it that builds up at once
	power    float64 // of the rest over load
	load     float64 // mass of one load [kg]
	dust     float64 // in the air [kg/m3]
	bite     float64 // share of a row's cake a sound pulse takes off
	back     float64 // share of that which returns

	after      float64 // the after-filter's dP, 0 without one
	afterCreep float64 // Pa an hour

	volts  float64
	shaft  float64 // power at design flow [W]
	idle   float64 // share of it at no flow
	motor  float64 // rated power [W]
	rated  float64 // current at that [A]
	noLoad float64 // share of it without load

	set      float64 // header [Pa]
	drop     float64 // share of it a pulse takes
	recover  float64 // time to come back [s]
	linear   bool    // the header fills evenly, not ever slower
	airOff   bool    // the compressor stands outside the shifts
	bulk     float64 // of the dust [kg/m3]
	bin      float64 // [m3]
	emptyAt  float64 // share at which the bin is emptied
	shifts   int     // 1, 2, 3; 4 is round the clock, weekends too
	from     float64 // hour the first shift begins
	lunch    bool    // the fan stops for lunch
	saturday bool
}

const (
	in      = unit.InchWater
	cfm     = unit.CubicFoot / 60
	psi     = unit.Psi
	noOrder = 0.75 // share of machines that fire from top to bottom
)

func newMachine(r *rand.Rand, want wish) *machine {
	m := &machine{rows: 2 + r.IntN(15), mode: "on-demand", interval: pick(r, 6.0, 8, 10, 10, 12, 15, 20, 30), downtime: pick(r, 0, 0, 1, 2, 3, 5, 10)}
	switch u := r.Float64(); {
	case u < 0.14:
		m.mode, m.interval = "timed", pick(r, 20.0, 30, 60, 90, 120)
	case u < 0.22:
		m.mode = "continuous"
	}
	if want.quiet {
		m.mode, m.interval, m.rows = "on-demand", 60, max(m.rows, 4)
	}
	for i := range m.rows {
		m.order = append(m.order, i+1)
	}
	if u := r.Float64(); u > noOrder {
		r.Shuffle(m.rows, func(i, j int) { m.order[i], m.order[j] = m.order[j], m.order[i] })
		if u > 0.9 {
			slices.Sort(m.order)
			slices.Reverse(m.order)
		}
	}
	m.ownGauge = r.Float64() < 0.2
	m.flow = cfm * 800 * math.Exp(r.Float64()*math.Log(30))
	m.filters(r)
	m.air(r)
	m.compressed(r)
	m.volts = pick(r, 230.0, 400, 460, 460, 575)
	pressure := m.shutOff + m.bend - m.fall
	m.shaft = m.flow * pressure / uniform(r, 0.55, 0.72)
	m.idle = uniform(r, 0.3, 0.55)
	m.motor = m.shaft * uniform(r, 1.05, 1.4)
	m.rated = m.motor / (math.Sqrt(3) * m.volts * efficiency * cosPhi)
	m.noLoad = uniform(r, 0.12, 0.38)
	m.shifts = pick(r, 1, 1, 2, 2, 2, 3, 4)
	m.from = float64(5 + r.IntN(4))
	m.lunch = r.Float64() < 0.5
	m.saturday = r.Float64() < 0.3
	return m
}

const (
	efficiency = 0.9
	cosPhi     = 0.85
)

func (m *machine) filters(r *rand.Rand) {
	m.clean = uniform(r, 0.4, 0.95) * in
	m.seasoned = m.clean + uniform(r, 0.25, 1.1)*in
	m.cake = uniform(r, 1.3, 2.8) * in
	m.quick = uniform(r, 0, 0.15)
	m.power = uniform(r, 0.75, 1.35)
	m.high = math.Round((m.seasoned+m.cake*uniform(r, 0.9, 1.1))/in*20) / 20 * in
	m.low = math.Round((m.seasoned+m.cake*uniform(r, 0.33, 0.55))/in*20) / 20 * in
	m.settle = uniform(r, 40, 250)
	m.fresh = r.Float64() < 0.12
	m.ageing = m.seasoned * uniform(r, 0, 0.25) / 1500
	m.exponent = uniform(r, 1, 1.3)
	m.dust = 0.0005 * math.Exp(0.6*r.NormFloat64())
	rise := math.Exp(uniform(r, math.Log(0.35), math.Log(6))) // hours from low to high
	m.load = m.dust * m.flow * rise * 3600 / 0.6
	m.bite = uniform(r, 0.3, 0.75)
	m.back = uniform(r, 0.05, 0.3)
	if r.Float64() < 0.6 {
		m.after = uniform(r, 0.4, 1.0) * in
		m.afterCreep = 0.25 * in / 730 * uniform(r, 0.2, 1.2)
	}
	m.bulk = uniform(r, 250, 1200)
	m.bin = m.dust * m.flow * 3600 * uniform(r, 30, 200) / m.bulk
	m.emptyAt = uniform(r, 0.3, 0.62)
}

func (m *machine) air(r *rand.Rand) {
	m.density = 1.2 * math.Exp(-uniform(r, 0, 900)/8400)
	m.inlet = uniform(r, 2, 4.5) * in
	m.trimAt = m.clean + uniform(r, 0.35, 1)*(m.middle()-m.clean)
	need := m.inlet + m.middle() + m.after
	pressure := need * uniform(r, 1.25, 1.9)
	m.open = need * uniform(r, 0.02, 0.06)
	m.shutOff = pressure * uniform(r, 1.12, 1.5)
	m.bend = pressure * uniform(r, 0, 0.25)
	m.fall = m.shutOff + m.bend - pressure
	m.blade = uniform(r, 1.8, 3)
	m.trimmed = 1 + 0.03*r.NormFloat64()
}

// middle is the filters' usual dP.
func (m *machine) middle() float64 { return m.seasoned + 0.6*m.cake }

func (m *machine) compressed(r *rand.Rand) {
	m.set = pick(r, 45.0, 50, 60, 60, 70, 80, 90) * psi
	m.drop = uniform(r, 0.12, 0.38)
	m.recover = m.interval * uniform(r, 0.25, 0.85)
	if m.interval > 20 {
		m.recover = uniform(r, 3, 15)
	}
	m.linear = r.Float64() < 0.5
	m.airOff = r.Float64() < 0.15
}

// damperLoss that lets a flow through, with a dP of the filters at design flow.
func (m *machine) damperLoss(x, filters, after float64) float64 {
	loss := (m.fan(x) - m.inlet*x*x - filters*math.Pow(x, m.exponent) - after*x) / (x * x)
	return max(loss, m.open)
}

// position of the damper that has this loss.
func (m *machine) position(loss float64) float64 { return math.Pow(m.open/loss, 1/m.blade) }

// fan is its static pressure at rated speed and site density.
func (m *machine) fan(x float64) float64 { return m.shutOff + m.bend*x - m.fall*x*x }

// shaftPower at rated speed and site density.
func (m *machine) shaftPower(x float64) float64 { return m.shaft * (m.idle + (1-m.idle)*x) }

// current the motor draws [A].
func (m *machine) current(shaft float64) float64 {
	return m.rated * (m.noLoad + (1-m.noLoad)*shaft/m.motor)
}
