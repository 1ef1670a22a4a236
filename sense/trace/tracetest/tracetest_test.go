package tracetest

import "testing"

// families by name; none is tank or sketch, as the seed has it.
var families = [3]string{"", "rough", "works"}

func TestSameSeedSameCase(t *testing.T) {
	for seed := range uint64(12) {
		o := Options{SNR: 10, Family: families[seed%3]}
		a, b := Generate(seed, o), Generate(seed, o)
		if a.CSV() != b.CSV() {
			t.Errorf("seed %d of %q gives two different traces", seed, o.Family)
		}
	}
}

func TestCaseIsWhole(t *testing.T) {
	for seed := range uint64(60) {
		c := Generate(seed, Options{AnySNR: true, Family: families[seed%3]})
		if len(c.Truth) != c.Valves || len(c.Counts) != c.Valves || len(c.Time) != len(c.Header) {
			t.Fatalf("seed %d: lengths do not fit: %d valves, %d states, %d counts", seed, c.Valves, len(c.Truth), len(c.Counts))
		}
		for v, s := range c.Truth {
			if s == Dead && c.Counts[v] != 0 {
				t.Errorf("seed %d: dead valve %d opened %d times", seed, v+1, c.Counts[v])
			}
		}
		for _, m := range c.Marks {
			if m.Row < 0 || m.Row >= len(c.Time) || m.Valve < 1 || m.Valve > c.Valves {
				t.Errorf("seed %d: mark %+v outside the trace", seed, m)
			}
		}
	}
}
