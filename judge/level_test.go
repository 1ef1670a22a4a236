package judge

import (
	"math"
	"testing"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

// A damper that has stood too far shut since the first reading has no normal to be held against: the file's points say where it
// belongs for design flow, and nothing is said where they don't reach there.
func TestTheFileSaysWhereTheDamperBelongs(t *testing.T) {
	points := []collector.DamperPoint{{Open: 0.3, Flow: 2.1}, {Open: 0.2, Flow: 1.6}, {Open: 0.65, Flow: 2.7}}
	for _, c := range []struct {
		name   string
		points []collector.DamperPoint
		flow   unit.Flow // of design
		open   float64
		want   float64 // of the sight; NaN none
	}{
		{"where it belongs, with seasoned filters", points, 2.1, 0.366, 0},
		{"at the widest point", points, 2.7, 0.794, 0},
		{"too far shut", points, 2.1, 0.17, -6.4},
		{"too far open", points, 1.9, 0.5, 3.8},
		{"past the points", points, 3, 0.6, math.NaN()},
		{"below the points", points, 1.5, 0.6, math.NaN()},
		{"no points", nil, 2, 0.6, math.NaN()},
	} {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		in.Collector.Duty.Flow, in.Collector.Damper.Points = c.flow, c.points
		in.Features.Get(sense.DamperOpen).Now = sense.Estimate{Value: c.open, N: 9}
		got, ok := Sights(in)["damper:file"]
		if !ok {
			got = math.NaN()
		}
		if math.IsNaN(got) != math.IsNaN(c.want) || math.Abs(got-c.want) > 0.3 {
			t.Errorf("%s: damper at %g seen as %.2f, want %.2f", c.name, c.open, got, c.want)
		}
	}
}
