package ink

import "math"

// patch is a part of a cartridge's media on which the cake is of one age. Its drag R = base + K w grows by
// R dR = K c dp dt, so that R squared and the dose of all dust that came, 2 K c dp dt, grow alike: a patch keeps what its
// square lacks of the dose, and needs no look until it is pulsed.
type patch struct {
	offset float64 // R squared less the dose
	base   float64 // drag without cake
}

// drag is the patch's drag now [Pa s/m].
func (m *machine) drag(i int) float64 { return math.Sqrt(max(m.patch[i].offset+m.dose, 1)) }

// lay sets a patch's drag.
func (m *machine) lay(i int, drag float64) { m.patch[i].offset = drag*drag - m.dose }

// rowArea is the media of a patch [m2].
func (p *plant) patchArea() float64 { return p.area / float64(len(p.reach)) }

// lookAt works out a row's conductance and how it falls with the dose.
func (m *machine) lookAt(row int) {
	a := m.p.patchArea() * m.e.row[row]
	g, h := 0.0, 0.0
	for j := range m.p.patches {
		s := max(m.patch[row*m.p.patches+j].offset+m.dose, 1)
		r := 1 / math.Sqrt(s)
		g += a * r
		h += a * r / s / 2
	}
	m.rowG[row], m.rowH[row], m.rowDose[row] = g, h, m.dose
}

// conductance is that of all filters [m3/s/Pa at the usual viscosity].
func (m *machine) conductance() float64 {
	sum, falls := 0.0, 0.0
	for i := range m.rowG {
		less := m.rowH[i] * (m.dose - m.rowDose[i])
		if less > 0.02*m.rowG[i] || m.stale {
			m.lookAt(i)
			less = 0
		}
		sum += m.rowG[i] - less
		falls += m.rowH[i]
	}
	m.stale, m.falling = false, falls
	return sum
}

// cakeMass is what lies on all filters [kg].
func (m *machine) cakeMass() float64 {
	sum := 0.0
	for i := range m.patch {
		sum += (m.drag(i) - m.patch[i].base) / m.k * m.p.patchArea()
	}
	return sum
}

// thicken changes the specific resistance of dust and of the cake that lies.
func (m *machine) thicken(k float64) {
	by := k / m.k
	if math.Abs(by-1) < 0.015 {
		return
	}
	for i := range m.patch {
		m.lay(i, m.patch[i].base+by*(m.drag(i)-m.patch[i].base))
	}
	m.k, m.stale = k, true
}

// deposit lays dust [kg] on all patches as the air takes it, by their conductance in the middle of it.
func (m *machine) deposit(kg float64) {
	g := m.conductance()
	dose := 2 * m.k * kg / g
	m.dose += 2 * m.k * kg / max(0.5*g, g-m.falling*dose/2)
}

// shed lets a row's patches go, each wholly or not at all, the sooner the thicker its cake, by a pulse of an intensity (1 is
// a sound one with the header at its set pressure), and returns what comes off [kg].
func (m *machine) shed(row int, jet float64) float64 {
	p, off := m.p, 0.0
	for j := range p.patches {
		i := row*p.patches + j
		r, c := m.drag(i), &m.patch[i]
		x := jet * p.reach[i] / m.e.grip * (0.25 + (r-c.base)/p.span/m.swell())
		if m.d.Float64() > 1-math.Exp(-p.lets*x*x) {
			continue
		}
		left := 0.04 + 0.1*m.d.Float64()
		off += (1 - left) * (r - c.base) / m.k * p.patchArea()
		cake := left * (r - c.base)
		c.base += 0.012*(p.clean+m.old*p.seasoned-c.base)*boolean(c.base < p.clean+m.old*p.seasoned) + 2e-6*p.clean
		m.lay(i, c.base+cake)
	}
	m.lookAt(row)
	return off
}

// slough lets a part of what is thickest fall by its own weight, as the fan stops and nothing holds it any more.
func (m *machine) slough() {
	for i := range m.patch {
		more := m.drag(i) - m.patch[i].base
		if more < 1.5*m.p.span*m.swell() || !m.d.Chance(0.4/m.e.grip) {
			continue
		}
		part := m.d.Between(0.3, 0.8)
		m.intoBin(part * more / m.k * m.p.patchArea())
		m.lay(i, m.patch[i].base+(1-part)*more)
	}
	m.stale = true
}

// swell is by how much a damp cake has more drag than the same cake dry: it holds no looser for that.
func (m *machine) swell() float64 { return m.k / m.p.cakeK / m.fine }

func boolean(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// blind moves the drag without cake of all patches to a multiple of what it was.
func (m *machine) blind(by float64) {
	f := by / m.blinded
	if math.Abs(f-1) < 0.003 {
		return
	}
	for i := range m.patch {
		c := &m.patch[i]
		r := m.drag(i)
		more := c.base * (f - 1)
		c.base += more
		m.lay(i, r+more)
	}
	m.blinded, m.stale = by, true
}

// renew puts new filters in.
func (m *machine) renew() {
	for i := range m.patch {
		m.patch[i].base = m.p.clean
		m.lay(i, m.p.clean)
	}
	m.blinded, m.stale = 1, true
}
