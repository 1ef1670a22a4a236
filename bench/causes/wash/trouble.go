package wash

import (
	"math"

	"dustwright/bench/causes/made"
	"dustwright/judge"
)

// trouble is one thing that is wrong from a time on.
type trouble struct {
	cause    judge.Cause
	way      float64 // 0..1, in which of its ways
	number   int
	severity float64
	onset    float64 // [s]
	ramp     float64 // it takes to be all there [s]
	spell    float64 // it comes and goes in spells of so long [s], 0 stays
	salt     uint64
	end      float64
}

// effect is what is other than it should be at a moment; sound() is nothing.
type effect struct {
	dust, heap, hard  float64 // dust that comes, share of it that comes again, drag that stays
	wet, soaks        float64 // the cake's damp, and how soon it goes there [s]
	duct, leak        float64
	speed, head, draw float64 // of the fan
	damper, ask       float64 // of its opening, of the suction asked for
	blind             bool    // the damper's indicator does not move with it
	mute              bool
	fuse              float64 // share of the valves that are not driven
	regulator, supply float64
	shop              float64
	valve             int
	punch, sip, bleed float64
	slowHigh, slowLow float64 // [s]
	offHigh, offLow   float64
	crossed, stuck    bool
	hole              float64 // what is let through, 1 as usual
	torn              int
}

func sound() effect {
	return effect{dust: 1, soaks: 5 * hour, duct: 1, speed: 1, head: 1, draw: 1, damper: 1, ask: 1, regulator: 1, supply: 1, shop: 1, punch: 1, sip: 1, hole: 1}
}

// lost is the share of the air that comes in past the hoods.
func (e *effect) lost(m *machine) float64 {
	own := 1 / math.Sqrt(m.silt*e.duct)
	return e.leak / (own + e.leak)
}

// newTrouble draws how a cause comes about: suddenly, creeping, or now and then.
func newTrouble(d made.Dice, c judge.Cause, p *plant, first, end float64) *trouble {
	f := &trouble{cause: c, way: d.Float64(), severity: d.Between(0.25, 1), salt: d.Uint64(), end: end}
	if e, ok := judge.CauseOf(c); ok && e.Numbered {
		f.number = 1 + d.IntN(p.rows)
	}
	age := d.Spread(0.5, 38) * day
	if c == judge.FiltersBlinded || c == judge.DuctBlocked && f.way < 0.5 {
		age = d.Spread(2, 45) * day
	}
	if c == judge.CleaningOff {
		age = d.Spread(0.5, 16) * day
	}
	f.onset = max(first+5*day, end-age)
	if d.Chance(0.06) {
		f.onset = first
	}
	age = end - f.onset
	switch u := d.Float64(); {
	case c == judge.FiltersBlinded:
		f.ramp = d.Between(0.4, 1) * age
	case u < 0.35:
		f.ramp = max(2*hour, d.Between(0.2, 1)*age)
	case u < 0.55 && c != judge.FilterLeak && c != judge.BinOverfull:
		f.spell = d.Spread(2, 30) * hour
	}
	if c == judge.ValveDead || c == judge.CleaningOff || c == judge.GaugeLineOff {
		f.ramp, f.severity = 0, max(f.severity, d.Between(0.5, 1))
	}
	return f
}

// grown is how much of it there is, 0 to 1.
func (f *trouble) grown(t float64) float64 {
	if f.cause == "" || t < f.onset {
		return 0
	}
	if f.spell > 0 {
		k := math.Floor((t - f.onset) / f.spell)
		if made.Throw(f.salt, uint64(k)).Float64() > 0.6 && t < f.end-0.4*day && k > 0 {
			return 0
		}
	}
	if f.ramp > 0 {
		return min(1, (t-f.onset)/f.ramp)
	}
	return 1
}

// forgotten is how long before it is full nobody has seen to the bin, at the most [s].
const forgotten = 12 * day

// fills tells that the bin is to run over, not that dust hangs above it.
func (f *trouble) fills() bool { return f.cause == judge.BinOverfull && f.way <= 0.7 }

// keepsBin tells that nobody empties the bin.
func (f *trouble) keepsBin(t float64) bool {
	return f.fills() && t > f.onset-forgotten
}

// lately tells that a record with trouble is about to end: whoever blows the lines out then has nothing to ask.
func (f *trouble) lately(t float64) bool { return f.cause != "" && t > f.end-2.5*day }

// now is what the trouble does at the moment.
func (f *trouble) now(m *machine) effect {
	e := sound()
	g := f.grown(m.t)
	if g == 0 {
		return e
	}
	s := g * f.severity
	switch f.cause {
	case judge.FiltersBlinded, judge.DustLoadHeavy, judge.CakeDamp, judge.BinOverfull, judge.FilterLeak:
		f.dusty(&e, m, s)
	case judge.AirflowHigh, judge.AirflowLow, judge.DuctBlocked, judge.LeakInward, judge.FanWeak:
		f.windy(&e, m, s)
	case judge.GaugeLineBlocked, judge.GaugeLineOff:
		f.lines(&e, m, s)
	default:
		f.pulsing(&e, m, s)
	}
	return e
}

