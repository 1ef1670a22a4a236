package rough

import (
	"math"
	"math/rand/v2"

	"dustwright/unit"
)

// plan is a machine as it was built and set.
type plan struct {
	flow, loading      float64 // design [m3/s]; dust per air at the inlet [kg/m3]
	clean, rest        float64 // dP of new and of seasoned filters just cleaned, at design flow [Pa]
	rows               []cloth
	cake, packing      float64 // drag of the loose layer [Pa s/m per kg/m2]; time to pack it at 1 kPa [s]
	back               float64 // share of what comes off that goes to the rows beside
	settle             float64 // share of the dust that drops before the filters
	creep, seasoning   float64
	shape              string
	fan, power         table // flow [m3/s] to pressure [Pa] and shaft power [W] at full speed
	motor, volts, full float64
	drive, speed       float64 // 1: a drive that holds the inlet suction; share of full speed
	hoods              []hood
	trunk, stack       float64 // [Pa/(m3/s)2]
	blade, opening     float64 // loss fully open; where the blade stands
	after, afterCreep  float64 // drag [Pa/(m3/s)], growth a day; 0: not fitted
	warm               float64 // air above the weather [K]
	inlet              float64 // suction at design [Pa]
	gates              string  // "open", "auto" or "hand"
	low, high          float64 // [Pa]
	mode               string  // "demand", "counted", "timed" or "continuous"
	count              int     // pulses of a counted cycle
	delay, interval    float64 // [s]
	order              []int   // valves in firing order, from 0
	restart            bool    // a cycle begins with the first valve
	downtime           int
	ownGauge           bool    // the controller does not read the logged gauge
	set, drop, fill    float64 // header [Pa]; share taken by a pulse; refill [sqrt(Pa)/s]
	droop              float64
	valves             []float64 // each valve's share of the usual drop
	net, band, period  float64   // the plant air: load point [Pa], band, minutes a cycle
	onTime             float64
	bin, bulk, empties float64 // [m3], [kg/m3], level at which people empty it
}

// hood is one branch with the machine it serves.
type hood struct {
	pull float64 // conductance [m3/s/sqrt(Pa)]
	dust float64 // share of the dust
	work float64 // mean time the machine works [s]
	rest float64 // and rests [s]
}

// newPlan draws a machine.
func newPlan(r *rand.Rand, quiet bool) *plan {
	in := float64(unit.InchWater)
	p := &plan{flow: spread(r, 0.6, 6), loading: spread(r, 2e-4, 1.2e-3), clean: between(r, 0.4, 0.85) * in}
	p.rest = p.clean + between(r, 0.5, 1.5)*in
	p.low = p.rest * between(r, 1.15, 1.4)
	p.high = p.low + between(r, 0.6, 1.9)*in
	p.packing, p.back, p.settle = spread(r, 4, 24)*hour, between(r, 0.1, 0.3), between(r, 0.1, 0.5)
	p.creep, p.seasoning = spread(r, 0.02, 0.25), between(r, 1, 6)*day
	p.shape = []string{"line", "sqrt", "late"}[r.IntN(3)]
	n := 2 + r.IntN(9)
	speed := between(r, 0.006, 0.014)
	area := p.flow / speed / float64(n)
	for range n {
		p.rows = append(p.rows, cloth{area: area, medium: p.clean / speed * between(r, 0.94, 1.06), share: between(r, 0.8, 1.25),
			seat: 0.85 * (p.rest - p.clean) / speed * between(r, 0.85, 1.15), grip: between(r, 0.93, 1.07)})
		p.valves = append(p.valves, 1+0.05*r.NormFloat64())
	}
	cycle := spread(r, 0.2, 6) * hour
	p.cake = (p.high - p.low) * area * float64(n) / (speed * p.flow * p.loading * (1 - p.settle) * cycle)
	p.airway(r, quiet)
	p.pulses(r, quiet)
	p.bulk = between(r, 350, 1100)
	p.bin = max(0.02, p.loading*p.flow*16*hour*spread(r, 3, 25)/p.bulk/0.6)
	p.empties = between(r, 0.5, 0.7)
	return p
}

