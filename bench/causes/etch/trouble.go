package etch

import (
	"math"
	"math/rand/v2"

	"dustwright/judge"
)

// trouble is what is wrong, and how it comes.
type trouble struct {
	cause    judge.Cause
	kind     int // which of the ways it can come about
	number   int // of the valve or row
	severity float64
	onset    float64 // [s]
	ramp     float64 // time it takes to grow [s]; 0 sudden
	on, off  float64 // it comes and goes [s]; 0 it stays
}

// harm is what a trouble does to the mechanism at one time; unharmed is a sound one.
type harm struct {
	dust, k2, lift  float64 // factors
	moist           float64 // added to the relative humidity
	blind           float64 // drag added to all rows over the seasoned drag
	damper          float64 // factor of the opening below 1, and above it the share of the rest that is opened (minus 1)
	hidden          bool    // the damper's position reading does not follow
	duct            float64 // factor of the loss before the collector
	leak            float64 // air entering past the hoods over the hoods' own
	hatch           bool    // it enters at the cabinet, not the duct
	speed, head     float64 // of the fan, factors
	torque          float64 // factor of its shaft power besides
	silent          float64 // chance that a cleaning does not happen
	mute            bool    // the controller thinks it pulses
	set, line, pull float64 // regulator and line, factors; fall of the compressor line [Pa]
	miss, weak      float64 // chance that the valve does not open; share by which it opens less
	bleed           float64 // air it loses over the supply
	after           float64 // how long after its pulse it does [s]; 0 always
	dirty, clean    float64 // time constants of the sensing lines [s]
	crack           float64 // share of the clean line's pressure that is lost
	loose           float64 // share of both
	crossed         bool
	hole            float64 // emission through the row over that of all pores
	full            float64 // how far the bin is bridged
	carry           float64 // share of the falling dust that a full bin gives back
	unseen          bool    // it is the hopper that is bridged, above the level probe
}

func unharmed() harm {
	return harm{dust: 1, k2: 1, lift: 1, damper: 1, duct: 1, speed: 1, head: 1, torque: 1, set: 1, line: 1}
}

// contrive draws how a cause comes about on this machine.
func contrive(cause judge.Cause, b *bench, r *rand.Rand) trouble {
	w := trouble{cause: cause, kind: r.IntN(60), severity: span(r, 0.25, 1), onset: math.Inf(1)}
	if cause == judge.None {
		return w
	}
	old := decades(r, 0.2, 28) * day
	switch cause {
	case judge.ValveDead, judge.ValveWeak, judge.ValveStuckOpen, judge.FilterLeak:
		w.number = 1 + r.IntN(b.rows)
	case judge.FiltersBlinded, judge.BinOverfull, judge.DustLoadHeavy:
		old = max(old, 1.3*day)
	}
	w.onset = b.end - min(old, b.end-3*day)
	// nothing breaks in a stopped machine
	for b.hours.idleAt(w.onset) && w.onset > slot {
		w.onset -= slot
	}
	w.onset = math.Floor(w.onset/b.every) * b.every
	switch u := r.Float64(); {
	case r.Float64() < fromStart:
		w.onset = 0
	case u < 0.45:
		w.ramp = (b.end - w.onset) * span(r, 0.1, 0.7)
	case u < 0.65 && w.canPause():
		w.on = decades(r, 2, 30) * 3600
		w.off = w.on * span(r, 0.15, 0.7)
	}
	return w
}

// canPause reports whether the trouble can come and go by itself.
func (w *trouble) canPause() bool {
	switch w.cause {
	case judge.CakeDamp, judge.DustLoadHeavy, judge.FanWeak, judge.CleaningOff, judge.HeaderPressureLow,
		judge.ValveStuckOpen, judge.GaugeLineBlocked, judge.LeakInward:
		return true
	}
	return false
}

// grown is how far the trouble has come, 0 to 1. One that comes and goes is there at the end.
func (w *trouble) grown(t, end float64) float64 {
	switch {
	case w.cause == judge.None || t < w.onset:
		return 0
	case w.on > 0:
		if math.Mod(end-t, w.on+w.off) > w.on {
			return 0
		}
		return 1
	case w.ramp > 0:
		return min(1, (t-w.onset)/w.ramp)
	}
	return 1
}

