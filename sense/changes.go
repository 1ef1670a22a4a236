package sense

import (
	"fmt"
	"math"
	"slices"
	"time"

	"dustwright/collector"
	"dustwright/unit"
)

// Kinds of change, as they stand in Change.Kind.
const (
	FilterChange = "filters"
	DamperMove   = "damper"
	HighMoved    = "setpoint-high"
	LowMoved     = "setpoint-low"
	HeaderMoved  = "header-set"
)

// Searches for steps. block and span count points (hours or days); least is in the log of the level.
// A filter change must take an eighth off the level: seasoned filters lose less to a good cleaning.
var (
	dailyStep  = stepSearch{block: 1, span: 5, after: 2, least: 0.04, score: 5, sharp: 0.5}
	dailyFall  = stepSearch{block: 1, span: 5, after: 2, least: 0.12, score: 5, sharp: 0.5, sign: -1}
	damperStep = stepSearch{block: 1, span: 6, after: 3, least: 0.02, score: 5, sharp: 0.7}
)

// changesOf finds what was done to the machine, and joins it with what was logged.
func (v *view) changesOf(days []Day, s *summariser) []Change {
	var out []Change
	if s.red != nil {
		out = append(out, v.renewalsByLevel(s.points)...)
	} else {
		out = append(out, v.renewalsByDip(s)...)
		out = append(out, v.renewalsByDays(days, out)...)
		out = append(out, v.setPoints(out)...)
	}
	out = append(out, v.damperMoves(days)...)
	out = append(out, v.headerMoves(days)...)
	out = v.joinNoted(out)
	slices.SortStableFunc(out, func(a, b Change) int { return a.At.Compare(b.At) })
	return out
}

// joinNoted adds the logged changes; one found within three days of a logged one of its kind is the
// same, and gives it its time where only the day was noted.
func (v *view) joinNoted(found []Change) []Change {
	out := append([]Change(nil), v.noted...)
	for _, f := range found {
		i := slices.IndexFunc(out, func(n Change) bool { return n.Logged && n.Kind == f.Kind && n.At.Sub(f.At).Abs() < 3*24*time.Hour })
		if i < 0 {
			out = append(out, f)
			continue
		}
		n := &out[i]
		if n.To.Sub(n.From) >= 24*time.Hour {
			n.At, n.From, n.To = f.At, f.From, f.To
		}
		if n.Unit == "" {
			n.Before, n.After, n.Unit = f.Before, f.After, f.Unit
		}
	}
	return out
}

// confidence turns a step's size over noise, past the score asked for, into 0.5 to 0.99.
func confidence(score, asked float64) float64 {
	return min(0.99, 1-0.5*math.Exp(-(score-asked)/5))
}

// renewalsByLevel finds filter changes of filters never pulsed: lasting, sudden falls of the reduced
// dP. Blocks are a day of running, or a hundredth of a shorter record.
func (v *view) renewalsByLevel(ps []point) []Change {
	z := make([]float64, len(ps))
	running := 0.0
	for i := range ps {
		z[i] = ps[i].z
		running += ps[i].run
	}
	if len(ps) < 10 {
		return nil
	}
	q := dailyFall
	q.block = max(1, min(int(math.Round(24/max(running/float64(len(ps)), 1e-9))), len(ps)/100))
	q.span = 7
	var out []Change
	for _, st := range q.find(z) {
		before, after := math.Exp(st.before), math.Exp(st.after)
		c := v.changeAt(FilterChange, ps[st.from].t, ps[st.to].t)
		c.Before, c.After, c.Unit, c.Confidence = before, after, "Pa", confidence(st.score, q.score)
		c.Why = fmt.Sprintf("the dP, carried to one flow and density, fell from %s to %s from one reading to the next and stayed there",
			pressureText(before), pressureText(after))
		out = append(out, c)
	}
	return out
}

// changeAt is a change between two rows [unix s].
func (v *view) changeAt(kind string, from, to int64) Change {
	z := v.h.zone()
	return Change{Kind: kind, At: unixTime(to).In(z), From: unixTime(from).In(z), To: unixTime(to).In(z)}
}

func pressureText(pa float64) string { return unit.Pressure(pa).In(unit.US) }

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
	t     int64
	x     float64
	dense bool    // many readings: the hour stands for itself
	zero  float64 // size of the dP while the fan stood last [Pa]; NaN not seen
	still bool    // the fan stood, or the log had a gap, just before
}

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
		part := h.DP.N >= 10 && h.Running < 0.67 // the fan ran up or down in it: its low dP says nothing
		still := h.Start > lastEnd || h.DP.Still > 0
		if part {
			lastEnd = math.MinInt64
			continue
		}
		k, _ := s.a.atDesign(&h.DP.Low, 1)
		out = append(out, lowPoint{t: h.Start, x: float64(h.DP.P10) * k, dense: h.DP.N >= 10, zero: zero, still: still})
		lastEnd = h.Start + 3600
	}
	return out
}

