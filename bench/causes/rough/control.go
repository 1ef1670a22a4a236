package rough

import "math"

// control is the cleaning controller's memory.
type control struct {
	cleans bool
	over   float64 // since when the dP is too high [s], 0: it is not
	next   float64 // earliest next pulse [s]
	at     int     // place in the firing order
	left   int     // pulses to go in a counted cycle, or after the fan stopped
}

// timed reports that the controller does not look at the dP.
func (p *plan) timed() bool { return p.mode == "timed" || p.mode == "continuous" }

// decide looks at the dP and starts or ends a cycle.
func (s *scene) decide() {
	p, k, c := s.plan, &s.knob, &s.ctl
	if p.timed() {
		c.cleans = s.on || c.left > 0
		return
	}
	if !s.on {
		c.cleans = c.left > 0
		return
	}
	dp := s.shown
	if p.ownGauge {
		dp = s.air.dp
	}
	switch {
	case !c.cleans && dp < p.high*k.high:
		c.over = 0
	case !c.cleans && c.over == 0:
		c.over = s.t
		fallthrough
	case !c.cleans && s.t-c.over >= p.delay:
		if s.t-c.over < p.delay {
			return
		}
		c.cleans, c.left = true, p.count
		if p.restart {
			c.at = 0
		}
		c.next = max(c.next, s.t)
	case c.cleans && p.mode == "demand" && dp <= p.low*k.low, c.cleans && p.mode == "counted" && c.left <= 0:
		c.cleans, c.over = false, 0
	}
}

// pulse fires the next valve.
func (s *scene) pulse() {
	p, k, c := s.plan, &s.knob, &s.ctl
	c.next = s.t + p.interval
	c.left--
	v := p.order[c.at%len(p.order)]
	c.at = (c.at + 1) % len(p.order)
	if k.mute {
		return
	}
	drop, grip := p.valves[v], 1.0
	if v == s.trouble.number-1 {
		drop *= k.valveDrop
		grip = k.valveGrip
	}
	s.count(v)
	if k.dry {
		return
	}
	s.fired[v] = s.t
	took := bounded(p.drop*drop, 0, 0.9) * s.header
	energy := math.Pow(s.header/p.set, 1.2) * grip
	s.header -= took
	s.lowest = min(s.lowest, s.header)
	fell := s.shake(v, energy, s.r)
	s.bin += fell
	if s.on {
		s.spike += 1 + fell
		if v == s.trouble.number-1 {
			s.spike += 40 * (k.puff + 0.3*k.hole)
		}
	}
}

// refill brings plant net and header forward by dt. The orifice between lets the root of the missing pressure
// shrink evenly; a bleed leaves a remainder.
func (s *scene) refill(dt float64) {
	p, k := s.plan, &s.knob
	s.phase += dt / p.period * (0.8 + 0.4*s.r.Float64())
	saw := math.Abs(2*(s.phase-math.Floor(s.phase)) - 1)
	s.sag += -s.sag*min(1, dt/900) + 0.012*math.Sqrt(min(dt, 300)/60)*s.r.NormFloat64()
	net := p.net * k.net * (1 - p.band*saw) * (1 - math.Abs(s.sag))
	droop := 0.0
	if s.ctl.cleans {
		droop = p.droop
	}
	aim := min(p.set*k.set*(1-droop), net*0.98)
	fill := p.fill * k.fill
	if k.bleed > 0 { // fill sqrt(aim-h) = bleed h/sqrt(set)
		b := k.bleed * k.bleed / p.set / fill / fill
		aim = (math.Sqrt(1+4*b*aim) - 1) / (2 * b)
	}
	if s.header >= aim {
		s.header += (aim - s.header) * min(1, dt/120)
		if k.bleed > 0 || k.set < 1 && s.ctl.cleans {
			s.header += (aim - s.header) * min(1, dt/15)
		}
		return
	}
	root := max(0, math.Sqrt(aim-s.header)-fill*dt/2)
	s.header = aim - root*root
}

// share is how much the others draw from the plant net at this hour.
func (s *scene) share() float64 {
	if h := math.Mod(s.t, day) / hour; h > 6 && h < 18 {
		return 1
	}
	return 0.75
}
