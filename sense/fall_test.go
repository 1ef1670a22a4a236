package sense

import (
	"math"
	"testing"
	"time"
)

// A line that is nearly blocked lets the dP down late when the fan stops, in a log that shows nothing but the dP.
func TestABlockedLineLetsTheDPDownLate(t *testing.T) {
	for _, c := range []struct {
		name      string
		step, lag float64 // [s]
		want      float64 // [s]
	}{
		{"sound", 60, 0, 60}, {"sound, rows of ten minutes", 600, 0, 600},
		{"lags by ten minutes", 60, 600, 0.92 * 600}, {"lags by an hour, rows of ten minutes", 600, 3600, 0.92 * 3600},
	} {
		g := usual()
		g.shift = 10
		s, _ := g.run(24*20, c.step)
		read := 0.0
		for i, x := range s.Col[DP] {
			read += (x - read) * (1 - math.Exp(-c.step/math.Max(c.lag, 1e-3)))
			s.Col[DP][i] = read
		}
		m := At(reduced(t, s.only(DP), g), g.file(), time.Time{}).Get(FallTime)
		near(t, c.name, m.Now.Value, c.want, 0.3) // a row late on either side
		near(t, c.name+", normally", m.Normal.Value, c.want, 0.3)
	}
}

// Where rows are missing while the dP falls nothing is known of how long it took, and the falls of the last days stand in.
func TestAFallThatTheLogDoesNotShow(t *testing.T) {
	g := usual()
	g.shift = 10
	s, _ := g.run(24*9, 60)
	for i, at := range s.Time {
		hour := time.Unix(0, at).Sub(start).Hours()
		if d := math.Mod(hour, 24); hour > 48 && d > 9.5 && d < 10.5 {
			s.Col[DP][i] = math.NaN()
		}
	}
	kept := &Series{Source: "rig"}
	for i, x := range s.Col[DP] {
		if x == x {
			kept.Time, kept.Col[DP] = append(kept.Time, s.Time[i]), append(kept.Col[DP], x)
		}
	}
	m := At(reduced(t, kept, g), g.file(), time.Time{}).Get(FallTime)
	if m.Days > 0 || m.Now.Value != 60 {
		t.Errorf("the dP falls in %.0f s, want the 60 s of the first days", m.Now.Value)
	}
}
