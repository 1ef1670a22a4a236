package plant

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"dustwright/collector"
	"dustwright/unit"
)

// Valid wants at least one figure, of known names, that can be; figures that tell of one thing together come together.
func (b AirCheck) Valid() error {
	if len(b.Values) == 0 {
		return errors.New("a check of the compressed air needs at least one figure")
	}
	fields := collector.AirFields()
	r := collector.NewAirRequest()
	n := 0
	for _, f := range fields {
		v, ok := b.Values[f.Name]
		if !ok {
			continue
		}
		if n++; !finite(v) {
			return fmt.Errorf("%s is not a number", f.What)
		}
		f.Set(&r, v)
	}
	if n < len(b.Values) {
		known := namesOf(fields, func(f collector.AirField) string { return f.Name })
		names := make([]string, 0, len(b.Values))
		for name := range b.Values {
			if !slices.Contains(known, name) {
				names = append(names, name)
			}
		}
		sort.Strings(names)
		return unknown("figure of the compressed air", names[0], known)
	}
	if faults := r.Faults(); len(faults) > 0 {
		return errors.New(faults[0].Text.In(unit.US))
	}
	return nil
}

// Request is what the check tells of the compressed air, and nothing beside it.
func (b AirCheck) Request() collector.AirRequest {
	r := collector.NewAirRequest()
	for _, f := range collector.AirFields() {
		if v, ok := b.Values[f.Name]; ok {
			f.Set(&r, v)
		}
	}
	return r
}

// AirMeasured is what is on record of a collector's compressed air.
type AirMeasured struct {
	Request collector.AirRequest
	At      map[string]time.Time // of each figure that was measured, by its name
}

// MeasuredAir takes of each figure the newest that is on record. Of those that tell of one thing together, such as a leak by a
// meter and one by the gauge, the newest check does away with all older ones.
func MeasuredAir(records []Record) AirMeasured {
	m := AirMeasured{Request: collector.NewAirRequest(), At: map[string]time.Time{}}
	records = slices.Clone(records)
	sort.SliceStable(records, func(i, j int) bool { return records[i].At.Before(records[j].At) })
	corrected := map[string]bool{}
	for _, r := range records {
		corrected[r.Corrects] = r.Corrects != ""
	}
	for _, r := range records {
		if r.Kind != KindAirCheck || corrected[r.ID] {
			continue
		}
		body, err := Open(r)
		if b, ok := body.(*AirCheck); ok && err == nil {
			m.add(*b, r.At)
		}
	}
	return m
}

// add puts a newer check over what there is.
func (m *AirMeasured) add(b AirCheck, at time.Time) {
	fields := collector.AirFields()
	groups := map[string]bool{}
	for _, f := range fields {
		if _, ok := b.Values[f.Name]; ok && f.Group != "" {
			groups[f.Group] = true
		}
	}
	for _, f := range fields {
		if groups[f.Group] {
			f.Set(&m.Request, math.NaN())
			delete(m.At, f.Name)
		}
		if v, ok := b.Values[f.Name]; ok {
			f.Set(&m.Request, v)
			m.At[f.Name] = at
		}
	}
}

// With lays figures that were just typed over those on record.
func (m AirMeasured) With(b AirCheck, at time.Time) AirMeasured {
	out := AirMeasured{Request: m.Request, At: map[string]time.Time{}}
	for name, t := range m.At {
		out.At[name] = t
	}
	out.add(b, at)
	return out
}
