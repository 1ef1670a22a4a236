package rehearse

import (
	"math"

	"dustwright/filter"
	"dustwright/unit"
)

const (
	longestStep = 600.0 // s between two looks at the air side
	steepest    = 0.03  // share by which the filters' dP may grow in a step
)

// refresh works out the air side for the machine as it is.
func (s *sim) refresh() {
	s.now = s.look(s.bank.Conductance())
	s.now.gauge = s.line.see(s.t, s.now.dp, &s.fx)
}

// look is the air side at a conductance of the filters.
func (s *sim) look(conductance float64) point {
	p := point{xf: s.design / conductance}
	xa := 0.0
	if s.after.Half > 0 {
		xa = float64(s.after.DP(unit.Flow(s.design)))
	}
	p.x = (p.xf + xa) * s.weather.mu / s.weather.rho
	if !s.running || s.way == nil {
		return p
	}
	p.q = s.way.at(p.x)
	share := p.q / s.design * s.weather.mu
	p.dp, p.after = p.xf*share, xa*share
	return p
}

// advance goes to a time, or to the moment at which the dP at the gauge reaches the controller's high set point.
func (s *sim) advance(to float64) error {
	for s.t < to {
		before := s.now
		from := s.t
		if !s.running {
			s.t = to
			s.now.gauge = s.line.see(s.t, 0, &s.fx)
			if err := s.log.between(from, before); err != nil {
				return err
			}
			continue
		}
		hit, err := s.step(min(to-s.t, s.stepLimit()))
		if err != nil {
			return err
		}
		s.book.step(s, s.t-from, &before)
		if err := s.log.between(from, before); err != nil {
			return err
		}
		if hit {
			return nil
		}
	}
	return nil
}

// stepLimit keeps the filters' growth in one step small.
func (s *sim) stepLimit() float64 {
	area := float64(s.bank.Area())
	growth := s.design * float64(s.bank.Law.K2) / (area * area) * s.dust(s.now.q) // of xf [Pa/s]
	if growth <= 0 {
		return longestStep
	}
	return min(longestStep, steepest*s.now.xf/growth)
}

// dust is the mass of dust that reaches the filters at a flow [kg/s].
func (s *sim) dust(q float64) float64 {
	return s.loading * s.fx.feed * q * s.way.hoods
}

// step goes h seconds on with the fan running; hit says that it stopped earlier, where the gauge reaches the high set point.
func (s *sim) step(h float64) (hit bool, err error) {
	waits := s.waits()
	gauge := s.line
	if waits {
		copy(s.saved, s.bank.Rows)
	}
	start, after, before := s.t, s.after.Dust, s.now
	m, through, err := s.bring(h)
	if err != nil {
		return false, err
	}
	goal := s.high * (1 + 1e-9)
	for n := 0; waits && before.gauge < s.high && s.now.gauge > goal*(1+1e-7) && n < 4; n++ {
		// too far: the gauge runs nearly straight in time
		h *= max(1e-3, (goal-before.gauge)/(s.now.gauge-before.gauge))
		copy(s.bank.Rows, s.saved)
		s.t, s.after.Dust, s.now, s.line = start, after, before, gauge
		if m, through, err = s.bring(h); err != nil {
			return false, err
		}
	}
	s.book.dustIn += m
	s.book.day.dust += m
	s.book.dustOut += through
	return waits && s.now.gauge >= s.high, nil
}

// waits reports whether the controller waits for the dP to rise to its high set point.
func (s *sim) waits() bool {
	return s.ctl != nil && !s.cleaning && s.fx.silent < 1 && s.high > 0
}

// bring integrates dust and air over h seconds and returns the dust that came and what of it passed the filters [kg]. The
// flow hardly moves in a step: dm/dt = r0 + r' m with r' from the slopes of fan and filters, whose solution is taken
// to second order; how the rows share the dust is exact.
func (s *sim) bring(h float64) (m, through float64, err error) {
	r0 := s.dust(s.now.q)
	m = r0 * h
	if m > 0 {
		g, slope := s.bank.Rise()
		dx := -s.design * slope / (g * g) * s.weather.mu / s.weather.rho // of x per dust [Pa/kg]
		rh := s.dust(s.way.slope(s.now.x)) * dx * h
		m *= 1 + rh/2 + rh*rh/6
		through = s.passed(m)
		if err := s.bank.Load(unit.Mass(m - through)); err != nil {
			return 0, 0, err
		}
		s.after.Dust += unit.Mass(through)
	}
	s.t += h
	s.refresh()
	return m, through, nil
}

// passed is the part of the dust that goes through the filters [kg].
func (s *sim) passed(m float64) float64 {
	p := float64(s.ph.Penetration)
	if r := s.fx.leakRow; r >= 0 {
		row := &s.bank.Rows[r]
		share := float64(row.Area) / float64(row.Drag(s.bank.Law.K2)) / s.bank.Conductance()
		p += s.fx.leak * share * s.gap(r)
	}
	return m * min(p, 1)
}

// gap is how open a hole is: dust bridges it and a pulse clears it again. Common practice, no source.
func (s *sim) gap(row int) float64 {
	const bridges = 45.0 // s
	return 0.3 + 1.7*math.Exp(-(s.t-s.pulsedAt[row])/bridges)
}

// fire pulses valve v (0 is the first).
func (s *sim) fire(v int) error {
	misses := s.fx.miss[v] >= 1 || s.fx.miss[v] > 0 && s.dice.Float64() < s.fx.miss[v]
	sound := s.air.valves[v]
	if misses {
		s.air.valves[v].C = 0
	}
	strength := s.strength(v)
	if misses {
		strength = 0
	}
	p, supplied, leaked := s.air.fire(v, s.t)
	s.air.valves[v] = sound
	s.pulsedAt[v] = s.t
	stroke := filter.Stroke{Header: p.Before, Strength: strength, Online: s.running}
	gone, err := s.bank.Pulse(v, stroke)
	if err != nil {
		return err
	}
	s.drop(float64(gone.Fallen))
	s.book.pulse(s, &p, supplied, leaked)
	s.log.fired(v, float64(p.Low))
	s.refresh()
	return nil
}

// drop lets dust fall into the bin; an overfull one gives some of it back, most to the lowest rows.
func (s *sim) drop(m float64) {
	back := m * s.fx.binBack
	if back > 0 && s.running {
		n := len(s.bank.Rows)
		sum := float64(n*(n+1)) / 2
		for i := range s.bank.Rows {
			r := &s.bank.Rows[i]
			r.Cake += filter.Areal(back * float64(i+1) / sum / float64(r.Area))
		}
		m -= back
	}
	s.binMass += m
	s.book.dustBin += m
}
