package outline

import (
	"math"
	"math/rand/v2"
)

// Bounds of what a bench holds.
const (
	mostRows = 12
	patches  = 5 // of a row, cleaned or left as luck has it
)

// damperKind is the characteristic of a damper blade.
type damperKind int

const (
	noDamper damperKind = iota
	equalPercent
	linearGate
)

// logic is the way a cleaning controller works.
type logic int

const (
	untilLow logic = 1 + iota // from high until low
	somePasses
	timer
	always
)

// machine is one collector as it was built and trimmed. SI throughout.
type machine struct {
	rows, perRow int
	design       float64 // airflow [m3/s]
	area         float64 // of a row's media [m2]
	elevation    float64
	process      float64 // warmth of the gas above the hall [K]

	fan     fan
	duct    duct
	media   media
	after   after
	tank    tank
	control control
	hold    float64 // inlet suction a frequency drive holds [Pa]
	aged    float64 // hours of full production the filters have seen when the log begins
	dust    dust
	bin     bin
}

// demand reports that it cleans when the dP asks for it.
func (l logic) demand() bool { return l == untilLow || l == somePasses }

// fan is a quadratic head and a quadratic shaft power over the flow in design flows, both at 1.2 kg/m3.
type fan struct {
	shut, rise, fall float64 // head = shut (1 + rise q - fall q^2)
	shaft            float64 // at design [W]
	w0, w1, w2       float64 // its parts by q
	speed            float64 // share of the file's speed as trimmed
	drive            bool    // a frequency drive holds the inlet's suction
	full, idle       float64 // full-load and magnetising current [A]
	volts, eff, pf   float64
	rated            float64 // motor [W]
}

// duct is lumped: loss = k Q^2 rho/1.2, with Q in design flows and k in Pa.
type duct struct {
	hoods, main, stack float64
	damper             damperKind
	open               float64 // as trimmed
	wide               float64 // the damper's k fully open
	span               float64 // its rangeability, for equal-percentage
	hoodsCount         int
}

// media is what the cartridges are made of and how their cake comes and goes.
type media struct {
	clean    float64 // drag of new media [Pa s/m]
	season   float64 // share added by seasoning
	soon     float64 // hours of full production that season it
	creep    float64 // share added in a thousand hours of full production
	inertial float64 // of all rows together: Pa at design flow
	cake     float64 // drag per kg/m2 at the reference pressure
	squeeze  float64 // exponent of compressibility
	grip     float64 // odds that a pulse cleans a patch
	takes    float64 // share of a patch's cake that a pulse takes
	back     float64 // share of it that returns with the fan on
}

// after is the after-filter: fitted or not.
type after struct {
	fitted  bool
	lin, sq float64 // Pa at design flow
	gain    float64 // [Pa at design flow] in thirty days of running with sound filters
}

// tank is the header with its valves and its supply.
type tank struct {
	volume, set   float64 // m3, Pa gauge
	drop          float64 // -ln of the share of absolute pressure left after a good pulse
	onTime        float64
	lag           float64 // refilling time constant [s]
	brings        float64 // most that the supply adds [Pa/s]
	regulated     bool
	valve         [mostRows]float64 // each valve's own share
	period, swing float64           // of the compressor's hysteresis [s], share of the set pressure
}

// control is the cleaning controller.
type control struct {
	logic     logic
	interval  float64 // as set
	pace      float64 // times that: no timer is exact
	passes    int
	low, high float64
	down      int  // passes after the fan stops
	fromOne   bool // a bout begins with the first valve in the order
	order     []int
	own       float64 // gain of its own gauge; 1 where it reads the logged one
	shared    bool    // it reads the gauge that is logged
}

// dust is what comes.
type dust struct {
	load   float64 // kg/m3 at full production
	coarse float64 // share that falls out before the filters
	bulk   float64 // kg/m3
	hourly float64 // kg/m2 laid on the filters in an hour of full production
	kinds  [3]struct{ load, cake float64 }
}

// bin is what the dust falls into.
type bin struct {
	volume float64
	angle  float64 // of the hopper's wall [deg]; flat ones hold dust back
	notice float64 // fill at which somebody empties it on the next round
}

func within(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }

func logWithin(r *rand.Rand, a, b float64) float64 { return a * math.Exp(r.Float64()*math.Log(b/a)) }

func pick[T any](r *rand.Rand, of ...T) T { return of[r.IntN(len(of))] }

