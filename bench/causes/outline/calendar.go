package outline

import (
	"math"
	"math/rand/v2"
	"time"
)

// slot is a stretch of the plant's time in which nothing is switched.
type slot struct {
	at    float64 // [s] since the log began
	fan   bool
	load  float64 // of full production
	kind  int     // of dust
	gates float64 // times the hoods' resistance: some gates are shut
}

// calendar is the plant's time: slots, days off, production's moods, and the weather by the hour.
type calendar struct {
	slots  []slot
	off    []bool
	moods  []float64 // by ten minutes
	sky    []sky
	start  time.Time
	length float64
}

// sky is the air in the hall.
type sky struct{ temp, rh, baro float64 }

// habit is how a plant works.
type habit struct {
	shifts  [][2]float64 // hours of the day, the last may end after midnight
	weekend float64      // chance that a Saturday is worked
	without bool         // no stop at all, but for days off
	batches bool
	slope   float64 // load of the later shifts
}

func habits(r *rand.Rand) habit {
	h := habit{weekend: pick(r, 0, 0, 0.2, 0.5), slope: within(r, 0.5, 1.1)}
	early := 5 + 2*r.Float64()
	switch r.IntN(7) {
	case 0, 1:
		h.shifts = [][2]float64{{early, early + 8.5}}
	case 2, 3:
		h.shifts = [][2]float64{{early, early + 16.5}}
	case 4:
		h.shifts = [][2]float64{{early, early + 10}, {early + 12, early + 20}}
	case 5:
		h.shifts, h.without, h.weekend = [][2]float64{{0, 24}}, true, 1
	default:
		h.shifts, h.batches = [][2]float64{{early, early + 12}}, true
	}
	return h
}

// draw lays out the plant's time for so many days.
func drawCalendar(r *rand.Rand, m *machine, days float64) *calendar {
	c := &calendar{length: days * day}
	c.start = time.Date(2024, 1, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(r.IntN(700)) * 24 * time.Hour)
	h := habits(r)
	n := int(days) + 2
	holiday := 0
	for d := range n {
		weekday := c.start.AddDate(0, 0, d).Weekday()
		off := weekday == time.Sunday && !h.without || weekday == time.Saturday && r.Float64() > h.weekend && !h.without
		if holiday > 0 {
			holiday--
			off = true
		} else if r.Float64() < 0.008 {
			holiday = pick(r, 1, 1, 2, 4, 6)
		}
		c.off = append(c.off, off)
	}
	kind, changes := 0, pick(r, 0, 0, 0, 0.1, 0.25)
	for d := range n {
		if r.Float64() < changes {
			kind = r.IntN(3)
		}
		if !c.off[d] {
			c.work(r, m, float64(d)*day, kind, h)
		}
	}
	if len(c.slots) == 0 || c.slots[0].at > 0 {
		c.slots = append([]slot{{gates: 1}}, c.slots...)
	}
	mood := 0.0
	for range int(days*144) + 144 {
		mood = 0.93*mood + 0.09*r.NormFloat64()
		c.moods = append(c.moods, math.Exp(mood))
	}
	c.drawSky(r, m, n)
	return c
}

// work appends a day's slots.
func (c *calendar) work(r *rand.Rand, m *machine, midnight float64, kind int, h habit) {
	gates := 1.0
	for i, s := range h.shifts {
		load := 1.0
		if i > 0 {
			load = h.slope
		}
		at := midnight + s[0]*hour + 600*r.NormFloat64()*pick(r, 0, 1.0)
		until := midnight + s[1]*hour + 900*r.NormFloat64()*pick(r, 0, 1.0)
		if h.without {
			at, until = midnight, midnight+day
		}
		if n := len(c.slots); n > 0 {
			at = max(at, c.slots[n-1].at+60)
		}
		for at < until-1200 {
			if m.duct.hoodsCount > 2 && r.Float64() < 0.1 {
				gates = 1 + 0.3*r.Float64()
			}
			c.slots = append(c.slots, slot{at, true, load, kind, gates})
			stretch := within(r, 1.5, 4.5) * hour
			if h.batches {
				stretch = within(r, 0.7, 3) * hour
			}
			at = min(at+stretch, until)
			pause := slot{at, true, 0.1, kind, gates} // a break: the fan runs on
			length := within(r, 600, 2400)
			if h.batches {
				pause.fan, length = r.Float64() < 0.5, within(r, 900, 7200)
			}
			c.slots = append(c.slots, pause)
			at += length
		}
		if h.without {
			continue
		}
		c.slots = append(c.slots, slot{at, false, 0, kind, gates})
	}
}

func (c *calendar) drawSky(r *rand.Rand, m *machine, days int) {
	cold, swing := within(r, 276, 291), within(r, 3, 12)
	damp := within(r, 0.35, 0.7)
	heated := r.Float64() < 0.6
	var dayTemp, dayRH, press float64
	for hourOf := range days*24 + 24 {
		if hourOf%6 == 0 {
			dayTemp = 0.9*dayTemp + 1.2*r.NormFloat64()
			dayRH = 0.9*dayRH + 0.035*r.NormFloat64()
			press = 0.93*press + 280*r.NormFloat64()
		}
		at := c.start.Add(time.Duration(hourOf) * time.Hour)
		year := math.Sin(2 * math.Pi * (float64(at.YearDay()) - 110) / 365)
		noon := math.Sin(2 * math.Pi * (float64(at.Hour()) - 9) / 24)
		t := cold + swing*year + 3.5*noon + dayTemp
		rh := damp - 0.08*year - 0.1*noon + dayRH
		if heated && t < 290 {
			rh *= 0.8
			t = 290 + 0.25*(t-290)
		}
		baro := atmosphere*math.Pow(1-2.2557e-5*m.elevation, 5.2559) + press
		c.sky = append(c.sky, sky{t, min(0.98, max(0.1, rh)), baro})
	}
}

func (c *calendar) weather(t float64) sky { return c.sky[min(len(c.sky)-1, int(t/hour))] }

func (c *calendar) mood(t float64) float64 { return c.moods[min(len(c.moods)-1, int(t/600))] }

// ends is how long nothing is switched after t.
func (c *calendar) ends(slotNow int, t float64) float64 {
	if slotNow+1 < len(c.slots) {
		return c.slots[slotNow+1].at - t
	}
	return day
}

// stop is where a log of about so many days ends: some hours into a stretch of work, mostly.
func (c *calendar) stop(days, hours float64) float64 {
	end := days * day
	if hours < 1 {
		return end
	}
	for i := len(c.slots) - 1; i > 0; i-- {
		if s := c.slots[i]; s.at < end && !s.fan {
			for j := i + 1; j < len(c.slots); j++ {
				if c.slots[j].fan && c.slots[j].at+hours*hour < c.length+day {
					return c.slots[j].at + hours*hour
				}
			}
			break
		}
	}
	return end
}
