package rehearse

import (
	"math"

	"dustwright/filter"
	"dustwright/unit"
)

// What each cause does at full severity. common practice, no source, except where physics says it.
const (
	blindedDrag   = 2.5  // clean drags that blinding adds for good
	blindedClean  = 0.35 // and the share of cleaning it takes away
	heavyFeed     = 2.0  // dust above the usual, shares of it
	dampCake      = 2.0  // resistance a damp cake gains, shares of it
	dampClean     = 0.65 // share of cleaning a damp cake takes away
	dampBlind     = 0.35 // and of blinding that it brings: what has gone to mud in the media stays
	blockedDuct   = 4.0  // resistance the ducts gain, shares of it
	leakShare     = 0.45 // of design flow that an open hatch lets in, with the ducts as commissioned
	closedDamper  = 0.6  // share of its position that the damper is shut by
	fouledWheel   = 0.35 // share of the fan's pressure
	slippingBelt  = 0.18 // share of the fan's speed
	reversedFan   = 0.6  // share of the pressure a reversed fan lacks
	weakSupply    = 0.55 // share of the set pressure that a bad regulator takes
	starvedSupply = 0.93 // share of the supply that a clogged line takes
	weakValve     = 0.65 // share of its flow that a weak valve lacks
	shortValve    = 0.7  // share of its on-time
	stuckValve    = 0.8  // share of its flow that a valve stuck open bleeds
	leakyRow      = 0.03 // share of its dust that a holed row lets through
	binReturn     = 0.75 // share of what falls that an overfull bin gives back
)

// effects is what all faults together do to the machine at one moment.
type effects struct {
	feed, k2, remove float64 // factors
	blinded          float64 // severity reached
	airside          airside
	damperMoved      bool
	set, most        float64   // factors on the header's set pressure and supply
	flow, on         []float64 // factors on each valve's flow and on-time
	miss             []float64 // share of commands that a valve does not follow
	bleed            float64   // conductance of valves stuck open [m3/(s Pa)]
	blocked, off     float64   // gauge line
	crossed          bool
	silent           float64 // share of pulses the controller leaves out
	leakRow          int     // 0 is the first; -1 none
	leak             float64 // share of that row's dust
	binBack          float64 // share of fallen dust that comes back
}

func (s *sim) effects(t float64) effects {
	n := len(s.bank.Rows)
	e := effects{feed: 1, k2: 1, remove: 1, set: 1, most: 1, leakRow: -1,
		airside: airside{damper: s.damper, speed: s.speed}, flow: s.scratch[:n:n], on: s.scratch[n : 2*n : 2*n], miss: s.scratch[2*n : 3*n]}
	for i := range n {
		e.flow[i], e.on[i], e.miss[i] = 1, 1, 0
	}
	for i := range s.o.Faults {
		f := &s.o.Faults[i]
		if sev := f.at(t); sev > 0 {
			s.apply(f, sev, &e)
		}
	}
	return e
}

// apply adds one fault to the effects.
func (s *sim) apply(f *Fault, sev float64, e *effects) {
	v := f.Number - 1
	switch f.Cause {
	case FiltersBlinded:
		e.blinded = max(e.blinded, sev)
		e.remove *= 1 - blindedClean*sev
	case DustLoadHeavy:
		e.feed *= 1 + heavyFeed*sev
	case CakeDamp:
		e.k2 *= 1 + dampCake*sev
		e.remove *= 1 - dampClean*sev
		e.blinded = max(e.blinded, dampBlind*sev)
	case AirflowHigh:
		e.airside.damper += sev * (1 - e.airside.damper)
		e.damperMoved = true
	case AirflowLow:
		e.airside.damper *= 1 - closedDamper*sev
		e.damperMoved = true
	case DuctBlocked:
		e.airside.duct += blockedDuct * sev
	case LeakInward:
		e.airside.leak += sev * s.leakArea
	case FanWeak:
		switch f.Variant {
		case 1:
			e.airside.fanLoss = 1 - (1-e.airside.fanLoss)*(1-fouledWheel*sev)
		case 2:
			e.airside.speed *= 1 - slippingBelt*sev
		default:
			e.airside.fanLoss = 1 - (1-e.airside.fanLoss)*(1-reversedFan*sev)
		}
	case CleaningOff:
		e.silent = 1 - (1-e.silent)*(1-sev)
	case HeaderPressureLow:
		if f.Variant == 1 {
			e.set *= 1 - weakSupply*sev
		} else {
			e.most *= 1 - starvedSupply*sev
		}
	case ValveDead:
		e.miss[v] = 1 - (1-e.miss[v])*(1-sev)
	case ValveWeak:
		if f.Variant == 1 {
			e.flow[v] *= 1 - weakValve*sev
		} else {
			e.on[v] *= 1 - shortValve*sev
		}
	case ValveStuckOpen:
		e.bleed += stuckValve * sev * float64(s.ph.Valve.C)
		e.flow[v] = 0
	case GaugeLineBlocked:
		e.blocked = max(e.blocked, sev)
	case GaugeLineOff:
		e.off = max(e.off, sev)
		e.crossed = e.crossed || f.Variant == 2
	case FilterLeak:
		e.leakRow, e.leak = v, leakyRow*sev
	case BinOverfull:
		e.binBack = max(e.binBack, binReturn*sev)
	}
}

