package life

import "testing"

func TestTooFewIsCounted(t *testing.T) {
	for n, want := range map[int]string{0: "too little of this life is on record to see a trend", 1: "one reading of this life is too few to see a trend", 3: "3 readings of this life are too few to see a trend"} {
		if got := tooFew(n); got != want {
			t.Errorf("%d: %q, want %q", n, got, want)
		}
	}
}
