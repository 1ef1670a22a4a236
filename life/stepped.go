package life

import (
	"slices"
	"time"

	"dustwright/unit"
)

// A fault that raises the dP, such as a valve that fails, lifts it within days and then leaves it to age as before. Read as ageing
// that lift is a curve that runs away, and the end it foretells is months early.

// leastBeside is how many readings must stand before and after a lift for its height to be told, and beside how long a stretch
// after it is taken for that. Judgement.
const (
	leastBeside = 5
	beside      = 10 * 24 * time.Hour
)

// stepped takes the lift that came with a fault out of the present life and its limits, and returns how much it was; nothing is
// changed where no fault is named, the record does not show a lift, or it alone reaches a limit. Readings while it came are left out.
func stepped(in Input) (Input, unit.Pressure) {
	k := presentLife(in.Lives)
	if k < 0 || in.FaultSince.IsZero() || !in.FaultThere.After(in.FaultSince) {
		return in, 0
	}
	var before, after []Point
	for _, p := range tidy(in.Lives[k].Points, in.At) {
		switch {
		case p.At.Before(in.FaultSince):
			before = append(before, p)
		case p.At.After(in.FaultThere):
			after = append(after, p)
		}
	}
	if len(before) < 2*leastBeside || len(after) < leastBeside {
		return in, 0
	}
	var lifts []float64
	var hours, dps []float64
	for _, p := range before[len(before)/2:] {
		hours, dps = append(hours, p.Hours), append(dps, float64(p.DP))
	}
	course := endsLine(hours, dps, len(hours)/2)
	for _, p := range after {
		if p.At.Sub(after[0].At) < beside {
			lifts = append(lifts, float64(p.DP)-course.at(p.Hours))
		}
	}
	lift := unit.Pressure(medianOr(lifts, 0))
	if !(lift > 0) {
		return in, 0
	}
	for _, limit := range [...]unit.Pressure{in.MaxDP, in.FlowLimit, in.AirLevel} {
		if limit > 0 && limit <= lift { // nothing is left of it, whatever the filters do
			return in, 0
		}
	}
	for i := range after {
		after[i].DP -= lift
	}
	in.Lives = slices.Clone(in.Lives)
	in.Lives[k].Points = append(before, after...)
	if in.FlowLimit > 0 {
		in.FlowDoubt *= float64(in.FlowLimit / (in.FlowLimit - lift)) // as wide in pascals as before
	}
	for _, level := range [...]*unit.Pressure{&in.MaxDP, &in.FlowLimit, &in.FlowHeld, &in.AirLevel} { // 0 is unknown
		if *level > 0 {
			*level -= lift
		}
	}
	return in, lift
}
