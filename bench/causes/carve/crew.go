package carve

import (
	"math"
	"math/rand/v2"

	"dustwright/judge"
)

// crew is the people around a machine, and what they do about what they see.
type crew struct {
	raises  bool    // clear an alarm by raising the set points
	opens   bool    // open the damper when the hoods catch badly
	presses bool    // clean by hand when the alarm stands
	fridays bool    // clean by hand at the end of the week
	empties float64 // level at which the bin is emptied
	late    float64 // share of their life at which filters are changed
	shared  bool    // the log's gauge is the controller's
	alarmed float64 // running time above the alarm [s]
	short   float64 // running time with bad flow [s]
	raised  int
	did     bool // the story's single deed
	last    int  // week of the last cleaning by hand
}

// newCrew draws them.
func newCrew(r *rand.Rand, s *story) crew {
	c := crew{raises: r.Float64() < 0.25, opens: r.Float64() < 0.25, presses: r.Float64() < 0.3, fridays: r.Float64() < 0.15,
		empties: between(r, 0.45, 0.68), late: between(r, 0.95, 1.3), shared: r.Float64() < 0.72, last: -1}
	c.fridays = c.fridays || s.name == "hand cleaning"
	return c
}

// look lets them act at a row.
func (c *crew) look(m *run, w moment) {
	if m.used > c.late && m.f.of(judge.FiltersBlinded, m.t) == 0 {
		m.cloth.fresh()
		m.used = 0
	}
	c.tell(m)
	if !w.on {
		return
	}
	week, hour := int(m.t/day/7), math.Mod(m.t, day)/3600
	if c.fridays && week != c.last && hour > 14 && hour < 15.5 && int(m.t/day)%7 == 4 {
		c.last = week
		m.left = 3 * m.p.rows
	}
	c.hear(m, w)
}

// tell is the story's deed, once.
func (c *crew) tell(m *run) {
	s := m.story
	if c.did || m.t < s.from {
		return
	}
	c.did = true
	switch s.name {
	case "new filters":
		m.cloth.fresh()
		m.used = 0
		mid := m.air.cloth
		m.air.cloth = 0.5 * (m.p.clean + m.p.low) / m.p.flow
		m.air.gates = m.air.sum
		m.air.settle(m.p.flow, m.rho)
		m.air.cloth = mid
	case "set points":
		k := 0.8 + 1.0*s.much
		m.low, m.high = m.low*k, m.high*k
	case "damper trimmed":
		gates := m.air.gates
		m.air.gates = m.air.sum
		m.air.settle(m.p.flow*(0.93+0.3*s.much), m.rho)
		m.air.gates = gates
	}
}

// hear is what they do about alarms and complaints.
func (c *crew) hear(m *run, w moment) {
	if m.see(m.dp) > m.p.alarm {
		c.alarmed += w.span
	} else {
		c.alarmed = max(0, c.alarmed-w.span)
	}
	if c.alarmed > 5*3600 {
		c.alarmed = 0
		switch {
		case c.raises && c.raised < 2:
			c.raised++
			m.low, m.high = 1.12*m.low, 1.12*m.high
		case c.presses:
			m.left = 2 * m.p.rows
		}
	}
	c.short = max(0, c.short+w.span*(2*b2f(m.flow > 0 && m.flow < 0.82*m.p.flow)-1))
	moved := m.f.target > 0
	if c.opens && !moved && c.short > 1.5*day && m.air.open < 0.95 {
		c.short = 0
		m.air.open = min(1, m.air.open+0.08)
	}
}
