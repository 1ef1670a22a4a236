package quill

import "math"

// row is what lies on one row of filters.
type row struct {
	fast float64 // cake on the media, which pulses take off [kg/m2]
	slow float64 // resistance grown into the media, which they don't [of new media]
	bare float64 // how far cake is off a hole, 1 just after a pulse
}

// drag returns a row's resistance [Pa s/m], with its cake so wet and so much of its media closed.
func (g *rig) drag(w *row, wet, closed float64) float64 {
	return g.media*(1+w.slow)/(1-closed) + g.cake*w.fast*(1+0.8*wet*wet)
}

// catch lays dust [kg/m2] on a row. A part works its way into the media, less and less as they season.
func (g *rig) catch(w *row, dust, perDay float64) {
	w.fast += dust
	w.slow += dust / perDay * (0.5*math.Exp(-3*w.slow/g.season) + g.fines/100)
}

// stream is what the mesh carries.
type stream struct {
	fan, hoods            float64 // [m3/s]
	inlet, filters, after float64 // suction at the inlet, pressure across filters and after-filter [Pa]
}

// flows solves the mesh of fan, ducts, rows, after-filter and damper. All its resistances are plain or square, and so is
// the source: the current has a closed form.
func (m *machine) flows() stream {
	k, thick, duct := &m.k, m.air/m.density, m.duct*(1+m.k.plug)
	open := 1/math.Sqrt(duct) + k.hatch/math.Sqrt(m.duct)
	through := 0.0
	for i := range m.cloth {
		m.share[i] = m.area / m.drag(&m.cloth[i], m.wet, k.closed)
		through += m.share[i]
	}
	for i := range m.share {
		m.share[i] /= through
	}
	square := thick * (1/(open*open) + m.gate*math.Exp(m.turn*(1-m.opening())) + k.stack*m.duct + m.lift*(1+m.hump)/(m.reach*m.reach))
	plain := 1/through + m.safety - thick*m.lift*m.hump*m.speed/m.reach
	source := thick * m.lift * m.speed * m.speed * (1 - k.foul)
	q := (math.Sqrt(plain*plain+4*square*source) - plain) / (2 * square)
	return stream{fan: q, hoods: q / math.Sqrt(duct) / open, inlet: thick * q * q / (open * open), filters: q / through, after: m.safety * q}
}

// opening is where the damper stands.
func (m *machine) opening() float64 { return min(1, max(0.05, m.open+m.k.gate)) }

// trim turns the damper until the flow is so much [m3/s], as far as it goes.
func (m *machine) trim(want float64) {
	c := *m
	c.speed, c.air = 1, m.density
	lo, hi := 0.12, 1.0
	for range 30 {
		c.open = (lo + hi) / 2
		over := c.flows().fan > want
		lo, hi = either(over, lo, c.open), either(over, c.open, hi)
	}
	m.open = c.open
}

// pulse fires a valve of the header into its row, the first being 0, and returns how strong it was: 1 for a sound valve
// and a header at its set pressure.
func (m *machine) pulse(v int) float64 {
	width, through := m.onTime+m.lag, 1.0
	if v+1 == m.k.valve {
		if m.luck.Float64() < m.k.miss {
			through = 0.03 // the pilot's own vent
		}
		width *= 1 - m.k.short
		through *= (1 - m.k.tear) * (1 - 0.8*m.k.bleed)
		m.hung = m.k.hang
	}
	was := m.header
	m.header = max(0, (was+atmosphere)*math.Exp(-m.valve*through*width/m.tank)-atmosphere)
	m.lowest = min(m.lowest, m.header)
	return max(0, was) / m.set * through * width / (m.onTime + m.lag)
}

// fill lets the supply refill the header for so long [s]. Header and supply are a capacitor behind a resistance, and a
// valve that leaks is another one to ground.
func (m *machine) fill(h float64) {
	source := min(m.set*(1-m.k.regulator), m.bottle)
	feed, leak := m.feed/(1+m.k.choke), m.weep+m.k.bleed*0.3*m.valve
	step := func(h, leak float64) {
		rest, was := source*feed/(feed+leak), m.header
		m.header = rest + (was-rest)*math.Exp(-h*(feed+leak)/m.tank)
		m.lowest = min(m.lowest, m.header)
		m.drain += max(0, m.tank*(m.header-was)+leak*h*(m.header+was)/2)
	}
	hung := min(h, m.hung) // a valve has stayed open since its pulse
	step(hung, leak+0.3*m.valve)
	step(h-hung, leak)
	m.hung -= hung
}

// compress runs the receiver for so long [s]: a compressor that brings air between two pressures, the header, and others
// who take air, all of them or only the leaks of the night.
func (m *machine) compress(h float64) {
	others, brings := either(m.working, m.others, 0.05), either(m.night && !m.working, 0, m.make*(1-m.k.tired))
	out := m.drain/h + others*m.make*min(1, m.bottle/m.load) // who takes air gets less of it when it is thin
	m.drain = 0
	for h > 0 {
		rate, limit := -out/m.receiver, m.load
		if m.loaded {
			rate, limit = rate+brings/m.receiver, m.unload
		}
		until := (limit - m.bottle) / rate
		if until < 0 || until >= h || rate == 0 {
			m.bottle += rate * h
			break
		}
		m.bottle, m.loaded = limit, !m.loaded
		h -= max(until, 0.5)
	}
	m.bottle, m.loaded = max(0, m.bottle), m.loaded || m.bottle < m.load
}
