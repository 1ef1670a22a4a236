package pastel

import (
	"math"

	"dustwright/judge"
)

// effects are what a trouble does to the machine; sound is none of it.
type effects struct {
	clogged                   float64 // drag in the media beyond its age [Pa s/m]
	cake, sticky, grips, dust float64 // multiples: drag of the cake, adhesion, what turns into residual layer, dust
	open, opens               float64 // damper: multiple of the opening; share of the way to fully open
	duct, inleak              float64 // multiple of the resistance; conductance beside that of the ducts
	fan, speed, load          float64 // multiples of the fan's pressure, speed, power
	mute, fuse                bool    // no commands; commands without current
	set, supply, line         float64 // multiples at the header
	row                       int     // the troubled valve or row, from 0; -1 none
	lift, onShare             float64 // of that valve
	bleed, sticks, sticksFor  float64 // of a valve's opening, always or for a time after it fired [s]
	highLag, lowLag           float64 // of the gauge's lines [s]
	highOff, lowOff           float64 // share that comes from the room
	crossed                   bool
	hole                      float64 // in the row, 1 gross
	carry, heap               float64 // share of the dust carried up from the bin; its least fill
	wet, warm                 float64 // added to humidity, temperature
	hidden                    bool    // the damper's blade has moved, its position switch not
}

// sound is a machine without trouble.
func sound() effects {
	return effects{cake: 1, sticky: 1, grips: 1, dust: 1, open: 1, duct: 1, fan: 1, speed: 1, load: 1, set: 1, supply: 1, line: 1, row: -1,
		lift: 1, onShare: 1, highLag: 0.8, lowLag: 0.8}
}

// trouble is what is wrong with a machine, of which kind, and since when.
type trouble struct {
	cause         judge.Cause
	number        int
	severity      float64
	onset, creeps float64 // [s] in the machine's time; until it is full grown
	kind, shape   float64 // 0 to 1; power of the growth
	comes         float64 // it comes and goes with this period [s]; 0 it stays
	seed          uint64
}

// newTrouble draws one for a log that goes from start to end.
func newTrouble(l luck, p *plant, cause judge.Cause, start, end float64) trouble {
	t := trouble{cause: cause, severity: l.in(0.25, 1), kind: l.Float64(), shape: pick(l, 0.7, 1, 1, 1.8), seed: l.Uint64()}
	if cause == judge.ValveDead {
		t.severity = l.in(0.7, 1)
	}
	if e, _ := judge.CauseOf(cause); e.Numbered {
		t.number = 1 + l.IntN(p.rows)
	}
	oldest := min(60*day, end-start-8*day)
	age := l.octaves(3*hour, oldest)
	slow := cause == judge.FiltersBlinded || cause == judge.BinOverfull
	if slow {
		age = l.octaves(2*day, oldest)
	}
	t.onset = end - age
	if l.once(0.06) {
		t.onset = start
		return t
	}
	if slow || l.once(0.4) {
		t.creeps = age * l.in(0.15, 1)
	}
	if l.once(0.12) && t.creeps == 0 && !slow {
		t.comes = l.octaves(1*hour, 20*hour)
	}
	return t
}

// at is how far the trouble has grown, from 0 to its severity.
func (t *trouble) at(now float64) float64 {
	if t.cause == judge.None || now < t.onset {
		return 0
	}
	grown := 1.0
	if t.creeps > 0 {
		grown = math.Pow(min(1, 0.05+(now-t.onset)/t.creeps), t.shape)
	}
	if t.comes > 0 && cast(t.seed, uint64((now-t.onset)/t.comes)).once(0.25) {
		grown *= 0.2
	}
	return t.severity * grown
}

// effects are those at a time.
func (t *trouble) effects(now float64, p *plant) effects {
	e := sound()
	s := t.at(now)
	if s == 0 {
		return e
	}
	e.row = t.number - 1
	if f, ok := onFilters[t.cause]; ok {
		f(t, &e, s, p)
	} else if f, ok := onAir[t.cause]; ok {
		f(t, &e, s, p)
	} else {
		onPulses[t.cause](t, &e, s, p)
	}
	return e
}

type act = func(t *trouble, e *effects, s float64, p *plant)