// dusty is trouble with dust and cake.
func (f *trouble) dusty(e *effect, m *machine, s float64) {
	switch f.cause {
	case judge.FiltersBlinded:
		e.hard = 0.9 * s
	case judge.DustLoadHeavy:
		e.dust = 1 + 2.6*s
	case judge.CakeDamp: // by water it goes with the days, oil stays
		e.wet, e.soaks = 0.25+1.9*s, (2+10*f.way)*hour
		if f.way > 0.6 {
			e.hard = 0.1 * s
		}
	case judge.FilterLeak:
		e.hole, e.torn = 1+25*sq(s)+3*s, f.number
	case judge.BinOverfull:
		if e.stuck = !f.fills(); e.stuck {
			e.heap = s * (0.35 + 0.5*f.severity)
			return
		}
		full := m.bin / (m.p.bin * m.p.bulk)
		e.heap = f.severity * (0.35 + 0.5*f.severity) * min(1, max(0, (full-0.85)/0.15))
	}
}

// windy is trouble with the air's way.
func (f *trouble) windy(e *effect, m *machine, s float64) {
	e.blind = f.way < 0.35
	switch f.cause {
	case judge.AirflowHigh:
		e.damper, e.ask = 1+s*(min(1, m.p.open+0.45)/m.p.open-1), 1+0.35*s
		if m.p.drive.fitted && !m.p.drive.holds {
			e.speed = 1 + 0.3*s
		}
	case judge.AirflowLow:
		e.damper, e.ask = 1-s*0.55, 1-0.4*s
		if m.p.drive.fitted && !m.p.drive.holds {
			e.speed, e.damper = 1-0.3*s, 1
		}
	case judge.DuctBlocked:
		e.duct = 1 + 0.5*s + 5*sq(s)
	case judge.LeakInward:
		e.leak = 0.1*s + 0.8*sq(s)
	case judge.FanWeak:
		switch {
		case f.way < 0.5 && m.p.fan.belt: // belt
			e.speed = 1 - 0.03 - 0.25*s
		case f.way < 0.85: // wheel, fouled or worn
			e.head, e.draw = 1-0.05-0.35*s, 1-0.12*s
		default: // runs backwards
			e.head, e.draw = 1-0.2-0.35*f.severity, 0.8
		}
	}
}

// lines is trouble with the gauge's lines. Whoever blows them out has peace for some hours.
func (f *trouble) lines(e *effect, m *machine, s float64) {
	if f.cause == judge.GaugeLineBlocked {
		s *= 1 - math.Exp(-(m.t-m.blown)/(20*hour))
		slow := 600 * math.Exp(6.5*s)
		switch {
		case f.way < 0.65:
			e.slowHigh = slow
		case f.way < 0.85:
			e.slowLow = slow
		default:
			e.slowHigh, e.slowLow = slow, 0.6*slow
		}
		return
	}
	switch {
	case f.way < 0.4:
		e.offLow = min(1, 0.1+0.9*f.severity)
		if f.severity > 0.7 {
			e.offLow = 1
		}
	case f.way < 0.6:
		e.offHigh, e.offLow = 1, 1
	case f.way < 0.8:
		e.crossed = true
	case f.way < 0.92: // the high side cracked
		e.offHigh = 0.1 + 0.4*s
	default:
		e.offHigh = 1
	}
}

// pulsing is trouble with air, valves and controller.
func (f *trouble) pulsing(e *effect, m *machine, s float64) {
	switch f.cause {
	case judge.CleaningOff:
		if e.mute = f.way < 0.7; !e.mute {
			e.fuse = 1
		}
	case judge.HeaderPressureLow:
		switch {
		case f.way < 0.3: // regulator
			e.regulator = 1 - 0.65*s
		case f.way < 0.65: // clogged before the header: full at rest, starved while it cleans
			e.supply = math.Exp(-3.5 * s)
		default: // the shop
			e.shop = 1 - 0.15*s - 0.55*s
		}
	case judge.ValveDead:
		e.valve, e.punch, e.sip = f.number, 0, 0
	case judge.ValveWeak: // slow to open, or a torn diaphragm that opens little
		e.valve, e.punch, e.sip = f.number, 1-0.9*s, 1-0.75*s
	case judge.ValveStuckOpen:
		in := m.p.tank.feed / (m.p.tank.set + bar)
		e.valve, e.bleed = f.number, in*(0.15+2.2*s)
		e.punch, e.sip = 1-0.6*s, 1-0.3*s
	}
}
