package judge

import (
	"testing"
	"time"

	"dustwright/sense"
)

// When it began goes by the quantities that count, is young where the last hours alone tell of it, and is open where nothing does; an
// onset within what a valve shows narrows that.
func TestSince(t *testing.T) {
	now := time.Date(2026, 7, 1, 12, 0, 0, 0, time.UTC)
	day := func(ago float64) time.Time { return now.Add(-time.Duration(ago * 24 * float64(time.Hour))) }
	step := func(kind string, at, from, to float64) sense.Onset {
		return sense.Onset{Found: true, Kind: kind, At: day(at), From: day(from), To: day(to)}
	}
	for _, x := range []struct {
		name         string
		owed         map[key]float64
		onsets       map[sense.Quantity]sense.Onset
		valve        bool // silent for 5 to 25 days
		at, from, to float64
		open         bool
	}{
		{name: "the quantity that tells most", owed: map[key]float64{"raw": 4, "flow": 2}, at: 10, from: 11 + 0.5 + 1.5, to: 9,
			onsets: map[sense.Quantity]sense.Onset{sense.DPRaw: step("step", 10, 11, 9), sense.FlowShare: step("step", 40, 41, 39)}},
		{name: "a bend has its own interval, which ends now", owed: map[key]float64{"raw": 4}, at: 1, from: 3, to: 0,
			onsets: map[sense.Quantity]sense.Onset{sense.DPRaw: step("ramp", 1, 3, -1)}},
		{name: "a slide that ended long ago", owed: map[key]float64{"raw": 4, "flow": 3}, at: 2, from: 2 + 0.5 + 0.3, to: 2,
			onsets: map[sense.Quantity]sense.Onset{sense.DPRaw: step("slide", 60, 70, 50), sense.FlowShare: step("step", 2, 2, 2)}},
		{name: "too little is owed to the only one", owed: map[key]float64{"raw/fresh": 5, "flow": 0.5}, at: 0.75, from: 2.5, to: 0,
			onsets: map[sense.Quantity]sense.Onset{sense.FlowShare: step("step", 40, 41, 39)}},
		{name: "nothing tells", owed: map[key]float64{"raw": 5}, open: true},
		{name: "a valve", valve: true, at: 5, from: 25, to: 5},
		{name: "a valve, and what came with it", valve: true, owed: map[key]float64{"raw": 1, "raw/fresh": 9}, at: 10, from: 13, to: 9,
			onsets: map[sense.Quantity]sense.Onset{sense.DPRaw: step("step", 10, 11, 9)}},
		{name: "a valve, and what came long before", valve: true, owed: map[key]float64{"raw": 1}, at: 5, from: 25, to: 5,
			onsets: map[sense.Quantity]sense.Onset{sense.DPRaw: step("step", 60, 61, 59)}},
	} {
		f := &sense.Features{At: now}
		for q, o := range x.onsets {
			f.Get(q).Onset = o
		}
		number := 0
		if x.valve {
			number = 4
			f.Valves = []sense.ValveMeasure{{Valve: 4, Since: day(5), LastDrop: day(25)}}
		}
		top := hypothesis{cause: ValveDead}
		var seen []sight
		for k, w := range x.owed {
			seen, top.each = append(seen, sight{key: k}), append(top.each, w)
		}
		at, from, to := since(f, top, seen, number)
		if x.open != at.IsZero() || !x.open && !(near(at, day(x.at)) && near(from, day(x.from)) && near(to, day(x.to))) {
			t.Errorf("%s: %v, %v to %v; want %.2f, %.2f to %.2f days ago", x.name, at, from, to, x.at, x.from, x.to)
		}
	}
}

func near(a, b time.Time) bool { return a.Sub(b).Abs() < time.Minute }
