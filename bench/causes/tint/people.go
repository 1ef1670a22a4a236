package tint

import (
	"math"

	"dustwright/bench/causes/made"
	"dustwright/judge"
)

// story is what happens to a machine with nothing wrong, or beside what is.
type story struct {
	name  string
	stays bool                        // until the end of the log, else for some days
	act   func(h *hour, much float64) // changes an hour; much is from 0 to 1
}

var stories = []story{
	{"gauge drifts", true, func(*hour, float64) {}},
	{"heavy week", false, func(h *hour, much float64) { h.feed *= 1.25 + 0.5*much }},
	{"new product", true, func(h *hour, much float64) { h.feed, h.rise = h.feed*(0.8+0.45*much), h.rise*(1.1-0.2*much) }},
	{"set points moved", true, func(h *hour, much float64) {
		shift := math.Round((much-0.35)*8) / 10 * inWater
		h.low, h.high = h.low+max(-0.1*inWater, 0.5*shift), h.high+shift
	}},
	{"regulator turned", true, func(h *hour, much float64) { h.set += math.Round((much-0.4)*14) * psi }},
	{"damper trimmed", true, func(h *hour, much float64) { h.moveDamper(0.87 + 0.26*much) }},
	{"wet weather", false, func(h *hour, much float64) {
		h.humid, h.rise, h.take = min(0.97, h.humid+0.22), h.rise*(1.03+0.12*much), h.take*(0.98-0.07*much)
	}},
	{"heat", false, func(h *hour, much float64) {
		warmer := h.kelvin + 5 + 9*much
		h.kelvin, h.density = warmer, h.density*h.kelvin/warmer
	}},
	{"no record", false, func(h *hour, _ float64) { h.lost = true }},
	{"night shift", true, func(h *hour, _ float64) { h.from, h.to = 0, hourSec }},
	{"holidays", false, func(h *hour, _ float64) { h.from, h.to = 0, 0 }},
	{"compressor work", false, func(h *hour, much float64) { h.set, h.supply = h.set*(0.97-0.07*much), 0.75 }},
	{"new filters", true, func(*hour, float64) {}},
	{"filters brushed", true, func(*hour, float64) {}},
	{"cleaned by hand", false, func(h *hour, much float64) { h.byHand = h.to > h.from && h.to < hourSec && much > 0.1 }},
	{"bin left", false, func(h *hour, _ float64) { h.empties = false }},
}

// mends reports that a cause does not outlast a story.
func (s *story) mends(cause judge.Cause) bool {
	return (s.name == "new filters" || s.name == "filters brushed") && (cause == judge.FiltersBlinded || cause == judge.FilterLeak)
}

// moveDamper turns the damper, and the pointer with it.
func (h *hour) moveDamper(by float64) {
	h.open, h.damperShown = min(1, h.open*by), min(1, h.damperShown*by)
}

// tell writes a story into the hours.
func (s *story) tell(d made.Dice, hours []hour) {
	first := int(d.Between(0.25, 0.97) * float64(len(hours)))
	last, much := len(hours), d.Float64()
	if !s.stays {
		last = min(last, first+24*(2+d.IntN(8)))
	}
	for i := first; i < last; i++ {
		s.act(&hours[i], much)
	}
	switch s.name {
	case "new filters":
		hours[first].renewed = true
		for i := first; i < len(hours) && d.Chance(0.98); i++ { // the damper is closed down for new filters, and opened again
			hours[i].moveDamper(0.93)
		}
	case "filters brushed":
		for i := first; i < last; i++ {
			hours[i].stays *= 0.88
		}
	}
}

// habits are what the operator does to any machine: trims the damper, turns the set points or the regulator a little.
func habits(d made.Dice, hours []hour) {
	for range d.IntN(4) {
		first, which, by := d.IntN(len(hours)), d.IntN(4), d.Between(-1, 1)
		for i := first; i < len(hours); i++ {
			h := &hours[i]
			switch which {
			case 0:
				h.high += by * 0.15 * inWater
			case 1:
				h.low += by * 0.08 * inWater
			case 2:
				h.set += by * 3 * psi
			default:
				h.moveDamper(1 + 0.05*by)
			}
		}
	}
}

// react is what the operator does about a sign of trouble some time after it began: the wrong thing, mostly.
func react(d made.Dice, f *fault, hours []hour) {
	first, much := f.onset+int(d.Between(0.15, 0.9)*float64(len(hours)-f.onset)), d.Float64()
	for i := first; i < len(hours); i++ {
		h := &hours[i]
		switch f.cause {
		case judge.FiltersBlinded, judge.DustLoadHeavy, judge.CakeDamp, judge.ValveDead, judge.ValveWeak:
			h.high, h.low = h.high+(0.2+0.5*much)*inWater, h.low+0.3*much*inWater
		case judge.FanWeak, judge.DuctBlocked, judge.LeakInward:
			h.moveDamper(1.04 + 0.15*much)
		case judge.HeaderPressureLow, judge.ValveStuckOpen:
			h.set += much * 6 * psi
		case judge.BinOverfull:
			h.byHand = h.byHand || i%24 == 14
		default:
		}
	}
}
