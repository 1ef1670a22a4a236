package sense

import (
	"math"
	"slices"
	"testing"
	"time"
)

// after appends another stretch to a record.
func (s *Series) after(o *Series) *Series {
	var r Rows
	r.extend(s.Time, &s.Col, span{0, s.Len()}, s.Pulses)
	shift := s.Time[s.Len()-1] + (s.Time[1] - s.Time[0]) - o.Time[0]
	n := len(r.Time)
	r.extend(o.Time, &o.Col, span{0, o.Len()}, o.Pulses)
	for i := n; i < len(r.Time); i++ {
		r.Time[i] += shift
	}
	return &Series{Time: r.Time, Col: r.Col, Pulses: r.Pulses}
}

// kinds lists the changes with at least some confidence.
func kinds(f *Features, least float64) (out []string) {
	for _, c := range f.Changes {
		if c.Confidence >= least || c.Logged {
			out = append(out, c.Kind)
		}
	}
	return out
}

func TestFilterChangeNobodyLogged(t *testing.T) {
	old := usual()
	old.shift, old.clean = 14, 26000 // seasoned
	a, _ := old.run(24*25, 60)
	fresh := usual()
	fresh.shift, fresh.clean, fresh.seed = 14, 11000, 5
	b, _ := fresh.run(24*12, 60)
	s := a.after(b)
	at := start.Add(25 * 24 * time.Hour)
	for _, keep := range [][]Channel{allOfThem, {DP}} {
		f := At(reduced(t, s.only(keep...), fresh), fresh.file(), time.Time{})
		if got := kinds(f, 0.5); len(got) != 1 || got[0] != FilterChange {
			t.Fatalf("with %v: %v, %+v", keep, got, f.Changes)
		}
		c := f.Changes[0]
		if d := c.At.Sub(at).Abs(); d > 2*time.Hour || c.From.After(at) || c.To.Before(at) || c.Why == "" {
			t.Errorf("with %v: at %v, between %v and %v, because %q; want %v", keep, c.At, c.From, c.To, c.Why, at)
		}
		if len(f.Lives) != 2 || !f.Lives[0].Ended || !f.Lives[1].StartKnown || !f.Since.Equal(c.At) {
			t.Errorf("lives %d, since %v", len(f.Lives), f.Since)
		}
	}
}

func TestLoggedChangeStandsForTheFoundOne(t *testing.T) {
	old := usual()
	old.shift, old.clean = 14, 26000
	a, _ := old.run(24*20, 60)
	fresh := usual()
	fresh.shift, fresh.clean = 14, 11000
	b, _ := fresh.run(24*10, 60)
	h := reduced(t, a.after(b), fresh)
	h.Note(Change{Kind: FilterChange, At: start.Add(19*24*time.Hour + 20*time.Hour)})
	f := At(h, fresh.file(), time.Time{})
	if got := kinds(f, 0.5); len(got) != 1 || !f.Changes[0].Logged {
		t.Errorf("%v: %+v", got, f.Changes)
	}
}

func TestSetPointChange(t *testing.T) {
	g := usual()
	a, _ := g.run(24*12, 60)
	g.high = 1200
	b, _ := g.run(24*8, 60)
	for _, keep := range [][]Channel{allOfThem, {DP}} {
		f := At(reduced(t, a.after(b).only(keep...), g), g.file(), time.Time{})
		if got := kinds(f, 0.7); len(got) != 1 || got[0] != HighMoved {
			t.Fatalf("with %v: %v, %+v", keep, got, f.Changes)
		}
		c := f.Changes[0]
		near(t, "before", c.Before, 1000, 0.02)
		near(t, "after", c.After, 1200, 0.02)
		if at := start.Add(12 * 24 * time.Hour); c.From.After(at) || c.To.Before(at.Add(-24*time.Hour)) {
			t.Errorf("between %v and %v, want %v", c.From, c.To, at)
		}
	}
}

func TestDamperMoveByItsChannel(t *testing.T) {
	g := usual()
	s, _ := g.run(24*8, 60)
	s.Col[Damper] = make([]float64, s.Len())
	for i := range s.Col[Damper] {
		s.Col[Damper][i] = 0.47
		if i > s.Len()/2 {
			s.Col[Damper][i] = 0.55
		}
	}
	f := At(reduced(t, s, g), g.file(), time.Time{})
	if got := kinds(f, 0.9); len(got) != 1 || got[0] != DamperMove {
		t.Fatalf("%v: %+v", got, f.Changes)
	}
	if d := f.Changes[0].At.Sub(start.Add(4 * 24 * time.Hour)).Abs(); d > time.Hour {
		t.Errorf("%v off", d)
	}
}

// A healthy machine of any sampling shows no changes.
func TestNoChangesWhereNoneWere(t *testing.T) {
	for _, step := range []float64{10, 60, 300, 3600} {
		g := usual()
		g.shift = 14
		s, _ := g.run(24*30, step)
		for _, keep := range [][]Channel{allOfThem, {DP, Flow}, {DP}} {
			f := At(reduced(t, s.only(keep...), g), g.file(), time.Time{})
			if got := kinds(f, 0.3); len(got) > 0 {
				t.Errorf("every %v s with %v: %+v", step, keep, f.Changes)
			}
		}
	}
}

