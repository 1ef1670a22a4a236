package sense

import (
	"math"
	"testing"
)

// Dust taken out every four days tells the load between; two emptyings within one shift are no new load, and
// nothing is said where the last is long ago.
func TestDustTakenTellsTheLoad(t *testing.T) {
	hours := func(days int, mass func(day int) float64) []Hour {
		var out []Hour
		for i := range days * 24 {
			h := Hour{Start: int64(i) * 3600, Running: 0.5}
			if m := mass(i / 24); m > 0 && i%24 == 10 {
				h.Has, h.Stats = 1<<BinMass, []Stat{{N: 2, Mean: float32(m / 2)}}
			}
			out = append(out, h)
		}
		return out
	}
	fourth := func(last float64) func(int) float64 {
		return func(day int) float64 {
			switch {
			case day == 28:
				return last
			case day%4 == 0 && day < 28:
				return 96
			}
			return 0
		}
	}
	const rate = 96.0 / (4 * 12 * 3600)
	for _, c := range []struct {
		name        string
		days        int
		last        float64
		now, normal float64
	}{
		{"as before", 30, 96, rate, rate},
		{"twice the load", 30, 192, 2 * rate, rate},
		{"long ago", 60, 96, math.NaN(), math.NaN()},
	} {
		hs := hours(c.days, fourth(c.last))
		v := view{hours: hs, at: hs[len(hs)-1].Start + 3600}
		var m Measure
		m.Now, m.Normal = Unknown(""), Unknown("")
		v.taken(&m)
		for what, x := range map[string][2]float64{"now": {m.Now.Value, c.now}, "normal": {m.Normal.Value, c.normal}} {
			if math.IsNaN(x[1]) != math.IsNaN(x[0]) || math.Abs(x[0]-x[1]) > 1e-3*rate {
				t.Errorf("%s: %s %g kg/s, want %g", c.name, what, x[0], x[1])
			}
		}
	}
}
