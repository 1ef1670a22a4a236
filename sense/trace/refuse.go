package trace

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"dustwright/unit"
)

// Why a trace is refused.
var (
	ErrTooShort = errors.New("the trace is too short")
	ErrTooSlow  = errors.New("the trace is sampled too slowly")
	ErrFlat     = errors.New("the trace is flat")
	ErrNoPulse  = errors.New("no pulse shows in the trace")
	ErrNoAir    = errors.New("the header is empty")
	ErrGaps     = errors.New("the trace has holes")
	ErrValves   = errors.New("the number of valves is not known")
)

// refusal is one of the errors above with the sentence for people.
type refusal struct {
	kind error
	text string
}

func (r *refusal) Error() string { return r.text }
func (r *refusal) Unwrap() error { return r.kind }

func refuse(kind error, source, format string, args ...any) error {
	text := fmt.Sprintf(format, args...)
	if source != "" {
		text = source + ": " + text
	}
	return &refusal{kind, text}
}

// slowest is the slowest sampling at which a pulse still shows as one [s].
const slowest = 0.105

// check refuses what cannot be answered before any work is done.
func check(tr *Trace, sp Spec) error {
	time, p := valid(tr)
	if len(p) < 20 {
		return refuse(ErrTooShort, tr.Source, "only %d readings of the header pressure; a full cleaning cycle at 20 readings a second is needed", len(p))
	}
	if step := medianStep(time); step > slowest {
		return refuse(ErrTooSlow, tr.Source, "a reading every %.2g s; a pulse lasts about 0.1 s, so 20 readings a second or more are needed", step)
	}
	if span := time[len(time)-1] - time[0]; span > 5*float64(len(time))*medianStep(time) {
		return refuse(ErrGaps, tr.Source, "there are readings for only %.0f s of the %.3g s between the first and the last; cut the trace to one cleaning run", float64(len(time))*medianStep(time), span)
	}
	low, high := slices.Min(p), slices.Max(p)
	sorted := slices.Sorted(slices.Values(p))
	if high-low < 50 || sorted[len(sorted)/200]+20 > sorted[len(sorted)-1-len(sorted)/200] {
		return refuse(ErrFlat, tr.Source, "the header stays at %s throughout: cleaning was off, the transmitter is frozen, or this is another pressure", unit.Pressure(sorted[len(sorted)/2]).In(unit.US))
	}
	if most := sorted[len(sorted)*98/100]; most < 7000 && (!known(float64(sp.Set)) || most < 0.08*float64(sp.Set)) {
		return refuse(ErrNoAir, tr.Source, "the header never holds more than %s: the air is off, the transmitter is not on the header, or a valve stood wide open from the start; single valves cannot be told apart", unit.Pressure(most).In(unit.US))
	}
	if sp.Valves < 1 && len(tr.Marks) == 0 {
		return refuse(ErrValves, tr.Source, "the number of valves is not known: give filters.rows in the collector file, or pulse marks in the trace")
	}
	if known(float64(sp.Interval)) {
		return checkLength(tr, time[len(time)-1]-time[0], sp.Valves, float64(sp.Interval))
	}
	return nil
}

// checkLength refuses a trace that cannot hold one turn of every valve.
func checkLength(tr *Trace, length float64, valves int, interval float64) error {
	if need := float64(valves-1)*interval*0.9 + 0.5; length < need {
		return refuse(ErrTooShort, tr.Source, "%.0f s are less than one cycle of %d valves, %.0f s apart; record at least %.0f s, better three cycles", length, valves, interval, math.Ceil(float64(valves)*interval))
	}
	return nil
}
