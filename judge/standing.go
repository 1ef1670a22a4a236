package judge

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

// Thresholds of belief at which a standing is called; chosen so that healthy histories in the
// simulation seldom call for hands. Common practice, no source.
const (
	callHands = 0.98 // in all causes together that ask for hands or more
	callDrift = 0.7  // in any cause at all
	callYoung = 0.9  // in a single one, while the record has just begun
	callSafe  = 0.5  // in a cause that asks to make safe
)

// settledDays is how many days a record must have to be held against itself: before, there is no normal, and that something
// may be wrong without it being told what is no more than not knowing. Common practice, no source.
const settledDays = 8

// standing follows from the belief in the causes, each asking for its own, from the alarm set point, which calls for hands
// whatever the cause, and from cleaning that hardly stops.
func standing(in Input, causes []Probability) Standing {
	ask := map[Standing]float64{}
	for _, p := range causes {
		if e, ok := CauseOf(p.Cause); ok {
			ask[e.Asks] += p.P
		}
	}
	raw, alarm := in.Features.Get(sense.DPRaw), float64(in.Collector.SetPoints.Alarm)
	switch {
	case ask[MakeSafe] >= callSafe:
		return MakeSafe
	case ask[MakeSafe]+ask[NeedsHands] >= callHands:
		return NeedsHands
	case raw.Now.Known() && alarm > 0 && raw.Now.Value >= alarm:
		return NeedsHands
	case 1-ask[Steady] >= callDrift && (len(in.Features.Days) >= settledDays || causes[0].Cause != None && causes[0].P >= callYoung):
		return Drifting
	}
	if _, stays := endless(in); stays {
		return Drifting
	}
	return Steady
}

// Shares of the running time: what cleans on demand more than endlessNow, and used to less than endlessBefore, hardly stops any
// more. Common practice, no source.
const endlessNow, endlessBefore = 0.5, 0.25

// endless reports a collector that is to clean on demand and hardly stops any more, with the share of its running time:
// whatever the cause, it wastes air and wears the filters.
func endless(in Input) (share float64, stays bool) {
	m := in.Features.Get(sense.CleaningShare)
	share = cleans(in.Features)
	return share, in.Collector.Cleaning.Mode == collector.OnDemand && share > endlessNow && known(m.Normal) < endlessBefore
}

// cleans is the share of the running time spent cleaning. A morning that began without tells little: where it cleans much now,
// the day before counts. NaN unknown.
func cleans(f *sense.Features) float64 {
	m := f.Get(sense.CleaningShare)
	if d := dayBefore(f); !(known(m.Now) > endlessNow) && d != nil && known(m.Fresh) > endlessNow {
		return d.Value[sense.CleaningShare]
	}
	return known(m.Now)
}

// dayBefore is the last day before the one judged on which the fan ran, nil where there is none within four days.
func dayBefore(f *sense.Features) *sense.Day {
	for i := range f.Days {
		d := &f.Days[len(f.Days)-1-i]
		if f.At.Sub(d.Start) > 5*24*time.Hour {
			break
		}
		if f.At.Sub(d.Start) >= 24*time.Hour && d.Hours > 0 {
			return d
		}
	}
	return nil
}

// mostReasons is how many reasons are given; leastReason the part of the log odds below which a fact is
// none.
const (
	mostReasons = 5
	leastReason = 0.3
)

// Believed is the probability from which a cause is said to be the one, and below which it is not said that nothing is wrong.
const Believed = 0.5

// leading returns the hypothesis of the likeliest cause.
func leading(hyps []hypothesis, causes []Probability) hypothesis {
	for _, h := range hyps {
		if h.cause == causes[0].Cause {
			return h
		}
	}
	return hyps[0]
}

// groups sums what speaks for a hypothesis, quantity by quantity.
func (h *hypothesis) groups(seen []sight) map[string]float64 {
	out := map[string]float64{}
	for i, s := range seen {
		out[s.key.group()] += h.each[i]
	}
	return out
}

// reasons returns the facts that speak most for the likeliest cause, weightiest first, one for each
// quantity, and for a healthy collector what shows that it is one.
func reasons(in Input, top hypothesis, seen []sight) []Reason {
	weight, says := top.groups(seen), map[string]int{}
	for i, s := range seen {
		g := s.key.group()
		if j, ok := says[g]; s.says != nil && (!ok || top.each[i] > top.each[j]) {
			says[g] = i
		}
	}
	share, stays := endless(in)
	if stays {
		delete(says, "cleaning") // it is told by itself
	}
	var out []Reason
	for _, s := range seen {
		g := s.key.group()
		if i, ok := says[g]; ok && weight[g] > leastReason && top.cause != None {
			out = append(out, Reason{collector.Spoken(seen[i].says), top.cause, weight[g]})
			delete(says, g)
		}
	}
	if top.tilt > leastReason {
		out = append(out, Reason{collector.Say("at this plant it comes up %s times as often as usual", plain(math.Exp(top.tilt))), top.cause, top.tilt})
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Weight > out[j].Weight })
	if len(out) > mostReasons {
		out = out[:mostReasons]
	}
	tell := func(at int, format string, values ...any) {
		out = slices.Insert(out, min(at, len(out)), Reason{collector.Say(format, values...), top.cause, math.Inf(1)})
	}
	if stays {
		m := in.Features.Get(sense.CleaningShare)
		at := 0
		if top.cause != None && top.post >= Believed {
			at = 1 // it follows from the cause: what shows that comes first
		}
		tell(at, "it hardly stops cleaning any more, %s of the running time and normally %s, which wastes air and wears the filters",
			told{unit.KindShare, share}, told{unit.KindShare, m.Normal.Value})
	}
	raw, alarm := in.Features.Get(sense.DPRaw), float64(in.Collector.SetPoints.Alarm)
	if raw.Now.Known() && alarm > 0 && raw.Now.Value >= alarm {
		tell(0, "the dP stands at %s, at or above the alarm at %s", told{unit.KindPressure, raw.Now.Value}, told{unit.KindPressure, alarm})
	}
	if len(out) == 0 {
		out = append(out, calm(in, seen)...)
	}
	return out
}

