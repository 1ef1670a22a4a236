package sketchtest

import (
	"math"
	"slices"
	"testing"
)

// TestGenerate holds that a seed always makes the same recording, and that its truth fits.
func TestGenerate(t *testing.T) {
	for i, shape := range append([]string{""}, Shapes...) {
		seed, o := uint64(i), Options{SNR: 10, Shape: shape}
		c := Generate(seed, o)
		if again := Generate(seed, o); !slices.Equal(c.Samples, again.Samples) || !slices.Equal(c.Truth, again.Truth) {
			t.Errorf("%q seed %d: a second recording differs", shape, seed)
		}
		due := make([]int, c.Valves)
		for k, at := range c.At {
			due[k%c.Valves]++
			if at < 0 || at > float64(len(c.Samples))/float64(c.Rate) {
				t.Errorf("%q seed %d: a pulse is due at %g s, outside the recording", shape, seed, at)
			}
		}
		good := 0
		for v, s := range c.Truth {
			switch {
			case s == OK:
				good++
			case s == Dead && c.Counts[v] > 0:
				t.Errorf("%q seed %d: a dead valve opens", shape, seed)
			case s == Weak && c.Counts[v] != due[v]:
				t.Errorf("%q seed %d: a weak valve opens %d times of %d", shape, seed, c.Counts[v], due[v])
			}
		}
		if 2*good < c.Valves {
			t.Errorf("%q seed %d: %d of %d valves are good", shape, seed, good, c.Valves)
		}
		for _, v := range c.Samples {
			if v != v || math.Abs(float64(v)) > 1 {
				t.Fatalf("%q seed %d: sample %g", shape, seed, v)
			}
		}
	}
}
