package chalk

import (
	"math"
	"math/rand/v2"
)

// calendar is what the plant and the weather do, whatever happens to the machine.
type calendar struct {
	on                     []bool    // the fan, by minute
	load                   []float64 // dust over the design's, by hour
	temp, humid, baro, air []float64 // [degrees C], [1], [Pa], pressure of the compressor's line over the regulator's setting; by hour
}

func newCalendar(r *rand.Rand, d *design) *calendar {
	c := &calendar{on: make([]bool, int(d.days*1440)+1)}
	lunch, lazy := chance(r, 0.3), between(r, 0.01, 0.06)
	for n := 0; n <= int(d.days); n++ {
		weekend := n%7 > 4
		if weekend && !d.weekends && !chance(r, 0.06) || d.works < 24 && chance(r, lazy) {
			continue
		}
		from := d.begins*60 + between(r, -10, 20)
		to := from + d.works*60 + between(r, -25, 15)
		if d.works == 24 {
			from, to = 0, 1440
		}
		for m := int(from); m < int(to); m++ {
			pause := lunch && d.works < 24 && m-int(from) > 240 && m-int(from) < 275
			if at := n*1440 + m; at >= 0 && at < len(c.on) && !pause {
				c.on[at] = true
			}
		}
	}
	c.weather(r, d)
	c.production(r, len(c.temp))
	return c
}

// weather wanders from day to day and goes round with the sun.
func (c *calendar) weather(r *rand.Rand, d *design) {
	var warm, wet, front float64
	season := between(r, -10, 10)
	base := atmosphere * math.Exp(-d.altitude/8400)
	for h := range int(d.days*24) + 2 {
		warm += -0.015*warm + 0.45*r.NormFloat64()
		wet += -0.012*wet + 0.014*r.NormFloat64()
		front += -0.01*front + 90*r.NormFloat64()
		sun := math.Sin(2 * math.Pi * (float64(h) - 9) / 24)
		c.temp = append(c.temp, d.warmth+warm+season*float64(h)/(d.days*24)+4*sun)
		c.humid = append(c.humid, clamp(0.45+wet-0.06*sun, 0.1, 0.9))
		c.baro = append(c.baro, base+front)
	}
}

// production goes from batch to batch, and the other users of the compressor come and go.
func (c *calendar) production(r *rand.Rand, hours int) {
	batch, left := 1.0, 0.0
	strong, greedy := between(r, 1.15, 1.5), between(r, 0, 0.12)
	for range hours {
		if left--; left < 0 {
			batch, left = spread(r, 0.65, 1.4), spread(r, 3, 60)
		}
		c.load = append(c.load, batch*math.Exp(0.15*r.NormFloat64()))
		c.air = append(c.air, strong-greedy*math.Abs(r.NormFloat64()))
	}
}

// runs reports whether the fan is meant to run.
func (c *calendar) runs(t float64) bool { return c.on[min(int(t/60), len(c.on)-1)] }

// hourly reads a column between its hours.
func hourly(col []float64, t float64) float64 {
	h := t / hour
	i := min(int(h), len(col)-2)
	return col[i] + (col[i+1]-col[i])*(h-float64(i))
}
