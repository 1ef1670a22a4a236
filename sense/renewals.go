package sense

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"dustwright/collector"
)

// A dip below what cleaning ever reached before shows new filters: dipShare of the lower tenth of
// the last dipHours running hours, over an hour of many readings or two of few. Common practice (new
// filters lie at a half to a quarter of the seasoned level), no source.
const (
	dipShare = 0.8
	dipHours = 200
	dipLeast = 12
	dipApart = 5 * 86400 // [s] between two changes
	dipHold  = 3         // hours of few readings whose median counts
)

// lowPoint is an hour's low dP at design flow.
type lowPoint struct {
	t      int64
	x      float64
	dense  bool    // many readings: the hour stands for itself
	zero   float64 // size of the dP while the fan stood last [Pa]; NaN not seen
	still  bool    // the fan stood, or the log had a gap, just before
	frozen bool    // most readings repeat the one before
	wide   bool    // half the readings lie far above the low ones
}

// wideShare is how many times its low end an hour's median is at most where the fan ran all through it: filters that fill up
// in less are rare, a gauge that shows more than its zero before the fan starts is not. Common practice, no source.
const wideShare = 4

// stuckShare is the share of an hour's readings that repeat the one before from which the gauge stands still;
// a coarse display repeats itself too.
const stuckShare = 0.9

// partStep is the step between rows [s] below which an hour's running time tells whether the fan ran
// through all of it.
const partStep = 1200

// lows lists the low dP at design flow of every running hour.
func (v *view) lows(s *summariser) []lowPoint {
	out := make([]lowPoint, 0, len(v.hours))
	lastEnd := int64(math.MinInt64)
	zero := math.NaN()
	for i := range v.hours {
		h := &v.hours[i]
		if h.DP.Still > 0 {
			zero = math.Abs(float64(h.DP.StillMean))
		}
		if h.DP.N == 0 {
			continue
		}
		part := h.Step < partStep && h.Running < 0.67 // the fan ran up or down in it: its low dP says nothing
		still := h.Start > lastEnd || h.DP.Still > 0
		if part {
			lastEnd = math.MinInt64
			continue
		}
		k, _ := s.a.atDesign(&h.DP.Low, 1)
		out = append(out, lowPoint{t: h.Start, x: float64(h.DP.P10) * k, dense: h.DP.N >= 10, zero: zero, still: still,
			frozen: float64(h.DP.Frozen) > stuckShare*float64(h.DP.N), wide: h.DP.P50 > wideShare*h.DP.P10})
		lastEnd = h.Start + 3600
	}
	return out
}

// renewalsByDip finds filter changes of pulsed filters, whose level just after cleaning hangs on the
// set points: after a standstill the dP comes back lower than it ever was, and climbs from there. A
// change that somebody noted, or that a fall from what had crept up tells, begins a life as well as one that is sure, with the dip
// that belongs to it or, where none does, at its own time: what the new filters do while they season is held against them alone.
func (v *view) renewalsByDip(ls []lowPoint, days []Day, known []Change) []Change {
	var out []Change
	start := 0
	var last Change // the last that was doubted
	told := timesOf(known)
	for i := dipLeast; i+1 < len(ls); i++ {
		for len(told) > 0 && ls[i].t-told[0].Unix() >= sameChange {
			start = max(start, sort.Search(i, func(k int) bool { return ls[k].t >= told[0].Unix() }))
			told = told[1:]
		}
		if !ls[i].still || i-start < dipLeast || start > 0 && ls[i].t-ls[start].t < dipApart {
			continue
		}
		d, ok := v.dipAt(ls, start, i)
		if !ok {
			continue
		}
		c := v.changeAt(FilterChange, ls[i-1].t, ls[i].t)
		c.Before, c.After, c.Unit = d.ref, d.now, "Pa"
		c.Confidence = v.dipConfidence(d, ls[i:])
		if gaugeMoved(days, c.At) {
			c.Confidence *= gaugeDoubt
		}
		if !v.flowSeen() && again(last, c) {
			c.Confidence = min(c.Confidence, last.Confidence)
		}
		c.Why = fmt.Sprintf("after a standstill the dP at design flow came back at %s, where cleaning had never brought it below %s",
			pressureText(d.now), pressureText(d.ref))
		out = append(out, c)
		if c.Confidence >= lifeSure || len(told) > 0 && sameTime(c.At, told[0]) {
			start = i
		} else {
			last = c
		}
	}
	return out
}

