package plant

import (
	"math"
	"strings"
	"testing"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
	"dustwright/unit"
)

// A column of mbar that is taken for psi reads more than any fan makes. That is said first, and nothing that hangs on it is given.
func TestNoFanMakesThat(t *testing.T) {
	c, err := collector.Parse("test", []byte(trimmable))
	if err != nil {
		t.Fatal(err)
	}
	bare := collector.New()
	for _, x := range []struct {
		name   string
		c      *collector.Collector
		dp     float64 // in. w.g.
		beyond bool
	}{{"as it should be", c, 2.5, false}, {"psi for mbar", c, 2.5 * 69, true}, {"high, no curve on file", bare, 24, false},
		{"no curve on file", bare, 2.5 * 69, true}} {
		h := hours([sense.NumChannels]func(int) float64{
			sense.DP:      func(i int) float64 { return x.dp * (1 + 0.01*math.Sin(float64(i))) * unit.InchWater },
			sense.Running: func(int) float64 { return 1 },
		})
		j := Judge(JudgeInput{Collector: x.c, History: h})
		if told := strings.Contains(j.Reasons[0].String(), "the fan makes no more than"); told != x.beyond {
			t.Errorf("%s: first reason %q", x.name, j.Reasons[0])
		}
		if x.beyond && (j.Standing == judge.Steady || j.Life != nil || j.Trim != nil || j.Drag != nil || j.Missing[len(j.Missing)-1].Channel != "dp") {
			t.Errorf("%s: %s, life %v, trim %v, drag %v, missing %v", x.name, j.Standing, j.Life, j.Trim, j.Drag, j.Missing)
		}
	}
}
