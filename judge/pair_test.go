package judge

import (
	"strings"
	"testing"
)

// supposed are None and causes with what each quantity of ten says for them, and their log odds without the quantities that
// each of them explains.
func supposed(of map[Cause][10]float64) (hyps []hypothesis, rest [][]float64) {
	hyps = []hypothesis{{cause: None}}
	for _, e := range Causes()[1:] {
		each, ok := of[e.Name]
		if !ok {
			continue
		}
		h := hypothesis{cause: e.Name, each: each[:], log: -3}
		for _, x := range each {
			h.log += x
		}
		hyps = append(hyps, h)
	}
	for _, first := range hyps {
		var left []float64
		for _, second := range hyps {
			l := second.log
			for k, x := range first.each {
				if x > explains && second.each != nil {
					l -= second.each[k]
				}
			}
			left = append(left, l)
		}
		rest = append(rest, left)
	}
	return hyps, rest
}

func TestTwoCausesThatExplainWhatOneDoesNotAreAPair(t *testing.T) {
	for _, c := range []struct {
		says string
		of   map[Cause][10]float64
		want []Cause
	}{
		{"one explains all", map[Cause][10]float64{ValveDead: {6, 3, 2, 2, 2, 3, 3, 2, 2, 2}, AirflowLow: {-3, 0, 0, 0, 0, 4, 3, 2, 2, 2}}, nil},
		{"each explains its half", map[Cause][10]float64{ValveDead: {6, 4, 3, 3, 3, -2, -2, -2, -2, -2}, AirflowLow: {-2, -2, -2, -2, -2, 4, 3, 3, 3, 3}}, []Cause{ValveDead, AirflowLow}},
		{"one is that nothing is cleaned", map[Cause][10]float64{CleaningOff: {6, 4, 3, 3, 3, -2, -2, -2, -2, -2}, AirflowLow: {-2, -2, -2, -2, -2, 4, 3, 3, 3, 3}}, nil},
		{"both explain the same", map[Cause][10]float64{ValveDead: {6, 4, 3, 3, 2, 0, 0, 0, 0, 0}, AirflowLow: {5, 4, 3, 3, 2, 0, 0, 0, 0, 0}}, nil},
		{"both are of a kind", map[Cause][10]float64{FanWeak: {6, 4, 3, 3, 3, -4, -4, -4, -4, -4}, AirflowLow: {-4, -4, -4, -4, -4, 5, 5, 5, 5, 5}}, nil},
		{"nothing is seen", map[Cause][10]float64{ValveDead: {}, AirflowLow: {}}, nil},
	} {
		hyps, rest := supposed(c.of)
		p := pairOf(hyps, rest, nil)
		switch {
		case p == nil && c.want != nil:
			t.Errorf("%s: no pair", c.says)
		case p != nil && c.want == nil:
			t.Errorf("%s: %+v", c.says, *p)
		case p != nil:
			if p.First.Cause != c.want[0] || p.Second.Cause != c.want[1] || p.P < pairNamed || p.P > 1 {
				t.Errorf("%s: %+v", c.says, *p)
			}
			if says := p.says(); !strings.Contains(says.String(), "one valve never opens, and the damper is too far closed") {
				t.Error(says)
			}
		}
	}
}

func TestKinIsMutual(t *testing.T) {
	for _, a := range Causes()[1:] {
		if !Kin(a.Name, a.Name) {
			t.Errorf("%s with itself would be a pair", a.Name)
		}
		for _, b := range Causes()[1:] {
			if Kin(a.Name, b.Name) != Kin(b.Name, a.Name) {
				t.Errorf("%s and %s", a.Name, b.Name)
			}
		}
	}
}