// calm says why nothing seems wrong, or that too little is known. What lies far out of the usual is told first: that nothing
// on the list of causes explains it better does not make it usual.
func calm(in Input, seen []sight) []Reason {
	f := in.Features
	raw, cycles := f.Get(sense.DPRaw), f.Get(sense.CyclesPerHour)
	if f.Idle > 0 && !ran(f) {
		return []Reason{{collector.Say("the fan stood through all that was read, and with the fan standing nothing can be told of the collector"), None, 0}}
	}
	if len(seen) == 0 || !raw.Now.Known() {
		return []Reason{{collector.Say("there are not enough readings yet to compare this collector with its own normal"), None, 0}}
	}
	var out []Reason
	if i := farthestOff(in, seen); i >= 0 {
		out = append(out, Reason{collector.Say("out of the usual, though no cause explains it better: %s", collector.Spoken(seen[i].says)), None, 0})
	}
	says := func(kind unit.Kind) func(v float64) any { return func(v float64) any { return told{kind, v} } }
	text := collector.Say("the dP runs at %s", told{unit.KindPressure, raw.Now.Value})
	now, usual, as := raw.Now.Value, known(raw.Normal), says(unit.KindPressure)
	same := "near its normal"
	if m := f.Get(sense.CleaningShare); cleans(f) > endlessNow || cleans(f) >= 0 && known(m.Normal) > endlessNow { // it cleans on and on: how often it begins says nothing
		now, usual, as = cleans(f), known(m.Normal), says(unit.KindShare)
		text, same = collector.Say("%s, and it cleans %s of the running time", text, as(now)), "as before"
	} else if cycles.Now.Known() {
		now, usual, as = cycles.Now.Value, known(cycles.Normal), func(v float64) any { return often(v) }
		text, same = collector.Say("%s and cleaning brings it back %s", text, often(now)), "as before"
	}
	switch {
	case math.Abs(math.Log(now/usual)) < alike:
		text = collector.Say("%s, %s", text, same)
	case usual > 0:
		text = collector.Say("%s, normally %s", text, as(usual))
	}
	return append(out, Reason{text, None, 0})
}

// ran reports that the fan ran on some day of the record.
func ran(f *sense.Features) bool {
	return slices.ContainsFunc(f.Days, func(d sense.Day) bool { return d.Hours > 0 })
}

// alike is the log ratio up to which what is now is told as what is usual; farOff the least sight that is told where nothing
// seems wrong. Common practice, no source.
const (
	alike  = 0.3
	farOff = 2.5
)

// farthestOff returns the sight that lies farthest off the collector's own normal by what is read now, -1 where none lies far.
// Cleanings and their pulses are left out, of which there may be none on a day by chance, and a damper that was trimmed.
func farthestOff(in Input, seen []sight) int {
	told := trimmed(in.Features, AirflowHigh) && trimmed(in.Features, AirflowLow)
	at, most := -1, farOff
	for i, s := range seen {
		by := s.key.group()
		if s.says == nil || string(s.key) != by || by == "cycles" || by == "busy" || told && s.key.damper() {
			continue
		}
		if x := math.Abs(s.x); x > most {
			at, most = i, x
		}
	}
	return at
}

// often says how often something happens, by its rate [1/h].
func often(rate float64) string {
	switch {
	case rate >= 0.95 && rate < 1.05:
		return "once an hour"
	case rate >= 0.7:
		return fmt.Sprintf("%.2g times an hour", rate)
	case rate >= 1.0/36:
		return fmt.Sprintf("every %.2g hours", 1/rate)
	}
	return "less than once in a day and a half"
}

// missing names the channels that are not there and what each costs.
func missing(f *sense.Features) []Missing {
	var out []Missing
	for _, m := range costs {
		absent := true
		for _, c := range m.any {
			absent = absent && !f.Present[c]
		}
		if absent {
			out = append(out, Missing{m.any[0].String(), m.says})
		}
	}
	return out
}

// costs lists what the absence of all the named channels does to the judgement.
var costs = [...]struct {
	any  []sense.Channel
	says string
}{
	{[]sense.Channel{sense.DP}, "the filters can't be judged"},
	{[]sense.Channel{sense.Header, sense.HeaderLow}, "bad valves and weak pulse air can be told only by their effect on the dP, not which valve"},
	{[]sense.Channel{sense.Pulse}, "pulses are not counted and can't be put to a valve"},
	{[]sense.Channel{sense.Cleaning, sense.Pulse}, "cleaning cycles are found from the dP itself"},
	{[]sense.Channel{sense.FanCurrent, sense.FanPower}, "a weak fan can't be told from a closed damper"},
	{[]sense.Channel{sense.InletSP}, "a blocked duct or an open door can't be told from the damper"},
	{[]sense.Channel{sense.AfterfilterDP, sense.Emission}, "a leaking filter can't be seen"},
	{[]sense.Channel{sense.Humidity}, "damp can be told only by how the dP rises"},
	{[]sense.Channel{sense.Running}, "running time is taken from the readings themselves"},
}
