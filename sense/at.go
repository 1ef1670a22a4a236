package sense

import (
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat"

	"dustwright/collector"
)

// At says all that the record shows about a collector as of a time: readings, cycles and changes
// after it are not used. The zero time takes the last reading. c must not be nil. An empty history
// gives features of which none is known. Safe for concurrent use.
func At(h *History, c *collector.Collector, at time.Time) *Features {
	if at.IsZero() {
		at = time.Unix(0, h.Last)
	}
	v := look(h, c, at)
	f := &Features{At: at.In(v.h.zone())}
	for q := range f.Of {
		f.Of[q] = Measure{Now: Unknown("no reading"), Fresh: Unknown("no reading"), Normal: Unknown("no reading"), Trend: Unknown("no reading"), Took: Unknown("it has not changed"),
			Spread: math.NaN(), Shared: math.NaN()}
	}
	f.FlowNow, f.Wet = Unknown("no reading"), Unknown("nothing rose")
	if len(v.hours) == 0 {
		f.Notes = []string{"there is no reading up to this time"}
		return f
	}
	s := v.summariser()
	days := v.days(s)
	f.Days = days
	f.Changes = v.changesOf(days, s)
	f.Lives = v.livesOf(f.Changes, days, s)
	v.describe(f)
	v.measure(f, s)
	v.took(f)
	v.flow(f, s)
	v.notes(f, s)
	return f
}

// Lives returns the filter lives that the record shows as of a time, oldest first; see At.
func Lives(h *History, c *collector.Collector, at time.Time) []Life { return At(h, c, at).Lives }

// summariser prepares the daily values for this record.
func (v *view) summariser() *summariser {
	s := &summariser{c: v.c, a: newAirflow(v.c, &History{Hours: v.hours, Passes: v.passes}), perV: dragPer(v.c), cyc: v.cleaningBy(),
		full: fullOf(float64(v.c.Header.Set), v.hours), dip: dipOf(v.hours), grain: binGrain(v.hours), heads: headGrain(v.hours)}
	s.habits = s.a.learnHabits(v.hours, v.at)
	for i := range v.sets {
		s.recov = s.recov || v.sets[i].Recovered.N > 0
	}
	if v.neverPulsed() {
		s.points = v.cut(points(v.h, v.at))
		by := ""
		switch {
		case v.h.Seen>>Flow&1 == 1:
			by = Flow.String()
		case v.h.Seen>>FlowIndex&1 == 1:
			by = FlowIndex.String()
		}
		red := reduce(s.points, v.c, by)
		s.red = &red
		s.scatter = pointScatter(s.points)
	}
	return s
}

// cut drops the points of hours that the view leaves out.
func (v *view) cut(ps []point) []point {
	last := v.hours[len(v.hours)-1].Start + 3600
	for len(ps) > 0 && ps[len(ps)-1].t >= last {
		ps = ps[:len(ps)-1]
	}
	return ps
}

// pointScatter is the scatter of single points about their own course, in the log.
func pointScatter(ps []point) float64 {
	z := make([]float64, 0, len(ps))
	for i := range ps {
		if x := ps[i].z; x == x {
			z = append(z, x)
		}
	}
	return wobble(z)
}

// describe fills in what frames the features.
func (v *view) describe(f *Features) {
	zone := v.h.zone()
	f.From = time.Unix(0, v.h.First).In(zone)
	lastHour := &v.hours[len(v.hours)-1]
	f.Last = unixTime(lastHour.Start + int64(lastHour.Last)).In(zone)
	f.Window = v.window()
	f.Since = f.Lives[len(f.Lives)-1].Start
	f.CyclesBy = v.cleaningBy().String()
	steps := make([]float64, 0, len(v.hours))
	for _, h := range v.hours[max(0, len(v.hours)-200):] {
		steps = append(steps, float64(h.Step))
	}
	f.Sampling = time.Duration(medianOf(steps) * float64(time.Second))
	for i := range v.hours {
		v.mark(&f.Seen, &v.hours[i])
	}
	for _, h := range v.hoursFrom(v.at - int64(f.Window.Seconds())) {
		v.mark(&f.Present, &h)
	}
	for _, c := range [...]Channel{Running, Cleaning, Pulse} { // counted, so not in the hours' sums
		f.Seen[c] = v.h.Seen>>c&1 == 1
		f.Present[c] = f.Seen[c]
	}
	f.RunningBy = v.runningBy()
	f.Idle, f.IdleBefore = v.idle()
	f.Missed, f.Extra = v.offHabit()
	for _, r := range v.h.Recharges {
		if r.End/1e9 > v.at-int64(f.Window.Seconds()) && r.End/1e9 <= v.at {
			f.Recharges = append(f.Recharges, r)
		}
	}
}

