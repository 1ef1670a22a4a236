package stencil

import (
	"math"
	"math/rand/v2"

	"dustwright/judge"
)

// The troubles, by the names of the causes.
const (
	blinded   = string(judge.FiltersBlinded)
	heavyDust = string(judge.DustLoadHeavy)
	damp      = string(judge.CakeDamp)
	tooMuch   = string(judge.AirflowHigh)
	tooLittle = string(judge.AirflowLow)
	blocked   = string(judge.DuctBlocked)
	inward    = string(judge.LeakInward)
	weak      = string(judge.FanWeak)
	silent    = string(judge.CleaningOff)
	lowAir    = string(judge.HeaderPressureLow)
	dead      = string(judge.ValveDead)
	feeble    = string(judge.ValveWeak)
	stuckOpen = string(judge.ValveStuckOpen)
	plugged   = string(judge.GaugeLineBlocked)
	lineOff   = string(judge.GaugeLineOff)
	holed     = string(judge.FilterLeak)
	binFull   = string(judge.BinOverfull)
	healthy   = string(judge.None)
)

// trouble is what goes wrong with a machine, when and how much.
type trouble struct {
	fault    string
	number   int
	severity float64
	onset    float64 // [days since the start]
	ramp     float64 // days until it is in full
	kind     float64 // 0 to 1: which of the ways in which it comes about
}

// newTrouble draws one that leaves some days without it, or none.
func newTrouble(r *rand.Rand, s *shop, cause string) trouble {
	t := trouble{fault: cause, severity: 0.25 + 0.75*r.Float64(), kind: r.Float64()}
	old := math.Exp(math.Log(0.2) + r.Float64()*math.Log(30/0.2))
	u, first, slow := r.Float64(), r.Float64() < 0.1, r.Float64()
	switch cause {
	case blinded:
		old, t.ramp = 6+1.2*old, 0.3+0.6*u
	case holed, heavyDust, damp, lowAir, blocked, weak, plugged, feeble:
		if slow < 0.5 {
			t.ramp = 0.7 * u
		}
	}
	if n := s.rows; cause == dead || cause == feeble || cause == stuckOpen || cause == holed {
		t.number = 1 + r.IntN(n)
	}
	old = min(old, s.days-7)
	t.ramp *= old
	if first {
		old, t.ramp = s.days, 0
	}
	t.onset = s.days - old
	return t
}

// level is how far a trouble is there, 0 for any but the machine's own.
func (w *world) level(cause string) float64 {
	if w.part == 0 || cause != w.fault {
		return 0
	}
	return w.part
}

// worsen sets how far the trouble is there now.
func (w *world) worsen(day float64) {
	w.part = 0
	if w.off || w.fault == healthy || day < w.onset {
		return
	}
	w.part = w.severity
	if w.ramp > 0 {
		w.part *= min(1, 0.1+0.9*(day-w.onset)/w.ramp)
	}
	switch w.fault {
	case blinded:
		w.clog = w.part * (450 + 700*w.kind) * w.area / w.design
	case holed:
		r := &w.cloth[w.number-1]
		r.leak = (0.003 + 0.05*math.Pow(w.part, 1.5)) / (w.media + w.root)
	}
}

// idleOutput tells that the controller does not pulse at this time though it should.
func (w *world) idleOutput() bool {
	l := w.level(silent)
	return l > 0 && (l > 0.6 || w.hourly(9) < 0.55+0.6*l)
}

// hourly is a figure from 0 to 1 that stays for some hours; it is the same whatever is wrong.
func (w *world) hourly(what uint64) float64 {
	x := (w.seed+1)*0x9E3779B97F4A7C15 ^ what<<32 ^ uint64(w.t/(3600*float64(2+what%4)))
	x ^= x >> 31
	x *= 0xBF58476D1CE4E5B9
	x ^= x >> 27
	x *= 0x94D049BB133111EB
	return float64(x>>11) / (1 << 53)
}
