package sense

import (
	"math"
	"time"
)

// idle returns how long the fan has stood while rows came, and the longest such stretch before.
func (v *view) idle() (now, before time.Duration) {
	for i := range v.hours {
		if v.hours[i].Running > 0 {
			before = max(before, now)
			now = 0
			continue
		}
		now += time.Hour
	}
	return now, before
}

// weekHours is how many hours a week has.
const weekHours = 168

// offHabit is how long the fan would have run since it stands, and how long it would have stood since it runs without a stop,
// had it done so as often as before in the same hours of the week [h]. An hour of the week that the record does not hold yet
// adds nothing.
func (v *view) offHabit() (missed, extra float64) {
	stood := v.since(func(h *Hour) bool { return h.Running == 0 })
	missed, _ = v.byHabit(stood)
	_, extra = v.byHabit(v.since(func(h *Hour) bool { return h.Running > 0 && h.DP.Still == 0 }))
	return missed, extra
}

// since is the first of the last hours that all are of a kind.
func (v *view) since(of func(*Hour) bool) int {
	n := len(v.hours)
	for n > 0 && of(&v.hours[n-1]) {
		n--
	}
	return n
}

// byHabit is how long the fan would have run and stood in the hours from one on, by the hours before.
func (v *view) byHabit(from int) (runs, stands float64) {
	var ran, seen [weekHours]float64
	ofWeek := func(h *Hour) int64 { return h.Start / 3600 % weekHours }
	for i := range v.hours[:from] {
		k := ofWeek(&v.hours[i])
		ran[k] += math.Min(1, float64(v.hours[i].Running))
		seen[k]++
	}
	for i := from; i < len(v.hours); i++ {
		if k := ofWeek(&v.hours[i]); seen[k] > 0 {
			share := ran[k] / seen[k]
			runs, stands = runs+share, stands+1-share
		}
	}
	return runs, stands
}

// leastStood is how many hours in which the fan stood throughout tell how far they lie apart.
const leastStood = 4

// stopped is what the gauge reads while the fan stands, and its standard deviation from hour to hour. For that the hour after
// one in which it ran is left out: a damped gauge is still coming down.
func (d *Day) stopped(hours []Hour) {
	var zero, level weighted
	ran := true
	for i := range hours {
		h := &hours[i]
		zero.add(float64(h.DP.StillMean), float64(h.DP.Still))
		stood := h.DP.N == 0 && h.Running == 0
		if stood && !ran {
			level.add(float64(h.DP.StillMean), 1)
		}
		ran = !stood
	}
	mean, se := zero.value()
	d.set(StoppedDP, mean, se)
	if level.n >= leastStood {
		sd, se := level.scatter()
		d.set(StoppedApart, sd, se)
	}
}

// standing puts what the last day shows of the gauge with the fan standing in the place of a longer window's: that reaches
// back for hours in which the fan ran, past the time at which the line came off.
func (v *view) standing(day *Day) {
	last := newDay()
	last.stopped(v.hoursFrom(v.at - int64(windows[0].Seconds())))
	for _, q := range [...]Quantity{StoppedDP, StoppedApart} {
		if last.Value[q] == last.Value[q] {
			day.set(q, last.Value[q], last.Sigma[q])
		}
	}
}

// zeroShare is what an hour in which the fan stood takes of the gauge's zero as it was followed. Common practice, no source.
const zeroShare = 0.1

// zero follows what the gauge reads while the fan stands by an hour in which it never ran: a gauge that is still coming down does
// not move it far.
func (st *State) zero(d *HourDP) {
	if d.Still > 0 {
		st.Zero += zeroShare * (float64(d.StillMean) - st.Zero)
	}
}