// timesOf lists when filters were changed, in order.
func timesOf(changes []Change) []time.Time {
	var out []time.Time
	for _, c := range changes {
		if c.Kind == FilterChange && c.Likely() {
			out = append(out, c.At)
		}
	}
	slices.SortFunc(out, time.Time.Compare)
	return out
}

// again reports that a dip is the last one over again: within days the dP came back as low as then. Where nobody measured the
// air, what brought it there the first time did so now.
func again(last, c Change) bool {
	return last.Kind != "" && c.At.Unix()-last.At.Unix() < dipApart && c.After > dipShare*last.After
}

// dip is a restart that lies lower than anything before it.
type dip struct {
	now, ref float64 // dP at design flow after it, and the lower of what cleaning and what standstills left before [Pa]
	starts   int     // restarts behind ref
	sank     bool    // the dP had come down in the hours before
}

// dipAt weighs restart i against the life since start; false where it lies no lower than others, or
// the gauge shows what no filter does.
func (v *view) dipAt(ls []lowPoint, start, i int) (d dip, ok bool) {
	var buf [dipHours]float64
	run := buf[:0]
	for _, l := range ls[max(start, i-dipHours):i] {
		run = append(run, l.x)
	}
	usual := quantileOf(run, 0.1)
	clean := float64(v.c.Filters.CleanDP)
	d.ref = usual
	if low, n := restartLow(ls[start:i], max(dipFloor*usual, cleanFloor*clean)); n > 0 {
		d.ref, d.starts = min(d.ref, low), n
	}
	d.sank = sank(ls[max(start, i-dipHours):i])
	d.now = medianLow(ls[i:min(len(ls), i+dipHold)])
	alone := ls[i].dense && !ls[i].wide
	if alone {
		d.now = ls[i].x
	}
	if !(d.now < dipShare*d.ref) || !(ls[i].x < dipShare*d.ref) || !alone && !(ls[i+1].x < dipShare*d.ref) {
		return d, false
	}
	// No filter is that clean, or the gauge has lost its zero or stands still: a sensing line.
	if d.now < dipFloor*usual || clean > 0 && d.now < cleanFloor*clean || ls[i].zero > 0.3*d.now || ls[i].frozen {
		return d, false
	}
	return d, true
}

// dipFloor is the share of the usual low dP, and cleanFloor the share of the clean dP in the file, below
// which no filter lies. Common practice, no source.
const (
	dipFloor   = 0.1
	cleanFloor = 0.6
)

// restartLow is what the dP comes back at after a standstill that left it low: downtime cleaning brings
// it below what cleaning with the fan on does. Restarts below floor are passed over: a gauge's fault. n is
// how many there were.
func restartLow(ls []lowPoint, floor float64) (low float64, n int) {
	var v []float64
	for _, l := range ls {
		if l.still && !(l.x < floor) {
			v = append(v, l.x)
		}
	}
	return quantileOf(v, 0.1), len(v)
}

func medianLow(ls []lowPoint) float64 {
	v := make([]float64, 0, len(ls))
	for _, l := range ls {
		v = append(v, l.x)
	}
	return quantileOf(v, 0.5)
}

// airDepth is the share of the dP that is left where the air became less and the fan still draws some; new filters lie below it.
// Common practice, no source.
const airDepth = 0.5

// fewStarts is how many restarts must have been seen before downtime cleaning is known by them.
const fewStarts = 5

