package main

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"dustwright/bench/causes/made"
	"dustwright/bench/causes/sketch"
	"dustwright/sense"
)

// The same trial is remounted the same way, another one otherwise; what happened stays, the trial it was made from too, and
// what comes out can be a log.
func TestRemounted(t *testing.T) {
	whole := func(of *trial) *made.Trial {
		return &made.Trial{Collector: of.collector, Series: of.series, Truth: of.truth, Number: of.number, Severity: of.severity,
			Old: of.old, Story: of.story, At: of.at}
	}
	changed := false
	for seed := uint64(1); seed < 20; seed += 2 {
		from, err := simulated(sketch.Draw)(t.Context(), seed)
		if err != nil {
			t.Fatal(err)
		}
		kept := *from
		kept.series = clone(from.series)
		a, b := remounted(from), remounted(from)
		if err := whole(from).Differs(whole(&kept)); err != nil {
			t.Errorf("seed %d: the trial it was made from: %v", seed, err)
		}
		if err := whole(a).Differs(whole(b)); err != nil {
			t.Errorf("seed %d remounted twice: %v", seed, err)
		}
		changed = changed || whole(a).Differs(whole(from)) != nil
		if a.truth != from.truth || a.number != from.number || a.old != from.old || !a.at.Equal(from.at) {
			t.Errorf("seed %d: the truth is another", seed)
		}
		if err := whole(a).Check(map[sense.Channel][2]float64{sense.Humidity: {0, 1}, sense.BinLevel: {0, 1}, sense.Header: {0, 2e6}}); err != nil {
			t.Errorf("seed %d: %v", seed, err)
		}
		if !slices.IsSorted(a.series.Time) {
			t.Errorf("seed %d: the rows are out of order", seed)
		}
	}
	if !changed {
		t.Error("nothing was remounted")
	}
}

// What one row shows of several.
func TestMerged(t *testing.T) {
	nan := math.NaN()
	for name, c := range map[string]struct {
		ch   sense.Channel
		rows []float64
		mean bool
		want float64
	}{
		"mean":             {sense.DP, []float64{1, 2, 6}, true, 3},
		"last":             {sense.DP, []float64{1, 2, 6}, false, 6},
		"mean of known":    {sense.DP, []float64{1, nan, 6}, true, 3.5},
		"last not known":   {sense.DP, []float64{1, 2, nan}, false, nan},
		"none known":       {sense.Pulse, []float64{nan, nan}, true, nan},
		"pulses":           {sense.Pulse, []float64{1, 0, 2}, true, 3},
		"lowest":           {sense.HeaderLow, []float64{5, 3, 4}, true, 3},
		"share of running": {sense.Running, []float64{1, 0, 0, 0}, true, 0.25},
		"cleaned mostly":   {sense.Cleaning, []float64{1, 1, 0}, true, 1},
		"dust taken away":  {sense.BinMass, []float64{nan, 40, nan}, false, 40},
	} {
		if got := merged(c.ch, c.rows, c.mean); got != c.want && !(math.IsNaN(got) && math.IsNaN(c.want)) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}

// Fewer rows keep every pulse of theirs in the row that ends after it.
func TestReloggedKeepsPulses(t *testing.T) {
	s := &sense.Series{}
	for i := range 100 {
		s.Time = append(s.Time, int64(i)*10e9)
		s.Col[sense.Pulse] = append(s.Col[sense.Pulse], 1)
		s.Pulses = append(s.Pulses, sense.Firing{Row: int32(i), Valve: uint8(1 + i%5)})
	}
	for seed := range uint64(20) {
		out := relogged(rand.New(rand.NewPCG(seed, 1)), s)
		per := make([]float64, out.Len())
		for _, f := range out.Pulses {
			per[f.Row]++
		}
		if !slices.Equal(per, out.Col[sense.Pulse]) {
			t.Errorf("seed %d: %v pulses by number, %v by valve", seed, out.Col[sense.Pulse], per)
		}
	}
}

// What an instrument does to a reading.
func TestDial(t *testing.T) {
	nan := math.NaN()
	for name, c := range map[string]struct {
		dial     dial
		in, want []float64
	}{
		"true":      {dial{gain: 1}, []float64{3, nan, 5}, []float64{3, nan, 5}},
		"gain":      {dial{gain: 2, offset: 1}, []float64{3, 5}, []float64{7, 11}},
		"steps":     {dial{gain: 1, step: 2}, []float64{3.1, 4.9}, []float64{4, 4}},
		"dead band": {dial{gain: 1, hold: 1}, []float64{3, 3.5, 4.5, 4}, []float64{3, 3, 4.5, 4.5}},
		"lag":       {dial{gain: 1, lag: 0.5}, []float64{4, 8, 8}, []float64{4, 6, 7}},
		"lost":      {dial{gain: 1, loss: 1}, []float64{4, 8}, []float64{nan, nan}},
	} {
		got := slices.Clone(c.in)
		c.dial.read(rand.New(rand.NewPCG(1, 1)), got)
		if !slices.EqualFunc(got, c.want, func(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}
