package plant

import (
	"math"
	"testing"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

// An after-filter that takes more than a new one leaves less for the damper: it has to stand further open, and the judgement
// and what is planned by it reckon with it as it is read.
func TestTheTrimKnowsTheAfterFilter(t *testing.T) {
	c, err := collector.Parse("test", []byte(trimmable+"[afterfilter]\nclean_dp = \"1.0 in.w.g.\"\nmax_dp = \"2.5 in.w.g.\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	open := func(after float64) float64 {
		of := [sense.NumChannels]func(int) float64{
			sense.DP:      func(i int) float64 { return (3 + 0.02*math.Sin(float64(i))) * unit.InchWater },
			sense.Running: func(int) float64 { return 1 },
		}
		if after > 0 {
			of[sense.AfterfilterDP] = func(i int) float64 { return (after + 0.01*math.Cos(float64(i))) * unit.InchWater }
		}
		j := Judge(JudgeInput{Collector: c, History: hours(of)})
		if j.Trim == nil {
			t.Fatal("no trim")
		}
		if r := j.TrimRequest(); (after > 0) == math.IsNaN(float64(r.AfterFilterDP)) {
			t.Errorf("an after-filter read at %g in. w.g. is asked for with %v", after, r.AfterFilterDP)
		}
		return j.Trim.Open
	}
	none, fresh, worn := open(0), open(1), open(2.2)
	if math.Abs(none-fresh) > 0.03 || worn < fresh+0.05 {
		t.Errorf("the damper goes to %.3f with an after-filter nobody reads, %.3f with a new one, %.3f with a worn one", none, fresh, worn)
	}
	if r := (*Judgement)(nil).TrimRequest(); !math.IsNaN(float64(r.AfterFilterDP)) {
		t.Errorf("nothing is judged, and the after-filter is asked for with %v", r.AfterFilterDP)
	}
}
