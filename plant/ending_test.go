package plant

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"dustwright/collector"
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

// A record of two weeks, by which the filters may be done in ten days and most likely are in two months, ends no calm: it is too early
// to say, and nothing is due.
func TestTooEarlyToSay(t *testing.T) {
	at := time.Date(2026, 8, 10, 12, 0, 0, 0, time.UTC)
	date := func(days int) Date { return Date{Time: at.AddDate(0, 0, days)} }
	for _, x := range []struct {
		name  string
		life  Life
		early bool
	}{
		{"wide open", Life{OrderBy: date(-4), P10: date(10), P50: date(60), P90: date(300)}, true},
		{"beyond three years", Life{OrderBy: date(-4), P10: date(10)}, true},
		{"a month left", Life{OrderBy: date(-4), P10: date(10), P50: date(30), P90: date(300)}, false},
		{"two months left, and as long until new ones are here", Life{OrderBy: date(-40), P10: date(10), P50: date(60), P90: date(300)}, false},
	} {
		j := &Judgement{At: at, Standing: judge.Steady, Causes: []judge.Probability{{Cause: judge.None, P: 0.6}}, Reasons: []collector.Text{collector.Plain("the dP runs well")}, Life: &x.life}
		j.ending(at)
		tasks := 0
		for _, task := range Tasks(TaskInput{Collector: collector.New(), Judgement: j, Started: at}, at) {
			if strings.HasSuffix(task.ID, "/order") {
				tasks++
			}
		}
		told := strings.Contains(fmt.Sprint(j.Reasons), "too early to say")
		if j.TooEarly() != x.early || j.EndsSoon() == x.early || told != x.early || (j.Standing == judge.Steady) != x.early || (tasks == 0) != x.early {
			t.Errorf("%s: %s, %q, %d to order", x.name, j.Standing, j.Reasons, tasks)
		}
	}
}
