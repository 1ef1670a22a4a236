package wash

import (
	"math"

	"dustwright/bench/causes/made"
)

// fan is a wheel by Euler's line less what the blades lose by incidence and friction, in shares of design flow and of
// full speed; the similarity laws do the rest (from memory of any book on turbomachines).
type fan struct {
	euler        float64 // head of no flow [Pa]
	lean         float64 // by which share it falls up to design flow
	shock, meets float64 // incidence, and the flow that meets the blades
	rub          float64
	shaft        float64 // at design flow and speed [W]
	disk         float64 // share of it that no flow takes
	amps, magnet float64 // of the motor at that, and idle [A]
	motor        float64 // rated [W]
	eta          float64
	belt         bool
}

func newFan(d made.Dice, need float64, p *plant) fan {
	f := fan{lean: made.OneOf(d, d.Between(0.05, 0.2), d.Between(0.3, 0.45)), shock: d.Between(0.05, 0.25), meets: d.Between(0.75, 1),
		rub: d.Between(0.05, 0.16), disk: d.Between(0.12, 0.3), eta: d.Between(0.86, 0.94), belt: d.Chance(0.6)}
	f.euler = 1
	f.euler = need / f.head(1, 1)
	f.shaft = need * p.flow / d.Between(0.55, 0.72)
	f.motor = f.shaft * d.Between(1.12, 1.5)
	f.amps = f.shaft / (math.Sqrt(3) * 430 * 0.84 * f.eta)
	f.magnet = f.amps * d.Between(0.3, 0.5)
	return f
}

// head is what the wheel gives at a flow and a speed in air of design density [Pa].
func (f *fan) head(x, n float64) float64 {
	return f.euler * (n*(n-f.lean*x) - f.shock*sq(x-f.meets*n) - f.rub*x*x)
}

// power is what it takes at the shaft [W].
func (f *fan) power(x, n float64) float64 {
	y := min(x/n, 1/(2*f.lean+0.01))
	return f.shaft * n * n * n * (f.disk + (1-f.disk)*y*(1-f.lean*y)/(1-f.lean))
}

// current is what a clamp on a phase shows [A].
func (f *fan) current(watts float64) float64 { return math.Hypot(f.magnet, f.amps*watts/f.shaft) }

// blow finds where fan and losses meet, and leaves what the air does: flow as a share of design, speed, suction, current.
func (m *machine) blow(e *effect) {
	p := m.p
	if !m.on {
		m.x, m.watts, m.amps, m.suction, m.dp, m.afterDP = 0, 0, 0, 0, 0, 0
		return
	}
	n := 1.0
	if p.drive.fitted {
		n = m.speed
	}
	n *= e.speed * m.belt
	thick := m.density / p.air
	m.settleFlow(e, n, thick)
	ducts := m.ducts(e)
	m.suction = thick * ducts * m.x * m.x
	m.dp = m.x*p.flow/m.bank.lets*m.stretch + thick*p.can*m.x*m.x
	m.afterDP = p.after * m.clog * m.x
	m.watts = p.fan.power(m.x, n) * thick * e.draw
	m.amps = p.fan.current(m.watts)
	if p.drive.fitted {
		m.watts *= 1.03
	}
	if p.drive.fitted && m.watts > 1.12*p.fan.motor { // it lets the motor have no more
		m.speed *= 0.97
	} else if p.drive.fitted && p.drive.holds { // the loop creeps to its set suction
		want := p.duct * m.hold * sq(e.ask)
		m.speed = min(1.08, max(0.4, m.speed*(1+0.15*(want-m.suction)/want)))
	}
}

// ducts is the loss of all ways in at design flow: hoods and duct, and beside them whatever is open [Pa].
func (m *machine) ducts(e *effect) float64 {
	own := 1 / math.Sqrt(m.p.duct*m.silt*e.duct)
	return 1 / sq(own+e.leak/math.Sqrt(m.p.duct))
}

// blade is the damper's loss at design flow [Pa].
func (m *machine) blade(e *effect) float64 {
	open := min(1, max(0.03, m.open*e.damper))
	return m.p.open0 * math.Pow(10, m.p.bladeBy*(1-open))
}

// settleFlow is Newton's way to the flow, from where it was.
func (m *machine) settleFlow(e *effect, n, thick float64) {
	p := m.p
	square := thick * (m.ducts(e) + m.blade(e) + p.can)
	plain := p.flow/m.bank.lets*m.stretch + p.after*m.clog
	x := max(m.x, 0.3)
	for range 5 {
		f := e.head*thick*p.fan.head(x, n) - square*x*x - plain*x
		slope := e.head*thick*p.fan.euler*(-n*p.fan.lean-2*p.fan.shock*(x-p.fan.meets*n)-2*p.fan.rub*x) - 2*square*x - plain
		if slope > -1 {
			slope = -1 - plain
		}
		step := f / slope
		x = min(2, max(0.02, x-step))
		if math.Abs(step) < 1e-4 {
			break
		}
	}
	m.x = x
}
