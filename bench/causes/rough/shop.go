package rough

import (
	"math"
	"math/rand/v2"
)

// machine is the state of one machine served, and of its hood's gate.
type machine struct {
	works, gate bool
	until       float64
	product     float64 // factor on its dust, by the day or the week
	nextProduct float64
	burst       float64
}

// produce brings the machines to the present and returns the dust they give [kg/s].
func (s *scene) produce() float64 {
	p, k, r := s.plan, &s.knob, s.r
	sum, duty := 0.0, 0.0
	for i := range p.hoods {
		h, m := &p.hoods[i], &s.shop[i]
		if s.t >= m.until {
			m.works = !m.works
			mean := h.rest
			if m.works {
				mean = h.work
			}
			m.until = s.t + mean*(0.3+0.7*r.ExpFloat64())
			m.burst = 1
			if m.works && r.Float64() < 0.06 {
				m.burst = 1 + 2*r.Float64()
			}
			switch {
			case p.gates == "auto":
				m.gate = m.works || r.Float64() < 0.3
			case p.gates == "hand" && r.Float64() < 0.1:
				m.gate = r.Float64() < 0.8
			}
		}
		if s.t >= m.nextProduct {
			m.product, m.nextProduct = math.Exp(0.18*r.NormFloat64()), s.t+one(r, 1, 1, 5, 7)*day
			if s.quiet {
				m.product = 1
			}
		}
		if i == 0 {
			m.gate = m.gate || p.gates != "hand"
		}
		duty += h.dust * h.work / (h.work + h.rest)
		if m.works && !(k.shut && i == len(p.hoods)-1) {
			f := m.product * m.burst
			if i == 0 {
				f *= k.first
			}
			sum += h.dust * f
		}
		if k.shut && i == len(p.hoods)-1 && i > 0 {
			m.gate = false
		}
	}
	open := false
	for i := range s.shop {
		open = open || s.shop[i].gate
	}
	if !open {
		s.shop[0].gate = true
	}
	return p.loading * p.flow * sum / duty * k.dust
}

// tale is what happens without anything being wrong.
type tale struct {
	kind     string
	at, till float64 // [s]
	x        float64 // how much, -1 to 1
}

// quietTale is the tale of a log in which nothing happens.
const quietTale = "quiet"

// newTale draws a tale.
func newTale(r *rand.Rand, c *calendar, p *plan) tale {
	kinds := []string{quietTale, quietTale, "heavy week", "new filters", "set points", "damper trimmed", "damp front", "drift", "gap", "compressor service", "bin emptied"}
	if len(p.hoods) > 2 {
		kinds = append(kinds, "branch closed off", "branch added")
	}
	at := c.end * between(r, 0.35, 0.96)
	t := tale{kinds[r.IntN(len(kinds))], at, at + between(r, 3, 9)*day, 2*r.Float64() - 1}
	if c.extra > 0 && t.kind == quietTale {
		t.kind = "longer shifts"
	}
	if t.kind == "compressor service" {
		t.till = at + between(r, 0.2, 1.5)*day
	}
	return t
}

// turn sets the knobs as the tale has them.
func (e tale) turn(s *scene) {
	during := s.t >= e.at && s.t < e.till
	since := s.t >= e.at
	k := &s.knob
	switch {
	case e.kind == "heavy week" && during:
		k.dust *= 1.35 + 0.2*e.x
	case e.kind == "set points" && since:
		k.low *= 1 + 0.1*e.x
		k.high *= 1 + 0.16*e.x
	case e.kind == "damper trimmed" && since:
		k.trim *= 1 + 0.1*e.x
	case e.kind == "damp front" && during:
		k.wet += 0.2
		k.stick += 0.05
		k.resist *= 1.12
	case e.kind == "compressor service" && during:
		k.net *= 0.86 + 0.08*e.x
	case e.kind == "branch closed off":
		k.shut = since
	case e.kind == "branch added":
		k.shut = !since
	}
}

// renew hangs new filters.
func (s *scene) renew() {
	for i := range s.rows {
		c := &s.rows[i]
		s.thrown += c.area * (c.loose + c.packed + c.held)
		c.loose, c.packed, c.held = 0, 0, 0
	}
	s.worn = 0
}
