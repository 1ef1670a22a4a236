package tint

import (
	"math"

	"dustwright/bench/causes/made"
)

// hour is all that acts on the machine in an hour: what people, weather, stories and troubles move.
type hour struct {
	from, to         float64 // the fan runs [s within the hour]; from == to: it stands
	feed, rise, take float64 // dust made, share of full production; dP its cake takes and what a pulse takes, shares of the usual
	stays            float64 // what stays in the media, multiple of the usual
	open, speed      float64 // damper; share of the fan's speed
	duct, gap        float64 // multiple of the ducts' loss; air that comes past the hoods, share of theirs
	low, high, set   float64
	supply           float64 // share of the usual that refills the header
	mute, byHand     bool    // no pulses; somebody has it clean
	lift             float64 // how far the troubled valve opens
	fails            float64 // share of its pulses in which it does not
	bleed, hangs     float64 // share of the header's pressure lost all the time; seconds the valve hangs after its pulse
	hole             float64
	back, heap       float64 // share of the dust that is carried back up; least fill of the bin
	gain, zero, lag  float64 // of the dP gauge's lines: reads gain dP + zero [Pa], late by lag [s]
	kelvin, humid    float64
	baro, density    float64 // [Pa]; share of standard air's
	renewed, lost    bool    // new filters; nothing is logged
	empties          bool    // somebody looks after the bin
	damperShown      float64 // as it stands in the log
}

// week is how a plant works and what weather it has.
type week struct {
	shifts  [7][]stretch // of the day, Monday first
	spells  []spell      // the weather, one after the other
	swing   float64      // warmest above the mean of the day [K]
	batches []batch
	stays   float64 // mean length of a batch [h]
	binHour int     // when the bin is looked at
	slack   float64 // chance that the bin is forgotten
}

// stretch is from when to when the fan runs [h of the day].
type stretch struct{ from, to float64 }

// spell is some days of the same weather, which goes over into the next by and by.
type spell struct{ from, warm, humid, baro float64 } // first day; mean of the day [K]; [1]; off the usual [Pa]

// batch is one product.
type batch struct{ feed, rise, take float64 }

// longest is how many days a record may have.
const longest = 125

func newWeek(d made.Dice) *week {
	w := &week{swing: d.Between(1, 6), stays: d.Spread(4, 150), slack: d.Between(0, 0.12)}
	w.work(d)
	season, climb, usual := d.Between(281, 303), d.Between(-0.1, 0.1), d.Between(0.35, 0.65)
	for day := 0.0; day < longest; day += d.Between(1.5, 9) {
		low := d.NormFloat64() // of pressure: cloud, wet, and less of heat or frost
		w.spells = append(w.spells, spell{day, season + climb*day + 3*d.NormFloat64(), min(0.95, max(0.2, usual+0.1*low)), -600 * low})
	}
	for range 1 + d.IntN(4) {
		w.batches = append(w.batches, batch{d.Spread(0.55, 1.3), d.Spread(0.88, 1.14), d.Between(0.94, 1.05)})
	}
	return w
}

// work draws the day's shifts. Some have a break with the fan off.
func (w *week) work(d made.Dice) {
	begin := d.Between(5, 8)
	day := []stretch{{begin, begin + made.OneOf(d, 8.5, 9, 10, 15.5, 16, 17)}}
	kind := d.Float64()
	switch {
	case kind < 0.22: // round the clock
		day = []stretch{{0, 24}}
	case kind < 0.3: // a night shift beside it
		day = []stretch{{0, begin - 2}, {begin, 24}}
	case kind < 0.45:
		half := math.Round((day[0].from + day[0].to) / 2)
		day = []stretch{{begin, half}, {half + made.OneOf(d, 0.5, 1), day[0].to}}
	}
	w.binHour = int(day[0].from) + 1 + d.IntN(int(day[0].to-day[0].from)-2)
	for i := range w.shifts {
		switch {
		case kind < 0.22 || i < 5:
			w.shifts[i] = day
		case i == 5 && d.Chance(0.3):
			w.shifts[i] = []stretch{{begin, begin + 6}}
		}
	}
}

// plain writes the hours of a machine nothing happens to; day 0 is a Monday.
func (w *week) plain(d made.Dice, m *machine, days int) []hour {
	hours := make([]hour, 24*days)
	now, left, busy := w.batches[0], 0.0, 1.0
	for i := range hours {
		h, clock := &hours[i], i%24
		*h = hour{stays: 1, open: m.open, damperShown: m.open, speed: 1, duct: 1, low: m.low, high: m.high, set: m.set, supply: 1, lift: 1, gain: 1}
		if left--; left <= 0 {
			now, left = made.OneOf(d, w.batches...), w.stays*d.ExpFloat64()
		}
		busy = 0.85*busy + 0.15*d.Between(0.3, 1.7)
		h.feed, h.rise, h.take = now.feed*busy, now.rise, now.take
		h.from, h.to = w.runs(i/24, float64(clock))
		w.weather(h, float64(i)/24, m)
		h.empties = clock == w.binHour && h.to > h.from && !d.Chance(w.slack)
	}
	return hours
}

// weather is between that of the spell and that of the next; it is warmest and driest at three in the afternoon.
func (w *week) weather(h *hour, day float64, m *machine) {
	k := 0
	for k+2 < len(w.spells) && w.spells[k+1].from <= day {
		k++
	}
	a, b := w.spells[k], w.spells[k+1]
	x := min(1, (day-a.from)/(b.from-a.from))
	x *= x * x // a front comes at the end
	noon := math.Cos(2 * math.Pi * (day - 15.0/24))
	h.kelvin = a.warm + x*(b.warm-a.warm) + w.swing*noon
	h.humid = min(0.97, max(0.15, a.humid+x*(b.humid-a.humid)-0.02*w.swing*noon))
	h.baro = 101325*m.air + a.baro + x*(b.baro-a.baro)
	h.density = h.baro / 101325 * 293 / h.kelvin
}

// runs says from when to when the fan runs in an hour [s].
func (w *week) runs(day int, clock float64) (from, to float64) {
	for _, s := range w.shifts[day%7] {
		if a, b := max(s.from, clock), min(s.to, clock+1); b > a {
			return (a - clock) * hourSec, (b - clock) * hourSec
		}
	}
	return 0, 0
}
