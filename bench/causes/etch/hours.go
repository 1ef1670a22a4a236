package etch

import (
	"math"
	"math/rand/v2"
	"sort"
)

const slot = 600.0 // of weather and work [s]

// hours is what the machine's surroundings do: when the fan is on, how busy the shop is, the weather and the
// compressor's other users, one value for each slot.
type hours struct {
	flips  []float64 // times at which the fan turns on, off, on ... [s]
	busy   []float64 // dust made over the usual
	temp   []float64 // of the air [K]
	damp   []float64 // relative humidity
	baro   []float64 // [Pa]
	demand []float64 // how far others pull the compressor line down [Pa]
}

// idleAt reports that the fan stands.
func (h *hours) idleAt(t float64) bool { return sort.SearchFloat64s(h.flips, t)%2 == 0 }

// share is the running share of the time up to t.
func (h *hours) share(t float64) float64 {
	var on float64
	for i := 0; i+1 < len(h.flips); i += 2 {
		on += max(0, min(t, h.flips[i+1])-h.flips[i])
	}
	return on / t
}

// week is a pattern of shifts: hours at which the fan starts and stops, and how many days.
type week struct {
	from, to float64
	days     int
	breaks   bool // the fan stops at noon
}

// work draws hours and weather for the length of a log, and a bit more.
func work(b *bench, r *rand.Rand) hours {
	var h hours
	w := pick(r, week{6, 14.5, 5, false}, week{7, 16, 5, true}, week{5.5, 22, 5, false}, week{6, 22.3, 6, false},
		week{0, 24, 5, false}, week{0, 24, 7, false}, week{7, 17, 6, false}, week{8, 16.5, 5, false})
	h.flips = shifts(w, b, r)
	n := int(b.end/slot) + 2
	mean := span(r, 284, 297)
	year := 2 * math.Pi * (float64(b.start.YearDay()) - 110) / 365
	var spell, job, pressure float64
	job = 1
	wet := span(r, 0.35, 0.6)
	pull := span(r, 0.05e5, 0.45e5)
	for i := range n {
		t := float64(i) * slot
		hour := math.Mod(t, day) / 3600
		spell += -spell*slot/(3.5*day) + 0.075*r.NormFloat64()
		pressure += -pressure*slot/(3*day) + 24*r.NormFloat64()
		job += (1-job)*slot/(2.6*3600) + 0.1*r.NormFloat64()*math.Sqrt(max(job, 0.1))
		swing := math.Sin(2 * math.Pi * (hour - 9) / 24)
		temp := mean + 7*math.Sin(year+2*math.Pi*t/day/365) + 2.5*swing + 1.6*spell
		h.temp = append(h.temp, temp)
		h.damp = append(h.damp, min(0.97, max(0.12, wet-0.06*swing-0.05*spell+0.01*r.NormFloat64())))
		h.baro = append(h.baro, atm*math.Exp(-b.elevation/8430)+pressure)
		busy := min(2.4, max(0.15, job))
		if hour > 12 && hour < 12.6 {
			busy *= 0.4
		}
		h.busy = append(h.busy, busy)
		others := 0.3
		if hour > 6 && hour < 18 {
			others = 1
		}
		h.demand = append(h.demand, pull*others*(0.6+0.8*r.Float64()))
	}
	return h
}

// shifts lays out when the fan runs.
func shifts(w week, b *bench, r *rand.Rand) []float64 {
	var out []float64
	on := func(from, to float64) {
		if n := len(out); n > 0 && from <= out[n-1]+1 {
			out[n-1] = max(to, out[n-1])
			return
		}
		out = append(out, from, to)
	}
	last := int(b.end/day) + 1
	for d := range last + 1 {
		date := b.start.AddDate(0, 0, d)
		weekday := (int(date.Weekday()) + 6) % 7 // 0 is Monday
		if weekday >= w.days || r.Float64() < 0.012 && w.days < 7 {
			continue
		}
		from, to := float64(d)*day+w.from*3600, float64(d)*day+w.to*3600
		if w.to-w.from < 24 {
			from += 500 * r.NormFloat64()
			to += 700 * r.NormFloat64()
		}
		if w.breaks {
			noon := float64(d)*day + 12*3600 + 200*r.NormFloat64()
			on(from, noon)
			from = noon + span(r, 1200, 2400)
		}
		on(from, to)
	}
	return out
}

// cut takes a stretch out of the running hours.
func (h *hours) cut(from, to float64) {
	var out []float64
	for i := 0; i+1 < len(h.flips); i += 2 {
		a, z := h.flips[i], h.flips[i+1]
		if z <= from || a >= to {
			out = append(out, a, z)
			continue
		}
		if a < from {
			out = append(out, a, from)
		}
		if z > to {
			out = append(out, to, z)
		}
	}
	h.flips = out
}

// at returns the slot of a time.
func (h *hours) at(t float64) int { return min(max(0, int(t/slot)), len(h.busy)-1) }
