package ink

import "math"

// colebrook is the Darcy friction factor of sheet-metal duct by one step of the Colebrook-White equation from a guess
// (Colebrook 1939, from memory).
func colebrook(q, pipe, guess float64) float64 {
	re := 4 * max(q, 1e-6) / (math.Pi * pipe * 1.5e-5)
	y := -2 * math.Log10(sheet/3.7/pipe+2.51/re/math.Sqrt(guess))
	return 1 / y / y
}

// mainLoss is the pressure [Pa] the main duct takes, its losses grown by a factor.
func (p *plant) mainLoss(q, friction, grown, rho float64) float64 {
	v := 4 * q / math.Pi / p.pipe / p.pipe
	return (friction*p.length/p.pipe + p.ducts) * grown * rho * v * v / 2
}

// afterLoss is what the after-filter takes, with the drag it has.
func (m *machine) afterLoss(q float64) float64 {
	return m.after * q * (1 + m.p.afterRough*(q/m.p.flow-1))
}

// settle finds the flow at which the fan balances the network: hoods and main in series, what leaks in beside them, the
// patches of all filters, the after-filter, the damper. Turbulent parts go with the square, laminar ones straight, the fan
// is a parabola, so that the balance is one quadratic.
func (m *machine) settle() {
	p, e := m.p, &m.e
	if !m.runs {
		m.q, m.dp, m.suck, m.shaft, m.flowIn = 0, 0, 0, 0, 0
		return
	}
	m.friction = colebrook(max(m.flowIn, 0.1*p.flow), p.pipe, m.friction)
	thin := m.rho / p.rho
	r := p.mainLoss(1, m.friction, e.duct, m.rho) + thin/square(p.hoods*m.gates)
	pass := 1 / math.Sqrt(r) // m3/s at 1 Pa
	in := pass + e.leak*p.flow/math.Sqrt(p.suction)
	up := 1 / square(in)
	lam := m.viscous / m.conductance()
	blade := p.damper * (1 - math.Cos(math.Pi/2*min(1, max(0.03, m.opening()))))
	down := m.rho / 2 / square(blade)
	turb := m.after * p.afterRough / p.flow
	lin := lam + m.after*(1-p.afterRough)
	n := m.speed()
	switch p.drive {
	case driveSuction:
		q := in * math.Sqrt(p.suction*m.hold*e.hold)
		n = p.spin(q, lin*q+(up+down+turb)*q*q, m.rho*e.head)
	case driveFlow:
		q := p.flow * m.hold * e.hold
		n = p.spin(q, lin*q+(up+down+turb)*q*q, m.rho*e.head)
	}
	if p.drive >= driveSuction {
		n = min(1.04, max(0.4, n))
	}
	n *= e.turns
	k := p.head * m.rho / standardAir * e.head
	a := k*p.fan[2]/square(p.flow) + up + down + turb
	b := lin - k*p.fan[1]*n/p.flow
	m.q = (math.Sqrt(b*b+4*a*k*p.fan[0]*n*n) - b) / 2 / a
	m.dp = lam * m.q
	m.suck = up * m.q * m.q
	m.flowIn = pass * math.Sqrt(m.suck)
	m.shaft = p.takes(m.q, n, m.rho) * e.power
	m.turn = n
}

func square(x float64) float64 { return x * x }

// speed is what the fan is set to; a belt slips by some per cent.
func (m *machine) speed() float64 {
	if m.p.drive == driveFixed {
		return min(1.05, m.p.speed*m.hold*m.e.hold)
	}
	return 1
}

// opening is where the damper's blade stands.
func (m *machine) opening() float64 { return m.open * m.e.blade }
