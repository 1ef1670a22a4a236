package sense

import (
	"math"
	"testing"
	"time"
)

// A weekend on which the fan stands takes up no dust, and takes none away: what was taken up before and after still counts.
func TestDustOverAWeekend(t *testing.T) {
	g := usual()
	g.shift = 14
	s, _ := g.run(24*12, 60)
	for i, x := range s.Time {
		if day := (x - s.Time[0]) / (24 * hourNs); day == 5 || day == 6 {
			for _, c := range [...]Channel{DP, Flow, Cleaning, Running} {
				s.Col[c][i] = 0
			}
		}
	}
	c := g.file()
	c.Duty.Loading = 0.001
	r := NewReducer(c)
	r.Add(s)
	ps := At(r.History(), c, time.Time{}).Lives[0].Points
	last := ps[len(ps)-1]
	if len(ps) != 10 {
		t.Fatalf("%d points, want the ten days on which it ran", len(ps))
	}
	near(t, "running hours", last.Hours, 140, 0.01)
	near(t, "dust", last.Dust, 0.001*last.Flow*g.design/g.area*3600*last.Hours, 0.02)
	for i := 1; i < len(ps); i++ {
		if !(ps[i].Dust > ps[i-1].Dust) || math.IsNaN(ps[0].Dust) {
			t.Errorf("%v: %g kg/m2 after %g", ps[i].At, ps[i].Dust, ps[i-1].Dust)
		}
	}
}
