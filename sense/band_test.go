package sense

import (
	"testing"
	"time"
)

// Filters that cleaning no longer brings down stay in a narrow band, of which a log with nothing but the dP shows no
// saw-tooth; a sound machine goes from set point to set point. Single readings a day show the band only all together.
func TestTheBandInWhichTheDPStays(t *testing.T) {
	for _, c := range []struct {
		name             string
		clean, feed      float64
		hand             bool
		floor, ceil, tol float64 // [Pa]
	}{
		{"sound", 12000, 30000, false, 520, 950, 0.1},
		{"blinded", 48000, 3000, false, 760, 830, 0.1},
		{"sound, by hand", 12000, 31700, true, 540, 920, 0.2},
		{"blinded, by hand", 48000, 3000, true, 760, 830, 0.1},
	} {
		g := usual()
		g.clean, g.feed = c.clean, c.feed
		s, _ := g.run(24*20, 120)
		s = s.only(DP)
		if c.hand {
			kept := &Series{Source: "rig"}
			for i := 300; i < s.Len(); i += 720 + 31*(i%7) { // not in step with the cycles
				kept.Time, kept.Col[DP] = append(kept.Time, s.Time[i]), append(kept.Col[DP], s.Col[DP][i])
			}
			s = kept
		}
		f := At(reduced(t, s, g), g.file(), time.Time{})
		near(t, c.name+", low end", f.Get(DPFloor).Now.Value, c.floor, c.tol)
		near(t, c.name+", high end", f.Get(DPCeiling).Now.Value, c.ceil, c.tol)
	}
}

// Hours in which the fan started or stopped, and such in which it stood, are no part of the band.
func TestTheBandLeavesStartsAndStopsOut(t *testing.T) {
	hour := func(running, p10, p90 float32, still uint32) Hour {
		return Hour{Rows: 60, Running: running, DP: HourDP{N: 60, P10: p10, P90: p90, Still: still}}
	}
	d := newDay()
	d.band([]Hour{hour(1, 500, 700, 0), hour(0.5, 100, 600, 30), hour(1, 520, 680, 0), hour(0.97, 50, 900, 2), {Rows: 60, DP: HourDP{Still: 60}}})
	near(t, "low end", d.Value[DPFloor], 500, 0.01)
	near(t, "high end", d.Value[DPCeiling], 700, 0.01)
	d = newDay()
	d.band([]Hour{hour(0.5, 100, 600, 30)})
	if x := d.Value[DPFloor]; x == x {
		t.Errorf("an hour in which the fan stopped shows a band from %g Pa", x)
	}
}
