package plant

import (
	"testing"
	"time"

	"dustwright/judge"
)

// Filters that have days left are near their end, whether the date carries its hour or not.
func TestFiltersWithDaysLeftEndTheCalm(t *testing.T) {
	at := time.Date(2026, 8, 10, 12, 0, 0, 0, time.UTC)
	for _, fine := range []bool{false, true} {
		j := &Judgement{At: at, Standing: judge.Steady, Causes: []judge.Probability{{Cause: judge.None, P: 0.6}}, Life: &Life{OrderBy: Date{Time: at.AddDate(0, 0, -12), Fine: fine}}}
		j.ending(at)
		if j.Standing != judge.Drifting || len(j.Reasons) != 1 {
			t.Errorf("hours told %v: %s, %q", fine, j.Standing, j.Reasons)
		}
	}
}
