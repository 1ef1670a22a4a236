package main

import (
	"testing"
	"time"

	"dustwright/plant"
	"dustwright/rehearse"
)

// Moves of the damper are put on record with where it stood before; the trim to new filters is part of their change.
func TestTheDemoNotesWhatHandsDid(t *testing.T) {
	day := func(d int) time.Time { return time.Date(2026, 5, d, 7, 0, 0, 0, time.UTC) }
	records, err := workDone("DC-1", 2, []rehearse.Work{
		{At: day(1), What: rehearse.MoveDamper, Value: 0.6}, {At: day(2), What: rehearse.EmptyBin},
		{At: day(3), What: rehearse.MoveDamper, Value: 0.5}, {At: day(3), What: rehearse.ChangeFilters},
		{At: day(9), What: rehearse.MoveDamper, Value: 0.55}})
	if err != nil {
		t.Fatal(err)
	}
	var kinds []plant.Kind
	var moves []plant.DamperMove
	for _, r := range records {
		kinds = append(kinds, r.Kind)
		body, err := plant.Open(r)
		if err != nil {
			t.Fatal(err)
		}
		if m, ok := body.(*plant.DamperMove); ok {
			moves = append(moves, *m)
		}
	}
	if len(kinds) != 4 || kinds[1] != plant.KindBinEmptied || kinds[2] != plant.KindFilterChange {
		t.Errorf("records of %v", kinds)
	}
	if len(moves) != 2 || moves[0].From != -1 || moves[0].To != 0.6 || moves[1].From != 0.5 || moves[1].To != 0.55 {
		t.Errorf("moves %+v", moves)
	}
}
