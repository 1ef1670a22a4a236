package rough

import (
	"math"
	"math/rand/v2"

	"dustwright/judge"
)

// knob is everything a fault, a story or the weather can turn; newKnob gives it as it is when all is well.
type knob struct {
	dust, first, settle         float64 // factors on all dust, on the first machine's, on what drops early
	medium, seat, resist        float64
	stick, back                 float64 // more pulse energy asked for; factor on what goes back
	trim, blade, stack          float64 // factors: damper as set and shown, slipped unseen, outlet
	trunk, hood                 float64 // factors
	door, split                 float64 // conductances
	speed, head, load           float64 // factors
	mute, dry                   bool    // no pulses at all; the controller believes it pulses
	low, high                   float64 // set points, factors
	set, fill, net              float64 // factors on header set pressure, refill, plant air
	valveDrop, valveGrip, bleed float64 // of the numbered valve; bleed in sqrt(Pa)/s
	hole, puff                  float64 // share that passes the row; only after its pulse
	full, hidden                bool    // nobody empties the bin; its sensor does not see the dust
	wet                         float64 // humidity on top of the weather's
	shut                        bool    // a branch closed off for good
	line                        string  // what is wrong with the gauge's lines
	deep                        float64 // how much
}

func newKnob() knob {
	return knob{dust: 1, first: 1, settle: 1, medium: 1, seat: 1, resist: 1, back: 1, trim: 1, blade: 1, stack: 1, trunk: 1, hood: 1,
		speed: 1, head: 1, load: 1, low: 1, high: 1, set: 1, fill: 1, net: 1, valveDrop: 1, valveGrip: 1}
}

// trouble is a cause with its way to come about.
type trouble struct {
	cause         string
	way, number   int
	severity, old float64
	onset, ramp   float64 // [s]
	spells        float64 // comes and goes with this period [s], 0: stays
	until         float64
	pace          float64 // of the refill, for what is measured by it
}

// ways is how many ways each cause has.
var ways = map[string]int{"filters-blinded": 3, "dust-load-heavy": 3, "cake-damp": 3, "airflow-high": 3, "airflow-low": 3, "duct-blocked": 2,
	"leak-inward": 3, "fan-weak": 3, "cleaning-off": 3, "header-pressure-low": 3, "valve-dead": 2, "valve-weak": 2, "valve-stuck-open": 2,
	"gauge-line-blocked": 3, "gauge-line-off": 4, "filter-leak": 2, "bin-overfull": 2}

// newTrouble draws what is wrong, if anything.
func newTrouble(r *rand.Rand, p *plan, c *calendar, want wish) trouble {
	f := trouble{cause: none, until: c.end, onset: math.Inf(1), pace: p.fill}
	if want.cause == none || want.cause == "" && r.Float64() < healthyShare {
		return f
	}
	list := judge.Causes()[1:]
	e := list[r.IntN(len(list))]
	if want.cause != "" {
		e, _ = judge.CauseOf(judge.Cause(want.cause))
	}
	f.cause, f.severity, f.old = string(e.Name), between(r, 0.25, 1), spread(r, 0.15, 28)
	f.way = 1 + r.IntN(ways[f.cause])
	if e.Numbered {
		f.number = 1 + r.IntN(len(p.rows))
	}
	switch u := r.Float64(); {
	case f.cause == "filters-blinded" || u < 0.35:
		f.ramp = f.old * day * between(r, 0.2, 0.9)
	case u < 0.47 && f.old > 1:
		f.spells = spread(r, 4, 40) * hour
	}
	if f.cause == "valve-dead" || f.cause == "cleaning-off" || f.cause == "gauge-line-off" {
		f.severity, f.ramp = max(f.severity, 0.8), 0
	}
	if want.quiet {
		f.severity, f.old, f.ramp, f.spells = want.severity, want.old, 0, 0
		if want.way > 0 {
			f.way = want.way
		}
	}
	f.old = min(f.old, c.end/day-6)
	for c.ran(c.end-f.old*day, c.end) < 2*hour {
		f.old += 0.1
	}
	f.onset = c.end - f.old*day
	if !want.quiet && r.Float64() < startShare {
		f.old, f.onset, f.ramp, f.spells = c.end/day, -3*day, 0, 0
	}
	return f
}

// level is how far it has come, 0 to its severity.
func (f trouble) level(t float64) float64 {
	x := 1.0
	switch {
	case t < f.onset:
		return 0
	case f.ramp > 0:
		x = min(1, 0.15+0.85*(t-f.onset)/f.ramp)
	case f.spells > 0 && math.Mod(f.until-t, f.spells) > 0.7*f.spells && t < f.until-0.3*f.spells:
		return 0
	}
	return x * f.severity
}

