package wear

import (
	"slices"
	"testing"
	"time"

	"dustwright/sense"
)

// renewals lists when filters were rather changed than not, by the record alone.
func renewals(h *History) (out []time.Time) {
	c := *h.Collector
	c.Filters.Installed = time.Time{}
	red := sense.NewReducer(&c)
	red.Add(h.Series)
	f := sense.At(red.History(), &c, h.End)
	for _, ch := range f.Changes {
		if ch.Kind == sense.FilterChange && ch.Likely() {
			out = append(out, ch.At)
		}
	}
	return out
}

// The same seed makes the same repaired history.
func TestDrawRepairedTwice(t *testing.T) {
	a, at, errA := DrawRepaired(1087)
	b, bt, errB := DrawRepaired(1087)
	if errA != nil || errB != nil {
		t.Fatal(errA, errB)
	}
	if !alike(a, b) || !at.Equal(bt) {
		t.Error("seed 1087 makes two histories")
	}
}

// The cleaning that was bad shows, and so does its repair: the dP falls by a third or more. Nobody changed filters, and none are found.
func TestRepairIsNoNewFilters(t *testing.T) {
	for _, seed := range []uint64{1087, 1089, 1893} {
		h, at, err := DrawRepaired(seed)
		if err != nil {
			t.Fatal(err)
		}
		before, after := median(h, at.Add(-3*24*time.Hour), at), median(h, at.Add(24*time.Hour), at.Add(4*24*time.Hour))
		if !(after < 0.67*before) {
			t.Errorf("seed %d: %.0f Pa before the repair, %.0f Pa after it", seed, before, after)
		}
		if found := renewals(h); len(found) > 0 {
			t.Errorf("seed %d: repaired %v, new filters found %v", seed, at, found)
		}
	}
}

// median is that of the dP read between two times [Pa], while the fan ran.
func median(h *History, from, to time.Time) float64 {
	var v []float64
	for i, t := range h.Series.Time {
		if dp := h.Series.Col[sense.DP][i]; t >= from.UnixNano() && t < to.UnixNano() && dp > 50 {
			v = append(v, dp)
		}
	}
	if len(v) == 0 {
		return 0
	}
	slices.Sort(v)
	return v[len(v)/2]
}

// Worn filters of machines that clean on demand and by the clock were changed and nobody wrote it down: the record shows it.
func TestNewFiltersAreFound(t *testing.T) {
	for _, seed := range []uint64{1097, 1417} {
		h, r, err := draw(seed)
		if err != nil {
			t.Fatal(err)
		}
		found := renewals(h)
		if len(found) != len(r.sets)-1 {
			t.Errorf("seed %d: %d changes, found %v", seed, len(r.sets)-1, found)
			continue
		}
		for i, at := range found {
			if want := r.p.when(r.sets[i+1].from); at.Sub(want).Abs() > 3*24*time.Hour {
				t.Errorf("seed %d: found %v, want %v", seed, at, want)
			}
		}
	}
}
