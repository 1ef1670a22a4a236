package rough

import (
	"math"
	"math/rand/v2"
	"time"
)

// before is how long the machine runs before the log begins [s].
const before = 6 * day

// calendar is when the fan runs, and the weather by the hour; seconds count from the log's first midnight.
type calendar struct {
	start time.Time
	runs  [][2]float64 // ascending
	sky   []sky        // by hours since -before
	end   float64
	extra float64 // when longer shifts begin, 0: never
}

// sky is the air outside [K, share, Pa].
type sky struct{ temperature, humidity, pressure float64 }

// newCalendar draws shifts, weekends, holidays and stand-stills, and a log of about so many days that ends
// while the fan runs.
func newCalendar(r *rand.Rand, days float64, quiet bool) *calendar {
	zone := time.FixedZone("", 3600*(r.IntN(20)-8))
	c := &calendar{start: time.Date(2023+r.IntN(3), time.Month(1+r.IntN(12)), 1+r.IntN(28), 0, 0, 0, 0, zone)}
	shifts, from, long := 1+r.IntN(3), between(r, 5, 8)*hour, between(r, 7.5, 9)*hour
	week := one(r, 0, 0.15, 0.5, 1)
	if quiet {
		shifts, long, week = 2, 8*hour, 1
	}
	late := 0.0
	if !quiet && r.Float64() < 0.15 {
		late = days * between(r, 0.4, 0.8) * day
	}
	off := -100
	for d := -int(before / day); float64(d) < days+12; d++ {
		at := float64(d) * day
		wd := c.start.AddDate(0, 0, d).Weekday()
		if !quiet && r.Float64() < 0.012 {
			off = d + r.IntN(4)
		}
		if d <= off || (wd == time.Sunday || wd == time.Saturday) && r.Float64() > week {
			continue
		}
		work := float64(shifts) * long
		if late > 0 && at > late {
			work += 4 * hour
			c.extra = late
		}
		a, b := at+from+90*r.NormFloat64(), at+from+min(work, 24*hour)+600*r.Float64()
		if !quiet && r.Float64() < 0.08 { // a stand-still in the middle
			m := between(r, a, b-hour)
			c.add(a, m)
			a = m + spread(r, 0.2, 4)*hour
		}
		c.add(a, b)
	}
	for _, w := range c.runs {
		if w[1] > days*day && w[1]-w[0] > 2*hour {
			c.end = w[0] + (w[1]-w[0])*between(r, 0.4, 0.95)
			break
		}
	}
	c.weather(r, quiet)
	return c
}

// add joins a stretch to the list.
func (c *calendar) add(a, b float64) {
	if n := len(c.runs); n > 0 && a < c.runs[n-1][1]+60 {
		c.runs[n-1][1] = max(b, c.runs[n-1][1])
		return
	}
	if b > a+60 {
		c.runs = append(c.runs, [2]float64{a, b})
	}
}

// weather draws seasons, days and fronts.
func (c *calendar) weather(r *rand.Rand, quiet bool) {
	mean, wet, low := between(r, 280, 293), between(r, 0.4, 0.65), between(r, 92000, 102000)
	front, moist := 0.0, 0.0
	for h := 0.0; h*hour < c.end+before+2*day; h++ {
		d := float64(c.start.YearDay()) + (h*hour-before)/day
		front += -front/60 + 0.35*r.NormFloat64()
		moist += -moist/40 + 0.035*r.NormFloat64()
		sun := math.Sin((math.Mod(h, 24) - 9) / 24 * 2 * math.Pi)
		s := sky{mean - 11*math.Cos(2*math.Pi*(d-20)/365) + 4*sun + 2*front, bounded(wet-0.12*sun+moist, 0.1, 0.98), low + 300*front}
		if quiet {
			s = sky{291, 0.5, 100000}
		}
		c.sky = append(c.sky, s)
	}
}

// at is the weather of a time.
func (c *calendar) at(t float64) sky {
	return c.sky[min(max(int((t+before)/hour), 0), len(c.sky)-1)]
}

// ran is how long the fan runs between two times [s].
func (c *calendar) ran(a, b float64) float64 {
	sum := 0.0
	for _, w := range c.runs {
		sum += max(0, min(w[1], b)-max(w[0], a))
	}
	return sum
}
