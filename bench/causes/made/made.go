// Package made says what a simulator hands over to be judged: one made-up collector, its log, and the truth.
package made

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
	"dustwright/unit"
)

// Causes names all troubles, in the order of the judgement's list.
func Causes() []string {
	var out []string
	for _, e := range judge.Causes() {
		if e.Name != judge.None {
			out = append(out, string(e.Name))
		}
	}
	return out
}

// Trial is one made-up collector with its log.
type Trial struct {
	Collector *collector.Collector
	Series    *sense.Series
	Truth     string    // the cause by its name, "none" for a healthy one
	Number    int       // of the valve or row, 0 where the cause has none
	Severity  float64   // 0.25 (subtle) to 1 (gross)
	Old       float64   // days since the onset
	Story     string    // what happened without anything being wrong
	At        time.Time // the end of the log
}

// Check returns what can't be in a log: a channel that has not a reading for each row, the first reading of a channel
// beyond its bounds, and the first pulse of no valve, of no row, or out of order.
func (t *Trial) Check(bounds map[sense.Channel][2]float64) error {
	s := t.Series
	var all []error
	for ch := range sense.NumChannels {
		if col := s.Col[ch]; col != nil && len(col) != s.Len() {
			all = append(all, fmt.Errorf("%v has %d rows of %d", ch, len(col), s.Len()))
		}
		b, bounded := bounds[ch]
		for i, v := range s.Col[ch] {
			if bounded && !math.IsNaN(v) && (v < b[0] || v > b[1]) {
				all = append(all, fmt.Errorf("%v is %v in row %d", ch, v, i))
				break
			}
		}
	}
	for i, f := range s.Pulses {
		if f.Valve < 1 || int(f.Valve) > t.Collector.Filters.Rows || int(f.Row) >= s.Len() || i > 0 && f.Row < s.Pulses[i-1].Row {
			all = append(all, fmt.Errorf("valve %d in row %d", f.Valve, f.Row))
			break
		}
	}
	return errors.Join(all...)
}

// Flaw is what in a collector's file nobody would have built, by the file's own check; nil where that finds nothing wrong.
func Flaw(c *collector.Collector) error {
	for _, f := range c.Check() {
		if f.Weight == collector.Wrong {
			return fmt.Errorf("the file has %s: %s", f.ID, f.Text)
		}
	}
	return nil
}

// Whole returns what can't be in a trial of a cause that was drawn: in its log, its file or its truth.
func (t *Trial) Whole(e judge.Entry, bounds map[sense.Channel][2]float64) error {
	err := errors.Join(t.Check(bounds), t.Collector.Validate(), Flaw(t.Collector))
	if t.Truth != string(e.Name) || t.Number > 0 != e.Numbered || t.Old > oldest {
		err = errors.Join(err, fmt.Errorf("%s, valve %d, %g days", t.Truth, t.Number, t.Old))
	}
	times := t.Series.Time
	if !slices.IsSorted(times) || len(slices.Compact(slices.Clone(times))) != len(t.Series.Col[sense.DP]) {
		err = errors.Join(err, errors.New("the rows are not in order"))
	}
	return err
}

// Ending is a draw that fails where rows go on after the record's end.
func Ending(draw func(i uint64, c judge.Cause) (*Trial, error)) func(i uint64, c judge.Cause) (*Trial, error) {
	return func(i uint64, c judge.Cause) (*Trial, error) {
		t, err := draw(i, c)
		if err != nil {
			return nil, err
		}
		if n := t.Series.Len(); n > 0 && t.Series.When(n-1).After(t.At) {
			return nil, fmt.Errorf("the last row, of %v, is later than the end, %v", t.Series.When(n-1), t.At)
		}
		return t, nil
	}
}

// EveryCause draws a trial of each cause, numbered from 0, and returns what is not as it should be: no machine on which it shows, or
// what can't be in a trial.
func EveryCause(draw func(i uint64, c judge.Cause) (*Trial, error), bounds map[sense.Channel][2]float64) error {
	var all []error
	for i, e := range judge.Causes() {
		tr, err := draw(uint64(i), e.Name)
		if err == nil {
			err = tr.Whole(e, bounds)
		}
		if err != nil {
			all = append(all, fmt.Errorf("%s: %w", e.Name, err))
		}
	}
	return errors.Join(all...)
}

// oldest is how many days a record spans at the most.
const oldest = 120

// Twice draws a trial twice and returns in what the second differs: the same seed must give the same trial, and the next
// one another.
func Twice(draw func(seed uint64) (*Trial, error), seed uint64) error {
	a, errA := draw(seed)
	b, errB := draw(seed)
	next, errC := draw(seed + 1)
	if err := errors.Join(errA, errB, errC); err != nil {
		return fmt.Errorf("seed %d: %w", seed, err)
	}
	if err := a.Differs(b); err != nil {
		return fmt.Errorf("seed %d drawn twice: %w", seed, err)
	}
	if a.Differs(next) == nil {
		return fmt.Errorf("seeds %d and %d give the same trial", seed, seed+1)
	}
	return nil
}

// Differs returns in what another trial differs, nil where it is the same: what is the matter, the file, and every reading
// and pulse of the log.
func (t *Trial) Differs(o *Trial) error {
	var all []error
	if t.Truth != o.Truth || t.Number != o.Number || t.Severity != o.Severity || t.Old != o.Old || t.Story != o.Story || !t.At.Equal(o.At) {
		all = append(all, errors.New("the truth is another"))
	}
	if t.Collector.TOML(unit.SI) != o.Collector.TOML(unit.SI) {
		all = append(all, errors.New("the file is another"))
	}
	if !slices.Equal(t.Series.Time, o.Series.Time) {
		all = append(all, errors.New("the rows have other times"))
	}
	if !slices.Equal(t.Series.Pulses, o.Series.Pulses) {
		all = append(all, errors.New("other valves fire"))
	}
	for ch := range sense.NumChannels {
		if !Alike(t.Series.Col[ch], o.Series.Col[ch]) {
			all = append(all, fmt.Errorf("%v reads otherwise", ch))
		}
	}
	return errors.Join(all...)
}

// Alike reports whether two channels read the same in every row, bit for bit; lost readings are alike.
func Alike(a, b []float64) bool {
	return slices.EqualFunc(a, b, func(x, y float64) bool { return math.Float64bits(x) == math.Float64bits(y) })
}
