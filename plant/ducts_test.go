package plant

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
	"dustwright/unit"
)

// ducted is a collector with two ducts, the second the slower, and a month of measured airflow at a share of design.
func ducted(t *testing.T, least, ducts string, share float64) *Judgement {
	t.Helper()
	text := strings.Replace(trimmable, "[filters]", least+"[filters]", 1) + ducts
	c, err := collector.Parse("test", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	h := hours([sense.NumChannels]func(int) float64{
		sense.DP:      func(i int) float64 { return (2.5 + 0.02*math.Sin(float64(i))) * unit.InchWater },
		sense.Flow:    func(i int) float64 { return share * float64(c.Duty.Flow) * (1 + 0.002*math.Sin(float64(3*i))) },
		sense.Running: func(int) float64 { return 1 },
	})
	return Judge(JudgeInput{Collector: c, History: h})
}

const twoDucts = `[[branch]]
name = "zone 1"
diameter = "10 in"
flow = "2100 cfm"
[[branch]]
name = "zone 2"
diameter = "10.5 in"
flow = "2100 cfm"
`

// reasoned finds the reason about ducts.
func reasoned(j *Judgement) (text string, last bool) {
	for i, r := range j.Reasons {
		if text := r.String(); strings.HasPrefix(text, "in the duct ") {
			return text, i == len(j.Reasons)-1
		}
	}
	return "", false
}

// TestDuctsAreTold: the slowest duct at the airflow there is; a reason only where dust surely drops out; neither causes nor standing
// move with it.
func TestDuctsAreTold(t *testing.T) {
	plain := ducted(t, "", "", 1)
	if plain.Ducts != nil {
		t.Fatalf("no branches, yet %+v", plain.Ducts)
	}
	const least = "min_duct_velocity = \"3300 ft/min\"\n"
	fpm := unit.Foot / 60.0
	for _, x := range []struct {
		share       float64
		below, sure bool
		says        string
	}{
		{1.05, false, true, `all above the 3300 ft/min that keeps this dust moving, the slowest is "zone 2" with`},
		{0.96, false, false, `all above the 3300 ft/min that keeps this dust moving, the slowest is "zone 2" with`},
		{0.93, true, false, `dust probably drops out: the slowest is "zone 2" with`},
		{0.75, true, true, `dust drops out: the slowest is "zone 2" with`},
	} {
		j, without := ducted(t, least, twoDucts, x.share), ducted(t, least, "", x.share)
		n := j.Ducts.Now
		want := x.share * 2100 * unit.CubicFoot / 60 / (math.Pi / 4 * math.Pow(10.5*unit.Inch, 2))
		if n == nil || n.Slowest != "zone 2" || n.Below != x.below || n.Sure != x.sure || math.Abs(n.Velocity/want-1) > 0.02 || !(n.Low < n.Velocity && n.Velocity < n.High) {
			t.Errorf("at %g of design: %+v, want %.4g m/s, below %v, sure %v", x.share, n, want, x.below, x.sure)
			continue
		}
		if got := j.Ducts.Says(unit.US); !strings.HasPrefix(got, x.says) || !strings.Contains(got, "; at the end of the filters' life 34") {
			t.Errorf("at %g of design: says %q", x.share, got)
		}
		text, last := reasoned(j)
		if (text != "") != (x.below && x.sure) || text != "" && !last {
			t.Errorf("at %g of design: reason %q, last %v", x.share, text, last)
		}
		if j.Standing != without.Standing || !sameCauses(j.Causes, without.Causes) {
			t.Errorf("at %g of design the ducts change the judgement: %s %v, without %s %v", x.share, j.Standing, j.Causes[:2], without.Standing, without.Causes[:2])
		}
		if math.Abs(*j.Ducts.Least/(3300*fpm)-1) > 1e-3 {
			t.Errorf("least %g m/s", *j.Ducts.Least)
		}
	}
}

func sameCauses(a, b []judge.Probability) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// TestWhatDuctsLack: without branches that is named where the file asks for a velocity; without a least velocity, or an airflow,
// no word of dust dropping out.
func TestWhatDuctsLack(t *testing.T) {
	lacks := func(j *Judgement) bool {
		for _, m := range j.Missing {
			if m.Channel == "branch" {
				return true
			}
		}
		return false
	}
	if j := ducted(t, "min_duct_velocity = \"3300 ft/min\"\n", "", 1); j.Ducts != nil || !lacks(j) {
		t.Errorf("a velocity and no branch: %+v, lacks %v", j.Ducts, j.Missing)
	}
	if j := ducted(t, "", "", 1); lacks(j) {
		t.Errorf("nobody asked for ducts: %v", j.Missing)
	}
	j := ducted(t, "", twoDucts, 0.5)
	if j.Ducts == nil || j.Ducts.Least != nil || j.Ducts.Now.Below || !strings.Contains(j.Ducts.Says(unit.SI), "what keeps this dust moving is not known") {
		t.Errorf("no least velocity: %+v", j.Ducts)
	}
	if text, _ := reasoned(j); text != "" {
		t.Errorf("no least velocity, and yet: %s", text)
	}
	c, err := collector.Parse("test", []byte(trimmable+twoDucts))
	if err != nil {
		t.Fatal(err)
	}
	j = Judge(JudgeInput{Collector: c, History: hours([sense.NumChannels]func(int) float64{sense.Header: func(int) float64 { return 4e5 }})})
	if j.Ducts == nil || j.Ducts.Now != nil || j.Ducts.End == nil || !strings.HasPrefix(j.Ducts.Says(unit.US), "not known now; at the end") {
		t.Errorf("no airflow: %+v", j.Ducts)
	}
	if data, err := json.Marshal(j.Ducts); err != nil || !strings.Contains(string(data), `"now":null`) || strings.Contains(string(data), `"low"`) {
		t.Errorf("as JSON: %s, %v", data, err)
	}
}
