package chalk

import (
	"math"
	"math/rand/v2"
	"slices"

	"dustwright/judge"
)

// trouble is a change for the worse.
type trouble struct {
	change
	number   int     // of the valve or row, 0 where the cause has none
	severity float64 // 0.25 subtle, 1 gross
}

// kind is what chance settles about it.
type kind struct {
	u, v float64 // between 0 and 1
	row  int
	d    *design
}

// troubles turn the knobs by severity times growth, each at its mechanism.
var troubles = map[judge.Cause]func(k *knobs, s float64, x kind){
	judge.FiltersBlinded: func(k *knobs, s float64, x kind) { // fine dust lodges deep: seasoning goes on to another plateau
		k.plateau += (0.93 - k.plateau) * s
		k.creep += 0.03 * x.u * s
	},
	judge.DustLoadHeavy: func(k *knobs, s float64, x kind) { k.load *= 1 + (1+2*x.u)*s },
	judge.CakeDamp: func(k *knobs, s float64, x kind) {
		k.hold *= 1 + (1.5+2.5*x.u)*s
		k.clog *= 1 + 0.8*s
		if x.v < 0.5 { // else oil or drops, which the air does not show
			k.humid = min(0.99, k.humid+0.45*math.Sqrt(s))
		}
	},
	judge.BinOverfull: func(k *knobs, s float64, x kind) {
		k.unemptied, k.bridged, k.extra = true, x.u < 0.35, 1.1*math.Sqrt(s)
	},
	judge.AirflowHigh: func(k *knobs, s float64, x kind) { k.slip((1-x.d.trim)*math.Sqrt(s), x.v < 0.4) },
	judge.AirflowLow:  func(k *knobs, s float64, x kind) { k.slip(-x.d.trim*(0.3+0.6*x.u)*s, x.v < 0.4) },
	judge.DuctBlocked: func(k *knobs, s float64, x kind) { k.main *= 1 - (0.55+0.2*x.u)*s },
	judge.LeakInward:  func(k *knobs, s float64, x kind) { k.leak = (0.3 + 0.7*x.u) * s },
	judge.FanWeak: func(k *knobs, s float64, x kind) { // the belt slips, or dust sits on the wheel
		if x.v < 0.55 {
			k.speed *= 1 - (0.2+0.25*x.u)*s
		} else {
			k.foul = (0.3 + 0.3*x.u) * s
		}
	},
	judge.CleaningOff: func(k *knobs, s float64, x kind) {
		if k.dark = x.v < 0.6 && s > 0.1; x.v >= 0.6 {
			k.idle = 0.5 + 0.5*s
		}
	},
	judge.HeaderPressureLow: func(k *knobs, s float64, x kind) { // the regulator, the supply's filter, or the compressor
		switch {
		case x.v < 0.4:
			k.setting *= 1 - 0.65*s
		case x.v < 0.7:
			k.supply = 1 - 0.93*math.Sqrt(s)
		default:
			k.line *= 1 - 0.7*s
		}
	},
	judge.ValveDead: func(k *knobs, s float64, x kind) {
		if s > 0.1 {
			k.valve[x.row] = 0
		}
	},
	judge.ValveWeak: func(k *knobs, s float64, x kind) { k.valve[x.row] = 1 - 0.8*s },
	judge.ValveStuckOpen: func(k *knobs, s float64, x kind) {
		k.bleed, k.always, k.hang[x.row] = 1.7*math.Pow(s, 1.3), x.v < 0.5, 3*math.Pow(20, x.u)
	},
	judge.FilterLeak: func(k *knobs, s float64, x kind) { k.hole[x.row] = (0.01 + 0.07*x.u) * s },
	judge.GaugeLineBlocked: func(k *knobs, s float64, x kind) { // minutes to weeks, in one line or both
		side := int(2 * x.u)
		k.lag[side] = 120 * math.Exp(8*s)
		if x.v < 0.4 {
			k.lag[1-side] = k.lag[side] * (0.5 + x.u)
		}
	},
	judge.GaugeLineOff: func(k *knobs, s float64, x kind) {
		switch off := math.Sqrt(s); {
		case x.v < 0.25:
			k.crossed = true
		case x.v < 0.5:
			k.crack = [2]float64{off, off * min(1, 10*(x.v-0.25))} // the dirty side, and more or less of the other
		default:
			k.crack[1] = off
		}
	},
}

// slip moves the damper; its transmitter does not follow where it sits on the shaft and the blade has slipped.
func (k *knobs) slip(by float64, slipped bool) {
	if k.damper += by; !slipped {
		k.shown += by
	}
}

// newTrouble draws how bad it is, since when, and whether it came suddenly.
func newTrouble(cause judge.Cause, r *rand.Rand, d *design) trouble {
	x := trouble{severity: between(r, 0.25, 1)}
	old := spread(r, shortest, min(longest, d.days-4))
	x.change = change{from: (d.days - old) * day, to: math.Inf(1)}
	if chance(r, 0.5) {
		x.ramp = old * day * between(r, 0.1, 0.8)
	}
	if chance(r, startShare) {
		x.from, x.ramp = 0, 0
	}
	kind := kind{u: r.Float64(), v: r.Float64(), row: r.IntN(d.rows), d: d}
	if slices.Contains(judge.NumberedCauses(), cause) {
		x.number = kind.row + 1
	}
	x.turn = func(k *knobs, g float64) { troubles[cause](k, x.severity*g, kind) }
	return x
}
