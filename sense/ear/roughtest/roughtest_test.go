package roughtest

import (
	"math"
	"slices"
	"testing"
)

// TestMake holds that a seed always makes the same recording, that its truth fits it, and that all states come up.
func TestMake(t *testing.T) {
	states := map[string]int{}
	for _, seed := range []uint64{25, 43} { // short ones
		c := Make(seed, 15)
		if len(c.Truth) != c.Valves || len(c.Counts) != c.Valves || len(c.Due) < c.Valves {
			t.Fatalf("seed %d: %d valves, %d states, %d counts, %d turns", seed, c.Valves, len(c.Truth), len(c.Counts), len(c.Due))
		}
		for i, s := range c.Truth {
			states[s]++
			if s == Dead && c.Counts[i] > 0 || s == OK && c.Counts[i] == 0 {
				t.Errorf("seed %d: valve %d is %s and opens %d times", seed, i+1, s, c.Counts[i])
			}
		}
		peak := 0.0
		for _, v := range c.Samples {
			peak = max(peak, math.Abs(float64(v)))
		}
		if !(peak > 0.05 && peak <= 1) {
			t.Errorf("seed %d: the loudest sample is %v", seed, peak)
		}
		if last := c.Due[len(c.Due)-1]; last*float64(c.Rate) > float64(len(c.Samples)) {
			t.Errorf("seed %d: a turn at %.1f s, after the end", seed, last)
		}
	}
	if a, b := Make(43, 0), Make(43, 0); !slices.Equal(a.Samples, b.Samples) {
		t.Error("one seed made two recordings")
	}
	for _, s := range []string{OK, Weak, Dead, Stuck} {
		if states[s] == 0 {
			t.Errorf("no valve is %s", s)
		}
	}
}
