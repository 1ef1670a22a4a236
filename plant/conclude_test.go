package plant

import (
	"strings"
	"testing"
	"time"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
)

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