// mark notes the channels an hour has.
func (v *view) mark(has *[NumChannels]bool, h *Hour) {
	for c := range has {
		has[c] = has[c] || h.Has>>c&1 == 1
	}
}

// runningBy says what tells that the fan runs: the source that did so in most rows.
func (v *view) runningBy() string {
	best, most := Pulse, uint32(0)
	for c, n := range v.h.RunBy {
		if n > most {
			best, most = Channel(c), n
		}
	}
	if best == Pulse {
		return "assumed"
	}
	return best.String()
}

// measure fills in every quantity: over the recent window, and against its normal.
func (v *view) measure(f *Features, s *summariser) {
	from := v.at - int64(f.Window.Seconds())
	now := part{start: from, hours: v.hoursFrom(from)}
	if p, ok := passesOf(v.cyclesFrom(from)); ok {
		now.passes = &p
	}
	_, now.sets = v.setsFrom(from)
	day := s.day(now)
	last := v.lastHours(from)
	b := baselineOf(f, from, usualStep(last.hours))
	var days [NumQuantities]int
	if f.Window > windows[0] {
		day, days = middle(b.days[v.firstOf(b.days, from):])
		v.standing(&day)
		day.band(now.hours) // of single readings a day only many show it
	}
	v.lastFalls(&day)
	n := count(now)
	flowScale := v.scale(s)
	fresh := s.day(last)
	for q := range NumQuantities {
		m := &f.Of[q]
		b.measure(q, m)
		if x := day.Value[q]; x == x {
			sigma := b.apart(q, &day)
			if sigma != sigma || math.IsInf(sigma, 0) {
				sigma = m.Spread // a single reading: what days usually differ by
			}
			if q.byHours() {
				sigma = min(sigma, b.usualWidth(q, m, now.running()))
			}
			m.Now, m.Days = Estimate{Value: x, Sigma: sigma, N: max(1, n.of(q))}, days[q]
		}
		if x := fresh.Value[q]; x == x {
			m.Fresh = Estimate{Value: x, Sigma: b.apart(q, &fresh), N: 1}
			if q.byHours() {
				m.Fresh.Sigma = min(m.Fresh.Sigma, b.usualWidth(q, m, last.running()))
			}
		}
		if byFlow(q) {
			m.Shared = flowScale
		}
	}
	v.taken(&f.Of[DustTaken])
	before, recent := valveWindow(v.c, v.sets, from)
	f.Valves, f.Turns = valveMeasures(v.c, recent, before, v.h.zone(), f.leastFall()), v.h.Turns
}

// freshHours is how much running makes the fresh end of the record [h]; leastFresh of the last day is enough, since what ran
// before a weekend shows nothing of what came up after it.
const (
	freshHours = 3
	leastFresh = 1
)

// lastHours is the end of the record that holds freshHours of running, no longer ago than a time [unix s], and no longer than a
// day where that holds enough.
func (v *view) lastHours(from int64) part {
	hours := v.hoursFrom(from)
	i, running := len(hours), 0.0
	for i > 0 && running < freshHours && !(running >= leastFresh && hours[i-1].Start < v.at-86400) {
		i--
		running += float64(hours[i].Running)
	}
	p := part{hours: hours[i:]}
	if len(p.hours) == 0 {
		return p
	}
	p.start = p.hours[0].Start
	if passes, ok := passesOf(v.cyclesFrom(p.start)); ok {
		p.passes = &passes
	}
	return p
}

// firstOf is the first of days that belongs to a window from a time on [unix s]: at least half of what ran on it lies in there. A
// window that reaches over a weekend may begin with the last minutes of a day on which all was well.
func (v *view) firstOf(days []Day, from int64) int {
	i := 0
	for i < len(days) && days[i].Start.Add(24*time.Hour).Unix() <= from {
		i++
	}
	if i+1 >= len(days) || days[i].Start.Unix() >= from {
		return i
	}
	in := 0.0
	for _, h := range v.hoursFrom(from) {
		if h.Start < days[i+1].Start.Unix() {
			in += float64(h.Running)
		}
	}
	if in < days[i].Hours/2 {
		i++
	}
	return i
}

// middle is the median of the days of a window, quantity by quantity, and of how many days each: where the recent window is
// longer than a day it is held against days, so it must be made of days.
func middle(days []Day) (out Day, count [NumQuantities]int) {
	out = newDay()
	for q := range NumQuantities {
		var x, s []float64
		alike := 0.0
		for i := range days {
			if v := days[i].Value[q]; v == v {
				x, s = append(x, v), append(s, days[i].own(q))
				alike += days[i].alike
			}
		}
		if n := math.Sqrt(float64(len(x))); n > 0 {
			own := medianOf(append([]float64(nil), s...))
			spread := spreadOf(append([]float64(nil), x...))
			centre := medianOf(append([]float64(nil), x...))
			if q.counted(own) {
				centre, spread = stat.Mean(x, nil), 0 // how sure a share of so few readings is its own width says
			}
			out.set(q, centre, hypot(1.25*spread, own)/n)
			if q == DragAfter {
				out.alike = alike / float64(len(x))
				out.Sigma[q] = hypot(out.Sigma[q], out.alike)
			}
			count[q] = len(x)
		}
	}
	return out, count
}

