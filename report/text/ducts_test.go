package text

import (
	"strings"
	"testing"
	"time"

	"dustwright/judge"
	"dustwright/plant"
	"dustwright/unit"
)

// The ducts are a line of the judgement's figures, in the reader's units, and no line where nothing is known of them.
func TestDuctsAreALineOfTheJudgement(t *testing.T) {
	least := 17.78
	j := &plant.Judgement{Collector: "DC-1", At: time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC), Standing: judge.Steady, Causes: []judge.Probability{{Cause: judge.None, P: 0.9}}}
	page := func(sys unit.System) string {
		var b strings.Builder
		if err := Judgement(&b, sys, j); err != nil {
			t.Fatal(err)
		}
		return strings.Join(strings.Fields(b.String()), " ")
	}
	if got := page(unit.US); strings.Contains(got, "ducts") {
		t.Errorf("nothing is known of ducts: %s", got)
	}
	j.Ducts = &plant.Ducts{Least: &least, Unit: "m/s", Now: &plant.Duct{Slowest: "saw", Velocity: 16.05, Low: 15.2, High: 16.9, Below: true, Sure: true},
		End: &plant.Duct{Slowest: "saw", Velocity: 18.1}}
	for sys, want := range map[unit.System]string{
		unit.US: `ducts dust drops out: the slowest is "saw" with 3159 ft/min of at least 3500 ft/min; at the end of the filters' life 3563 ft/min`,
		unit.SI: `ducts dust drops out: the slowest is "saw" with 16.1 m/s of at least 17.8 m/s; at the end of the filters' life 18.1 m/s`,
	} {
		if got := page(sys); !strings.Contains(got, want) {
			t.Errorf("want %q in %s", want, got)
		}
	}
}
