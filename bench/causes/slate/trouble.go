package slate

import (
	"math"

	"dustwright/bench/causes/made"
	"dustwright/judge"
)

// trouble is what is wrong, since when, and of which kind where a cause has several.
type trouble struct {
	cause    judge.Cause
	number   int     // valve or row, 0 none
	severity float64 // 0.25 to 1
	onset    int     // hour of the sheet
	creeps   float64 // hours until it is as severe as it gets, 0 sudden
	kind     float64 // 0 to 1
}

// newTrouble draws when and how badly.
func newTrouble(d made.Dice, cause judge.Cause, hours, numbers int) trouble {
	f := trouble{cause: cause, severity: d.Between(0.25, 1), kind: d.Float64()}
	if cause == judge.ValveDead || cause == judge.CleaningOff {
		f.severity = d.Between(0.7, 1) // these are nearly all or nothing
	}
	if e, _ := judge.CauseOf(cause); e.Numbered {
		f.number = 1 + d.IntN(numbers)
	}
	if d.Chance(1.0 / 8) {
		return f
	}
	age := d.Spread(3, 35*24)
	if cause == judge.FiltersBlinded {
		age = d.Spread(48, 35*24) // no filter blinds in an afternoon
	}
	age = min(age, float64(hours)-7*24)
	f.onset = hours - int(age)
	if d.Chance(0.5) || cause == judge.FiltersBlinded {
		f.creeps = age * d.Between(0.2, 1)
	}
	return f
}

// write puts the trouble into the sheet.
func (f *trouble) write(d made.Dice, sheet []hour) {
	stuck := false
	for i := f.onset; i < len(sheet); i++ {
		h, s := &sheet[i], f.severity*min(1, 0.15+0.85*float64(i-f.onset+1)/max(1, f.creeps))
		if f.cause != judge.CleaningOff {
			acts[f.cause](h, s, f.kind)
		} else if d.Chance(0.15) || i == f.onset { // a loose contact holds for some hours
			stuck = d.Chance(s)
		}
		h.mute = stuck
	}
}

// acts say what a severity s does to the sheet's columns; kind tells the ways one cause comes about.
var acts = map[judge.Cause]func(h *hour, s, kind float64){
	judge.FiltersBlinded: func(h *hour, s, _ float64) { h.clogged, h.shed = h.clogged*(1+2.2*s), h.shed*(1-0.3*s) },
	judge.DustLoadHeavy:  func(h *hour, s, _ float64) { h.feed *= 1 + 3*s },
	judge.CakeDamp: func(h *hour, s, kind float64) {
		h.cake, h.shed = h.cake*(1+2.5*s), h.shed*(1-0.7*s)
		if kind < 0.6 { // else the water comes with the pulse air
			h.damp = min(0.97, h.damp+0.35*s)
		}
	},
	judge.AirflowHigh: func(h *hour, s, _ float64) { h.open += (1 - h.open) * (0.2 + 0.8*s) },
	judge.AirflowLow:  func(h *hour, s, _ float64) { h.open *= 1 - 0.65*s },
	judge.DuctBlocked: func(h *hour, s, _ float64) { h.duct *= 1 + 4.5*s },
	judge.LeakInward:  func(h *hour, s, _ float64) { h.inleak = 1.1 * s },
	judge.FanWeak: func(h *hour, s, kind float64) {
		if h.speed = 1 - 0.28*s; kind < 0.1 {
			h.speed = 0.72 - 0.1*s // runs backwards
		}
	},
	judge.HeaderPressureLow: func(h *hour, s, kind float64) {
		if kind < 0.5 {
			h.set *= 1 - 0.6*s // regulator
		} else {
			h.set, h.supply = h.set*(1-0.15*s), h.supply*(1-0.93*math.Sqrt(s)) // dryer, hose or compressor
		}
	},
	judge.ValveDead:      func(h *hour, s, _ float64) { h.lift = max(0, 1-1.4*s) },
	judge.ValveWeak:      func(h *hour, s, _ float64) { h.lift = 1 - 0.85*s },
	judge.ValveStuckOpen: func(h *hour, s, _ float64) { h.lift, h.bleed = 1-0.7*s, 0.12+0.6*s },
	judge.FilterLeak:     func(h *hour, s, _ float64) { h.hole = s },
	judge.BinOverfull:    func(h *hour, s, _ float64) { h.back, h.heap, h.feed = 0.75*s, 0.75+0.25*s, h.feed*(1+0.4*s) },
	judge.GaugeLineBlocked: func(h *hour, s, kind float64) {
		h.choke = 900 * math.Exp(5.5*s) // a quarter of an hour to days
		h.offset += (kind - 0.5) * 150 * s
	},
	judge.GaugeLineOff: func(h *hour, s, kind float64) {
		if h.gain, h.offset = 0.85-0.85*s, h.offset-20*s; kind < 0.15 {
			h.gain = -1 // crossed
		}
	},
}
