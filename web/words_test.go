package web

import (
	"testing"
	"time"

	"dustwright/judge"
	"dustwright/plant"
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
		if got := say(now, &plant.Judgement{Standing: judge.Steady, Causes: c.causes, Pair: c.pair}); got != c.want {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}