// retune puts the effects of all faults, and what hands changed, into the machine.
func (s *sim) retune() error {
	e := s.effects(s.t)
	l := s.ph.Law
	l.K2 *= filter.Resistance(e.k2)
	l.RemoveMax *= unit.Share(e.remove)
	l.CreepDust *= filter.Resistance(math.Pow(s.now.q/s.design, s.ph.VelocityCreep))
	if !s.running {
		l.CreepDust = s.bank.Law.CreepDust
	}
	s.bank.Law = l
	if more := e.blinded - s.fx.blinded; more > 0 {
		for i := range s.bank.Rows {
			s.bank.Rows[i].Creep += unit.Drag(more*blindedDrag) * s.ph.Law.Media
		}
	}
	if err := s.retuneAir(&e); err != nil {
		return err
	}
	s.retuneHeader(&e)
	s.fx = e
	s.fx.flow, s.fx.on = append(s.valveFlow[:0], e.flow...), append(s.valveOn[:0], e.on...)
	s.fx.miss = append(s.valveMiss[:0], e.miss...)
	s.valveFlow, s.valveOn, s.valveMiss = s.fx.flow, s.fx.on, s.fx.miss
	s.refresh()
	return nil
}

// retuneAir finds the operating points anew where the air's way changed.
func (s *sim) retuneAir(e *effects) error {
	if s.way != nil && e.airside == s.side {
		return nil
	}
	w, err := newAirway(s.path, e.airside, s.peak)
	if err != nil {
		return err
	}
	s.way, s.side = w, e.airside
	s.strained = s.strained || w.strained
	return nil
}

func (s *sim) retuneHeader(e *effects) {
	tank := s.ph.Tank
	set := s.headerSet * e.set
	if tank.Supply.Set != unit.Pressure(set) || e.most != 1 {
		tank.Supply.Set = unit.Pressure(set)
		tank.Supply.Most *= unit.MassFlow(e.most)
		tank.Supply.C *= unit.Conductance(e.most)
	}
	tank.Leak += unit.Conductance(e.bleed)
	same := tank == s.air.tank
	for i := range s.air.valves {
		v := s.ph.Valve
		v.C *= unit.Conductance(e.flow[i])
		v.On *= unit.Seconds(e.on[i])
		same = same && v == s.air.valves[i]
		s.air.valves[i] = v
	}
	if !same {
		s.air.changed(tank)
	}
}

// strength is how hard a sound header's pulse hits a row through valve v: its share of the flow, and of the on-time up to
// which a pulse gains.
func (s *sim) strength(v int) unit.Share {
	on := float64(s.air.valves[v].On) / float64(s.ph.OnSteps)
	return unit.Share(s.fx.flow[v] * min(1, on))
}

// gaugeLine is the tubing between the tube sheet and the gauge: sound, plugged, or off.
type gaugeLine struct {
	value float64 // what stands in a plugged line [Pa]; NaN while it is sound
	since float64
}

// see returns what reaches the gauge and the controller of a true dP at t.
func (g *gaugeLine) see(t, dp float64, e *effects) float64 {
	if e.off > 0 {
		// off: next to nothing is left; crossed: the sign turns
		to := 0.02
		if e.crossed {
			to = -1
		}
		dp *= 1 + e.off*(to-1)
	}
	if e.blocked == 0 {
		g.value = math.NaN()
		return dp
	}
	if math.IsNaN(g.value) {
		g.value, g.since = dp, t
	}
	tau := 120 + e.blocked*e.blocked*80*hour // a plug leaks a little: the reading creeps
	g.value += (dp - g.value) * -math.Expm1(-(t-g.since)/tau)
	g.since = t
	return g.value
}
