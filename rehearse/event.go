package rehearse

import (
	"fmt"
	"time"

	"dustwright/unit"
)

// EventKind is something that happens to a healthy machine.
type EventKind string

// The kinds of events, and what their Value is.
const (
	ChangeFilters EventKind = "filter-change" // all primary filters; no value
	ChangeAfter   EventKind = "afterfilter"   // a new after-filter; no value
	MoveDamper    EventKind = "damper-move"   // Value: open share
	SetPoints     EventKind = "set-points"    // Value and Second: low and high [Pa]; NaN leaves one
	HeaderSet     EventKind = "header-set"    // Value: regulator set point, gauge [Pa]
	HeavyFeed     EventKind = "heavy-feed"    // Value: factor on the dust feed, until Until
	MoreShifts    EventKind = "more-shifts"   // Value: running hours a week [s], until Until
	Weather       EventKind = "weather"       // Value: temperature added [K], until Until
	DampWeather   EventKind = "damp-weather"  // Value: humidity added (share), until Until
	LogGap        EventKind = "log-gap"       // no rows at all until Until
	Drift         EventKind = "drift"         // Channel drifts by Value [SI per day] until Until
	EmptyBin      EventKind = "bin-emptied"   // no value
)

// Event is one thing that happens; none of them is a fault.
type Event struct {
	Kind    EventKind     `json:"kind"`
	After   time.Duration `json:"-"` // from the start of the run
	Until   time.Duration `json:"-"` // end, for kinds that last; 0 lasts to the end of the run
	Value   float64       `json:"value,omitempty"`
	Second  float64       `json:"second,omitempty"`
	Channel Channel       `json:"-"`
}

// check says what is wrong with an event.
func (e Event) check() error {
	switch e.Kind {
	case ChangeFilters, ChangeAfter, LogGap, EmptyBin, SetPoints, Weather, DampWeather:
	case MoveDamper:
		if !(e.Value >= 0 && e.Value <= 1) {
			return fmt.Errorf("damper-move: the position is a share from 0 to 1; it is %g", e.Value)
		}
	case HeaderSet, HeavyFeed, MoreShifts:
		if !(e.Value >= 0) {
			return fmt.Errorf("%s: the value must be 0 or more; it is %g", e.Kind, e.Value)
		}
	case Drift:
		if e.Channel >= NumChannels {
			return fmt.Errorf("drift: there is no such channel")
		}
	default:
		return fmt.Errorf("%q is no kind of event", e.Kind)
	}
	if e.After < 0 || e.Until < 0 {
		return fmt.Errorf("%s happens before the run", e.Kind)
	}
	return nil
}

// during reports whether a lasting event is on at a time [s after the start].
func (e *Event) during(t float64) bool {
	return t >= e.After.Seconds() && (e.Until == 0 || t < e.Until.Seconds())
}

// Work is what hands did to the machine in a run; it goes into the truth.
type Work struct {
	At    time.Time  `json:"at"`
	What  EventKind  `json:"what"`
	Value unit.Share `json:"value,omitempty"` // damper position for damper moves
}
