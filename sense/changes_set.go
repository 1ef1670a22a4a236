package sense

import (
	"fmt"
	"math"
	"slices"

	"dustwright/collector"
	"dustwright/unit"
)

// setPoints finds moved set points: the dP at which cleaning begins or ends moves from one day to
// the next and keeps its new level, while it hardly scatters within a day. New filters move the end
// too, since cleaning overshoots its set point by up to a pulse.
func (v *view) setPoints(renewed []Change, days []Day) []Change {
	if m := v.c.Cleaning.Mode; m == collector.Timed || m == collector.Continuous {
		return nil // such a controller does not look at the dP
	}
	var out []Change
	for _, side := range [...]struct {
		kind, what string
		of         func(*Passes) (x, sd float32)
	}{
		{HighMoved, "begins", func(p *Passes) (float32, float32) { return p.Before[0], p.BeforeSD }},
		{LowMoved, "ends", func(p *Passes) (float32, float32) { return p.After[0], p.AfterSD }},
	} {
		z, at := v.triggerLog(side.of)
		for _, st := range dailyStep.find(z) {
			before, after := at[max(0, st.at-4):st.at], at[st.at:min(len(at), st.at+4)]
			if !v.stillDeep(before, after) || v.blunter(before, after, side.of) {
				continue
			}
			c := v.changeAt(side.kind, v.passes[at[st.from]].Day, v.passes[at[st.to]].Day)
			if side.kind == LowMoved && slices.ContainsFunc(renewed, func(r Change) bool { return sameTime(r.At, c.At) }) {
				continue
			}
			c.Before, c.After, c.Unit = math.Exp(st.before), math.Exp(st.after), "Pa"
			c.Confidence = confidence(st.score, dailyStep.score)
			if side.kind == LowMoved { // filters that no longer come down do the same
				c.Confidence *= 0.6
			}
			if low := float64(v.c.SetPoints.Low); side.kind == HighMoved && c.After < low || gaugeMoved(days, c.At) {
				c.Confidence *= gaugeDoubt // cleaning can't begin below where it ends: the gauge reads too little
			}
			c.Why = fmt.Sprintf("cleaning %s at %s where it was %s before", side.what, pressureText(c.After), pressureText(c.Before))
			out = append(out, c)
		}
	}
	return out
}

// stillDeep reports that a cycle takes about as much off the dP after the move as before it: where it
// takes far less, cleaning has become a ripple that tells nothing of set points.
func (v *view) stillDeep(before, after []int) bool {
	depth := func(days []int) float64 {
		x := make([]float64, 0, len(days))
		for _, i := range days {
			x = append(x, float64(v.passes[i].Fall))
		}
		return medianOf(x)
	}
	return depth(after) > deepShare*depth(before)
}

// deepShare is how much of its depth a cycle must keep.
const deepShare = 0.4

// blunter reports that the cycles after the move agree far less than those before it: a controller goes on beginning at one
// dP, wherever that was put, while a dP that nothing cleans turns round anywhere.
func (v *view) blunter(before, after []int, of func(*Passes) (x, sd float32)) bool {
	scatter := func(days []int) float64 {
		var level, within weighted
		for _, i := range days {
			x, sd := of(&v.passes[i])
			level.add(float64(x), 1)
			within.add(float64(sd*sd), 1)
		}
		mean, _ := level.value()
		variance, _ := within.value()
		return math.Sqrt(variance+level.variance()) / mean
	}
	return scatter(after) > math.Max(bluntLeast, bluntShare*scatter(before))
}

// What is set scatters by less than bluntLeast of itself, or by less than bluntShare of what it did before. Common practice, no
// source.
const (
	bluntLeast = 0.04
	bluntShare = 3
)

// triggerLog is the log of one end of the cleaning, day by day, where a set point shows: cycles that
// agree within a tenth. at holds the index of each day in the view's passes.
func (v *view) triggerLog(of func(*Passes) (x, sd float32)) (z []float64, at []int) {
	for i := range v.passes {
		p := &v.passes[i]
		x, sd := of(p)
		if p.N >= 2 && x > 0 && sd < 0.1*x {
			z, at = append(z, math.Log(float64(x))), append(at, i)
		}
	}
	return z, at
}

