package wear

import (
	"math"

	"dustwright/bench/causes/made"
)

// set is one set of filters.
type set struct {
	kind  string
	from  float64 // [s] since the record began
	life  float64 // meant [s]
	used  float64 // share of the dust that the life is meant for
	media float64 // with its seasoning still to come [Pa]
	span  float64 // by which the residual dP is meant to grow until the limit [Pa]
	jumps float64 // gained in steps so far, shares of span
	damp  float64 // swelling in humid spells, which goes again [Pa]
	bend  float64 // of its course
	start float64 // share of a late course that is gained steadily
	turn  float64 // share of the life at which another dust comes
	other struct{ ageing, rise, cling float64 }
	bad   []spell
	mood  float64 // how this week ages against the usual one
}

// spell is a bad week or a humid spell.
type spell struct {
	from, to float64 // [s] since the filters are new
	gain     float64 // share of span, for good
	swell    float64 // share of span, that goes again within days
}

// newSet draws a set of filters of a kind.
func newSet(d made.Dice, p *plant, kind string, from, life float64) *set {
	s := &set{kind: kind, from: from, life: life, media: p.media * d.Between(0.95, 1.05), mood: 1, turn: 2}
	s.other.ageing, s.other.rise, s.other.cling = 1, 1, 1
	limit := min(p.most, p.flowLost(p.after+0.7*max(0, p.afterMost-p.after)))
	if p.aim == ByAir {
		limit *= 0.75
	}
	s.span = max(p.spent(limit)-s.media-p.seasoning, 0.2*limit)
	switch kind {
	case Steady:
		s.bend = d.Between(0.9, 1.12)
	case Slowing:
		s.bend = d.Spread(2, 12)
	case Late:
		s.bend, s.start = d.Between(0.65, 0.88), d.Between(0, 0.4)
	case Steps:
		s.bend = d.Between(0.3, 0.6)
		s.strike(d, 3+d.IntN(6))
	case TwoDust:
		s.bend = d.Between(0.9, 1.05)
		s.turn = d.Between(0.25, 0.7)
		s.other.ageing = made.OneOf(d, d.Between(0.3, 0.6), d.Between(1.7, 3.5), d.Between(1.7, 3.5))
		s.other.rise, s.other.cling = d.Spread(0.6, 1.7), d.Between(0.8, 1.15)
	}
	if kind != Steps && d.Chance(0.3) {
		s.bad = append(s.bad, newSpell(d, life, d.Between(0.02, 0.08)))
	}
	return s
}

// strike draws bad weeks that together gain what the creep leaves.
func (s *set) strike(d made.Dice, n int) {
	w := make([]float64, n)
	sum := 0.0
	for i := range w {
		w[i] = d.Spread(0.4, 2)
		sum += w[i]
	}
	for i := range w {
		s.bad = append(s.bad, newSpell(d, s.life, (1-s.bend)*w[i]/sum))
	}
}

// newSpell is a bad week that gains a share of the span; half of them are humid and swell the cake besides.
func newSpell(d made.Dice, life, gain float64) spell {
	b := spell{from: d.Between(0.06, 1) * life, gain: gain}
	b.to = b.from + d.Spread(1, 9)*day
	if d.Chance(0.5) {
		b.swell = gain * d.Between(0.2, 0.8)
	}
	return b
}

// course is the share of the span that a share of the dust makes.
func (s *set) course(u float64) float64 {
	switch s.kind {
	case Slowing:
		return math.Log1p(s.bend*u) / math.Log1p(s.bend)
	case Late: // media close in proportion to the dust, and drag goes with the inverse of what is left
		f := s.bend * min(u, 1.08)
		return s.start*u + (1-s.start)*f/(1-f)*(1-s.bend)/s.bend
	case Steps:
		return s.bend * u
	}
	return math.Pow(u, s.bend)
}

// residual is the dP at design flow that pulses can't take off, without cake [Pa].
func (s *set) residual(p *plant) float64 {
	season := p.seasoning * (1 - math.Exp(-s.used/seasoned(s.life)))
	return s.media + season + s.span*(s.course(s.used)+s.jumps) + s.damp
}

// seasoned is the share of a life in which most of the seasoning is done: about five days of running.
func seasoned(life float64) float64 { return min(0.1, 5*day/life) }

// age goes on by dt seconds since the filters are new at age t; while the fan runs the load is given in usual loads.
func (s *set) age(p *plant, t, dt, load float64) {
	wet := 0.0
	for i := range s.bad {
		b := &s.bad[i]
		if t < b.from || t >= b.to {
			continue
		}
		wet = max(wet, b.swell*s.span)
		s.jumps += b.gain * min(1, dt/(b.to-b.from))
	}
	s.damp += (wet - s.damp) * min(1, dt/(1.5*day))
	pace := s.mood
	if s.used > s.turn {
		pace *= s.other.ageing
	}
	s.used += pace * load * dt / (s.life * p.hours.share())
}

// rise and cling are factors of the dust that comes now.
func (s *set) rise() float64 {
	if s.used > s.turn {
		return s.other.rise
	}
	return 1
}

func (s *set) cling() float64 {
	if s.used > s.turn {
		return s.other.cling
	}
	return 1
}

// humid reports whether a humid spell is on at age t.
func (s *set) humid(t float64) bool {
	for _, b := range s.bad {
		if b.swell > 0 && t >= b.from && t < b.to {
			return true
		}
	}
	return false
}
