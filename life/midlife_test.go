package life

import (
	"math"
	"testing"
	"time"

	"dustwright/unit"
)

// straight is a record of a level that rises in a line, a reading a day.
func straight(days int, from, perDay float64) Record {
	var r Record
	for d := range days {
		r.Points = append(r.Points, Point{At: time.Date(2026, 1, 1+d, 0, 0, 0, 0, time.UTC), Hours: 24 * float64(d), DP: unit.Pressure(from + perDay*float64(d))})
	}
	return r
}

// TestMissingAge: a line carried back to the dP of new filters, where the record does not begin with them.
func TestMissingAge(t *testing.T) {
	n := &now{in: Input{CleanDP: 200, Pulsed: true}, limit: 1500}
	late := straight(100, 500, 2) // the first 150 days showed nothing
	for i := range late.Points {
		late.Points[i].Hours += 24 * 150
	}
	if got := missingAge(n.track(late, late.Points)); got != 0 {
		t.Errorf("%.1f days missing where the record goes back to new filters, want none", got/24)
	}
	for _, k := range []struct {
		name         string
		from, perDay float64
		whole        bool
		days         float64
	}{
		{"in mid-life", 500, 2, false, 150}, {"new, as somebody says", 500, 2, true, 0}, {"seasoned at most", 300, 2, false, 0},
		{"flat", 500, 0, false, 0}, {"falling", 900, -2, false, 0}, {"hardly rising", 900, 0.1, false, 4 * 99},
	} {
		r := straight(100, k.from, k.perDay)
		r.StartKnown = k.whole
		tr := n.track(r, r.Points)
		if got := missingAge(tr) / 24; math.Abs(got-k.days) > 0.01*k.days+1e-6 {
			t.Errorf("%s: %.1f days missing, want %.1f", k.name, got, k.days)
		}
		if aged(tr, 24).samples[0].x != 24 || tr.samples[0].x != 0 {
			t.Errorf("%s: ages must be added to a copy", k.name)
		}
	}
}

// TestEarlierLifeSeenFromItsMiddle: the filters before were seen only for their last 200 days of some 500. The new ones are not to be
// expected to be done after 200.
func TestEarlierLifeSeenFromItsMiddle(t *testing.T) {
	before, after := straight(200, 1000, 2.5), straight(6, 210, 2.5)
	before.Ended, after.StartKnown = true, true
	for i := range after.Points {
		after.Points[i].At = after.Points[i].At.AddDate(0, 0, 200)
	}
	f := Forecast(Input{At: after.Points[5].At, Lives: []Record{before, after}, Pulsed: true, CleanDP: 200, MaxDP: 1495})
	const left = 24 * ((1495-210)/2.5 - 5)
	if !f.Known || !(f.Hours[0] < left && left < f.Hours[2]) || f.Hours[1] < 0.65*left {
		t.Errorf("%+v h, want about %.0f", f.Hours, left)
	}
}
