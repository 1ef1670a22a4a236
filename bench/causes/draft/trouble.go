package draft

import (
	"math"
	"math/rand/v2"

	"dustwright/judge"
)

// trouble is what is wrong with a machine.
type trouble struct {
	cause    judge.Cause
	number   int     // from 1, 0 none
	severity float64 // 0.25 to 1
	from     float64 // onset [s]
	ramp     float64 // time it takes to come up [s]
	kind     int     // which of the mechanisms that go by this name
	phase    float64
}

// hurt is what a trouble does to the mechanisms at a moment. Multipliers are 1 where nothing is wrong.
type hurt struct {
	dust, resist, grip, damper, duct        float64
	speed, strength, set                    float64
	blinded, leak, humid                    float64 // share of pores, openings over the ducts' conductance, share of humidity
	short                                   float64 // share of what the plant takes that the compressor does not bring
	slow                                    float64 // added to the header's recovery, in pulse intervals
	valve, row                              int     // index, -1 none
	open, bleed, hole                       float64 // of that valve; hole as a share of its row's air at 800 Pa
	mute, keepsDust                         bool    // no pulses; nobody empties the bin
	carry                                   float64 // share of the dust that comes in lifted from a full bin for each unit of level
	dirtyLag, cleanLag, dirtySees, cleanSee float64 // sensing lines: time constants [s], shares of the pressure seen
	bridged                                 float64 // share by which the two sides are joined
	crossed                                 bool
}

// sound is a machine with nothing wrong.
func sound() hurt {
	return hurt{dust: 1, resist: 1, grip: 1, damper: 1, duct: 1, speed: 1, strength: 1, set: 1, valve: -1, row: -1, open: 1,
		dirtySees: 1, cleanSee: 1}
}

// newTrouble draws how bad it is, since when, and how it came.
func newTrouble(r *rand.Rand, cause judge.Cause, rows int, days float64) *trouble {
	t := &trouble{cause: cause, severity: between(r, 0.25, 1), kind: r.IntN(3), phase: r.Float64()}
	old, least, slow := logBetween(r, 0.15, 28), 0.1, true
	switch cause {
	case judge.ValveDead, judge.ValveWeak, judge.ValveStuckOpen, judge.FilterLeak:
		t.number = 1 + r.IntN(rows)
		slow = cause == judge.ValveWeak || cause == judge.FilterLeak
	case judge.FiltersBlinded:
		least = 5
	case judge.BinOverfull, judge.DustLoadHeavy, judge.CakeDamp:
		least = 0.8
	case judge.CleaningOff: // before long somebody hears that it is quiet
		old, slow = logBetween(r, 0.15, 9), false
	case judge.AirflowHigh, judge.AirflowLow, judge.GaugeLineOff, judge.LeakInward:
		slow = false
	}
	old = min(old+least, days-6)
	if slow && r.Float64() < 0.7 {
		t.ramp = 86400 * old * between(r, 0.1, 0.8)
	}
	t.from = 86400 * (days - old)
	if r.Float64() < 0.12 && cause != judge.CleaningOff {
		t.from, t.ramp = 0, 0
	}
	return t
}

// now tells what the trouble does at a time [s].
func (t *trouble) now(at float64) hurt {
	h := sound()
	if t == nil || at < t.from {
		return h
	}
	x := 1.0
	if t.ramp > 0 {
		x = min(1, (at-t.from)/t.ramp)
	}
	s := t.severity
	switch t.cause {
	case judge.FiltersBlinded:
		h.blinded, h.grip = (0.15+0.55*s)*x, 1+0.3*s*x
	case judge.DustLoadHeavy:
		h.dust = 1 + (0.5+2.2*s)*x
	case judge.CakeDamp:
		h.grip, h.resist = 1+(0.4+2*s)*x, 1+(0.4+2*s)*x
		if t.kind > 0 {
			h.humid = 0.25 * s * x
		}
	case judge.AirflowHigh:
		h.damper = 1 + 0.3 + 1.5*s
	case judge.AirflowLow:
		h.damper = 1 - 0.2 - 0.5*s
	case judge.DuctBlocked:
		h.duct = 1 + (0.5+5*s*s)*x
	case judge.LeakInward:
		h.leak = 0.1 + 0.9*s*s
	case judge.BinOverfull:
		h.keepsDust, h.carry = true, 1+3*s
	default:
		t.machinery(&h, at, x)
	}
	return h
}

// machinery is the part of now about things that move, blow and measure.
func (t *trouble) machinery(h *hurt, at, x float64) {
	s, i := t.severity, t.number-1
	switch t.cause {
	case judge.FanWeak:
		switch {
		case t.kind == 0 || t.kind == 2 && s < 0.6:
			h.speed = 1 - (0.03+0.25*s)*x
		case t.kind == 1:
			h.strength = 1 - (0.08+0.45*s)*x
		default: // runs the wrong way round
			h.strength = 0.45
		}
	case judge.CleaningOff:
		h.mute = t.kind < 2 || math.Mod(at/86400/(0.3+t.phase)+t.phase, 1) < 0.5+0.5*s
	case judge.HeaderPressureLow:
		switch t.kind {
		case 0:
			h.set = 1 - (0.12+0.5*s)*x
		case 1:
			h.slow = (0.25 + 2*s) * x
		default:
			h.short = (0.2 + 0.55*s) * x
		}
	case judge.ValveDead:
		h.valve, h.open = i, 0
	case judge.ValveWeak:
		h.valve, h.open = i, 1-(0.2+0.65*s)*x
	case judge.ValveStuckOpen:
		h.valve, h.open, h.bleed = i, 0.2*(1-s), (0.02+0.5*s*s)*x
	case judge.GaugeLineBlocked:
		lag := 120 * math.Exp(7*s*x)
		if t.kind != 1 {
			h.dirtyLag = lag
		}
		if t.kind != 0 {
			h.cleanLag = lag
		}
	case judge.GaugeLineOff:
		switch t.kind {
		case 0:
			h.cleanSee = 0.6 * (1 - s)
		case 1:
			h.crossed = true
		default:
			h.bridged = 0.5 + 0.5*s
		}
	case judge.FilterLeak:
		h.row, h.hole = i, (0.003+0.05*s*s)*x
	}
}
