package plant

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
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

// New filters in one row of four leave the other three as old as they are; from half of the rows on a new life begins.
func TestOneRowIsNoNewLife(t *testing.T) {
	of := [sense.NumChannels]func(i int) float64{sense.DP: func(i int) float64 { return 300 + float64(i) }}
	c := collector.New()
	c.Cleaning.Mode, c.Filters.Rows, c.Filters.PerRow = collector.Timed, 4, 2
	for rows := 1; rows <= 4; rows++ {
		body := FilterChange{}
		for r := range rows {
			body.Rows = append(body.Rows, RowChange{Row: r + 1})
		}
		r, err := NewRecord(body, "DC-1", "me")
		if err != nil {
			t.Fatal(err)
		}
		h := hours(of)
		r.At = time.Unix(0, h.Last).Add(-240 * time.Hour)
		noteWork(h, c, []Record{r})
		want := 1
		if rows >= 2 {
			want = 2
		}
		if got := len(sense.At(h, c, time.Unix(0, h.Last)).Lives); got != want {
			t.Errorf("%d of 4 rows changed: %d lives, want %d", rows, got, want)
		}
	}
}

// Emptying the bin leaves the answers to other checks standing; any other work does away with all.
func TestAnswersThatCount(t *testing.T) {
	answer := func(check string, day int) Record {
		r, err := NewRecord(CheckAnswer{Check: check, Yes: true}, "DC-1", "me")
		if err != nil {
			t.Fatal(err)
		}
		r.At = first.AddDate(0, 0, day)
		return r
	}
	work := func(kind Kind, day int) Record { return Record{Kind: kind, At: first.AddDate(0, 0, day)} }
	for _, x := range []struct {
		name    string
		records []Record
		want    string
	}{
		{"the bin emptied", []Record{answer("bin-level", 0), answer("doors", 0), work(KindBinEmptied, 1)}, "doors"},
		{"looked again", []Record{work(KindBinEmptied, 1), answer("bin-level", 2)}, "bin-level"},
		{"the damper moved", []Record{answer("bin-level", 0), answer("doors", 0), work(KindDamperMove, 1)}, ""},
		{"a check of the plant's own, no longer in its file", []Record{answer("no-such-check", 0), work(KindBinEmptied, 1)}, ""},
		{"a reading", []Record{answer("doors", 0), work(KindReading, 1)}, "doors"},
		{"old", []Record{answer("doors", -20)}, ""},
	} {
		var got []string
		for _, a := range Answered(x.records, first.AddDate(0, 0, 3), judge.Experience{}) {
			got = append(got, a.Check)
		}
		if strings.Join(got, " ") != x.want {
			t.Errorf("%s: %q count, want %q", x.name, got, x.want)
		}
	}
}
