package slate

import (
	"math"

	"dustwright/bench/causes/made"
)

// hour is one line of the sheet: all that acts on the machine in that hour. Stories and troubles change these columns,
// and the balance reads nothing else.
type hour struct {
	from, to            float64 // the fan runs [s within the hour]; from == to: it stands
	feed                float64 // dust into the hoods, share of full production
	cake, shed          float64 // resistance of this dust's cake, and cleaning effect, shares of the usual
	clogged, duct       float64 // what stays in the media, and resistance of the ducts, multiples of the usual
	open, speed         float64 // damper position; share of the fan's speed
	inleak              float64 // air drawn in past the hoods, as a conductance beside that of the hoods
	low, high, set      float64 // set points and header [Pa]
	supply              float64 // share of the supply left by other users
	mute                bool    // the controller gives no pulses
	lift, bleed         float64 // how far the troubled valve opens, 1 sound; what it lets go at rest, share of the header's pressure
	hole                float64 // in the troubled row, 0 none, 1 gross
	back, heap          float64 // share of the dust cleaned off that is carried back up; least fill of the bin
	choke, gain, offset float64 // the gauge reads gain dP + offset [Pa], late by a time constant of choke [s]
	kelvin, damp, baro  float64 // weather
	density             float64 // share of standard air's
	renewed, lost       bool    // new filters go in; nothing is logged
}

// calendar is how a plant works: its day from start on and how long [h], its weather, and its products in batches.
type calendar struct {
	start, length        float64
	saturday, always     bool    // works on Saturdays; works round the clock, every day
	morning              float64 // how much more dust there is in the morning
	pause                int     // hour of the day with the fan off, -1 none
	warm, swing          float64 // mean and daily swing [K]
	season, humid, batch float64 // warming [K a day]; relative humidity; mean length of a batch [h]
	products             []product
}

// product is one kind of dust.
type product struct{ feed, cake, shed float64 }

func newCalendar(d made.Dice) calendar {
	c := calendar{start: float64(5+d.IntN(4)) + made.OneOf(d, 0, 0.25, 0.5), length: made.OneOf(d, 8.0, 9, 10, 15.5, 16, 23), saturday: d.Chance(0.35),
		always: d.Chance(0.15), morning: d.Between(-0.25, 0.25), pause: -1, warm: d.Between(280, 302), swing: d.Between(1, 7),
		season: d.Between(-0.12, 0.12), humid: d.Between(0.35, 0.65), batch: d.Spread(6, 120)}
	if d.Chance(0.2) {
		c.pause = int(c.start) + int(c.length/2)
	}
	for range 1 + d.IntN(4) {
		c.products = append(c.products, product{d.Spread(0.6, 1.35), d.Spread(0.85, 1.15), d.Between(0.93, 1.05)})
	}
	return c
}

// blank writes the sheet of a machine that nothing happens to; day 0 is a Monday.
func (c *calendar) blank(d made.Dice, p *plant, days int) []hour {
	sheet := make([]hour, 24*days)
	now, left := c.products[0], 0.0
	weather, damp, baro := 0.0, 0.0, 0.0
	load := 1.0
	for i := range sheet {
		h := &sheet[i]
		day, clock := i/24, float64(i%24)
		*h = hour{cake: 1, shed: 1, clogged: 1, duct: 1, open: p.open, speed: 1, low: p.low, high: p.high, set: p.set, supply: 1, lift: 1, gain: 1}
		if left--; left <= 0 {
			now, left = made.OneOf(d, c.products...), c.batch*d.ExpFloat64()
		}
		load = 0.9*load + 0.1*d.Between(0.4, 1.6)
		h.cake, h.shed = now.cake, now.shed
		h.feed = now.feed * load * (1 + c.morning*math.Cos(2*math.Pi*(clock-9)/24))
		h.from, h.to = c.runs(day, clock)
		weather, damp, baro = 0.99*weather+0.4*d.NormFloat64(), 0.98*damp+0.015*d.NormFloat64(), 0.99*baro+90*d.NormFloat64()
		h.kelvin = c.warm + c.season*float64(i)/24 + weather + c.swing*math.Sin(2*math.Pi*(clock-9)/24)
		h.damp = min(0.97, max(0.15, c.humid+damp-0.02*(h.kelvin-c.warm)))
		h.baro = atmosphere*p.air + baro
		h.density = h.baro / atmosphere * 293 / h.kelvin
	}
	return sheet
}

// runs says from when to when the fan runs in an hour.
func (c *calendar) runs(day int, clock float64) (from, to float64) {
	length := c.length
	switch weekday := day % 7; {
	case c.always:
		return 0, hourSec
	case weekday == 6, weekday == 5 && !c.saturday, int(clock) == c.pause:
		return 0, 0
	case weekday == 5:
		length = min(length, 8)
	}
	from = min(1, max(0, c.start-clock))
	return from * hourSec, max(from, min(1, c.start+length-clock)) * hourSec
}
