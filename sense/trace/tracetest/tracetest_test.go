package tracetest

import "testing"

func TestSameSeedSameCase(t *testing.T) {
	for seed := range uint64(20) {
		a, b := Generate(seed, Options{SNR: 10}), Generate(seed, Options{SNR: 10})
		if a.CSV() != b.CSV() {
			t.Errorf("seed %d gives two different traces", seed)
		}
	}
}

func TestCaseIsWhole(t *testing.T) {
	for seed := range uint64(60) {
		c := Generate(seed, Options{AnySNR: true})
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
