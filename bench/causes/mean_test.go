package main

import (
	"math"
	"math/rand/v2"
	"testing"

	"dustwright/judge"
)

// randomNet is a net of some units, the odd terms of which another lacks.
func randomNet(units int, seed uint64) *judge.Net {
	terms := []string{"1", "a+", "b-"}
	if seed%2 == 1 {
		terms = append(terms, "c?")
	}
	n := newNetwork(len(terms), units, 3)
	r := rand.New(rand.NewPCG(seed, 1))
	for i := range n.all {
		n.all[i] = r.NormFloat64()
	}
	return n.table([]string{"x", "y", "z"}, terms)
}

// The mean of nets answers with the mean of their log odds, whatever is seen.
func TestMeanOfNets(t *testing.T) {
	nets := []*judge.Net{randomNet(4, 1), randomNet(3, 2), randomNet(5, 3)}
	mean, err := meanOf(nets)
	if err != nil {
		t.Fatal(err)
	}
	if mean, err = judge.ReadNet(mean.String()); err != nil {
		t.Fatal(err)
	}
	for _, seen := range []map[string]float64{{}, {"a+": 0.5}, {"a+": 1, "b-": 0.2, "c?": 1}, {"d+": 1}} {
		want := make([]float64, 3)
		for _, n := range nets {
			for i, o := range n.Odds(seen) {
				want[i] += o / 3
			}
		}
		for i, o := range mean.Odds(seen) {
			if math.Abs(o-want[i]) > 0.05*(1+math.Abs(want[i])) { // weights are written to three figures
				t.Errorf("%v: odds %v, want %v", seen, o, want[i])
			}
		}
	}
	other := randomNet(2, 2)
	other.Outputs = []judge.Cause{"x", "y", "w"}
	if _, err := meanOf([]*judge.Net{nets[0], other}); err == nil {
		t.Error("nets of other outputs have no mean")
	}
}