// fewReadings is the standard uncertainty of a day's share of readings above which the day has no more than a few: the median
// of such shares is all or nothing, their mean is the share.
const fewReadings = 0.1

// counted reports that a quantity is a share of readings, and days of which each is that unsure have few.
func (q Quantity) counted(sigma float64) bool {
	return (q == FrozenShare || q == NegativeShare) && sigma > fewReadings
}

// settleDays is how many days of running must lie behind a move of damper or set points before the
// normal begins anew with it; until then what was before still is the normal.
const settleDays = 6

// movedDay is the first whole day after the last sure change of the kinds given, if enough days lie behind
// it; else 0.
func movedDay(f *Features, kinds ...string) int {
	for i := len(f.Changes) - 1; i >= 0; i-- {
		c := &f.Changes[i]
		if !slices.Contains(kinds, c.Kind) || !c.Sure() {
			continue
		}
		day, behind := len(f.Days), 0
		for day > 0 && f.Days[day-1].Start.After(c.At) {
			day--
			if f.Days[day].Hours > 0 {
				behind++
			}
		}
		if behind >= settleDays {
			return day
		}
	}
	return 0
}

// Sure reports that damper or set point were moved: somebody logged it, or it is told well enough.
func (c *Change) Sure() bool { return c.Logged || c.Confidence >= sureMove }

// sureMove is the confidence from which a move that nobody logged counts as one: a damper's own
// channel passes it, an airflow that moved does not.
const sureMove = 0.7

// scale is the relative uncertainty of the airflow that all readings share.
func (v *view) scale(s *summariser) float64 {
	r := hourReading(&v.hours[len(v.hours)-1])
	f := s.a.infer(&r)
	return f.scale / f.share
}

// byFlow reports that a quantity is carried to design flow, or is the flow itself.
func byFlow(q Quantity) bool {
	switch q {
	case FlowShare, DragAfter, DragBefore, DPLow, DPHigh, DropPerCycle, DropPerPulse, RiseRate, AfterfilterLevel:
		return true
	}
	return false
}

// counts is how much stands behind the values of a window.
type counts struct{ readings, cycles, pulses, rest, busy int }

func count(p part) (n counts) {
	for i := range p.hours {
		h := &p.hours[i]
		n.readings += int(h.DP.N)
		if h.DP.N == 0 {
			n.readings += int(h.Rows)
		}
		n.rest += int(h.Air.N)
		n.busy += int(h.Air.BusyN)
	}
	if p.passes != nil {
		n.cycles = int(p.passes.N)
	}
	for i := range p.sets {
		n.pulses += int(p.sets[i].Drop.N)
	}
	return n
}

// of returns the count that a quantity stands on.
func (n counts) of(q Quantity) int {
	switch q {
	case DragAfter, DragBefore, Trigger, Stop, Recovered, DropPerCycle, DropPerPulse, RiseRate, RiseBend, PulsesPerCycle:
		return n.cycles
	case HeaderDrop, HeaderRecovery, EmissionPeak:
		return n.pulses
	case HeaderLacks:
		return n.busy
	case HeaderLevel, HeaderTrend, HeaderNoise, HeaderBehind, HeaderSwing:
		return n.rest
	}
	return n.readings
}

// flow fills in the airflow now, with how it was inferred.
func (v *view) flow(f *Features, s *summariser) {
	hours := v.hoursFrom(v.at - int64(f.Window.Seconds()))
	r := noReading()
	var sum [len(readingChannels)]weighted
	for i := range hours {
		for slot, x := range hourReading(&hours[i]) {
			sum[slot].add(float64(x), float64(hours[i].Running))
		}
	}
	for slot := range sum {
		x, _ := sum[slot].value()
		r[slot] = float32(x)
	}
	out := s.a.explain(&r)
	f.FlowBy = out.methods
	if m := f.Get(FlowShare); m.Now.Known() {
		m.Now.Sigma = out.sigma() // against design the whole width counts
		m.Now.Missing = flowMissing(out.methods)
	}
	f.FlowNow = Estimate{Value: out.share * s.a.design, Sigma: out.sigma() * s.a.design, N: len(hours), Missing: flowMissing(out.methods)}
	if f.FlowNow.Value != f.FlowNow.Value {
		f.FlowNow = Unknown("the design airflow is not in the collector file")
	}
}
