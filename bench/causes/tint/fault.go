package tint

import (
	"math"

	"dustwright/bench/causes/made"
	"dustwright/collector"
	"dustwright/judge"
)

// fault is what is wrong, since when, how it comes on, and of which kind where a cause has several.
type fault struct {
	cause    judge.Cause
	number   int     // valve or row, 0 none
	severity float64 // 0.25 to 1
	onset    int     // hour
	creeps   float64 // hours until it is as severe as it gets, 0 sudden
	stages   float64 // it gets worse in that many steps, 0 evenly
	kind     float64 // 0 to 1
	size     float64 // of the effect on this machine, about 1
	comes    pattern
	on, off  float64 // mean hours it is there and away
	luck     made.Dice
	loose    bool // a contact that holds for some hours
}

// pattern is when a fault is there.
type pattern int

const (
	always pattern = iota
	byTurns
	byClock // in one half of the day
)

// newFault draws when and how badly.
func newFault(d made.Dice, cause judge.Cause, hours, numbers int) *fault {
	f := &fault{cause: cause, severity: d.Between(0.25, 1), kind: d.Float64(), luck: made.Throw(d.Uint64(), 3), size: d.Between(0.8, 1.25)}
	if e, _ := judge.CauseOf(cause); e.Numbered {
		f.number = 1 + d.IntN(numbers)
	}
	if cause == judge.ValveDead && f.kind >= 0.35 {
		f.severity = d.Between(0.6, 1) // all or nothing
	}
	age := d.Spread(4, 60*24)
	if cause == judge.FiltersBlinded {
		age = d.Spread(72, 60*24) // no filter blinds in an afternoon
	}
	f.onset = max(0, hours-int(age))
	if d.Chance(0.07) {
		f.onset = 0
	} else if f.onset < 6*24 {
		f.onset = 6*24 + d.IntN(hours-6*24-4)
	}
	age = float64(hours - f.onset)
	switch cause {
	case judge.FiltersBlinded:
		f.creeps = age * d.Between(0.3, 1)
	case judge.CleaningOff, judge.ValveDead, judge.AirflowHigh, judge.AirflowLow, judge.BinOverfull:
	default:
		if d.Chance(0.45) {
			f.creeps = age * d.Between(0.1, 1)
		}
	}
	if d.Chance(0.3) {
		f.stages = float64(2 + d.IntN(3))
	}
	switch cause {
	case judge.FiltersBlinded, judge.AirflowHigh, judge.AirflowLow, judge.FilterLeak, judge.DuctBlocked, judge.BinOverfull:
		return f
	default:
		f.comes = made.OneOf(d, always, always, always, always, byTurns, byTurns, byClock)
		f.on, f.off = d.Spread(3, 60), d.Spread(2, 24)
	}
	return f
}

// course is how far the fault has come in an hour since its onset.
func (f *fault) course(since float64) float64 {
	u := min(1, 0.12+0.88*(since+1)/max(1, f.creeps))
	if f.stages > 0 && f.creeps > 0 {
		u = math.Ceil(u*f.stages) / f.stages
	}
	return f.severity * u
}

// write puts the fault into the hours. Whoever looks at the end finds it there more often than not.
func (f *fault) write(d made.Dice, m *machine, hours []hour) {
	there, half := true, d.IntN(2)
	acts := acts[f.cause]
	for i := f.onset; i < len(hours); i++ {
		switch f.comes {
		case byTurns:
			gone := 1 / f.on
			if !there {
				gone = 1 / f.off
			}
			if d.Chance(gone) {
				there = !there
			}
		case byClock:
			there = i%24/12 == half || hours[i].to-hours[i].from < hourSec
		default:
		}
		if there || i > len(hours)-30 {
			acts(f, m, &hours[i], f.course(float64(i-f.onset)))
		}
	}
}

