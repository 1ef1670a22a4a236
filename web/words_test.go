package web

import (
	"strings"
	"testing"
	"time"

	"dustwright/judge"
	"dustwright/plant"
	"dustwright/unit"
)

// The sentence to read if only one is read says as much as is believed: no cause where none stands out, and both of two.
func TestTheFirstSentenceSaysWhatIsBelieved(t *testing.T) {
	now := time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC)
	duct, valve := judge.Probability{Cause: judge.DuctBlocked, P: 0.9}, judge.Probability{Cause: judge.ValveDead, Number: 4, P: 0.1}
	for name, c := range map[string]struct {
		causes []judge.Probability
		pair   *judge.Pair
		want   string
	}{
		"sound":      {[]judge.Probability{{Cause: judge.None, P: 0.6}}, nil, "Nothing is wrong that shows in the readings."},
		"not told":   {[]judge.Probability{{Cause: judge.None, P: 0.3}}, nil, "No cause stands out in the readings."},
		"one":        {[]judge.Probability{duct}, nil, "The duct before the collector is restricted."},
		"two":        {[]judge.Probability{duct}, &judge.Pair{First: duct, Second: valve, P: 0.8}, "The duct before the collector is restricted. Beside that, valve 4 never opens (both at once: 80 %)."},
		"turned":     {[]judge.Probability{duct}, &judge.Pair{First: valve, Second: duct, P: 0.8}, "The duct before the collector is restricted. Beside that, valve 4 never opens (both at once: 80 %)."},
		"two others": {[]judge.Probability{{Cause: judge.CakeDamp, P: 0.4}}, &judge.Pair{First: valve, Second: duct, P: 0.8}, "Perhaps the dust cake is damp or oily."},
	} {
		if got := say(now, &plant.Judgement{Standing: judge.Steady, Causes: c.causes, Pair: c.pair}, unit.US); got != c.want {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}

func TestDatesAreSaidAsNearAsTheyAreKnown(t *testing.T) {
	now := time.Date(2026, 11, 30, 23, 0, 0, 0, time.UTC)
	day := func(y, m, d int) time.Time { return time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC) }
	for want, s := range map[string]plant.Span{
		", since about 27 November":                                {At: day(2026, 11, 27), From: day(2026, 11, 26), To: day(2026, 11, 28)},
		", since Friday 07:30":                                     {At: day(2026, 11, 27).Add(450 * time.Minute), From: day(2026, 11, 27), To: day(2026, 11, 27).Add(8 * time.Hour)},
		", since some time between 14 October and 20 October":      {At: day(2026, 10, 16), From: day(2026, 10, 14), To: day(2026, 10, 20)},
		", since some time between 14 December 2025 and 2 January": {At: day(2026, 1, 1), From: day(2025, 12, 14), To: day(2026, 1, 2)},
	} {
		if got := since(now, &s); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	for want, l := range map[string]plant.Life{
		"22 March 2027 to August 2029":  {P10: plant.Date{Time: day(2027, 3, 22)}, P90: plant.Date{Time: day(2029, 8, 12)}},
		"22 January to 30 June 2027":    {P10: plant.Date{Time: day(2027, 1, 22)}, P90: plant.Date{Time: day(2027, 6, 30)}},
		"8 December to 26 December":     {P10: plant.Date{Time: day(2026, 12, 8)}, P90: plant.Date{Time: day(2026, 12, 26)}},
		"12 May 2027 to September 2028": {P10: plant.Date{Time: day(2027, 5, 12)}, P90: plant.Date{Time: day(2028, 9, 1)}},
	} {
		if got := between(now, &l); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	j := &plant.Judgement{At: now, Standing: judge.Drifting, Causes: []judge.Probability{{Cause: judge.FiltersBlinded, P: 0.9}}, Life: &plant.Life{OrderBy: plant.Date{Time: day(2026, 11, 24)}}}
	if got := say(now, j, unit.US); !strings.HasSuffix(got, "Order filters now: 24 November is past.") {
		t.Errorf("%q", got)
	}
}
