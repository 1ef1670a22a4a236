package rehearse

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"dustwright/unit"
)

// The causes a fault can have, in the words of the trade's list (DESIGN.md section 2).
const (
	FiltersBlinded    = "filters-blinded"
	DustLoadHeavy     = "dust-load-heavy"
	CakeDamp          = "cake-damp"
	AirflowHigh       = "airflow-high"
	AirflowLow        = "airflow-low"
	DuctBlocked       = "duct-blocked"
	LeakInward        = "leak-inward"
	FanWeak           = "fan-weak"
	CleaningOff       = "cleaning-off"
	HeaderPressureLow = "header-pressure-low"
	ValveDead         = "valve-dead"
	ValveWeak         = "valve-weak"
	ValveStuckOpen    = "valve-stuck-open"
	GaugeLineBlocked  = "gauge-line-blocked"
	GaugeLineOff      = "gauge-line-off"
	FilterLeak        = "filter-leak"
	BinOverfull       = "bin-overfull"
)

// kind is what is known of a cause before it is put into a machine.
type kind struct {
	name     string
	numbered bool    // it has a valve or row
	ramp     float64 // days from onset to full severity. common practice, no source
	variants int     // ways in which it can show
}

func kinds() []kind {
	return []kind{
		{FiltersBlinded, false, 14, 1}, {DustLoadHeavy, false, 0, 1}, {CakeDamp, false, 0.5, 1}, {AirflowHigh, false, 0, 1},
		{AirflowLow, false, 0, 1}, {DuctBlocked, false, 5, 1}, {LeakInward, false, 0, 1}, {FanWeak, false, 0, 3},
		{CleaningOff, false, 0, 1}, {HeaderPressureLow, false, 0.2, 2}, {ValveDead, true, 0, 1}, {ValveWeak, true, 0, 2},
		{ValveStuckOpen, true, 0, 1}, {GaugeLineBlocked, false, 0, 1}, {GaugeLineOff, false, 0, 2}, {FilterLeak, true, 0.5, 1},
		{BinOverfull, false, 0.3, 1},
	}
}

// Causes returns the names of all causes a Fault can have.
func Causes() []string {
	var out []string
	for _, k := range kinds() {
		out = append(out, k.name)
	}
	return out
}

// Fault is one thing that goes wrong.
type Fault struct {
	Cause    string        `json:"cause"`
	Number   int           `json:"number,omitempty"` // valve or row, 1 is the first; 0 where the cause has none
	After    time.Duration `json:"-"`                // from the start of the run to the onset
	Severity unit.Share    `json:"severity"`         // 0 nothing to 1 as bad as it gets
	Variant  int           `json:"variant"`          // way in which it shows, from 1; 0 lets the seed choose. See Effects
	Ramp     time.Duration `json:"-"`                // from onset to full severity; negative takes the cause's own
	Until    time.Duration `json:"-"`                // put right this long after the start; 0 never
}

// ParseFault reads CAUSE[:N][@TIME][:SEVERITY], for example "valve-dead:3@60d", "fan-weak@2026-05-01:0.5",
// "dust-load-heavy". TIME is a length of time after the start ("60d", "36h") or a date; without it the
// fault is there from the start; without a severity it is as bad as it gets (1).
func ParseFault(text string, start time.Time) (Fault, error) {
	f := Fault{Severity: 1, Ramp: -1}
	head, tail, timed := strings.Cut(strings.TrimSpace(text), "@")
	parts := strings.Split(head, ":")
	f.Cause = parts[0]
	k, ok := kindOf(f.Cause)
	if !ok {
		return f, unknownCause(f.Cause)
	}
	rest := parts[1:]
	if k.numbered {
		if len(rest) == 0 {
			return f, fmt.Errorf("%s needs the number of a valve or row, for example %s:3", f.Cause, f.Cause)
		}
		n, err := strconv.Atoi(rest[0])
		if err != nil || n < 1 {
			return f, fmt.Errorf("%q is no valve or row of %s; write for example %s:3", rest[0], f.Cause, f.Cause)
		}
		f.Number, rest = n, rest[1:]
	}
	if timed {
		if len(rest) > 0 {
			return f, fmt.Errorf("%q: the severity stands last: %s@60d:0.5", text, f.Cause)
		}
		severity, err := f.onset(tail, start)
		if err != nil {
			return f, err
		}
		if severity != "" {
			rest = []string{severity}
		}
	}
	switch len(rest) {
	case 0:
	case 1:
		s, err := unit.Parse(unit.KindShare, rest[0])
		if err != nil || !(s > 0 && s <= 1) {
			if v, err2 := strconv.ParseFloat(rest[0], 64); err2 == nil && v > 0 && v <= 1 {
				f.Severity = unit.Share(v)
				break
			}
			return f, fmt.Errorf("%q is no severity; it is a share above 0 and up to 1, for example 0.5", rest[0])
		}
		f.Severity = unit.Share(s)
	default:
		return f, fmt.Errorf("%q has too many parts; a fault is CAUSE[:N][@TIME][:SEVERITY], for example valve-dead:3@60d", text)
	}
	return f, nil
}