// onFilters are troubles of filters, dust and bin.
var onFilters = map[judge.Cause]act{
	judge.FiltersBlinded: func(_ *trouble, e *effects, s float64, p *plant) {
		e.clogged, e.grips, e.sticky = 1.5*s*p.low/p.face(), 1+s, 1+0.4*s
	},
	judge.DustLoadHeavy: func(_ *trouble, e *effects, s float64, _ *plant) { e.dust = 1 + 3.5*s },
	judge.CakeDamp: func(t *trouble, e *effects, s float64, _ *plant) {
		e.cake, e.sticky, e.grips = 1+1.8*s, 1+1.1*s, 1+s
		if t.kind < 0.65 { // wet process or weather; else oil or water with the pulse air
			e.wet, e.warm = 0.15+0.3*s, -4*s
		}
	},
	judge.BinOverfull: func(_ *trouble, e *effects, s float64, _ *plant) {
		e.carry, e.heap, e.dust = 0.75*s, 0.7+0.3*s, 1+0.5*s
	},
	judge.FilterLeak: func(_ *trouble, e *effects, s float64, _ *plant) { e.hole = s },
}

// onAir are troubles of fan, ducts, damper and gauge.
var onAir = map[judge.Cause]act{
	judge.AirflowHigh: func(t *trouble, e *effects, s float64, _ *plant) {
		e.opens, e.hidden = 0.15+0.85*s, t.kind < 0.12
	},
	judge.AirflowLow: func(t *trouble, e *effects, s float64, _ *plant) {
		e.open, e.hidden = 1-0.6*s, t.kind < 0.12
	},
	judge.DuctBlocked: func(_ *trouble, e *effects, s float64, _ *plant) { e.duct, e.dust = 1+5*s*s+s, 1-0.3*s },
	judge.LeakInward:  func(_ *trouble, e *effects, s float64, _ *plant) { e.inleak, e.dust = 0.9*s, 1-0.15*s },
	judge.FanWeak: func(t *trouble, e *effects, s float64, _ *plant) {
		switch {
		case t.kind < 0.12 && t.creeps == 0: // it runs backwards
			e.fan, e.speed, e.load = 0.5-0.1*s, 0.85, 0.8
		case t.kind < 0.6: // belt
			e.speed = 1 - 0.25*s
		default: // wheel fouled or worn
			e.fan, e.load = 1-0.42*s, 1-0.15*s
		}
	},
	judge.GaugeLineBlocked: func(t *trouble, e *effects, s float64, _ *plant) {
		lag := 600 * math.Pow(600, s) // ten minutes to four days
		switch {
		case t.kind < 0.45:
			e.highLag = lag
		case t.kind < 0.75:
			e.lowLag = lag
		default:
			e.highLag, e.lowLag = lag, lag
		}
	},
	judge.GaugeLineOff: func(t *trouble, e *effects, s float64, _ *plant) {
		switch {
		case t.kind < 0.1: // the dirty side's: it then reads the clean plenum's suction
			e.highOff = s
		case t.kind < 0.2 && t.creeps == 0:
			e.crossed = true
		case t.kind < 0.5: // off at the gauge, both sides in the room
			e.highOff, e.lowOff = s, s
		default:
			e.lowOff = 0.25 + 0.75*s
		}
	},
}

// onPulses are troubles of cleaning and pulse air.
var onPulses = map[judge.Cause]act{
	judge.CleaningOff: func(t *trouble, e *effects, s float64, _ *plant) {
		e.fuse, e.mute = t.kind < 0.12, t.kind >= 0.12
		if t.comes > 0 && s < 0.5*t.severity { // a loose contact
			e.fuse, e.mute = false, false
		}
	},
	judge.HeaderPressureLow: func(t *trouble, e *effects, s float64, _ *plant) {
		switch {
		case t.kind < 0.4: // regulator
			e.set = 1 - 0.6*s
		case t.kind < 0.75: // dryer, filter, hose: it does not come back in time
			e.supply, e.set = 1/(1+18*s*s), 1-0.1*s
		default: // shop air
			e.line = 1 - 0.65*s
		}
	},
	judge.ValveDead: func(_ *trouble, e *effects, s float64, _ *plant) { e.lift = max(0, 1-1.5*s) },
	judge.ValveWeak: func(t *trouble, e *effects, s float64, _ *plant) {
		if t.kind < 0.6 {
			e.lift = 1 - 0.8*s
		} else {
			e.onShare = 1 - 0.75*s
		}
	},
	judge.ValveStuckOpen: func(t *trouble, e *effects, s float64, p *plant) {
		if t.kind < 0.6 {
			e.bleed, e.lift = p.share()*(0.1+1.3*s), 1-0.5*s
		} else { // slow to close
			e.sticks, e.sticksFor = 3*p.share()*s, 2+p.interval*s
		}
	},
}

// share is the supply's flow as a share of that of a valve, so that a bleed is measured by what the supply can hold.
func (p *plant) share() float64 {
	return p.feed * (p.line + atmosphere) / (p.valve * (p.set + atmosphere))
}
