package sense

import (
	"testing"
	"time"
)

// offItsLines lets the gauge read zero and what a running fan shows of it, in the last hours of a record.
func offItsLines(s *Series, hours, zero float64) {
	from := s.Time[s.Len()-1] - int64(hours*3600e9)
	for i, t := range s.Time {
		if t > from {
			s.Col[DP][i] = zero * s.Col[Running][i]
		}
	}
}

// A gauge off its lines looks like a fan that stands, but in hours in which it used to run. At night and over a weekend it
// stands as it always did.
func TestStandingInHoursInWhichItUsedToRun(t *testing.T) {
	for _, c := range []struct {
		name      string
		days, off float64
		want      float64 // [h]
	}{
		{"a sound gauge in the evening", 21, 0, 0}, {"since the morning", 21, 20, 6}, {"for three days", 21, 72, 30},
		{"a record without a week before", 4, 24, 0},
	} {
		g := usual()
		g.shift = 10
		s, _ := g.run(24*c.days, 120)
		offItsLines(s, c.off, 0)
		near(t, c.name, At(reduced(t, s.only(DP), g), g.file(), time.Time{}).Missed, c.want, 0.05)
	}
}

// What the gauge reads off its lines while the fan runs is seen beside what it reads at night, however far back the window
// reaches for hours in which it ran.
func TestReadingsThatGoWithTheShiftWhileTheFanSeemsToStand(t *testing.T) {
	g := usual()
	g.shift, g.noise = 10, 1
	for _, off := range []float64{0, 30, 100} {
		s, _ := g.run(24*21, 120)
		offItsLines(s, off, -20)
		f := At(reduced(t, s.only(DP), g), g.file(), time.Time{})
		m := f.Get(StoppedApart)
		if !m.Now.Known() || !m.Normal.Known() || m.Normal.Value > 1 {
			t.Fatalf("off for %.0f h: %+v", off, m)
		}
		if seen := m.Now.Value > 5; seen != (off > 0) {
			t.Errorf("off for %.0f h: the dP with the fan standing scatters by %.1f Pa from hour to hour, used to by %.1f", off, m.Now.Value, m.Normal.Value)
		}
		if x := f.Get(StoppedDP).Now.Value; off > 24 && !(x < -5) {
			t.Errorf("off for %.0f h: the dP with the fan standing is %.1f Pa", off, x)
		}
	}
}

// A damped gauge that comes down after the fan stops does not scatter from hour to hour, and few hours tell nothing.
func TestAGaugeThatComesDownDoesNotScatter(t *testing.T) {
	hours := make([]Hour, 8)
	for i := range hours {
		hours[i].DP = HourDP{Still: 60, StillMean: 3}
	}
	hours[0].Running, hours[0].DP.N = 0.5, 30
	hours[1].DP.StillMean = 40
	d := newDay()
	d.stopped(hours)
	near(t, "standard deviation [Pa]", d.Value[StoppedApart], 0, 1e-9)
	d = newDay()
	d.stopped(hours[:5])
	if x := d.Value[StoppedApart]; x == x {
		t.Errorf("three hours tell a standard deviation of %g Pa", x)
	}
}

// A line that is shut holds the dP over night: it reads as if the fan ran in hours in which it used to stand.
func TestRunningInHoursInWhichItUsedToStand(t *testing.T) {
	for _, c := range []struct{ held, want float64 }{{0, 0}, {16, 6}, {40, 20}} {
		g := usual()
		g.shift = 10
		s, _ := g.run(24*20+9.5, 120)
		from := s.Time[s.Len()-1] - int64(c.held*3600e9)
		for i, at := range s.Time {
			if at > from && c.held > 0 {
				s.Col[DP][i] = 700
			}
		}
		f := At(reduced(t, s.only(DP), g), g.file(), time.Time{})
		near(t, "hours it used to stand", f.Extra, c.want, 0.08)
		if f.Missed > 0 {
			t.Errorf("held for %.0f h: %.1f h missed", c.held, f.Missed)
		}
	}
}

// A row of means across a stop holds a part of the dP at which the fan ran; the gauge reads nothing with the fan standing.
func TestARowAcrossAStopIsNoReadingAtRest(t *testing.T) {
	g := usual()
	g.shift = 10
	s, _ := g.run(24*21, 600)
	for i := 1; i < s.Len(); i++ {
		if s.Col[Running][i] < 0.5 && s.Col[Running][i-1] > 0.5 {
			s.Col[Running][i], s.Col[DP][i] = 0.4, 0.4*s.Col[DP][i-1]
		}
	}
	for i, h := range reduced(t, s, g).Hours {
		if h.DP.Still > 0 && h.DP.StillMean > 20 {
			t.Fatalf("hour %d: the gauge reads %.0f Pa with the fan standing", i, h.DP.StillMean)
		}
	}
}
