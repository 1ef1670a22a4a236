package sense

import (
	"testing"
	"time"
)

// TestGaugeMoved: new filters take the scatter of the dP down with the dP; a line that is pinched takes the scatter alone, or more of it.
func TestGaugeMoved(t *testing.T) {
	start := time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)
	for _, x := range []struct {
		name         string
		level, noise float64 // shares left after the fifth day
		moved        bool
	}{
		{"nothing", 1, 1, false},
		{"new filters, scatter with the dP", 1.0 / 6, 1.0 / 6, false},
		{"new filters, scatter of the gauge's own", 1.0 / 6, 1, false},
		{"pinched, the dP as before", 1, 0.2, true},
		{"pinched, half the dP", 0.5, 0.1, true},
		{"less scatter while the dP rises", 2, 0.3, true},
	} {
		var days []Day
		for i := range 10 {
			d := newDay()
			d.Start = start.AddDate(0, 0, i)
			level, noise := 1.0, 1.0
			if i > 5 {
				level, noise = x.level, x.noise
			}
			d.set(DPRaw, 900*level, 10)
			d.set(ReadingNoise, 12*noise, 1)
			days = append(days, d)
		}
		if got := gaugeMoved(days, start.AddDate(0, 0, 5).Add(12*time.Hour)); got != x.moved {
			t.Errorf("%s: moved %v", x.name, got)
		}
	}
}