// airway draws fan, ducts and damper.
func (p *plan) airway(r *rand.Rand, quiet bool) {
	in := float64(unit.InchWater)
	ducts := between(r, 2.2, 5) * in
	p.inlet = ducts
	trunk := between(r, 0.25, 0.5)
	p.trunk = ducts * trunk / p.flow / p.flow
	p.gates = []string{"open", "open", "auto", "hand"}[r.IntN(4)]
	n := 1 + r.IntN(5)
	total := p.flow / math.Sqrt(ducts*(1-trunk))
	if p.gates != "open" {
		total *= 1.12
	}
	sum := 0.0
	for range n {
		h := hood{pull: between(r, 0.5, 1.5), work: spread(r, 5, 90) * minute, rest: spread(r, 2, 30) * minute}
		if quiet {
			h.work, h.rest = 10*day, minute
		}
		sum += h.pull
		p.hoods = append(p.hoods, h)
	}
	for i := range p.hoods {
		h := &p.hoods[i]
		h.dust = h.pull / sum
		h.pull = h.pull / sum * total
	}
	if quiet {
		p.gates = "open"
	}
	after := 0.0
	if r.Float64() < 0.6 {
		after = between(r, 0.5, 1) * in
	}
	p.after, p.afterCreep = after/p.flow, between(r, 0.002, 0.01)*in/p.flow
	stack := between(r, 0.3, 0.7) * in
	p.opening = between(r, 0.38, 0.75)
	loss := between(r, 0.9, 2.5) * in
	p.stack, p.blade = stack/p.flow/p.flow, loss/p.flow/p.flow/math.Exp(blade.at(p.opening))
	p.warm, p.speed = between(r, 0, 12), 1
	if u := r.Float64(); u < 0.2 && !quiet {
		p.speed = between(r, 0.82, 0.97)
		if u < 0.07 {
			p.drive = 1
		}
	}
	head := ducts + (p.low+p.high)/2 + after + stack + loss
	fan, power, eta := backward, backwardPower, 0.7
	if r.Float64() < 0.4 {
		fan, power, eta = radial, radialPower, 0.6
	}
	watts := p.flow * head / eta
	for i := range fan {
		bump := 1 + 0.015*r.NormFloat64()
		p.fan = append(p.fan, [2]float64{fan[i][0] * p.flow / p.speed, fan[i][1] * head * bump / p.speed / p.speed})
	}
	for i := range power {
		p.power = append(p.power, [2]float64{power[i][0] * p.flow / p.speed, power[i][1] * watts / math.Pow(p.speed, 3)})
	}
	p.motor = watts / math.Pow(p.speed, 3) * between(r, 1.15, 1.5)
	p.volts = one(r, 230, 400, 460, 575)
	p.full = p.motor / (math.Sqrt(3) * p.volts * 0.91 * 0.86)
}

// pulses draws the header and the controller.
func (p *plan) pulses(r *rand.Rand, quiet bool) {
	psi := float64(unit.Psi)
	p.interval, p.delay = one(r, 8, 10, 10, 12, 15, 20, 30), between(r, 0, 40)
	p.count = len(p.rows) * (1 + r.IntN(2))
	p.mode = "demand"
	switch u := r.Float64(); {
	case quiet:
		p.interval = max(p.interval, 12)
	case u < 0.07:
		p.mode = "timed"
		p.interval = one(r, 60, 90, 120, 180)
	case u < 0.12:
		p.mode = "continuous"
		p.interval = one(r, 20, 30, 40)
	case u < 0.28:
		p.mode = "counted"
	}
	p.order = r.Perm(len(p.rows))
	if r.Float64() < 0.6 {
		for i := range p.order {
			p.order[i] = i
		}
	}
	p.restart, p.downtime, p.ownGauge = r.Float64() < 0.25, r.IntN(5), r.Float64() < 0.45
	p.set = one(r, 45, 60, 60, 70, 80, 90) * psi
	p.drop, p.droop = between(r, 0.12, 0.35), between(r, 0, 0.03)
	p.fill = 2 * math.Sqrt(p.drop*p.set) / (p.interval * between(r, 0.35, 0.8))
	p.fill = max(p.fill, 2*math.Sqrt(p.drop*p.set)/20)
	p.net, p.band, p.period = max(p.set*1.12, between(r, 85, 110)*psi), between(r, 0.08, 0.16), spread(r, 1.5, 12)*minute
	p.onTime = float64(80 + r.IntN(120))
}
