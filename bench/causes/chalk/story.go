package chalk

import (
	"math"
	"math/rand/v2"
	"strings"
)

// event is something that happens without anything being wrong. It lasts from low to high days, or to the end of the log where
// these are zero. The numbers it is turned by: g grows over the event, u lies between 0 and 1, and gate is one of the branches.
type event struct {
	name      string
	low, high float64
	turn      func(k *knobs, g, u float64, gate int)
}

// whims are what operators do for no reason.
var whims = []event{
	{"a cycle by hand", 0.002, 0.01, func(k *knobs, _, _ float64, _ int) { k.push = true }},
	{"a gate throttled", 0.01, 0.4, func(k *knobs, _, u float64, gate int) { k.gates[gate] *= 0.4 + 0.5*u }},
	{"the fan off", 0.004, 0.06, func(k *knobs, _, _ float64, _ int) { k.stop = true }},
	{"overtime", 0.01, 0.4, func(k *knobs, _, _ float64, _ int) { k.work = true }},
	{"set points nudged", 0.5, 8, func(k *knobs, _, u float64, _ int) { k.low, k.high = k.low+80*(u-0.5), k.high+100*(u-0.5) }},
	{"damper touched", 0.01, 0.4, func(k *knobs, _, u float64, _ int) { k.trim(0.1 * (u - 0.5)) }},
	{"lines blown out", 0.001, 0.01, func(k *knobs, _, _ float64, _ int) { k.crack = [2]float64{1, 1} }},
}

// tales are what may look like a trouble to who does not know. The last one hides what happens in it.
var tales = []event{
	{"heavy week", 2, 12, func(k *knobs, _, u float64, _ int) { k.load *= 1.25 + 0.45*u }},
	{"lighter product", 0, 0, func(k *knobs, _, u float64, _ int) { k.load *= 0.4 + 0.4*u }},
	{"new filters", 0, 0, func(k *knobs, _, _ float64, _ int) { k.life++ }},
	{"set points", 0, 0, func(k *knobs, _, u float64, _ int) { k.low, k.high = k.low+200*(u-0.45), k.high+280*(u-0.45) }},
	{"damper re-trimmed", 0, 0, func(k *knobs, _, u float64, _ int) { k.trim(0.14 * (u - 0.5)) }},
	{"wet weather", 2, 8, func(k *knobs, _, u float64, _ int) { k.humid = min(0.97, k.humid+0.2+0.15*u) }},
	{"hot or cold spell", 3, 15, func(k *knobs, _, u float64, _ int) { k.temp += 18 * (u - 0.4) }},
	{"transmitter drifts", 20, 120, func(k *knobs, g, u float64, _ int) { k.zero += 120 * (u - 0.5) * g }},
	{"transmitter changed", 0, 0, func(k *knobs, _, u float64, _ int) { k.zero += 50 * (u - 0.5) }},
	{"round the clock", 0, 0, func(k *knobs, _, _ float64, _ int) { k.work = true }},
	{"shutdown", 2, 10, func(k *knobs, _, _ float64, _ int) { k.stop = true }},
	{"shared compressor", 0, 0, func(k *knobs, _, u float64, _ int) { k.line -= 0.1 + 0.15*u }},
	{"gate throttled", 0, 0, func(k *knobs, _, u float64, gate int) { k.gates[gate] *= 0.55 + 0.35*u }},
	{"regulator turned", 0, 0, func(k *knobs, _, u float64, _ int) { k.setting += 0.18*u - 0.08 }},
	{"gap", 0.3, 5, func(k *knobs, _, _ float64, _ int) { k.blank = true }},
}

// begin makes a change of an event.
func (e event) begin(r *rand.Rand, d *design, at float64) change {
	u, gate := r.Float64(), r.IntN(len(d.gates))
	c := change{from: at, to: math.Inf(1), turn: func(k *knobs, g float64) { e.turn(k, g, u, gate) }}
	if e.high > 0 {
		c.ramp = spread(r, e.low, e.high) * day
		c.to = at + c.ramp
	}
	return c
}

// happenings draws the stories of a machine and the whims of its operators. Healthy ones nearly always have a story.
func happenings(r *rand.Rand, d *design, healthy bool) (string, []change) {
	end := d.days * day
	from, many := tales[:len(tales)-1], 0
	switch u := r.Float64(); {
	case healthy && u < 0.35:
		from, many = tales, 2
	case healthy && u < 0.9:
		from, many = tales, 1
	case u < 0.35:
		many = 1
	}
	var names []string
	var out []change
	for range many {
		e := pick(r, from...)
		names = append(names, e.name)
		out = append(out, e.begin(r, d, end*between(r, 0.25, 0.96)))
	}
	often := day / spread(r, 0.02, 0.25)
	for t := often * r.ExpFloat64(); t < end; t += often * r.ExpFloat64() {
		out = append(out, pick(r, whims...).begin(r, d, t))
	}
	return strings.Join(names, ", "), out
}