// dipConfidence weighs a dip: how deep it is, whether it comes near the clean dP of the file, how well
// it is known what a standstill does here, and whether the dP climbs back from there as new filters do.
func (v *view) dipConfidence(d dip, later []lowPoint) float64 {
	odds := 1.0
	depth := d.now / d.ref
	switch {
	case depth < 0.6:
		odds *= 3
	case depth > 0.7:
		odds /= 2
	}
	switch over := d.now / float64(v.c.Filters.CleanDP); {
	case over < 1.65:
		odds *= 3
	case over > 2.2:
		odds /= 8
	case over >= 1.65:
		odds /= 3
	case depth > 0.6: // the file doesn't say how low new filters lie
		odds /= 3
	}
	if d.starts < fewStarts {
		odds /= 3
	}
	if sinks(later, d.now) || d.sank || v.upAgain(later, d.ref) {
		odds /= 20
	}
	if !v.flowSeen() { // a damper shut further, or a duct that fills up, does much the same, but does not halve the dP
		odds /= 2
		if depth > airDepth {
			odds /= 10
		}
	}
	if n := min(len(later), 48); n >= 4*dipHold {
		if medianLow(later[n-dipHold:n]) > 1.15*d.now {
			odds *= 2
		} else {
			odds /= 2
		}
	}
	return odds / (1 + odds)
}

// sinks reports that later restarts lie still lower: new filters season and rise, a line that loses its
// pressure goes on falling.
func sinks(later []lowPoint, now float64) bool {
	var v []float64
	for _, l := range later[1:] {
		if l.still && len(v) < 6 {
			v = append(v, l.x)
		}
	}
	return len(v) >= 3 && quantileOf(v, 0.5) < 0.9*now
}

// upAgain reports that, with a controller that does not look at the dP, the next hours are back at what was
// before: a slow line. Where cleaning waits for its set point, new filters come up to it as well.
func (v *view) upAgain(later []lowPoint, ref float64) bool {
	if m := v.c.Cleaning.Mode; m != collector.Timed && m != collector.Continuous || len(later) <= dipHold {
		return false
	}
	return medianLow(later[dipHold:min(len(later), 24)]) > 0.9*ref
}

// sank reports that the last hours lie well below those before, while the old filters were still in.
func sank(before []lowPoint) bool {
	n := len(before)
	if n < 4*dipLeast {
		return false
	}
	return medianLow(before[n-dipLeast:]) < sankShare*medianLow(before[:n-2*dipLeast])
}

// sankShare is that "well below": cleaning between two set points alone moves the median of some hours less.
const sankShare = 0.7

// gaugeDoubt is what is left of the confidence in new filters where the gauge changed its ways with them.
const gaugeDoubt = 0.4

// gaugeMoved reports that around a time the dP gauge itself changed: it reads something else while the fan
// stands, its readings repeat, go below zero, or lose their scatter. A line that is off, blocked or pinched does
// that, new filters don't.
func gaugeMoved(days []Day, at time.Time) bool {
	i := 0
	for i < len(days) && days[i].Start.Add(24*time.Hour).Before(at) {
		i++
	}
	side := func(q Quantity, a, b int) float64 {
		var x []float64
		for _, d := range days[max(0, a):max(0, min(len(days), b))] {
			x = append(x, d.Value[q])
		}
		return medianOf(x)
	}
	level, after := side(DPRaw, i-5, i), side(DPRaw, i+1, i+4)
	fell := 1.0 // much of the scatter goes with the dP itself
	if after < level {
		fell = after / level
	}
	rise := func(q Quantity) float64 { return side(q, i+1, i+4) - side(q, i-5, i) }
	return math.Abs(rise(StoppedDP)) > 0.15*level || rise(FrozenShare) > 0.2 || rise(NegativeShare) > 0.1 ||
		side(ReadingNoise, i+1, i+4) < 0.35*fell*side(ReadingNoise, i-5, i)
}
