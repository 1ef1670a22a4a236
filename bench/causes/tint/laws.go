package tint

import "math"

// takeLaw is how much a pulse takes off a row.
type takeLaw int

const (
	fixedShare  takeLaw = iota // a share of the cake, whatever the pressure once it is enough
	downToFloor                // most of what lies above a floor; the floor is higher with less pressure
	byPressure                 // a share that goes up with the header's pressure
)

// tankLaw is how the header comes back after a pulse.
type tankLaw int

const (
	exponential tankLaw = iota
	linear
	twoStage // quickly most of the way, slowly the rest
)

// loadLaw is how the fan's current follows its flow.
type loadLaw int

const (
	straight loadLaw = iota
	curved           // levels off at design flow
	flat
)

// strength is what a pulse of this header pressure is worth, 1 at the set pressure of the machine.
func (m *machine) strength(pressure float64) float64 {
	u := max(0, (pressure-m.needs)/(m.set-m.needs))
	switch m.takes {
	case fixedShare:
		return min(1, 2.2*u)
	case downToFloor:
		return min(1.1, math.Sqrt(u))
	default:
		return min(1.25, u)
	}
}

// taken is what a pulse of a strength takes off a cake.
func (m *machine) taken(cake, strength float64) float64 {
	if strength <= 0.02 {
		return 0
	}
	if m.takes == downToFloor {
		return min(1, 0.3+0.6*strength) * max(0, cake-m.keeps/(strength*strength)) * min(1, m.share+0.2)
	}
	return min(0.97, m.share*strength) * cake
}

// recovered is the header's pressure some seconds after it stood at low; supply is the share of the usual that refills it.
func (m *machine) recovered(low, target, seconds, supply float64) float64 {
	u := seconds * supply / m.tau
	switch m.tank {
	case linear:
		if low >= target {
			return target + (low-target)*math.Exp(-u)
		}
		return min(target, low+m.drops*u/3)
	case twoStage:
		return target - (target-low)*(0.85*math.Exp(-1.3*u)+0.15*math.Exp(-0.35*u))
	default:
		return target - (target-low)*math.Exp(-u)
	}
}

// fallen is what is left of a header's pressure when a valve opens a share of its way.
func (m *machine) fallen(before, lift float64) float64 {
	return max(0, before-m.drops*lift*(before+bar)/(m.set+bar))
}

// current is that of the fan.
func (m *machine) current(x, speed, density float64) float64 {
	g := x
	if m.load == curved {
		g = 1 - (1-min(x, 1.1))*(1-min(x, 1.1))
	}
	return m.amps * density / m.air * math.Pow(speed, 2.4) * (m.idle + (1-m.idle)*g)
}

// across is the dP of a resistance at a flow.
func (m *machine) across(resist, x float64) float64 {
	return resist * x * (m.straight + (1-m.straight)*x)
}

// wind is the flow through a resistance of the filters and one of the after-filter, in closed form.
func (m *machine) wind(h *hour, resist, after float64) float64 {
	rho, s := h.density/m.air, h.speed
	a := rho*(m.fan[2]+m.damping(h.open)+m.duct*h.duct/((1+h.gap)*(1+h.gap))) + resist*(1-m.straight)
	b := resist*m.straight + after - rho*m.fan[1]*s
	c := -rho * m.fan[0] * s * s
	return (-b + math.Sqrt(b*b-4*a*c)) / (2 * a)
}

// damping is the damper's loss at design flow in a position.
func (m *machine) damping(open float64) float64 { return m.damper * math.Pow(m.open/open, m.steep) }

// left is the pressure left at a flow for damper and ducts, with everything else as it usually is.
func (m *machine) left(x float64) float64 {
	return m.fan[0] + m.fan[1]*x - m.fan[2]*x*x - m.across(m.middle(), x) - m.after*x
}

// openFor is the damper position that brings a flow; fully open where it has to be.
func (m *machine) openFor(x float64) float64 {
	loss := m.left(x)/(x*x) - m.duct
	if loss <= m.damping(1) {
		return 1
	}
	return max(0.05, m.open*math.Pow(m.damper/loss, 1/m.steep))
}

// reach is how much more air a fully open damper brings.
func (m *machine) reach() float64 {
	h := hour{duct: 1, open: 1, speed: 1, density: m.air}
	return m.wind(&h, m.middle(), m.after) - 1
}

// ductFor is the multiple of the ducts' loss that leaves a flow.
func (m *machine) ductFor(x float64) float64 { return (m.left(x)/(x*x) - m.damper) / m.duct }

// speedFor is the share of the fan's speed that leaves a flow.
func (m *machine) speedFor(x float64) float64 {
	need := m.across(m.middle(), x) + m.after*x + (m.damper+m.duct+m.fan[2])*x*x
	b := m.fan[1] * x
	return (-b + math.Sqrt(b*b+4*m.fan[0]*need)) / (2 * m.fan[0])
}
