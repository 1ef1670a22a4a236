package judge

import (
	"math"
	"testing"

	"dustwright/collector"
	"dustwright/sense"
)

// A machine that has just cleaned for long moves along its fan's curve: that explains its airflow. The same
// airflow at the usual dP is not explained.
func TestCleaningExplainsTheAirflow(t *testing.T) {
	seen := func(raw, flow, suction float64) map[key]float64 {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		in.Features.FlowBy = []sense.FlowMethod{{Name: "flow"}}
		set := func(q sense.Quantity, now, normal float64) {
			m := in.Features.Get(q)
			m.Now, m.Normal = sense.Estimate{Value: now, Sigma: 0.001, N: 9}, sense.Estimate{Value: normal, Sigma: 0.001, N: 9}
		}
		set(sense.DPRaw, raw, 800)
		set(sense.FlowShare, flow, 1)
		set(sense.InletSPLevel, suction, -900)
		out := map[key]float64{}
		for _, s := range observe(in, nil) {
			out[s.key] = s.x
		}
		return out
	}
	half := math.Pow(2, 0.2)
	cleaned, opened := seen(400, half, -900*half*half), seen(800, half, -900*half*half)
	for _, k := range []key{"flow/beyond", "inlet/beyond"} {
		if x, ok := cleaned[k]; !ok || math.Abs(x) > 0.15 {
			t.Errorf("%s after a long cleaning: %.2f, want about 0", k, x)
		}
		if x := opened[k]; x < 0.8 {
			t.Errorf("%s at the usual dP: %.2f, want well above 0", k, x)
		}
	}
	if x := cleaned["flow"]; x < 0.8 {
		t.Errorf("the airflow itself: %.2f, want well above 0", x)
	}
}

// Nobody reads 2.9e+02 pulses.
func TestPlainNumbers(t *testing.T) {
	for v, want := range map[float64]string{290.4: "290", 99.6: "100", 99.4: "99", 2.14: "2.1", 0.083: "0.083", -1234: "-1234"} {
		if got := plain(v); got != want {
			t.Errorf("%g is written %q, want %q", v, got, want)
		}
	}
}

// A header that stands lower and of which cleaning takes the same share of the absolute pressure is set low; where cleaning takes
// more, or the header stands as ever, nothing is said.
func TestALowHeaderThatKeepsItsShare(t *testing.T) {
	for _, c := range []struct {
		name         string
		level, share float64
		least, most  float64
	}{{"set low", 300e3, 0.151, 0.7, 1}, {"blown off", 300e3, 0.25, 0, 0.001}, {"as ever", 500e3, 0.15, 0, 0.001}, {"not known", 300e3, math.NaN(), math.NaN(), math.NaN()}} {
		in := Input{Collector: collector.New(), Features: valveSeen(1)}
		set := func(q sense.Quantity, now, normal, sigma float64) {
			m := in.Features.Get(q)
			m.Now, m.Normal = sense.Estimate{Value: now, Sigma: sigma, N: 9}, sense.Estimate{Value: normal, Sigma: sigma, N: 9}
		}
		set(sense.HeaderLevel, c.level, 500e3, 1e3)
		set(sense.HeaderEmptied, c.share, 0.15, 0.001)
		x, ok := Sights(in)["emptied/kept"]
		if ok != (c.least == c.least) || ok && !(x >= c.least && x <= c.most) {
			t.Errorf("%s: %.2f (seen: %v), want %.2f to %.2f", c.name, x, ok, c.least, c.most)
		}
	}
}
