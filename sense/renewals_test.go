package sense

import (
	"math"
	"slices"
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

// After a standstill that left the filters cleaner than any before, the next that does so is no more certain to be new filters.
func TestSecondDipIsNoMoreThanTheFirst(t *testing.T) {
	day := int64(86400)
	at := func(t int64, pa float64) Change {
		return Change{Kind: FilterChange, At: unixTime(t), After: pa, Confidence: 0.47}
	}
	for _, c := range []struct {
		name string
		last Change
		now  Change
		want bool
	}{
		{"as low again", at(10*day, 259), at(11*day, 243), true},
		{"much lower", at(10*day, 259), at(11*day, 160), false},
		{"a week later", at(10*day, 259), at(17*day, 243), false},
		{"the first", Change{}, at(17*day, 243), false},
	} {
		if got := again(c.last, c.now); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// Two starts in days after which a dP that fell while the fan ran comes back at half of what it ever was, the second a little
// lower: neither is new filters.
func TestTwoLowStartsAreNoNewFilters(t *testing.T) {
	g := usual()
	g.shift = 14
	file := g.file()
	file.Filters.CleanDP = 230
	s, _ := g.run(24*20, 60)
	for i := range s.Col[DP] {
		minute := i % 1440
		back := min(1, float64(minute)/600)
		switch i / 1440 {
		case 16:
			s.Col[DP][i] = 262 + back*(s.Col[DP][i]-262)
		case 18:
			s.Col[DP][i] = 215 + back*(s.Col[DP][i]-215)
		}
	}
	f := At(reduced(t, s.only(DP), g), file, time.Time{})
	if len(f.Lives) > 1 {
		t.Errorf("%d lives, %+v", len(f.Lives), f.Changes)
	}
}

// Before the fan starts a gauge that scatters shows more than the dP from which it is held to run, for a third of the hour: that
// hour's low end is no dP of new filters.
func TestScatterBeforeTheStartIsNoNewFilters(t *testing.T) {
	g := usual()
	g.shift, g.clean = 14, 20000
	file := g.file()
	file.Filters.CleanDP = 100
	s, _ := g.run(24*20, 300)
	for i := range s.Col[DP] {
		if day, row := i/288, i%288; day == 15 && row < 4 {
			s.Col[DP][i] = 80
		}
	}
	r := NewReducer(file)
	r.Add(s.only(DP))
	f := At(r.History(), file, time.Time{})
	if got := kinds(f, lifeSure); len(got) > 0 || len(f.Lives) != 1 {
		t.Errorf("%d lives, %+v", len(f.Lives), f.Changes)
	}
}

// A fall that came while the fan ran, hours before the standstill, is no change of filters; one over the standstill may be.
func TestFallWhileTheFanRunsIsNoNewFilters(t *testing.T) {
	for _, c := range []struct {
		name string
		from int // the first hour of the new level; the fan stood before hours 0, 24 and 48
		want bool
	}{{"while it ran", 16, false}, {"over night", 24, true}, {"days later", 60, false}} {
		var ls []lowPoint
		for i := range 72 {
			l := lowPoint{t: int64(i) * 3600, x: 420, still: i%24 == 0}
			if i >= c.from {
				l.x = 285
			}
			ls = append(ls, l)
		}
		if got := fellStanding(ls, unixTime(24*3600), math.Log(285.0/420)); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// Filters changed in the middle of a shift, as somebody noted: the restarts of the week after, each lower than any that the old
// filters knew, are those of the new ones as they season, and no further changes.
func TestSeasoningAfterANotedChangeIsNoNewFilters(t *testing.T) {
	g := usual()
	g.shift, g.clean = 14, 26000
	file := g.file()
	file.Filters.CleanDP = 160
	s, _ := g.run(24*34, 60)
	for i := range s.Col[DP] {
		day, minute := i/1440-20, i%1440
		switch {
		case day == 0 && minute >= 420:
			s.Col[DP][i] *= 0.25
		case day > 0:
			s.Col[DP][i] *= min(0.6, 0.25+0.02*float64(day)+float64(minute)/200)
		}
	}
	h := reduced(t, s.only(DP, Flow), g)
	h.Note(Change{Kind: FilterChange, At: start.Add(20*24*time.Hour + 7*time.Hour)})
	f := At(h, file, time.Time{})
	filters := slices.DeleteFunc(kinds(f, 0), func(kind string) bool { return kind != FilterChange })
	if len(filters) != 1 || len(f.Lives) != 2 {
		t.Errorf("%d lives, %+v", len(f.Lives), f.Changes)
	}
}

// A fall tells of new filters where the level had crept up for weeks and comes down to where no repair would bring it: not where it
// rose at once and falls back to the course it was on, nor where it was up when the record began, nor where the creep was short.
func TestCrept(t *testing.T) {
	aged := func(day, days float64) float64 { return 600 * math.Pow(2.5, day/days) } // of worn filters [Pa]
	for _, c := range []struct {
		name string
		days int
		dp   func(day float64) float64
		left float64 // after the fall [Pa]
		want bool
	}{
		{"worn filters", 100, func(d float64) float64 { return aged(d, 100) }, 600, true},
		{"held by set points before", 160, func(d float64) float64 { return aged(max(0, d-60), 100) }, 610, true},
		{"a fault put right", 100, func(d float64) float64 {
			if d > 30 {
				return 1500
			}
			return 600
		}, 600, false},
		{"a fault on worn filters put right", 100, func(d float64) float64 {
			if d > 90 {
				return 2 * aged(d, 200)
			}
			return aged(d, 200)
		}, aged(100, 200), false},
		{"a fault on worn filters put right, and new filters", 100, func(d float64) float64 {
			if d > 90 {
				return 1.3 * aged(d, 100)
			}
			return aged(d, 100)
		}, 600, true},
		{"up before the record began", 100, func(d float64) float64 { return 1400 + d }, 600, false},
		{"a short creep", 100, func(d float64) float64 { return aged(max(0, d-70), 30) }, 600, false},
		{"a slight fall", 100, func(d float64) float64 { return aged(d, 100) }, 900, false},
	} {
		days := make([]Day, c.days)
		for i := range days {
			days[i].Start = start.Add(time.Duration(i) * 24 * time.Hour)
			for q := range days[i].Value {
				days[i].Value[q] = math.NaN()
			}
			if i%7 < 5 {
				days[i].Value[DPLow] = c.dp(float64(i)) * (1 + 0.02*math.Sin(float64(3*i)))
			}
		}
		st := step{at: c.days, before: math.Log(c.dp(float64(c.days - 1))), after: math.Log(c.left)}
		if got := crept(days, DPLow, st); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}
