package rehearse

import (
	"math"
	"math/rand/v2"
)

// shift is one stretch with the fan on [s after the start].
type shift struct{ from, to float64 }

// schedule draws the fan's running week by week: up to nine hours a day for five days in one shift, more in two shifts,
// above 100 hours round the clock; starts and ends lie some minutes off, now and then the fan stops for a while in
// between. Made up, common practice.
type schedule struct {
	r       *rand.Rand
	weekday float64 // of the start: days since Monday 00:00
	stops   float64 // chance of a stop in a shift
	next    []shift
	week    int
}

func newSchedule(r *rand.Rand, weekday float64, ph *Physics) *schedule {
	return &schedule{r: r, weekday: weekday, stops: float64(ph.Stops)}
}

// at returns the first shift that ends after t; running is the running time a week [s] in force.
func (s *schedule) at(t, running float64) shift {
	for len(s.next) == 0 || s.next[0].to <= t {
		if len(s.next) > 0 {
			s.next = s.next[1:]
			continue
		}
		s.draw(running)
	}
	return s.next[0]
}

// draw lays out one week.
func (s *schedule) draw(running float64) {
	monday := (float64(s.week)*7 - s.weekday) * day
	s.week++
	hours := running / hour
	switch {
	case hours <= 0:
		s.next = append(s.next, shift{monday + week, monday + week}) // nothing this week
		return
	case hours > 126:
		s.round(monday, 7, hours/7)
	case hours > 100:
		s.round(monday, 5, hours/5)
	default:
		start := 7.0
		if hours > 45 {
			start = 6
		}
		for d := 0.0; d < 5; d++ {
			from := monday + d*day + start*hour + 400*s.r.NormFloat64()
			s.split(shift{from, from + hours/5*hour + 600*s.r.NormFloat64()})
		}
	}
}

// round runs some days without a stop at night, and stops after hours a day where they are less than 24.
func (s *schedule) round(monday float64, days int, hours float64) {
	if hours > 23.5 {
		s.split(shift{monday + 1, monday + float64(days)*day})
		return
	}
	for d := range days {
		from := monday + float64(d)*day + 300*math.Abs(s.r.NormFloat64())
		s.split(shift{from, from + hours*hour})
	}
}

// split may put a stop into a shift.
func (s *schedule) split(x shift) {
	if n := len(s.next); n > 0 && x.from <= s.next[n-1].to {
		x.from = s.next[n-1].to + 60
	}
	if x.to <= x.from+600 {
		return
	}
	if s.r.Float64() < s.stops && x.to-x.from > 4*hour {
		at := x.from + (0.25+0.5*s.r.Float64())*(x.to-x.from)
		long := (0.3 + 1.2*s.r.Float64()) * hour
		s.next = append(s.next, shift{x.from, at})
		x.from = min(at+long, x.to-600)
	}
	s.next = append(s.next, x)
}

// feed is the dust in the air, constant from one job to the next: idle, or a job with its own load; weeks differ too.
// Its mean is 1.
type feed struct {
	r        *rand.Rand
	idle, sd float64
	weekly   float64
	week     int
	level    float64
	until    float64
}

func newFeed(r *rand.Rand, ph *Physics) *feed {
	return &feed{r: r, idle: float64(ph.Idle), sd: ph.FeedSD, weekly: 1, week: -1}
}

// step draws the job that begins at t [s after the start].
func (f *feed) step(t float64) {
	const idleLevel = 0.05
	weekSD := f.sd / 4
	if w := int(t / week); w != f.week {
		f.week = w
		f.weekly = math.Exp(weekSD*f.r.NormFloat64() - weekSD*weekSD/2)
	}
	busy := (1 - f.idle*idleLevel) / (1 - f.idle)
	if f.r.Float64() < f.idle {
		f.level = idleLevel * f.weekly
	} else {
		f.level = busy * f.weekly * math.Exp(f.sd*f.r.NormFloat64()-f.sd*f.sd/2)
	}
	f.until = t + 300 + 1200*f.r.ExpFloat64()
}