// damperMoves finds moves of the damper: by its own channel to the hour, and otherwise by a lasting
// step of the airflow that the drag does not share.
func (v *view) damperMoves(days []Day) []Change {
	var out []Change
	if v.h.Seen>>Damper&1 == 1 {
		if damperHolds(v.hours) {
			return nil // what it does shows the filters: it must not make what they have become the normal
		}
		var z []float64
		var t []int64
		for i := range v.hours {
			if x := v.hours[i].Mean(Damper); x == x {
				z, t = append(z, x), append(t, v.hours[i].Start)
			}
		}
		for _, st := range damperStep.find(z) {
			c := v.changeAt(DamperMove, t[st.from], t[st.to])
			c.Before, c.After, c.Unit, c.Confidence = st.before, st.after, "1", 0.99
			c.Why = fmt.Sprintf("the damper stands at %.0f %% where it stood at %.0f %%", 100*st.after, 100*st.before)
			out = append(out, c)
		}
		return out
	}
	if !v.flowSeen() {
		return nil
	}
	for _, st := range stepsOf(days, FlowShare, dailyStep) {
		size := st.after - st.before
		c := v.changeAt(DamperMove, days[st.from].Start.Unix(), days[st.to].Start.Unix())
		share, ok := damperShare(days, st.at, size)
		if !ok || gaugeMoved(days, c.At) {
			continue
		}
		c.Before, c.After, c.Unit = math.Exp(st.before), math.Exp(st.after), "1"
		c.Confidence = share * confidence(st.score, dailyStep.score)
		c.Why = fmt.Sprintf("the airflow moved to %.0f %% of what it was, and the filters did not", 100*math.Exp(size))
		out = append(out, c)
	}
	return out
}

// damperShare is how far a step of the log of the airflow by size, at day i, speaks for the damper; false
// where it speaks for something else: filters that resist more or less, a fan whose load no longer belongs
// to its airflow, ducts that ask for another suction at the same airflow. Where load or suction can't be held
// against the airflow, a weak fan or a blocked duct does the same.
func damperShare(days []Day, i int, size float64) (share float64, ok bool) {
	for _, q := range [...]Quantity{DragAfter, DPLow, DPHigh} {
		if movedTogether(days, i, q, -0.5*size) {
			return 0, false
		}
	}
	shown := [2]bool{}
	for k, qs := range [2][]Quantity{{FanCurrentRatio, FanPowerRatio}, {InletSPRatio}} {
		for _, q := range qs {
			d := movedAt(days, i, q)
			if math.Abs(d) > max(0.5*math.Abs(size), ratioNoise) {
				return 0, false
			}
			shown[k] = shown[k] || d == d
		}
	}
	if shown[0] && shown[1] {
		return 0.6, true
	}
	return 0.45, true
}

// ratioNoise is the log of a ratio of load or suction within which it has not moved.
const ratioNoise = 0.03

// flowSeen reports that a channel shows the airflow without the dP.
func (v *view) flowSeen() bool {
	return v.h.Seen&(1<<Flow|1<<FlowIndex|1<<InletSP|1<<FanPower|1<<FanCurrent) != 0
}

// headerLeast is the share of the pressure before, and of the set point in the file, below which nobody
// turns a regulator: valves no longer open there. Common practice, no source.
const headerLeast = 0.55

// headerMoves finds lasting steps of the header pressure at rest. Whether somebody turned the
// regulator or the supply can't hold it any more is not for sense to say; of a fall the latter is likelier. A regulator that
// was turned shows while the fan stands as well: where the header is read then and stays, only what is read between pulses moved,
// as it does where cleaning never ends and every row comes as long after a pulse.
func (v *view) headerMoves(days []Day) []Change {
	var out []Change
	for _, st := range stepsOf(days, HeaderLevel, dailyStep) {
		c := v.changeAt(HeaderMoved, days[st.from].Start.Unix(), days[st.to].Start.Unix())
		c.Before, c.After, c.Unit = math.Exp(st.before), math.Exp(st.after), "Pa"
		share := 0.6
		switch {
		case c.After < headerLeast*c.Before || c.After < headerLeast*float64(v.c.Header.Set):
			continue // a supply that fails, or a valve that stays open
		case math.Abs(movedAt(days, st.to, HeaderStood)) < math.Abs(st.after-st.before)/2:
			continue
		case c.After < c.Before:
			share = 0.4
		}
		c.Confidence = share * confidence(st.score, dailyStep.score)
		c.Why = fmt.Sprintf("the header rests at %s where it was %s", unit.Pressure(c.After).In(unit.US), unit.Pressure(c.Before).In(unit.US))
		out = append(out, c)
	}
	return out
}
