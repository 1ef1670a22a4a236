package sense

import (
	"math"
	"sort"
	"time"

	"dustwright/collector"
)

// view is the record as it was known at a time: nothing in it stands on a later reading.
type view struct {
	h      *History // settled
	c      *collector.Collector
	at     int64 // [unix s]
	hours  []Hour
	cycles []Cycle
	passes []Passes
	sets   []FiringSet
	noted  []Change
}

// look cuts the record at a time. Hours, days of cycles and days of firings that go on past it are
// left out, except that the cycles of the day itself are taken one by one.
func look(h *History, c *collector.Collector, at time.Time) *view {
	ns := at.UnixNano()
	v := &view{h: h.settled(c, ns), c: c, at: at.Unix()}
	whole := v.h.Last <= ns                                         // the record ends before: even its last hour and day are complete
	until := func(end int64) bool { return end-1 > v.at && !whole } // its last second may still be the time asked for
	v.hours = v.h.Hours[:sort.Search(len(v.h.Hours), func(i int) bool { return until(v.h.Hours[i].Start+3600) || v.h.Hours[i].Start > v.at })]
	v.cycles = v.h.Cycles[:sort.Search(len(v.h.Cycles), func(i int) bool { return v.h.Cycles[i].Start > ns })]
	for n := len(v.cycles); n > 0 && v.cycles[n-1].End > ns; n-- {
		v.cycles = v.cycles[:n-1]
	}
	v.passes = v.h.Passes[:sort.Search(len(v.h.Passes), func(i int) bool { return until(v.h.Passes[i].Day + 86400) })]
	if !whole {
		v.passes = append(v.passes[:len(v.passes):len(v.passes)], v.today()...)
	}
	v.sets = v.h.Firings[:sort.Search(len(v.h.Firings), func(i int) bool { return until(v.h.Firings[i].Day + 86400) })]
	for _, n := range v.h.Noted {
		if !n.At.After(at) {
			v.noted = append(v.noted, n)
		}
	}
	v.installed(at)
	return v
}

// installed notes the day on which the file says that the filters went in, where it lies in the record
// and nobody noted it better.
func (v *view) installed(at time.Time) {
	in := v.c.Filters.Installed
	if in.IsZero() {
		return
	}
	y, m, d := in.Date()
	day := time.Date(y, m, d, 0, 0, 0, 0, v.h.zone())
	if day.Before(time.Unix(0, v.h.First).Add(2*24*time.Hour)) || day.After(at) {
		return
	}
	for _, n := range v.noted {
		if n.Kind == FilterChange && sameTime(n.At, day) {
			return
		}
	}
	v.noted = append(v.noted, Change{Kind: FilterChange, At: day, From: day, To: day.Add(24 * time.Hour), Confidence: 1, Logged: true,
		Why: "the collector file says that the filters were put in on this day"})
}

// today sums up the cycles of the unfinished day.
func (v *view) today() []Passes {
	day := v.h.day(v.at)
	p, ok := passesOf(v.cyclesFrom(day))
	if !ok {
		return nil
	}
	p.Day = day
	return []Passes{p}
}

// cyclesFrom returns the cycles that began at or after a time [unix s].
func (v *view) cyclesFrom(t int64) []Cycle {
	return v.cycles[sort.Search(len(v.cycles), func(i int) bool { return v.cycles[i].Start >= t*1e9 }):]
}

// hoursFrom returns the hours that began at or after a time [unix s].
func (v *view) hoursFrom(t int64) []Hour {
	return v.hours[sort.Search(len(v.hours), func(i int) bool { return v.hours[i].Start >= t }):]
}

// setsFrom splits the firings into those of days most of which lie past a time and those before.
func (v *view) setsFrom(t int64) (before, now []FiringSet) {
	i := sort.Search(len(v.sets), func(i int) bool { return v.sets[i].Day+43200 > t })
	return v.sets[:i], v.sets[i:]
}

// cleaningBy says what shows the cleaning in this record: the log's own channels where it ever had
// them, else the saw-tooth of the dP where there is one. What is cleaned by the clock or all the time may show none: single
// falls in many weeks are not its cleaning, and their lack says nothing, but falls that came up within a week may.
func (v *view) cleaningBy() CycleSource {
	switch {
	case v.h.Seen>>Pulse&1 == 1:
		return ByPulse
	case v.h.Seen>>Cleaning&1 == 1:
		return ByFlag
	}
	n, lately := 0, 0
	for _, p := range v.passes {
		if p.By == BySawtooth {
			n += int(p.N)
			if p.Day > v.at-7*86400 {
				lately += int(p.N)
			}
		}
	}
	if v.c.Cleaning.Mode != collector.OnDemand && v.c.Cleaning.Mode != "" && n < v.runningDays()/2 {
		n = lately
	}
	if n >= 3 {
		return BySawtooth
	}
	return NoCycles
}

// runningDays is on how many days of the record the fan ran.
func (v *view) runningDays() int {
	n, last := 0, int64(math.MinInt64)
	for i := range v.hours {
		if day := v.h.day(v.hours[i].Start); v.hours[i].Running > 0 && day > last {
			n, last = n+1, day
		}
	}
	return n
}

// neverPulsed reports that the filters are not cleaned: the file says so, or it says nothing and the
// record shows no cleaning over a good stretch of running.
func (v *view) neverPulsed() bool {
	if v.c.Cleaning.Mode != "" {
		return v.c.Cleaning.Mode == collector.None
	}
	running := float32(0)
	for i := range v.hours {
		running += v.hours[i].Running
	}
	return v.cleaningBy() == NoCycles && running > 100
}

// days works out the daily values.
func (v *view) days(s *summariser) []Day {
	var out []Day
	p, f := 0, 0
	for i := 0; i < len(v.hours); {
		day := v.h.day(v.hours[i].Start)
		j := i
		for j < len(v.hours) && v.hours[j].Start < day+86400 {
			j++
		}
		part := part{start: day, hours: v.hours[i:j]}
		for p < len(v.passes) && v.passes[p].Day < day {
			p++
		}
		if p < len(v.passes) && v.passes[p].Day == day {
			part.passes = &v.passes[p]
		}
		for f < len(v.sets) && v.sets[f].Day < day {
			f++
		}
		g := f
		for g < len(v.sets) && v.sets[g].Day == day {
			g++
		}
		part.sets = v.sets[f:g]
		d := s.day(part)
		d.Start = d.Start.In(v.h.zone())
		out = append(out, d)
		i = j
	}
	return out
}

// The recent window is the shortest of windows that holds windowHours of running, or, in a log kept
// by hand, windowReadings readings.
const (
	windowHours    = 4
	windowReadings = 5
)

var windows = [...]time.Duration{24 * time.Hour, 3 * 24 * time.Hour, 7 * 24 * time.Hour, 14 * 24 * time.Hour, 30 * 24 * time.Hour}

// window returns the length of the recent window, ending at the view's time.
func (v *view) window() time.Duration {
	for _, w := range windows {
		running, readings := 0.0, 0
		for _, h := range v.hoursFrom(v.at - int64(w.Seconds())) {
			running += float64(h.Running)
			readings += int(h.DP.N)
		}
		if readings >= windowReadings && running >= windowHours {
			return w
		}
	}
	return windows[len(windows)-1]
}