// acts say what a severity s does to an hour, in what a gauge would show.
var acts = map[judge.Cause]func(f *fault, m *machine, h *hour, s float64){
	judge.FiltersBlinded: func(f *fault, m *machine, h *hour, s float64) { // after a clean the gauge stays 0.3 to 3 in. w.g. higher
		h.stays *= 1 + f.size*s*(0.3+2.2*s)*inWater/m.resid
		h.take *= 1 - 0.35*s
	},
	judge.DustLoadHeavy: func(f *fault, _ *machine, h *hour, s float64) { h.feed *= 1 + f.size*2.8*s },
	judge.CakeDamp: func(f *fault, _ *machine, h *hour, s float64) {
		h.rise, h.take = h.rise*(1+f.size*s), h.take*(1-0.6*s)
		h.stays *= 1 + 0.3*s
		if f.kind < 0.55 { // else it is water or oil out of the pulse air
			h.humid = min(0.98, h.humid+0.32*s)
		}
	},
	judge.AirflowHigh: func(f *fault, m *machine, h *hour, s float64) {
		f.turn(h, m.openFor(1+min(0.4, m.reach())*min(1, 0.2+0.8*f.size*s))) // at worst it stands open
	},
	judge.AirflowLow: func(f *fault, m *machine, h *hour, s float64) {
		f.turn(h, m.openFor(1-f.size*(0.03+0.4*s)))
	},
	judge.DuctBlocked: func(f *fault, m *machine, h *hour, s float64) { h.duct *= m.ductFor(1 - f.size*(0.02+0.4*s)) },
	judge.LeakInward:  func(f *fault, _ *machine, h *hour, s float64) { h.gap = f.size * (0.1 + 0.9*s) },
	judge.FanWeak:     func(f *fault, m *machine, h *hour, s float64) { h.speed *= m.speedFor(1 - f.size*(0.03+0.38*s)) },
	judge.CleaningOff: func(f *fault, m *machine, h *hour, s float64) {
		if f.luck.Chance(0.2) {
			f.loose = f.luck.Chance(0.55 - 0.65*s)
		}
		switch {
		case f.kind > 0.8 && m.mode == collector.OnDemand: // somebody has set its start out of reach
			h.high += (1 + 3*s) * inWater
		default:
			h.mute = !f.loose
		}
	},
	judge.HeaderPressureLow: func(f *fault, m *machine, h *hour, s float64) {
		switch {
		case f.kind < 0.45: // regulator
			h.set *= 1 - f.size*(0.08+0.5*s)
		case f.kind < 0.8: // filter, dryer, hose: it does not refill in time
			h.supply *= 1 - min(0.98, 0.55+0.43*s)
			h.set *= 1 - 0.1*s
		default: // others take the air
			h.set, h.supply = h.set*(1-0.35*s), h.supply*(1-0.6*s)
		}
	},
	judge.ValveDead: func(f *fault, _ *machine, h *hour, s float64) {
		if h.fails = 1; f.kind < 0.35 { // a sticky pilot works now and then
			h.fails = 0.4 + 0.6*s
		}
	},
	judge.ValveWeak: func(f *fault, _ *machine, h *hour, s float64) { h.lift = 1 - 0.85*s },
	judge.ValveStuckOpen: func(f *fault, _ *machine, h *hour, s float64) {
		if f.kind < 0.6 {
			h.bleed, h.lift = min(0.9, f.size*(0.08+0.6*s)), 1-0.6*s
		} else { // it hangs after its pulse
			h.hangs, h.lift = 20+400*s*s, 1-0.3*s
		}
	},
	judge.GaugeLineBlocked: func(f *fault, _ *machine, h *hour, s float64) {
		h.lag = 240 * math.Exp(6*s) // minutes to days
		h.gain = 1 - 0.25*s*f.kind
	},
	judge.GaugeLineOff: func(f *fault, m *machine, h *hour, s float64) {
		switch {
		case f.kind < 0.45: // off, or cracked
			h.gain = 1 - 0.96*s
		case f.kind < 0.7:
			h.gain, h.zero = 0, -12*s // off, and in a draught
		case f.kind < 0.85: // crossed
			h.gain = -1
		default: // the high side is off: the gauge has the suction against the room
			h.gain, h.zero = -0.1*s, -m.duct*s
		}
	},
	judge.FilterLeak: func(f *fault, _ *machine, h *hour, s float64) { h.hole = f.size * s },
	judge.BinOverfull: func(f *fault, _ *machine, h *hour, s float64) {
		h.back, h.heap, h.empties = 0.2+0.6*s, 0.72+0.28*s, false
	},
}

// turn sets the damper. The pointer tells it in most plants; where it is written down by hand it stays as it was.
func (f *fault) turn(h *hour, open float64) {
	h.open = open
	if f.kind > 0.25 {
		h.damperShown = open
	}
}
