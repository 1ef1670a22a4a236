package sense

import (
	"math"
	"testing"
	"time"
)

// What a gauge shows as the fan runs down just past the hour, or by a spike while it stands, is no dP of
// new filters; nor is the first stop of a log that was cleaned while the fan stood.
func TestTailsAndSpikesAreNoNewFilters(t *testing.T) {
	g := usual()
	g.shift = 14.06 // rows run on for three minutes past the hour
	s, _ := g.run(24*20, 60)
	for i := range s.Col[DP] {
		switch at := i % 1440; {
		case at >= 840 && at < 844:
			s.Col[DP][i] *= 0.4 / float64(at-838)
		case i == 1440*9+1000:
			s.Col[DP][i] = 180
		}
	}
	f := At(reduced(t, s.only(DP), g), g.file(), time.Time{})
	if got := kinds(f, 0.3); len(got) > 0 || len(f.Lives) != 1 {
		t.Errorf("%d lives, %+v", len(f.Lives), f.Changes)
	}
}

// Downtime cleaning that takes much off, seen a few times only, and a sensing line that loses half of what
// it should bring from one morning on, or more each day, are no new filters either.
func TestLowRestartsAreNoNewFilters(t *testing.T) {
	g := usual()
	g.shift = 14
	g.clean = 26000 // 430 Pa at design flow
	file := g.file()
	file.Filters.CleanDP = 160
	for _, what := range []string{"downtime cleaning", "line", "sinking line"} {
		s, _ := g.run(24*20, 60)
		for i := range s.Col[DP] {
			day, minute := i/1440, i%1440
			switch {
			case what == "line" && day >= 12:
				s.Col[DP][i] = 0.5*s.Col[DP][i] + 60
			case what == "sinking line":
				s.Col[DP][i] *= min(1, max(0.2, 1-0.13*float64(day-11)))
			case what == "downtime cleaning" && day%4 == 3 && minute < 180:
				s.Col[DP][i] *= 0.62 + 0.38*float64(minute)/180
			}
		}
		r := NewReducer(file)
		r.Add(s.only(DP, Flow))
		f := At(r.History(), file, time.Time{})
		if got := kinds(f, lifeSure); len(got) > 0 && got[0] == FilterChange || len(f.Lives) != 1 {
			t.Errorf("%s: %d lives, %+v", what, len(f.Lives), f.Changes)
		}
	}
}

// A damper that somebody shut by a third over night brings the dP back lower than cleaning ever did. Where only the dP is logged
// that must not pass for new filters, with which the normal would begin anew; new filters lie lower still.
func TestLessAirIsNoNewFilters(t *testing.T) {
	g := usual()
	g.shift = 14
	file := g.file()
	file.Filters.CleanDP = 230
	for _, c := range []struct {
		name  string
		share float64 // of the dP that is left
		want  bool
	}{{"less air", 0.62, false}, {"new filters", 0.36, true}} {
		s, _ := g.run(24*20, 60)
		for i := range s.Col[DP] {
			if day, minute := i/1440, i%1440; day >= 16 {
				back := math.Min(1, float64(day-16)+float64(minute)/840)
				s.Col[DP][i] *= c.share + (1-c.share)*0.7*back
			}
		}
		f := At(reduced(t, s.only(DP), g), file, time.Time{})
		if got := len(f.Lives) > 1; got != c.want {
			t.Errorf("%s: new filters found %v, want %v: %+v", c.name, got, c.want, f.Changes)
		}
	}
}