// The day in the collector file counts as logged, and the record gives it its hour.
func TestInstalledDayInTheFile(t *testing.T) {
	old := usual()
	old.shift, old.clean = 14, 26000
	a, _ := old.run(24*20, 60)
	fresh := usual()
	fresh.shift, fresh.clean = 14, 11000
	b, _ := fresh.run(24*10, 60)
	c := fresh.file()
	c.Filters.Installed = start.Add(20 * 24 * time.Hour)
	r := NewReducer(c)
	r.Add(a.after(b))
	f := At(r.History(), c, time.Time{})
	if len(f.Changes) != 1 || !f.Changes[0].Logged || f.Changes[0].After == 0 || f.Changes[0].At.Sub(c.Filters.Installed).Abs() > 2*time.Hour {
		t.Errorf("%+v", f.Changes)
	}
	c.Filters.Installed = start.Add(10 * 24 * time.Hour) // nothing in the record shows it
	f = At(r.History(), c, time.Time{})
	if len(f.Lives) != 3 || !f.Lives[1].StartKnown {
		t.Errorf("%d lives", len(f.Lives))
	}
}

// An airflow that steps is the damper's only where filters, fan load and suction don't say otherwise, and a
// header that falls to half is no regulator that was turned. None is sure enough to begin the normals anew.
func TestWhatIsTakenForDamperAndRegulator(t *testing.T) {
	g := usual()
	plain, _ := g.run(24*18, 600)
	for what, want := range map[string]string{"damper": DamperMove, "duct": "", "cleaning": "", "supply": "", "regulator": HeaderMoved} {
		s := plain.slice(0, plain.Len())
		s.Col[InletSP] = make([]float64, s.Len())
		for i := range s.Col[InletSP] {
			k, suction, late := 1.0, 870.0, i > s.Len()*2/3
			switch {
			case !late:
			case what == "damper":
				k = 0.85
			case what == "duct":
				k, suction = 0.85, 870*2
			case what == "cleaning":
				k = 0.85
				s.Col[DP][i] *= 1.8
			case what == "supply":
				s.Col[Header][i] *= 0.4
			case what == "regulator":
				s.Col[Header][i] *= 1.2
			}
			if what == "damper" || what == "duct" {
				s.Col[DP][i] *= k
			}
			s.Col[Flow][i] *= k
			s.Col[InletSP][i] = -suction * math.Pow(s.Col[Flow][i]/g.design, 2)
		}
		c := g.file()
		c.Duty.InletSP = -870
		r := NewReducer(c)
		r.Add(s)
		f := At(r.History(), c, time.Time{})
		found := ""
		for _, ch := range f.Changes {
			if (ch.Kind == DamperMove || ch.Kind == HeaderMoved) && ch.Confidence > 0.4 {
				found = ch.Kind
				if ch.Confidence >= sureMove || what != "regulator" && ch.Confidence > 0.5 {
					t.Errorf("%s: %+v", what, ch)
				}
			}
		}
		if found != want {
			t.Errorf("%s: found %q, want %q, of %+v", what, found, want, f.Changes)
		}
	}
}

// A set point shows as cycles that agree, wherever it was put. Where nothing cleans any more the dP turns round now here, now
// there: that nobody set.
func TestASetPointIsWhereCyclesAgree(t *testing.T) {
	g := usual()
	for _, c := range []struct {
		name          string
		within, apart float32 // scatter within a day, and of one day after another [Pa]
		want          bool
	}{
		{"as sharp as before", 6, 4, true}, {"a little blunter", 15, 10, true},
		{"cycles that don't agree", 90, 4, false}, {"days that don't agree", 6, 110, false},
	} {
		h := &History{}
		var days []Day
		for d := range 40 {
			days = append(days, newDay())
			days[d].Start = unixTime(start.Unix() + int64(d)*86400)
			before := float32(1000) + 4*float32(d%3-1)
			p := Passes{Day: start.Unix() + int64(d)*86400, By: BySawtooth, N: 4, BeforeSD: 6, Fall: 400, Before: noReading(), After: noReading()}
			if d >= 25 {
				before, p.BeforeSD = 1350+c.apart*float32(d%3-1), c.within
			}
			p.Before[0] = before
			h.Passes = append(h.Passes, p)
		}
		v := &view{h: h, c: g.file(), passes: h.Passes, at: start.Unix() + 40*86400}
		if got := v.setPoints(nil, days); (len(got) == 1) != c.want || c.want && got[0].Kind != HighMoved {
			t.Errorf("%s: %+v, want a move found: %v", c.name, got, c.want)
		}
	}
}

// A header that is read the same while the fan stands was set by nobody: only what is read between pulses moved.
func TestARegulatorThatWasTurnedShowsWhileTheFanStands(t *testing.T) {
	g := usual()
	g.shift = 14
	plain, _ := g.run(24*18, 600)
	for _, x := range []struct{ turned, want bool }{{true, true}, {false, false}} {
		s := plain.slice(0, plain.Len())
		for i := range s.Col[Header] {
			if i > s.Len()*2/3 && (x.turned || s.Col[Running][i] == 1) {
				s.Col[Header][i] *= 1.2
			}
		}
		f := At(reduced(t, s, g), g.file(), time.Time{})
		got := slices.ContainsFunc(f.Changes, func(ch Change) bool { return ch.Kind == HeaderMoved })
		if got != x.want {
			t.Errorf("turned %v: found %v (%+v)", x.turned, got, f.Changes)
		}
	}
}
