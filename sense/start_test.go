package sense

import (
	"math"
	"testing"
	"time"
)

// With less air the dP starts lower in the morning, while set points bring it to the same band later in the day. A break at noon
// is no standstill after which filters are as cleaned as over night, and where rows are missing nobody knows what it starts with.
func TestTheDPAtStartUp(t *testing.T) {
	for _, c := range []struct {
		name        string
		step        int // [min]
		lost        bool
		now, normal float64 // [Pa]
	}{
		{"rows of a minute", 1, false, 300, 400}, {"rows of a quarter", 15, false, 300, 400}, {"rows lost over night", 1, true, math.NaN(), math.NaN()},
	} {
		s := &Series{Source: "rig"}
		for m := 0; m < 20*24*60; m += c.step {
			day, at := m/1440, m%1440-7*60 // since seven in the morning
			begins, dp := 400.0, 0.0
			if day == 19 {
				begins = 300
			}
			if at >= 0 && at < 600 && (at < 300 || at >= 330) {
				dp = math.Min(900, begins+float64(at))
			}
			if c.lost && dp == 0 {
				continue
			}
			s.Time = append(s.Time, start.Add(time.Duration(m)*time.Minute).UnixNano())
			s.Col[DP] = append(s.Col[DP], dp)
		}
		g := usual()
		m := At(reduced(t, s, g), g.file(), time.Time{}).Get(DPStart)
		if c.lost {
			if m.Now.Known() {
				t.Errorf("%s: starts with %.0f Pa, want it unknown", c.name, m.Now.Value)
			}
			continue
		}
		near(t, c.name, m.Now.Value, c.now+7, 0.05)
		near(t, c.name+", normally", m.Normal.Value, c.normal+7, 0.05)
	}
}
