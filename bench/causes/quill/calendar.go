package quill

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"
)

// span is when the fan is on [s since the log began].
type span struct{ from, to float64 }

// hall is what happens around a machine: hours of work and weather.
type hall struct {
	start                   time.Time
	spans                   []span
	work                    []float64 // how much they do, by day
	breaks                  []float64 // hours at which they rest
	warmth, wetness, weight []float64 // temperature [K], relative humidity, barometer [Pa], by hour
}

// newHall draws the hours and the weather of so many days.
func newHall(r *rand.Rand, g *rig, days int) *hall {
	w := &hall{start: time.Date(2025, time.Month(1+r.IntN(12)), 1+r.IntN(28), r.IntN(24), r.IntN(60), 0, 0, time.UTC)}
	w.breaks = either(g.hours.hours < 24, []float64{g.hours.from + 2.5, g.hours.from + 5}, nil)
	w.spans = workdays(r, w.start, g.hours, days)
	for range either(r.Float64() < 0.5*(1-g.care), days/2, 0) { // somebody stops the fan in between
		at := between(r, 0, float64(days)*dayLong)
		w.close(at, at+between(r, 300, 5400))
	}
	season := 6 * -math.Cos(2*math.Pi*float64(w.start.YearDay()-20)/365)
	mean, dew := between(r, 283, 293)+season, between(r, 276, 282)+season
	var warm, moist, heavy float64 // weather that comes and goes in some days
	for h := range days*24 + 26 {
		w.work = append(w.work, vary(r, 1, 0.2)) // more than there are days
		warm += -warm/70 + 0.45*r.NormFloat64()
		moist += -moist/60 + 0.5*r.NormFloat64()
		heavy += -heavy/90 + 90*r.NormFloat64()
		outside := mean + warm - 4*math.Cos(2*math.Pi*float64(w.start.Hour()+h-3)/24)
		inside := max(outside, 286)
		w.warmth = append(w.warmth, inside)
		w.wetness = append(w.wetness, min(0.98, saturation(min(outside-0.5, dew+moist))/saturation(inside)))
		w.weight = append(w.weight, 101325*math.Exp(-g.height/8400)+heavy)
	}
	return w
}

// saturation is the vapour pressure over water [Pa] at a temperature [K], by Magnus' formula.
func saturation(t float64) float64 { return 611.2 * math.Exp(17.62*(t-273.15)/(t-30.03)) }

// workdays lays shifts out over so many days; those that meet are one.
func workdays(r *rand.Rand, start time.Time, s shift, days int) []span {
	var out []span
	midnight := -float64(start.Hour()*3600 + start.Minute()*60)
	for d := range days + 1 {
		from := midnight + dayLong*float64(d) + 3600*s.from + 300*r.NormFloat64()
		to := from + 3600*s.hours + 600*r.Float64()                        // nobody waits for the next shift where there is one
		weekday, extra := (int(start.Weekday())+d+6)%7, r.Float64() < 0.15 // 0 is Monday; a Saturday more
		if n := len(out); weekday > int(s.days) || weekday == int(s.days) && !extra || to < 0 {
			continue
		} else if s.hours == 24 && n > 0 && from-out[n-1].to < 3600 {
			out[n-1].to = to
		} else {
			out = append(out, span{max(from, 0), to})
		}
	}
	return out
}

// close keeps the fan off from one time to another.
func (w *hall) close(from, to float64) {
	var out []span
	for _, s := range w.spans {
		for _, part := range []span{{s.from, min(s.to, from)}, {max(s.from, to), s.to}} {
			if part.to > part.from {
				out = append(out, part)
			}
		}
	}
	w.spans = out
}

// pace is how much dust they make at a time, against the mean.
func (w *hall) pace(t float64) float64 {
	midnight := t + float64(w.start.Hour()*3600+w.start.Minute()*60)
	hour := math.Mod(midnight, dayLong) / 3600
	rest := slices.ContainsFunc(w.breaks, func(b float64) bool { return hour > b && hour < b+0.5 })
	return either(rest, 0.05, w.work[int(midnight/dayLong)])
}

// now reads a column of the weather at a time, between its hours.
func now(column []float64, t float64) float64 {
	h := int(t / 3600)
	part := t/3600 - float64(h)
	return column[h]*(1-part) + column[h+1]*part
}

// event is what somebody does to a machine at a time [s since the log began].
type event struct {
	at float64
	do func(m *machine)
}

// turns are healthy stories in which something is multiplied, for some days or for good.
var turns = []struct {
	name         string
	what         func(m *machine) *float64
	lo, hi, days float64
}{
	{"heavier production for a week", func(m *machine) *float64 { return &m.busy }, 1.3, 1.8, 7},
	{"slack weeks", func(m *machine) *float64 { return &m.busy }, 0.3, 0.6, 15},
	{"wet weather", func(m *machine) *float64 { return &m.rain }, 1.2, 1.7, 5},
	{"the compressor serves others too", func(m *machine) *float64 { return &m.others }, 1.5, 2.2, 10},
	{"upper set point moved", func(m *machine) *float64 { return &m.high }, 1.05, 1.25, math.Inf(1)},
	{"header set anew", func(m *machine) *float64 { return &m.set }, 0.88, 1.1, math.Inf(1)},
	{"another dust", func(m *machine) *float64 { return &m.cake }, 0.6, 1.5, math.Inf(1)},
}

// jobs are healthy stories of another kind, from a time on.
var jobs = []struct {
	name string
	do   func(s *scene, r *rand.Rand, from float64)
}{
	{"new filters", func(s *scene, r *rand.Rand, from float64) {
		s.then(from, func(m *machine) { clear(m.cloth) })
		if r.Float64() < 0.3+0.7*s.rig.care {
			s.then(from, func(m *machine) { m.trim(m.flow) })
		}
	}},
	{"damper trimmed again", func(s *scene, _ *rand.Rand, from float64) { s.then(from, func(m *machine) { m.trim(m.flow) }) }},
	{"new after-filter", func(s *scene, _ *rand.Rand, from float64) { s.then(from, func(m *machine) { m.safety = m.after }) }},
	{"shutdown", func(s *scene, r *rand.Rand, from float64) { s.hall.close(from, from+between(r, 3, 14)*dayLong) }},
	{"a transmitter drifts", func(s *scene, r *rand.Rand, from float64) {
		s.creep = span{from, between(r, -80, 80) / (float64(s.days)*dayLong - from)}
	}},
	{"the plug was pulled", func(s *scene, r *rand.Rand, from float64) {
		s.gaps = append(s.gaps, span{from, from + between(r, 1, 5)*dayLong})
	}},
}

// tell draws a story and has it happen from a time on.
func (s *scene) tell(r *rand.Rand, from float64) {
	n := r.IntN(len(turns) + len(jobs))
	if n >= len(turns) {
		job := jobs[n-len(turns)]
		s.name = job.name
		job.do(s, r, from)
		return
	}
	t, by := turns[n], between(r, turns[n].lo, turns[n].hi)
	s.name = t.name
	s.then(from, func(m *machine) { *t.what(m) *= by })
	s.then(from+between(r, 0.5, 1.3)*t.days*dayLong, func(m *machine) { *t.what(m) /= by })
}

// then has something done at a time.
func (s *scene) then(at float64, do func(m *machine)) { s.events = append(s.events, event{at, do}) }
