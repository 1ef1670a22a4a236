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

// The first sentence ends once, says no hour that nobody knows, and the order that is late is one to place now.
func TestTheHeadlineIsWritten(t *testing.T) {
	at := time.Date(2026, 11, 30, 15, 0, 0, 0, time.UTC)
	j := &plant.Judgement{Collector: "DC-1", At: at, Standing: judge.NeedsHands, Causes: []judge.Probability{{Cause: judge.None, P: 0.4}, {Cause: judge.CleaningOff, P: 0.2}},
		Reasons: []collector.Text{collector.Plain("the dP stands at 5.1 in. w.g., at or above the alarm at 5.0 in. w.g.")}, Life: &plant.Life{OrderBy: plant.Date{Time: at.AddDate(0, 0, -6)}}}
	page := func() string {
		var b strings.Builder
		if err := Judgement(&b, unit.US, j); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	if got := page(); strings.Contains(got, "..") || !strings.Contains(got, "now: 24 November 2026 is past") {
		t.Error(got)
	}
	early := *j
	early.Life = &plant.Life{OrderBy: plant.Date{Time: at.AddDate(0, 0, -6)}, P10: plant.Date{Time: at.AddDate(0, 0, 8)}, P50: plant.Date{Time: at.AddDate(0, 0, 80)}}
	var b strings.Builder
	if err := Judgement(&b, unit.US, &early); err != nil || strings.Contains(b.String(), "is past") || !strings.Contains(b.String(), "now, to be on the safe side") {
		t.Error(err, b.String())
	}
	day := func(d int) time.Time { return time.Date(2026, 11, d, 0, 0, 0, 0, time.UTC) }
	j.Causes = []judge.Probability{{Cause: judge.CleaningOff, P: 0.9}}
	for want, s := range map[string]plant.Span{
		"since about 27 November 2026":                               {At: day(27), From: day(26), To: day(28)},
		"since 27 November 2026 00:00":                               {At: day(27), From: day(27), To: day(27)},
		"since some time between 2 November and 28 November 2026":    {At: day(27), From: day(2), To: day(28)},
		"since some time between 3 December 2025 and 1 January 2026": {At: day(-300), From: day(-332), To: day(-303)},
	} {
		j.Since = &s
		if got := strings.Join(strings.Fields(page()), " "); !strings.Contains(got, want) {
			t.Errorf("want %q in %s", want, got)
		}
	}
}
