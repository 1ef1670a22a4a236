package sense

import (
	"fmt"
	"math"
	"slices"
	"time"

	"dustwright/collector"
)

// renewalsOf finds filter changes of pulsed filters in all ways. A fall from what had crept up and a dip at the same time are one change,
// at the hour of the dip.
func (v *view) renewalsOf(days []Day, ls []lowPoint) []Change {
	crept := v.renewalsByCreep(days, ls)
	out := v.renewalsByDip(ls, days, slices.Concat(v.noted, crept))
	for _, c := range crept {
		if i := slices.IndexFunc(out, func(d Change) bool { return sameTime(d.At, c.At) }); i < 0 {
			out = append(out, c)
		} else if out[i].Confidence < c.Confidence {
			out[i].Confidence, out[i].Why = c.Confidence, c.Why
		}
	}
	return append(out, v.renewalsByDays(days, out, ls)...)
}

// freshFall is the fall of the log of the level below which it is rather a good cleaning than new
// filters.
const freshFall = 0.25

// freshLevel is how many clean dP new filters lie at, at the most, once cleaning goes on. Common practice, no source.
const freshLevel = 2.2

// renewalsByDays finds filter changes by a lasting fall of the level just after cleaning, where the
// level is the filters' own: not next to a change already found, and not where the cleaning itself was
// set to go lower.
func (v *view) renewalsByDays(days []Day, found []Change, ls []lowPoint) []Change {
	if v.c.Cleaning.Mode == collector.OnDemand {
		return nil // the low set point fixes that level: new filters show as a dip below it, as a fall from far above it, or not at all
	}
	q := v.ownLevel(days)
	var out []Change
	for _, st := range stepsOf(days, q, dailyFall) {
		c, over := v.fallen(days, q, st, ls)
		if over < cleanFloor || c.After < dipFloor*c.Before || slices.ContainsFunc(found, func(f Change) bool { return sameTime(f.At, c.At) }) {
			continue // no filter is that clean, or the change is known already
		}
		if over > freshLevel || st.before-st.after < freshFall {
			c.Confidence = min(c.Confidence, gaugeDoubt*fallTrust*confidence(st.score, dailyFall.score))
		}
		if v.c.Cleaning.Mode == "" && movedTogether(days, st.at, Stop, 0.6*(st.after-st.before)) {
			c.Confidence *= 0.5 // it may be on demand, with its low set point moved
		}
		out = append(out, c)
	}
	return out
}

// ownLevel is the quantity that shows the level just after cleaning.
func (v *view) ownLevel(days []Day) Quantity {
	if v.c.Cleaning.Mode == collector.OnDemand || v.cleaningBy() == NoCycles || v.cleaningBy() > ByFlag && len(v.passes) < len(days)/2 {
		return DPLow
	}
	return DragAfter
}

// fallTrust is the confidence in new filters that a fall from one day to the next gives at the most.
const fallTrust = 0.8

// fallen makes a change of a fall of q, and returns what is left over the clean dP.
func (v *view) fallen(days []Day, q Quantity, st step, ls []lowPoint) (c Change, over float64) {
	at := days[st.at].Start
	c = v.changeAt(FilterChange, days[max(0, st.at-1)].Start.Unix(), at.Unix())
	c.Before, c.After, c.Unit = math.Exp(st.before), math.Exp(st.after), "Pa s/m"
	if q == DPLow {
		c.Unit = "Pa"
	}
	c.Confidence = fallTrust * confidence(st.score, dailyFall.score)
	if math.Abs(movedAt(days, st.at, InletSPRatio)) > 2*ratioNoise || gaugeMoved(days, c.At) || !fellStanding(ls, c.At, st.after-st.before) {
		c.Confidence *= gaugeDoubt
	}
	c.Why = fmt.Sprintf("from one day to the next the level just after cleaning fell to %.0f %% of what it was, and stayed", 100*math.Exp(st.after-st.before))
	return c, v.pressureOf(q, c.After) / float64(v.c.Filters.CleanDP)
}

// pressureOf is a level of q as dP at design flow [Pa].
func (v *view) pressureOf(q Quantity, level float64) float64 {
	if q == DragAfter {
		return level / dragPer(v.c)
	}
	return level
}

// A fall tells of new filters, whatever the cleaning waits for, where the dP had crept up above what the set points ask for: it is
// halved, cleaning goes on below its high set point again, at least creepDays lie between the last day that was as low and the fall,
// and what no creepSpan of them brought makes up half of the fall or more. Worn media come on like that. A fault of the cleaning
// comes faster, and to put it right takes away no more than it brought. Common practice, no source.
const (
	creepFall = math.Ln2
	creepDays = 42 * 24 * time.Hour
	creepSpan = 14 * 24 * time.Hour
)

// renewalsByCreep finds filter changes by falls of a level that had crept up.
func (v *view) renewalsByCreep(days []Day, ls []lowPoint) []Change {
	q := v.ownLevel(days)
	most := float64(v.c.SetPoints.High)
	if !(most > 0) {
		most = freshLevel * float64(v.c.Filters.CleanDP)
	}
	var out []Change
	for _, st := range stepsOf(days, q, creepEnd) {
		c, over := v.fallen(days, q, st, ls)
		if over < cleanFloor || c.After < dipFloor*c.Before || v.pressureOf(q, c.After) > most || !crept(days[:st.at], q, st) {
			continue
		}
		c.Why = fmt.Sprintf("over a standstill the dP fell to %.0f %% of what it was, and stayed; it had crept up to that over weeks, as it does with worn filters",
			100*math.Exp(st.after-st.before))
		out = append(out, c)
	}
	return out
}

// crept reports that what a fall of q took away had come by degrees, in the days before it.
func crept(before []Day, q Quantity, st step) bool {
	fall := st.before - st.after
	if fall < creepFall {
		return false
	}
	at, z := smoothed(before, q)
	low := len(z) - 1 // the last day that was as low as after the fall, or the first of all
	for low > 0 && z[low] > st.after+0.1*fall {
		low--
	}
	if low < 0 || at[len(at)-1].Sub(at[low]) < creepDays {
		return false
	}
	fastest := 0.0
	for i, k := low, low; i < len(z); i++ {
		for at[i].Sub(at[k]) > creepSpan {
			k++
		}
		fastest = max(fastest, z[i]-slices.Min(z[k:i+1]))
	}
	unseen := max(0, z[low]-st.after) // what had come before the record began
	return unseen+fastest < fall/2
}

// smoothed is the log of q on the days on which it is known, each as the median of three.
func smoothed(days []Day, q Quantity) (at []time.Time, z []float64) {
	var raw []float64
	for i := range days {
		if x := math.Log(days[i].Value[q]); x == x {
			at, raw = append(at, days[i].Start), append(raw, x)
		}
	}
	for i := range raw {
		z = append(z, medianOf(slices.Clone(raw[max(0, i-1):min(len(raw), i+2)])))
	}
	return at, z
}

// fellStanding reports that within a day of a time the dP came back from a standstill lower than before it by half of fall, a
// log: nobody changes filters while the fan runs, and a fall that came while it did is another matter.
func fellStanding(ls []lowPoint, at time.Time, fall float64) bool {
	for i := dipHold; i < len(ls); i++ {
		if ls[i].t > at.Unix()+86400 {
			break
		}
		if ls[i].t < at.Unix()-86400 || !ls[i].still {
			continue
		}
		now := medianLow(ls[i:min(len(ls), i+dipHold)])
		if math.Log(now/medianLow(ls[i-dipHold:i])) < fall/2 {
			return true
		}
	}
	return false
}
