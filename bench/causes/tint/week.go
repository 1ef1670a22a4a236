package tint

import "math"

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
	start, length      float64 // of the day's work [h]
	saturday, always   bool
	lunch              int // hour with the fan off, -1 none
	warm, swing, trend float64
	humid              float64
	batches            []batch
	stays              float64 // mean length of a batch [h]
	binHour            int     // when the bin is looked at
	slack              float64 // chance that the bin is forgotten
}

// batch is one product.
type batch struct{ feed, rise, take float64 }

func newWeek(d dice) *week {
	w := &week{start: d.between(5, 8), length: oneOf(d, 8.5, 9, 10, 15.5, 16, 17, 22), saturday: d.chance(0.3), always: d.chance(0.22), lunch: -1,
		warm: d.between(281, 303), swing: d.between(1, 6), trend: d.between(-0.1, 0.1), humid: d.between(0.35, 0.65), stays: d.spread(4, 150), slack: d.between(0, 0.12)}
	w.binHour = min(23, int(w.start)+1+d.IntN(int(w.length)-2))
	if d.chance(0.2) {
		w.lunch = int(w.start + w.length/2)
	}
	for range 1 + d.IntN(4) {
		w.batches = append(w.batches, batch{d.spread(0.55, 1.3), d.spread(0.88, 1.14), d.between(0.94, 1.05)})
	}
	return w
}

// plain writes the hours of a machine nothing happens to; day 0 is a Monday.
func (w *week) plain(d dice, m *machine, days int) []hour {
	hours := make([]hour, 24*days)
	now, left := w.batches[0], 0.0
	weather, wet, baro, busy := 0.0, 0.0, 0.0, 1.0
	for i := range hours {
		h, clock := &hours[i], i%24
		*h = hour{stays: 1, open: m.open, damperShown: m.open, speed: 1, duct: 1, low: m.low, high: m.high, set: m.set, supply: 1, lift: 1, gain: 1}
		if left--; left <= 0 {
			now, left = oneOf(d, w.batches...), w.stays*d.ExpFloat64()
		}
		busy = 0.85*busy + 0.15*d.between(0.3, 1.7)
		h.feed, h.rise, h.take = now.feed*busy, now.rise, now.take
		h.from, h.to = w.runs(i/24, float64(clock))
		weather, wet, baro = 0.99*weather+0.45*d.NormFloat64(), 0.98*wet+0.016*d.NormFloat64(), 0.99*baro+80*d.NormFloat64()
		h.kelvin = w.warm + w.trend*float64(i)/24 + weather + w.swing*math.Sin(2*math.Pi*float64(clock-9)/24)
		h.humid = min(0.97, max(0.15, w.humid+wet-0.02*(h.kelvin-w.warm)))
		h.baro = 101325*m.air + baro
		h.density = h.baro / 101325 * 293 / h.kelvin
		h.empties = clock == w.binHour && h.to > h.from && !d.chance(w.slack)
	}
	return hours
}

// runs says from when to when the fan runs in an hour.
func (w *week) runs(day int, clock float64) (from, to float64) {
	length := w.length
	switch weekday := day % 7; {
	case w.always:
		return 0, hourSec
	case weekday == 6, weekday == 5 && !w.saturday, int(clock) == w.lunch:
		return 0, 0
	case weekday == 5:
		length = min(length, 7)
	}
	from = min(1, max(0, w.start-clock))
	return from * hourSec, max(from, min(1, w.start+length-clock)) * hourSec
}
