package judge

import (
	"math"
	"testing"

	"dustwright/collector"
	"dustwright/sense"
)

// An airflow that rose by a fifth while the damper was opened by a twentieth came in elsewhere; one that a damper opened far makes
// is that damper's; and nothing is said where the airflow is inferred, or no damper is read.
func TestTheAirflowIsHeldAgainstTheDampersMove(t *testing.T) {
	points := []collector.DamperPoint{{Open: 0.9, Flow: 2.6}, {Open: 0.3, Flow: 1.8}, {Open: 0.45, Flow: 2.25}}
	for _, c := range []struct {
		name           string
		by             string
		points         []collector.DamperPoint
		flow, from, to float64
		want           float64
	}{
		{"air from elsewhere", sense.ByMeasurement, points, 1.2, 0.42, 0.44, 2.6},
		{"opened far", sense.ByMeasurement, points, 1.25, 0.3, 0.45, 0},
		{"opened far, nothing came of it", sense.ByMeasurement, points, 1, 0.3, 0.45, -2.5},
		{"past the points", sense.ByMeasurement, points, 1.03, 0.9, 1, 0},
		{"without points", sense.ByMeasurement, nil, 1.18, 0.3, 0.45, 0},
		{"not moved", sense.ByMeasurement, points, 0.8, 0.4, 0.4, -3.7},
		{"inferred", "fan power", points, 1.2, 0.42, 0.44, math.NaN()},
		{"no damper", sense.ByMeasurement, points, 1.2, math.NaN(), math.NaN(), math.NaN()},
	} {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		in.Collector.Damper.Points = c.points
		f := in.Features
		f.FlowBy = []sense.FlowMethod{{Name: c.by}}
		set := func(q sense.Quantity, now, normal float64) {
			f.Get(q).Now, f.Get(q).Normal = sense.Estimate{Value: now, N: 9}, sense.Estimate{Value: normal, N: 9}
		}
		set(sense.FlowShare, c.flow, 1)
		set(sense.DamperOpen, c.to, c.from)
		set(sense.DPRaw, 800, 800)
		got, ok := Sights(in)["flow:damper"]
		if !ok {
			got = math.NaN()
		}
		if math.IsNaN(got) != math.IsNaN(c.want) || math.Abs(got-c.want) > 0.25 {
			t.Errorf("%s: seen as %.2f, want %.2f", c.name, got, c.want)
		}
	}
}