// build draws a machine in proportions met in the trade; trim sets it.
func build(r *rand.Rand, by logic) *machine {
	m := &machine{rows: pick(r, 2, 3, 4, 4, 5, 6, 6, 7, 8, 8, 10, 12), perRow: pick(r, 1, 1, 1, 2, 2, 3, 4)}
	m.design = logWithin(r, 0.55, 8)
	face := within(r, 0.009, 0.021)
	m.area = m.design / face / float64(m.rows)
	m.elevation = 900 * r.Float64() * r.Float64()
	m.process = pick(r, 2, 5, 5, 8, 15, 25.0) * r.Float64()
	m.media = media{clean: within(r, 130, 210) / face, season: within(r, 0.5, 1.3), soon: within(r, 15, 90), creep: within(r, 0.03, 0.2), inertial: within(r, 15, 60),
		squeeze: within(r, 0, 0.45), grip: within(r, 0.8, 3), takes: within(r, 0.7, 0.95), back: within(r, 0.1, 0.45)}
	m.dust = dust{load: logWithin(r, 0.15e-3, 1.6e-3), coarse: within(r, 0.05, 0.5), bulk: within(r, 350, 1100)}
	m.dust.hourly = m.dust.load * (1 - m.dust.coarse) * face * hour
	m.media.cake = logWithin(r, 120, 2200) / m.dust.hourly / face // by the rise of the dP at design flow in an hour
	m.dust.kinds[0].load, m.dust.kinds[0].cake = 1, 1
	for i := 1; i < 3; i++ {
		m.dust.kinds[i].load, m.dust.kinds[i].cake = within(r, 0.7, 1.4), within(r, 0.8, 1.3)
	}
	if r.Float64() < 0.5 {
		m.after = after{fitted: true, lin: within(r, 120, 250), sq: within(r, 0, 60), gain: within(r, 30, 80)}
	}
	m.buildTank(r)
	m.buildControl(r, by)
	kg := m.dust.load * m.design * 3600 * 60 // in sixty hours of full production
	m.bin = bin{volume: max(0.05, kg*within(r, 1.5, 6)/m.dust.bulk), angle: within(r, 40, 70), notice: within(r, 0.45, 0.7)}
	m.buildAir(r)
	return m
}

func (m *machine) buildTank(r *rand.Rand) {
	t := &m.tank
	t.volume = 0.02 * m.design / 2 * within(r, 0.7, 2)
	t.set = pick(r, 55, 60, 60, 65, 75, 80, 90.0) * psi
	t.drop = -math.Log(1 - within(r, 0.1, 0.38))
	t.onTime = pick(r, 0.1, 0.1, 0.12, 0.15, 0.15, 0.2)
	t.regulated = r.Float64() < 0.8
	t.period, t.swing = within(r, 200, 1500), within(r, 0.005, 0.02)
	if !t.regulated {
		t.swing = within(r, 0.02, 0.06)
	}
	for i := range t.valve {
		t.valve[i] = 1 + 0.04*r.NormFloat64()
	}
}

func (m *machine) buildControl(r *rand.Rand, by logic) {
	c := &m.control
	c.interval = pick(r, 6, 8, 10, 10, 10, 12, 15, 20, 30.0)
	c.logic = by
	if c.logic == timer {
		c.interval = pick(r, 20, 30, 40, 60.0)
	}
	c.passes = 1 + r.IntN(4)
	c.fromOne = r.Float64() < 0.4
	c.down = pick(r, 0, 0, 0, 1, 2, 3, 5)
	c.pace = 1 + 0.012*r.NormFloat64()
	c.own, c.shared = 1, r.Float64() < 0.7
	if !c.shared {
		c.own = 1 + 0.04*r.NormFloat64()
	}
	c.order = make([]int, m.rows)
	for i := range c.order {
		c.order[i] = i
	}
	switch r.IntN(6) {
	case 0: // odd ones first
		c.order = c.order[:0]
		for s := range 2 {
			for i := s; i < m.rows; i += 2 {
				c.order = append(c.order, i)
			}
		}
	case 1: // from below
		for i := range c.order {
			c.order[i] = m.rows - 1 - i
		}
	}
	m.tank.lag = c.interval * within(r, 0.1, 0.28)
	fall := (m.tank.set + atmosphere) * (1 - math.Exp(-m.tank.drop))
	m.tank.brings = fall / c.interval * within(r, 1.5, 4)
}

// buildAir draws fan, ducts and damper around the flow.
func (m *machine) buildAir(r *rand.Rand) {
	d, f := &m.duct, &m.fan
	d.hoodsCount = 1 + r.IntN(6)
	d.hoods, d.main, d.stack = within(r, 250, 600), within(r, 150, 450), within(r, 40, 180)
	f.drive = r.Float64() < 0.15
	d.damper = pick(r, equalPercent, linearGate)
	d.wide = within(r, 15, 70)
	d.span = within(r, 12, 40)
	if f.drive && r.Float64() < 0.6 {
		d.damper, d.open, d.wide = noDamper, 1, 0
	}
	f.volts, f.eff, f.pf = pick(r, 400, 460, 460, 575, 480.0), within(r, 0.86, 0.94), within(r, 0.8, 0.9)
	f.rise = within(r, 0, 0.25)
	f.speed = 1
	if r.Float64() < 0.6 { // backward curved, does not overload
		f.w0, f.w2 = within(r, 0.35, 0.5), -within(r, 0.05, 0.2)
	} else {
		f.w0, f.w2 = within(r, 0.25, 0.35), within(r, 0, 0.2)
	}
	f.w1 = 1 - f.w0 - f.w2
}
