package text

import (
	"strings"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/plant"
	"dustwright/unit"
)

// Where nothing is wrong and only the filters' end makes a collector drift, table and page say that, and not that
// nothing is wrong; where a trouble is likely too, it comes first.
func TestTheEndOfTheFiltersIsSaidWhereNothingElseIsWrong(t *testing.T) {
	at := time.Date(2026, 11, 25, 15, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		none float64
		want bool
	}{{0.9, true}, {0.4, true}, {0.2, false}} {
		j := &plant.Judgement{Collector: "DC-1", At: at, Standing: judge.Drifting, Reasons: []collector.Text{collector.Plain("the filters are near the end of their life: order new ones by 1 December 2026")},
			Causes: []judge.Probability{{Cause: judge.None, P: c.none}, {Cause: judge.CakeDamp, P: 0.1}},
			Life:   &plant.Life{OrderBy: plant.Date{Time: at.AddDate(0, 0, 6)}}}
		var b strings.Builder
		if err := Plant(&b, unit.US, []*plant.Judgement{j}); err != nil {
			t.Fatal(err)
		}
		if got := strings.Contains(b.String(), "Drifting: the filters are near the end of their life\n"); got != c.want {
			t.Errorf("nothing wrong at %v: the table says\n%s", c.none, b.String())
		}
		if got := strings.Contains(b.String(), "Drifting. The filters are near the end"); got != c.want {
			t.Errorf("nothing wrong at %v: the page says\n%s", c.none, b.String())
		}
	}
}
