package main

import (
	"testing"
	"time"

	"dustwright/sense"
)

func TestAges(t *testing.T) {
	at := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	s := &sense.Series{Time: []int64{at.Add(-60 * 24 * time.Hour).UnixNano(), at.UnixNano()}}
	for old, want := range map[float64]string{0.2: "under a day", 0.99: "under a day", 1: "a week", 6.9: "a week", 7: "longer", 55: "longer", 60: "from the first reading"} {
		if got := ages[ageOf(&trial{at: at, series: s, old: old})].name; got != want {
			t.Errorf("wrong for %g of 60 days: %q, want %q", old, got, want)
		}
	}
}
