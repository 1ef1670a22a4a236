package slate

import "dustwright/bench/causes/made"

// story is what happens to a machine with nothing wrong.
type story struct {
	name  string
	stays bool                        // until the end of the log, else for some days
	act   func(h *hour, much float64) // changes an hour; much is from 0 to 1
}

// stories are those of the sheet; drift is an instrument's.
var stories = []story{
	{"drift", true, func(*hour, float64) {}},
	{"heavy week", false, func(h *hour, much float64) { h.feed *= 1.3 + 0.5*much }},
	{"set points", true, func(h *hour, much float64) {
		shift := (much - 0.35) * 220
		h.low, h.high = h.low+max(-30, 0.6*shift), h.high+shift
	}},
	{"header set", true, func(h *hour, much float64) { h.set += (much - 0.4) * 0.9 * bar }},
	{"damper trimmed", true, func(h *hour, much float64) { h.open *= 0.88 + 0.24*much }},
	{"damp weather", false, func(h *hour, much float64) {
		h.damp = min(0.97, h.damp+0.25)
		h.cake, h.shed = h.cake*(1.05+0.15*much), h.shed*(0.98-0.08*much)
	}},
	{"heat", false, func(h *hour, much float64) {
		warmer := h.kelvin + 6 + 8*much
		h.kelvin, h.density = warmer, h.density*h.kelvin/warmer
	}},
	{"gap", false, func(h *hour, _ float64) { h.lost = true }},
	{"more shifts", true, func(h *hour, _ float64) { h.from, h.to = 0, hourSec }},
	{"shutdown", false, func(h *hour, _ float64) { h.from, h.to = 0, 0 }},
	{"shared compressor", true, func(h *hour, much float64) {
		if h.from < h.to && h.feed > 0.8 { // the others are busy when this one is
			h.supply, h.set = 0.6, h.set-0.25*much*bar
		}
	}},
	{"sticky batch", false, func(h *hour, much float64) { h.cake, h.shed = h.cake*(1.1+0.2*much), h.shed*(0.95-0.1*much) }},
	{"new filters", true, func(*hour, float64) {}},
}

// tell writes a story into the sheet.
func (s *story) tell(d made.Dice, sheet []hour) {
	first := int(d.Between(0.3, 0.97) * float64(len(sheet)))
	last, much := len(sheet), d.Float64()
	if !s.stays {
		last = min(last, first+24*(2+d.IntN(9)))
	}
	for i := first; i < last; i++ {
		s.act(&sheet[i], much)
	}
	sheet[first].renewed = s.name == "new filters"
}

// retouch is the small changes operators make now and then, in sound and faulty machines alike.
func retouch(d made.Dice, sheet []hour) {
	for range d.IntN(4) {
		first, which := d.IntN(len(sheet)), d.IntN(3)
		by := d.Between(-1, 1) * [3]float64{40, 20, 0.2 * bar}[which]
		for i := range sheet[first:] {
			h := &sheet[first+i]
			*[3]*float64{&h.high, &h.low, &h.set}[which] += by
		}
	}
}
