package sense

import (
	"math"
	"slices"
	"testing"
	"time"
)

func TestLoadThatClimbsWithTheDPTellsNoAirflow(t *testing.T) {
	for _, k := range []struct {
		name  string
		climb float64 // of the log of the load with that of the dP
		told  bool    // whether the load tells the airflow
		tol   float64 // of what a cleaning takes off the drag
	}{
		{"one speed", -0.1, true, 0.15},
		{"one speed, the damper holds the airflow", 0, true, 0.05},
		{"a drive holds the airflow", 0.25, false, 0.05},
	} {
		t.Run(k.name, func(t *testing.T) {
			g := usual()
			g.stiff = 0
			s, tr := g.run(20*24, 30)
			s = s.only(DP, Cleaning, Running, Pulse)
			a := newAirflow(machine(), &History{})
			for _, dp := range s.Col[DP] {
				s.Col[FanPower] = append(s.Col[FanPower], a.input.at(1)*math.Pow(max(dp, 1)/700, k.climb))
			}
			r := NewReducer(machine())
			r.Add(s)
			f := At(r.History(), machine(), time.Unix(0, s.Time[len(s.Time)-1]))
			by := func(m FlowMethod) bool { return m.Name == ByPower }
			if got := slices.ContainsFunc(f.FlowBy, by); got != k.told {
				t.Errorf("the airflow is inferred by %+v", f.FlowBy)
			}
			if watts := f.Get(FanPowerRatio).Now; watts.Known() != k.told {
				t.Errorf("power over what the curve asks for: %+v", watts)
			}
			mid := func(v []float64) float64 { return medianOf(append([]float64(nil), v...)) }
			near(t, "what a cleaning takes off", f.Get(Recovered).Now.Value, 1-mid(tr.stop)/mid(tr.trigger), k.tol)
		})
	}
}
