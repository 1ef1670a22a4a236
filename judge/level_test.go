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

// Where somebody moved the high set point and left the file as it was, the dP is held against where it stands now; a move that
// is only suspected, or one of the low one, changes nothing.
func TestAMovedSetPointIsHeldAgainstWhereItStands(t *testing.T) {
	for _, c := range []struct {
		name   string
		change sense.Change
		want   float64 // of the sight
	}{
		{"none", sense.Change{}, 9.4},
		{"surely moved", sense.Change{Kind: sense.HighMoved, Before: 350, After: 600, Confidence: 0.9}, 0.4},
		{"noted", sense.Change{Kind: sense.HighMoved, After: 600, Logged: true}, 0.4},
		{"noted without a figure", sense.Change{Kind: sense.HighMoved, After: math.NaN(), Logged: true}, 9.4},
		{"to beyond the alarm", sense.Change{Kind: sense.HighMoved, Before: 350, After: 900, Confidence: 0.9}, 9.4},
		{"suspected", sense.Change{Kind: sense.HighMoved, Before: 350, After: 600, Confidence: 0.5}, 9.4},
		{"the low one", sense.Change{Kind: sense.LowMoved, Before: 350, After: 600, Confidence: 0.9}, 9.4},
	} {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		in.Collector.SetPoints.High, in.Collector.SetPoints.Alarm = 350, 850
		in.Features.Changes = []sense.Change{c.change}
		in.Features.Get(sense.Trigger).Now = sense.Estimate{Value: 615, N: 9}
		if got := Sights(in)["trigger:high"]; math.Abs(got-c.want) > 0.1 {
			t.Errorf("%s: cleaning that starts at 615 Pa seen as %.2f, want %.2f", c.name, got, c.want)
		}
	}
}
