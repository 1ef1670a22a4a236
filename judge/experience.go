package judge

import (
	"slices"
	"strings"
	"time"

	"dustwright/collector"
	"dustwright/sense"
)

// Experience is what a plant knows better than the lists of this package: how often causes come up there, by age of the
// filters, service and season, and checks of its own. The zero value leaves everything as it is.
type Experience struct {
	Mark   string // of the text it was read from; "" where there was none
	Rates  []Rate
	Checks []CheckEntry
}

// Rate says how often causes come up: either a number for each year of one collector, or as a multiple of what the list
// says. It holds for the collectors, months and ages of filters that it names. Where several hold for a cause, the last
// one counts.
type Rate struct {
	Causes   []Cause       // none: all of them
	PerYear  float64       // [1/year]; 0 where Times is given
	Times    float64       // multiple of the list's; 0 where PerYear is given
	Service  string        // a text that is part of the collector's service, whatever its case; "": any
	Months   []time.Month  // none: all
	From, To time.Duration // age of the filters; To is 0 where there is no end
}

// AllChecks returns the list of checks with the plant's own: one with an ID of the list takes its place, the others follow.
func (e Experience) AllChecks() []CheckEntry {
	out := slices.Clone(Checks())
	for _, own := range e.Checks {
		same := func(c CheckEntry) bool { return c.ID == own.ID }
		if i := slices.IndexFunc(out, same); i >= 0 {
			out[i] = own
		} else {
			out = append(out, own)
		}
	}
	return out
}

// CheckOf returns the entry of a check, the plant's own where it has one, and whether there is one.
func (e Experience) CheckOf(id string) (CheckEntry, bool) {
	all := e.AllChecks()
	i := slices.IndexFunc(all, func(c CheckEntry) bool { return c.ID == id })
	if i < 0 {
		return CheckEntry{}, false
	}
	return all[i], true
}

// times is how many times as often as the list says a cause comes up for a collector as it is seen.
func (e Experience) times(cause Entry, c *collector.Collector, f *sense.Features) float64 {
	by := 1.0
	for _, r := range e.Rates {
		switch {
		case !r.holds(cause.Name, c, f):
		case r.PerYear > 0:
			by = r.PerYear / cause.Rate
		default:
			by = r.Times
		}
	}
	return by
}

// holds reports whether a rate is meant for a cause, a collector, the month and the age of its filters. An age that nobody
// knows is none that was named.
func (r *Rate) holds(cause Cause, c *collector.Collector, f *sense.Features) bool {
	if len(r.Causes) > 0 && !slices.Contains(r.Causes, cause) ||
		len(r.Months) > 0 && !slices.Contains(r.Months, f.At.Month()) ||
		!strings.Contains(strings.ToLower(c.Service), strings.ToLower(r.Service)) {
		return false
	}
	if r.From == 0 && r.To == 0 {
		return true
	}
	age, known := filterAge(c, f)
	return known && age >= r.From && (r.To == 0 || age < r.To)
}

// filterAge is how long the filters have been in: since the last change on record, or else by the file.
func filterAge(c *collector.Collector, f *sense.Features) (time.Duration, bool) {
	since := c.Filters.Installed
	if n := len(f.Lives); n > 0 && f.Lives[n-1].StartKnown {
		since = f.Lives[n-1].Start
	}
	return f.At.Sub(since), !since.IsZero() && !since.After(f.At)
}
