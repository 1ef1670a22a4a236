package sense

import (
	"math"
	"slices"
	"testing"
	"time"

	"dustwright/collector"
)

func TestDamperThatHoldsTheAirflowIsMovedByNobody(t *testing.T) {
	for _, k := range []struct {
		name  string
		holds bool // the damper follows the dP
		moved bool // and counts as moved
	}{
		{"something holds the airflow", true, false},
		{"somebody opened it", false, true},
	} {
		t.Run(k.name, func(t *testing.T) {
			g := usual()
			g.feed, g.stiff = 3000, 0
			s, _ := g.run(30*24, 60)
			s = s.only(DP, Running, Cleaning, Pulse)
			for i, dp := range s.Col[DP] {
				open := 0.5
				if k.holds {
					open *= math.Pow(max(dp, 1)/700, 0.15)
				}
				if day := float64(s.Time[i]-s.Time[0]) / 86400e9; day > 18 {
					s.Col[DP][i] *= 1.6
					open *= 1.5
				}
				s.Col[Damper] = append(s.Col[Damper], open)
			}
			c := g.file()
			c.Cleaning.Mode = collector.Timed // no set point moves
			r := NewReducer(c)
			r.Add(s)
			f := At(r.History(), c, time.Unix(0, s.Time[len(s.Time)-1]))
			if got := slices.ContainsFunc(f.Changes, func(m Change) bool { return m.Kind == DamperMove }); got != k.moved {
				t.Errorf("moves of the damper found: %+v", f.Changes)
			}
			usual, now := f.Get(DPRaw).Normal.Value, f.Get(DPRaw).Now.Value
			if anew := usual > 0.9*now; anew != k.moved {
				t.Errorf("the dP as read is %.0f Pa, its normal %.0f Pa", now, usual)
			}
		})
	}
}