// at is what the trouble does to the mechanism.
func (w *trouble) at(t, end float64) harm {
	h := unharmed()
	g := w.grown(t, end)
	if g == 0 {
		return h
	}
	switch w.cause {
	case judge.GaugeLineBlocked, judge.GaugeLineOff:
		w.lines(&h, g)
	case judge.CleaningOff, judge.HeaderPressureLow, judge.ValveDead, judge.ValveWeak, judge.ValveStuckOpen:
		w.pulses(&h, g)
	case judge.AirflowHigh, judge.AirflowLow, judge.DuctBlocked, judge.LeakInward, judge.FanWeak:
		w.flow(&h, g)
	default:
		w.dust(&h, g)
	}
	return h
}

// dust is what goes wrong with dust and cloth.
func (w *trouble) dust(h *harm, g float64) {
	s := w.severity
	switch w.cause {
	case judge.FiltersBlinded:
		h.blind = g * (0.2 + 1.3*s)
		h.lift = 1 - g*(0.1+0.4*s)
	case judge.DustLoadHeavy:
		h.dust = 1 + g*(0.4+2.4*s)
	case judge.CakeDamp:
		h.k2 = 1 + g*(0.2+1.5*s)
		h.lift = 1 - g*(0.2+0.65*s)
		if w.kind%2 == 0 { // the air is wet; else it is oil or water from the pulses
			h.moist = g * (0.08 + 0.3*s)
		}
	case judge.FilterLeak:
		h.hole = g * (0.4 + 8*s*s)
	case judge.BinOverfull:
		h.full = min(1, 1.3*g)
		h.carry = 0.25 + 0.65*s
		h.unseen = w.kind%3 == 0
	}
}

// flow is what goes wrong with the air.
func (w *trouble) flow(h *harm, g float64) {
	s := w.severity
	switch w.cause {
	case judge.AirflowHigh:
		h.damper = 1 + g*(0.3+0.7*s)
		h.hidden = w.kind%3 == 0
	case judge.AirflowLow:
		h.damper = 1 - g*(0.12+0.55*s)
		h.hidden = w.kind%3 == 0
	case judge.DuctBlocked:
		h.duct = 1 + g*(0.1+3.5*s*s)
	case judge.LeakInward:
		h.leak = g * (0.03 + 0.55*s*math.Sqrt(s))
		h.hatch = w.kind%2 == 0
	case judge.FanWeak:
		switch w.kind % 5 {
		case 0, 1: // belt
			h.speed = 1 - g*(0.04+0.24*s)
			h.torque = 1 / h.speed
		case 2, 3: // wheel fouled
			h.head = 1 - g*(0.07+0.4*s)
			h.torque = 1 - 0.55*(1-h.head)
		default: // runs backwards, or loses a share of its blades
			h.head = 1 - g*(0.2+0.4*s)
			h.torque = 1 - 0.3*(1-h.head)
		}
	}
}

// pulses is what goes wrong with controller, air and valves.
func (w *trouble) pulses(h *harm, g float64) {
	s := w.severity
	switch w.cause {
	case judge.CleaningOff:
		h.silent = g * min(1, 0.55+0.6*s)
		h.mute = w.kind%3 == 0
	case judge.HeaderPressureLow:
		switch w.kind % 3 {
		case 0:
			h.set = 1 - g*(0.1+0.5*s)
		case 1:
			h.line = math.Pow(0.02, g*(0.15+0.85*s))
		default:
			h.pull = g * (1e5 + 2.4e5*s)
		}
	case judge.ValveDead:
		h.miss = min(1, 0.25+0.75*g) // the pilot sticks
		if s < 0.6 {
			h.miss *= 0.3 + 1.17*s
		}
	case judge.ValveWeak:
		h.weak = g * (0.2 + 0.65*s)
	case judge.ValveStuckOpen:
		h.bleed = g * 0.15 * math.Pow(40, s) // wide open it empties the header
		if w.kind%2 == 0 {
			h.after = 3 + 30*s
			h.bleed *= 3
		}
	}
}

// lines is what goes wrong between collector and gauge.
func (w *trouble) lines(h *harm, g float64) {
	s := w.severity
	if w.cause == judge.GaugeLineBlocked {
		tau := 300 * math.Pow(6000, g*s)
		if w.kind%3 == 0 {
			h.clean = tau
		} else {
			h.dirty = tau
		}
		return
	}
	switch w.kind % 4 {
	case 0:
		h.crossed = true
	case 1:
		h.loose = g * min(1, 0.3+0.75*s)
	default:
		h.crack = g * min(1, 0.15+0.9*s)
	}
}