// onset reads TIME[:SEVERITY]; a date may hold colons itself, so the whole is tried first.
func (f *Fault) onset(text string, start time.Time) (severity string, err error) {
	if f.After, err = After(text, start); err == nil {
		return "", nil
	}
	if i := strings.LastIndexByte(text, ':'); i > 0 {
		if f.After, err = After(text[:i], start); err == nil {
			return text[i+1:], nil
		}
	}
	return "", err
}

// After reads a point in time of a run: "60d", "36h", "90m", or a date such as "2026-05-01" or
// "2026-05-01T06:00:00Z" in the run's own zone; the result is the time after start.
func After(text string, start time.Time) (time.Duration, error) {
	text = strings.TrimSpace(text)
	if n, ok := strings.CutSuffix(text, "d"); ok {
		if v, err := strconv.ParseFloat(n, 64); err == nil && v >= 0 && v < 36525 {
			return time.Duration(v * 24 * float64(time.Hour)), nil
		}
	}
	if d, err := time.ParseDuration(text); err == nil && d >= 0 {
		return d, nil
	}
	for _, layout := range []string{time.RFC3339, "2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04", "2006-01-02"} {
		if t, err := time.ParseInLocation(layout, text, start.Location()); err == nil {
			if t.Before(start) {
				return 0, fmt.Errorf("%s lies before the run starts, %s", text, start.Format("2006-01-02 15:04"))
			}
			return t.Sub(start), nil
		}
	}
	return 0, fmt.Errorf("%q is no time; write for example 60d, 36h or 2026-05-01T06:00", text)
}

func kindOf(cause string) (kind, bool) {
	for _, k := range kinds() {
		if k.name == cause {
			return k, true
		}
	}
	return kind{}, false
}

func unknownCause(name string) error {
	if near := unit.Nearest(name, Causes()); near != "" {
		return fmt.Errorf("%q is no cause; did you mean %s", name, near)
	}
	return fmt.Errorf("%q is no cause; causes are %s", name, strings.Join(Causes(), ", "))
}

// check says what is wrong with a fault for a machine with so many rows.
func (f Fault) check(rows int) error {
	k, ok := kindOf(f.Cause)
	switch {
	case !ok:
		return unknownCause(f.Cause)
	case k.numbered && (f.Number < 1 || f.Number > rows):
		return fmt.Errorf("%s:%d: the collector has valves and rows 1 to %d", f.Cause, f.Number, rows)
	case !k.numbered && f.Number != 0:
		return fmt.Errorf("%s has no number", f.Cause)
	case !(f.Severity >= 0 && f.Severity <= 1):
		return fmt.Errorf("%s: the severity is a share from 0 to 1; it is %g", f.Cause, float64(f.Severity))
	case f.After < 0:
		return fmt.Errorf("%s begins before the run", f.Cause)
	case f.Variant < 0 || f.Variant > k.variants:
		return fmt.Errorf("%s shows in %d ways; there is no variant %d", f.Cause, k.variants, f.Variant)
	}
	return nil
}

// at returns the fault's severity at a time [s after the start].
func (f *Fault) at(t float64) float64 {
	on := f.After.Seconds()
	if t < on || f.Until > 0 && t >= f.Until.Seconds() {
		return 0
	}
	s := float64(f.Severity)
	if ramp := f.Ramp.Seconds(); ramp > 0 {
		s *= min(1, (t-on)/ramp)
	}
	return s
}
