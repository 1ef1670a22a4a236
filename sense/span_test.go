package sense

import (
	"testing"
	"time"
)

// A saw-tooth that stays down for half of a day, cleaned without end, has lost much of how far it goes within an hour, and so has
// one that a blocked line hides; a dP that was always flat has not.
func TestHowFarTheDPGoesWithinAnHour(t *testing.T) {
	for _, c := range []struct {
		name        string
		tooth       float64 // [Pa]
		flat        int     // hours of the last day
		now, normal float64
	}{
		{"sound", 500, 0, 0.54, 0.54}, {"down half the day", 500, 12, 0.074, 0.54}, {"by the clock", 12, 0, 0.029, 0.029},
	} {
		s := &Series{Source: "rig"}
		for m := range 20 * 24 * 60 {
			dp := 500 + c.tooth*float64(m%60)/60
			if m >= 19*24*60 && m/60%24 < c.flat {
				dp = 500
			}
			s.Time = append(s.Time, start.Add(time.Duration(m)*time.Minute).UnixNano())
			s.Col[DP] = append(s.Col[DP], dp)
		}
		g := usual()
		m := At(reduced(t, s, g), g.file(), time.Time{}).Get(DPSpan)
		near(t, c.name, m.Now.Value, c.now, 0.05)
		near(t, c.name+", normally", m.Normal.Value, c.normal, 0.05)
	}
}