// turn sets the knobs as the trouble has them.
func (f trouble) turn(s *scene) {
	x := f.level(s.t)
	if x == 0 {
		return
	}
	k := &s.knob
	way := func(each ...func()) { each[f.way-1]() }
	switch f.cause {
	case "filters-blinded": // the seat grows; the medium swells; what is packed no longer lets go
		way(func() { k.seat = 1 + 2*x }, func() { k.medium, k.stick = 1+1.8*x, 0.08*x }, func() { k.seat, k.stick = 1+x, 0.2*x })
	case "dust-load-heavy": // all machines; one machine; the drop-out before the filters lost, and more feed
		way(func() { k.dust = 1 + 2.2*x }, func() { k.first = 1 + 2.2*x/s.plan.hoods[0].dust }, func() { k.settle, k.dust = 1-0.9*x, 1+1.5*x })
	case "cake-damp": // damp weather's air; oil; steam of a process in the mornings
		damp := x
		if f.way == 3 && math.Mod(s.t, day) > 13*hour {
			damp = 0.5 * x
		}
		if f.way != 2 {
			k.wet = 0.4 * damp
		}
		k.stick, k.resist = 0.38*damp, 1+1.3*damp
	case "airflow-high": // the blade moved; the fan faster; the blade loose and its reading not
		way(func() { k.trim = 1 + 0.9*x }, func() { k.speed = 1 + 0.16*x }, func() { k.blade = 1 + 0.9*x })
	case "airflow-low": // closed; slipped unseen; the outlet half shut
		way(func() { k.trim = 1 - 0.68*x }, func() { k.blade = 1 - 0.68*x }, func() { k.stack = 1 + 14*x })
	case "duct-blocked": // dust in the trunk; a rag in a branch and settled dust
		way(func() { k.trunk = 1 + 5*x }, func() { k.hood, k.trunk = 1+30*x, 1+2.2*x })
	case "leak-inward": // a door; a split duct; a hatch below, which whirls the dust up
		c := s.plan.flow / math.Sqrt(s.plan.inlet)
		way(func() { k.door = 0.55 * x * c }, func() { k.split = 0.8 * x * c }, func() { k.door, k.back = 0.4*x*c, 1+0.6*x })
	case "fan-weak": // the belt slips; the wheel fouled; it runs backwards
		way(func() { k.speed = 1 - 0.3*x }, func() { k.head, k.load = 1-0.45*x, 1-0.1*x }, func() { k.head, k.load = 1-0.6*x, 1-0.2*x })
	case "cleaning-off": // no power; the outputs dead; set points moved away
		way(func() { k.mute = true }, func() { k.dry = true }, func() { k.high, k.low, k.mute = 2.2, 1.9, s.plan.timed() })
	case "header-pressure-low": // the regulator; the dryer; a supply that is shared
		way(func() { k.set = 1 - 0.55*x }, func() { k.fill, k.set = 1-0.96*x, 1-0.1*x }, func() { k.net = 1 - (0.3+0.35*x)*s.share() })
	default:
		f.turnRest(x, s)
	}
}

// turnRest is turn for valves, gauges, leaks and the bin.
func (f trouble) turnRest(x float64, s *scene) {
	k := &s.knob
	way := func(each ...func()) { each[f.way-1]() }
	switch f.cause {
	case "valve-dead": // the coil; the diaphragm, whose pilot still breathes
		way(func() { k.valveDrop, k.valveGrip = 0, 0 }, func() { k.valveDrop, k.valveGrip = 0.05, 0 })
	case "valve-weak": // a short pulse; a torn diaphragm that leaks a little
		way(func() { k.valveDrop, k.valveGrip = 1-0.75*x, 1-0.75*x }, func() { k.valveDrop, k.valveGrip, k.bleed = 1-0.6*x, 1-0.8*x, 0.15*x*f.pace })
	case "valve-stuck-open": // bleeds always; bleeds after it fired until it seats again
		k.valveDrop, k.valveGrip = 1-0.5*x, 1-0.5*x
		way(func() { k.bleed = (0.35 + 1.1*x) * f.pace }, func() {
			if s.t-s.fired[f.number-1] < 40*minute {
				k.bleed = (0.45 + 1.2*x) * f.pace
			}
		})
	case "gauge-line-blocked":
		way(func() { k.line = "slow" }, func() { k.line = "frozen" }, func() { k.line = "shut in" })
		k.deep = x
	case "gauge-line-off":
		way(func() { k.line = "off" }, func() { k.line = "crossed" }, func() { k.line = "cracked" }, func() { k.line = "low side off" })
		k.deep = x
	case "filter-leak":
		way(func() { k.hole = 0.25 * x }, func() {
			if s.t-s.fired[f.number-1] < 90 {
				k.puff = x
				k.hole = 0.4 * x
			}
		})
	case "bin-overfull": // nobody empties it; a bridge above the sensor
		k.full, k.hidden = true, f.way == 2
		k.back = 1 + 4.5*x
	}
}
