package carve

import "math"

// fan is the static pressure at density 1.2 kg/m3, x over design flow [Pa].
func (p *plant) fan(x float64) float64 { return p.press * (p.k0 + p.k1*x - p.k2f*x*x) }

// work is the shaft power at the same [W].
func (p *plant) work(x float64) float64 { return p.shaft * (0.45 + 0.75*x - 0.2*x*x) }

// air is the state of the air's way: what is quadratic in the flow, what is linear, and the fan.
type air struct {
	p        *plant
	gates    float64 // conductance of the open hoods [m3/s/Pa^0.5]
	choke    float64 // main duct over its own resistance
	gap      float64 // conductance of openings before the filters [m3/s/Pa^0.5]
	cloth    float64 // filters [Pa s/m3]
	after    float64 // after-filter [Pa s/m3]
	open     float64 // damper
	stack    float64 // what blocks the outlet, over the open damper's loss
	speed    float64 // of the fan, over nominal
	foul     float64 // share of the pressure the fan still makes
	sum      float64 // conductance of all hoods
	friction float64 // of the whole inlet, without openings [Pa s2/m6]
}

// newAir is the way as commissioned.
func newAir(p *plant) *air {
	a := &air{p: p, choke: 1, open: 1, speed: 1, foul: 1}
	for _, g := range p.hoods {
		a.sum += g
	}
	a.gates = a.sum
	if p.after > 0 {
		a.after = p.after / p.flow
	}
	return a
}

// total is the flow through filters and fan at a density [m3/s]: fan pressure and losses are both
// quadratic, so it is the root of one equation.
func (a *air) total(rho float64) float64 {
	p, d := a.p, rho/1.2
	a.friction = p.mainR*a.choke + 1/(a.gates*a.gates)
	in := 1 / math.Sqrt(a.friction)
	in += a.gap
	square := 1/(in*in) + a.loss()
	s := a.speed
	f := p.press * a.foul * d
	// f (k0 s2 + k1 s x - k2 x2) = d square q2 + (cloth + after) q
	qa := f*p.k2f/(p.flow*p.flow) + d*square
	qb := a.cloth + a.after - f*p.k1*s/p.flow
	qc := f * p.k0 * s * s
	return (-qb + math.Sqrt(qb*qb+4*qa*qc)) / (2 * qa)
}

// loss is the resistance of damper and outlet [Pa s2/m6].
func (a *air) loss() float64 {
	p := a.p
	return p.damp / (p.flow * p.flow) * (math.Exp(p.curl*(1-a.open)) + a.stack)
}

// suck is the suction at the inlet at a total flow, and the flow through the hoods.
func (a *air) suck(q, rho float64) (pressure, hoods float64) {
	in := 1 / math.Sqrt(a.friction)
	share := in / (in + a.gap)
	return rho / 1.2 * a.friction * q * q * share * share, q * share
}

// power is what the motor takes from the mains, and its current.
func (a *air) power(q, rho float64) (watts, amps float64) {
	p := a.p
	x := q / p.flow / a.speed
	shaft := p.work(x) * a.speed * a.speed * a.speed * rho / 1.2 * (0.4 + 0.6*a.foul)
	watts = shaft/p.eff + 0.02*p.motor
	full := p.amps * p.phi
	idle := p.amps * math.Sqrt(1-p.phi*p.phi)
	return watts, math.Hypot(full*watts/(p.motor/p.eff*1.02), idle)
}

// settle turns the damper until a flow is reached, within its travel, and tells the opening.
func (a *air) settle(flow, rho float64) float64 {
	lo, hi := 0.08, 1.0
	for range 30 {
		a.open = (lo + hi) / 2
		if a.total(rho) < flow {
			lo = a.open
		} else {
			hi = a.open
		}
	}
	return a.open
}