// renewalsByDip finds filter changes of pulsed filters, whose level just after cleaning hangs on the
// set points: after a standstill the dP comes back lower than it ever was, and climbs from there.
func (v *view) renewalsByDip(s *summariser) []Change {
	ls := v.lows(s)
	clean := float64(v.c.Filters.CleanDP)
	var out []Change
	buf := make([]float64, 0, dipHours)
	start := 0
	for i := dipLeast; i+1 < len(ls); i++ {
		if !ls[i].still || i-start < dipLeast || start > 0 && ls[i].t-ls[start].t < dipApart {
			continue
		}
		buf = buf[:0]
		for _, l := range ls[max(start, i-dipHours):i] {
			buf = append(buf, l.x)
		}
		ref := min(quantileOf(buf, 0.1), restartLow(ls[max(start, i-5*dipHours):i]))
		now := medianLow(ls[i:min(len(ls), i+dipHold)])
		if ls[i].dense {
			now = ls[i].x
		}
		if !(now < dipShare*ref) || !(ls[i].x < dipShare*ref) || !ls[i].dense && !(ls[i+1].x < dipShare*ref) {
			continue
		}
		if now < 0.1*ref || clean > 0 && now < 0.4*clean || ls[i].zero > 0.3*now {
			continue // no filter is that clean, or the gauge has lost its zero: a sensing line
		}
		c := v.changeAt(FilterChange, ls[i-1].t, ls[i].t)
		c.Before, c.After, c.Unit = ref, now, "Pa"
		c.Confidence = v.dipConfidence(now/ref, now/clean, ls[i:])
		c.Why = fmt.Sprintf("after a standstill the dP at design flow came back at %s, where cleaning had never brought it below %s",
			pressureText(now), pressureText(ref))
		out = append(out, c)
		start = i
	}
	return out
}

// restartLow is what the dP usually comes back at after a standstill: downtime cleaning brings it
// below what cleaning with the fan on does. +Inf where fewer than three standstills were seen.
func restartLow(ls []lowPoint) float64 {
	var v []float64
	for _, l := range ls {
		if l.still {
			v = append(v, l.x)
		}
	}
	if len(v) < 3 {
		return math.Inf(1)
	}
	return quantileOf(v[max(0, len(v)-20):], 0.25)
}

func medianLow(ls []lowPoint) float64 {
	v := make([]float64, 0, dipHold)
	for _, l := range ls {
		v = append(v, l.x)
	}
	return quantileOf(v, 0.5)
}

// dipConfidence weighs a dip: how deep it is, whether it comes near the clean dP of the file, and
// whether the dP climbs back from there as new filters do.
func (v *view) dipConfidence(depth, overClean float64, later []lowPoint) float64 {
	odds := 1.0
	if depth < 0.6 {
		odds *= 3
	}
	switch {
	case overClean < 1.6:
		odds *= 3
	case overClean > 2.5:
		odds /= 4
	case overClean > 1.6:
		odds /= 2
	}
	if !v.flowSeen() { // a damper shut further does much the same
		odds /= 2
	}
	if n := len(later); n >= 4*dipHold {
		first, last := medianLow(later[:dipHold]), medianLow(later[min(n, 48)-dipHold:min(n, 48)])
		if last > 1.15*first {
			odds *= 3
		} else {
			odds /= 2
		}
	}
	return odds / (1 + odds)
}

// renewalsByDays finds filter changes by a lasting fall of the level just after cleaning, where the
// level is the filters' own: not next to a dip already found, and not where the cleaning itself was
// set to go lower.
func (v *view) renewalsByDays(days []Day, found []Change) []Change {
	if v.c.Cleaning.Mode == collector.OnDemand {
		return nil // the low set point fixes that level: new filters show as a dip below it, or not at all
	}
	q := DragAfter
	if v.cleaningBy() == NoCycles || v.cleaningBy() > ByFlag && len(v.passes) < len(days)/2 {
		q = DPLow
	}
	var out []Change
	for _, st := range stepsOf(days, q, dailyFall) {
		at := days[st.at].Start
		near := func(c Change) bool { return c.At.Sub(at).Abs() < 3*24*time.Hour }
		if slices.ContainsFunc(found, near) {
			continue
		}
		c := v.changeAt(FilterChange, days[max(0, st.at-1)].Start.Unix(), at.Unix())
		c.Before, c.After, c.Unit = math.Exp(st.before), math.Exp(st.after), "Pa s/m"
		if q == DPLow {
			c.Unit = "Pa"
		}
		c.Confidence = 0.8 * confidence(st.score, dailyFall.score)
		if v.c.Cleaning.Mode == "" && movedTogether(days, st.at, Stop, 0.6*(st.after-st.before)) {
			c.Confidence *= 0.5 // it may be on demand, with its low set point moved
		}
		c.Why = fmt.Sprintf("from one day to the next the level just after cleaning fell to %.0f %% of what it was, and stayed", 100*math.Exp(st.after-st.before))
		out = append(out, c)
	}
	return out
}

// movedTogether reports that the log of q moved, at day i, by at least as much as size in its sense.
func movedTogether(days []Day, i int, q Quantity, size float64) bool {
	side := func(a, b int) float64 {
		var v []float64
		for _, d := range days[max(0, a):min(len(days), b)] {
			v = append(v, d.Value[q])
		}
		return math.Log(medianOf(v))
	}
	d := side(i, i+5) - side(i-5, i)
	return d*size > 0 && math.Abs(d) >= math.Abs(size)
}

// stepsOf looks for steps in the log of a quantity's daily values.
func stepsOf(days []Day, q Quantity, search stepSearch) []step {
	z := make([]float64, len(days))
	for i := range days {
		z[i] = math.Log(days[i].Value[q]) // not above zero: NaN, passed over
	}
	return search.find(z)
}
