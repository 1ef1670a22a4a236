package sense

import (
	"math"

	"dustwright/unit"
)

// stood is what the header stands at while the fan does, on days on which it ran, and what its level lacks of that while it
// runs: what is taken while it cleans alone leaves the header full as long as nothing cleans, and a regulator turned down
// does not. A header that is bled or shut off over night tells neither. HeaderLevel must be known by then.
func (d *Day) stood(hours []Hour) {
	if !(d.Hours > 0) {
		return
	}
	var m weighted
	for i := range hours {
		m.add(float64(hours[i].Air.Stood), float64(hours[i].Air.StoodN))
	}
	full, se := m.value()
	level := d.Value[HeaderLevel]
	if m.w < leastBusy || !(full > 0) || full <= airShut*level {
		return
	}
	d.set(HeaderStood, full, se)
	d.set(HeaderSags, 1-level/full, hypot(d.Sigma[HeaderLevel], se)/full)
}

// airShut is the share of its level below which a header that stands so while the fan does was bled or shut off over night: it
// does not tell what the supply gives. Common practice, no source.
const airShut = 0.8

// emptied is the share of the header's absolute pressure that cleaning takes, down to the lowest reading: flow through a valve
// is choked, in proportion to the absolute pressure before it, so that a pulse takes the same share out of a header that is held
// lower, and more out of one that does not fill again or is blown off meanwhile. It is the median of the hours that show a level
// at rest as well, else what the day's level and lowest make it, and no surer than a lowest read in steps of grain [Pa] tells: where
// hardly anything is seen to fall, one step more or less is half of it. HeaderLevel and HeaderLowest must be known by then.
func (d *Day) emptied(hours []Hour, grain float64) {
	var v []float64
	for i := range hours {
		h := &hours[i]
		if h.Running > 0 && (h.Pulses > 0 || h.Cleaning > 0) {
			v = append(v, emptiedFrom(float64(h.Air.Rest), lowestOf(h)))
		}
	}
	v = known(v)
	level, low := d.Value[HeaderLevel], d.Value[HeaderLowest]
	step := grain / math.Sqrt(12) / (level + unit.Atmosphere)
	if n := len(v); n > 0 {
		mid := medianOf(append([]float64(nil), v...))
		d.set(HeaderEmptied, mid, hypot(1.25*spreadOf(v)/math.Sqrt(float64(n)), step))
		return
	}
	d.set(HeaderEmptied, emptiedFrom(level, low), hypot(hypot(d.Sigma[HeaderLevel], d.Sigma[HeaderLowest])/(level+unit.Atmosphere), step))
}

// emptiedFrom is the share of the absolute pressure at a level that lies above a lower one, both gauge [Pa].
func emptiedFrom(level, low float64) float64 { return (level - low) / (level + unit.Atmosphere) }
