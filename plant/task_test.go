package plant

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"dustwright/collector"
)

// What is due by the forecast is due on the day that the judgement names, on either side of Greenwich, also once the judgement
// was kept and read back.
func TestForecastTasksAreDueOnTheirDay(t *testing.T) {
	for _, hours := range []int{-8, -5, 0, 2, 12} {
		zone := time.FixedZone("site", hours*3600)
		order, end := time.Date(2026, 6, 10, 21, 30, 0, 0, zone), time.Date(2026, 7, 1, 1, 15, 0, 0, zone)
		whole := &Judgement{At: first.In(zone), Life: &Life{OrderBy: Date{Time: order}, P50: Date{Time: end}}}
		data, err := json.Marshal(whole)
		if err != nil {
			t.Fatal(err)
		}
		kept := new(Judgement)
		if err := json.Unmarshal(data, kept); err != nil {
			t.Fatal(err)
		}
		for name, j := range map[string]*Judgement{"new": whole, "kept": kept} {
			due := map[string]string{}
			for _, task := range Tasks(TaskInput{Collector: collector.New(), Judgement: j, Started: first}, first.In(zone)) {
				_, what, _ := strings.Cut(task.ID, "/")
				due[what] = task.Due.In(zone).Format(time.DateOnly)
			}
			if due["order"] != "2026-06-10" || due["change"] != "2026-07-01" {
				t.Errorf("%+d h, %s: order %s, change %s; want 2026-06-10 and 2026-07-01", hours, name, due["order"], due["change"])
			}
		}
	}
}

// The damper has been seen to when it was moved after the filters, in whatever order the two were entered.
func TestTrimAfterNewFilters(t *testing.T) {
	change := Record{ID: "f", Kind: KindFilterChange, At: first.AddDate(0, 0, 10)}
	before, after := Record{ID: "a", Kind: KindDamperMove, At: first}, Record{ID: "b", Kind: KindDamperMove, At: first.AddDate(0, 0, 11)}
	for _, x := range []struct {
		name    string
		records []Record
		asked   bool
	}{
		{"moved before", []Record{before, change}, true},
		{"moved after", []Record{change, after}, false},
		{"an earlier move entered last", []Record{change, after, before}, false},
		{"an earlier change entered last", []Record{after, {ID: "old", Kind: KindFilterChange, At: first.AddDate(-1, 0, 0)}}, false},
	} {
		if got := len(trimTask(TaskInput{Collector: collector.New(), Records: x.records})) > 0; got != x.asked {
			t.Errorf("%s: asked for %v, want %v", x.name, got, x.asked)
		}
	}
}
