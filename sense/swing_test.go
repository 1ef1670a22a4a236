package sense

import (
	"math"
	"testing"
	"time"
)

// A dP that goes up for some hours of each day swings, though the median of the day and its low end hardly show it. Hours in
// which the fan starts or stops are no swing, a short shift shows none.
func TestTheDPSwingsWithTheHours(t *testing.T) {
	for _, c := range []struct {
		name     string
		shift    int // [h]
		up       float64
		from, to int // of the day
		swing    float64
	}{
		{"steady", 24, 1, 0, 0, 0},
		{"up by night", 24, 1.4, 0, 10, 0.169},
		{"in the afternoons", 24, 1.25, 14, 18, 0.089},
		{"one shift", 12, 1, 0, 0, 0},
		{"four hours", 4, 1.4, 0, 2, math.NaN()},
	} {
		s := &Series{Source: "rig"}
		for i := range 20 * 24 * 12 {
			hour, dp := i/12%24, 600.0
			switch {
			case hour >= c.shift || hour == c.shift-1 && c.shift < 24 && i%12 > 6:
				dp = 0
			case i >= 15*24*12 && hour >= c.from && hour < c.to:
				dp *= c.up
			}
			s.Time = append(s.Time, start.Add(time.Duration(i)*5*time.Minute).UnixNano())
			s.Col[DP] = append(s.Col[DP], dp)
		}
		f := At(reduced(t, s, usual()), usual().file(), time.Time{})
		m := f.Get(DPSwing)
		if c.swing != c.swing {
			if m.Now.Known() {
				t.Errorf("%s: swings by %.3f, want it unknown", c.name, m.Now.Value)
			}
			continue
		}
		if !(math.Abs(m.Now.Value-c.swing) < 0.01) || !(math.Abs(m.Normal.Value) < 0.01) {
			t.Errorf("%s: swings by %.3f and normally by %.3f, want %.3f and nothing", c.name, m.Now.Value, m.Normal.Value, c.swing)
		}
	}
}
