package sense

import (
	"math"
	"testing"
)

// told is a method's answer with the widths given.
func told(share, own, scale float64, assumed bool) FlowMethod {
	return FlowMethod{Share: share, own: own, scale: scale, Sigma: math.Hypot(own, scale), apart: math.Hypot(own, scale), assumed: assumed}
}

func TestWhatTheOthersContradictCountsLess(t *testing.T) {
	for _, c := range []struct {
		name       string
		ms         []FlowMethod
		want, most float64
	}{
		{"all agree", []FlowMethod{told(0.99, 0.01, 0.03, false), told(1.0, 0.01, 0.03, false), told(1.01, 0.01, 0.03, true)}, 1, 0.002},
		{"two of three agree", []FlowMethod{told(0.7, 0.01, 0.07, false), told(0.7, 0.01, 0.07, false), told(1.07, 0.02, 0.06, true)}, 0.7, 0.03},
		{"a slipped damper against a measurement", []FlowMethod{told(0.7, 0.01, 0.03, false), told(1.07, 0.02, 0.05, true)}, 0.7, 0.04},
		{"two measurements, nobody to decide", []FlowMethod{told(0.8, 0.01, 0.05, false), told(1.0, 0.01, 0.05, false)}, 0.9, 0.001},
		{"one alone", []FlowMethod{told(0.8, 0.01, 0.05, true)}, 0.8, 1e-12},
	} {
		got := combine(c.ms)
		if math.Abs(got.share-c.want) > c.most {
			t.Errorf("%s: %.3f, want %.3f", c.name, got.share, c.want)
		}
		sum := 0.0
		for _, m := range c.ms {
			sum += m.Weight
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Errorf("%s: the weights sum to %g", c.name, sum)
		}
	}
}

// Ways that differ in the first days by what their scales allow are one later on: what parts them then has moved.
func TestWaysAreBroughtIntoLine(t *testing.T) {
	c := machine()
	bare := newAirflow(c, &History{})
	h := &History{}
	for i := range 60 {
		hour := Hour{Start: int64(i) * 3600, Running: 1, Rows: 60}
		for _, x := range []struct {
			ch Channel
			v  float64
		}{{Flow, 1.03 * bare.design}, {InletSP, -0.85 * bare.suction}} {
			hour.Has |= 1 << x.ch
			hour.Stats = append(hour.Stats, Stat{N: 60, Mean: float32(x.v)})
		}
		h.Hours = append(h.Hours, hour)
	}
	a := newAirflow(c, h)
	same := reading(map[Channel]float64{Flow: 1.03 * bare.design, InletSP: -0.85 * bare.suction})
	got, before := a.explain(&same), bare.explain(&same)
	if apart := math.Abs(got.methods[0].Share - got.methods[1].Share); apart > 0.01 {
		t.Errorf("in line they still lie %.3f apart: %+v", apart, got.methods)
	}
	near(t, "together", got.share, before.share, 0.01)
	if !(got.own < before.own) {
		t.Errorf("in line the reading is known to %.4f, out of line to %.4f", got.own, before.own)
	}
	// A measurement three times too high is not what its scale allows: it is not brought into line.
	far := machine()
	for i := range h.Hours {
		h.Hours[i].Stats[0].Mean = float32(1.8 * bare.design)
	}
	b := newAirflow(far, h)
	wild := reading(map[Channel]float64{Flow: 1.8 * bare.design, InletSP: -0.85 * bare.suction})
	if ms := b.explain(&wild).methods; math.Abs(ms[0].Share-ms[1].Share) < 0.3 {
		t.Errorf("brought into line by more than their scales: %+v", ms)
	}
}
