package carve

import (
	"math"
	"math/rand/v2"

	"dustwright/bench/causes/made"
	"dustwright/judge"
)

// trouble is one thing that is wrong: it moves the mechanism named by its cause.
type trouble struct {
	cause     judge.Cause
	number    int
	severity  float64
	from      float64 // onset [s]; 0 from the first row
	ramp      float64 // time until it is at its worst [s]
	kind      float64 // 0 to 1: which of the ways the cause comes about
	much      float64 // 0 to 1: how much this machine minds
	target    float64 // damper position it ends at; 0 not yet found
	old       float64 // [days]
	wasOpen   float64
	patchwork uint64
}

// newTrouble draws one for a log of so many days.
func newTrouble(r *rand.Rand, p *plant, days float64) *trouble {
	names := made.Causes()
	f := &trouble{cause: judge.Cause(names[r.IntN(len(names))]), severity: between(r, 0.25, 1), kind: r.Float64(), much: r.Float64(), patchwork: r.Uint64()}
	switch f.cause {
	case judge.ValveDead, judge.ValveWeak, judge.ValveStuckOpen, judge.FilterLeak:
		f.number = 1 + r.IntN(p.rows)
	}
	f.old = min(spread(r, 0.13, 28), days-5)
	switch f.cause {
	case judge.FiltersBlinded, judge.BinOverfull, judge.CleaningOff:
		f.old = max(f.old, between(r, 0.8, 4))
	}
	f.from = (days - f.old) * day
	sudden := 0.5
	switch f.cause {
	case judge.FiltersBlinded:
		sudden = 0.15
	case judge.ValveDead, judge.GaugeLineOff, judge.CleaningOff:
		sudden = 1
	}
	if r.Float64() > sudden {
		f.ramp = f.old * day * between(r, 0.2, 0.8)
	}
	if r.Float64() < 0.12 {
		f.old, f.from, f.ramp = days, 0, 0
	}
	return f
}

// level is how far it has come at a time: 0 before, its severity in the end.
func (f *trouble) level(t float64) float64 {
	if t < f.from {
		return 0
	}
	if f.ramp == 0 {
		return f.severity
	}
	return f.severity * min(1, (t-f.from)/f.ramp)
}

// of is the level if the cause is this one, else 0.
func (f *trouble) of(c judge.Cause, t float64) float64 {
	if f.cause != c {
		return 0
	}
	return f.level(t)
}

// valve is the share of its air that a valve gives when it is told to open; more than 1 where it closes late.
func (f *trouble) valve(v int, t float64, r *rand.Rand) float64 {
	u := r.Float64()
	if f.number != v {
		return 1
	}
	if l := f.of(judge.ValveDead, t); l > 0 && u < 0.72+0.4*l {
		return 0 // a pilot that sticks now and then, or never moves again
	}
	if l := f.of(judge.ValveWeak, t); l > 0 {
		return 1 - 0.2 - (0.45+0.2*f.much)*l
	}
	if l := f.of(judge.ValveStuckOpen, t); l > 0 {
		if f.kind < 0.4 { // it closes late, and seats badly after
			return 1 + (0.6+2.5*f.much)*l
		}
		return 1 - 0.6*l // it never closes, and has little left to open
	}
	return 1
}

// bleed is the conductance of an open valve over what the supply holds against it.
func (f *trouble) bleed(t float64) float64 {
	l := f.of(judge.ValveStuckOpen, t)
	if l == 0 {
		return 0
	}
	b := 0.04 + (0.4+0.9*f.much)*l*l
	if f.kind < 0.4 {
		return 0.3 * b
	}
	return b
}

// silent reports that the controller doesn't pulse at a time it should.
func (f *trouble) silent(t float64) bool {
	l := f.of(judge.CleaningOff, t)
	if l == 0 || f.kind > 0.75 {
		return false
	}
	block := uint64(t / (3600 * (2 + 10*f.much)))
	return hash(f.patchwork, block) < 0.45+0.75*l
}

// late is by how much too high the dP is at which cleaning begins [Pa].
func (f *trouble) late(t float64) float64 {
	if l := f.of(judge.CleaningOff, t); l > 0 && f.kind > 0.75 {
		return 150 + 900*l
	}
	return 0
}

// hash is a number from 0 to 1 that depends on both.
func hash(a, b uint64) float64 { return rand.New(rand.NewPCG(a, b)).Float64() }

// move turns the ducts, openings, outlet, damper and fan to where the trouble has them.
func (f *trouble) move(a *air, t float64) {
	a.choke, a.gap, a.stack, a.speed, a.foul = 1, 0, 0, 1, 1
	if t < f.from {
		return
	}
	l := f.level(t)
	switch f.cause {
	case judge.DuctBlocked:
		whole := a.p.mainR + 1/(a.sum*a.sum)
		a.choke = 1 + (0.3+(1.2+3*f.much)*l)*whole/a.p.mainR
	case judge.LeakInward:
		a.gap = (0.06 + (0.3+0.5*f.much)*l) / math.Sqrt(a.p.mainR+1/(a.sum*a.sum))
	case judge.FanWeak:
		switch {
		case f.kind < 0.1 && f.severity > 0.7:
			a.foul = 0.4 // turns the wrong way
		case f.kind < 0.6:
			a.speed = 1 - 0.04 - 0.2*l
		default:
			a.foul = 1 - 0.07 - 0.38*l
		}
	case judge.AirflowLow:
		if f.kind > 0.75 {
			a.stack = 3 + 60*l*l
		}
	}
}

// shift is where the damper stands by the trouble, from where people left it.
func (f *trouble) shift(a *air, t, rho float64) {
	if t < f.from || f.cause != judge.AirflowHigh && (f.cause != judge.AirflowLow || f.kind > 0.75) {
		return
	}
	if f.target == 0 {
		f.wasOpen = a.open
		want := 1 + 0.05 + 0.25*f.severity
		if f.cause == judge.AirflowLow {
			want = 1 - 0.08 - 0.42*f.severity
		}
		f.target = a.settle(want*a.p.flow, rho)
		if f.cause == judge.AirflowHigh {
			f.target = max(f.target, f.wasOpen)
		} else {
			f.target = min(f.target, f.wasOpen)
		}
	}
	a.open = f.wasOpen + (f.target-f.wasOpen)*f.level(t)/f.severity
}

// reading is what a sensing line lets through of the filters' dP, given the suction before them.
func (f *trouble) reading(t, dp, suction float64) float64 {
	l := f.of(judge.GaugeLineOff, t)
	switch {
	case l == 0:
		return dp
	case f.kind < 0.2 && f.severity > 0.6: // crossed
		return -dp
	case f.kind < 0.45: // both ends off, or one pipe to both
		return dp * (1 - min(1, 0.55+0.5*l))
	}
	share := 0.25 + 0.75*l // the clean side cracked or off: it sees the hall
	return (1-share)*dp - share*suction
}

// lag is the time constant of the sensing line [s].
func (f *trouble) lag(t float64) float64 {
	l := f.of(judge.GaugeLineBlocked, t)
	if l == 0 {
		return 0
	}
	if f.kind < 0.3 {
		return 1e9 // plugged for good
	}
	return 500 * math.Exp(6*l)
}
