package sense

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// What an after-filter gains goes with the hours that ran: a night shift that begins makes it grow faster by the day, and it
// stands where the hours before it let expect; one that suddenly gains five times as much an hour does not.
func TestAnAfterFilterGrowsByTheHour(t *testing.T) {
	for _, c := range []struct {
		name  string
		q     Quantity
		leak  float64 // how much more it gains an hour from day 60 on
		hours float64 // a day from day 40 on, 10 before
		found bool
	}{
		{"one shift", AfterfilterLevel, 1, 10, false},
		{"a night shift begins", AfterfilterLevel, 1, 20, false},
		{"and the dust gets through", AfterfilterLevel, 5, 20, true},
		{"beyond what the airflow makes it", AfterBeyond, 1, 20, false},
		{"beyond that, and through", AfterBeyond, 5, 20, true},
	} {
		rnd := rand.New(rand.NewPCG(4, 6))
		level := 0.0
		days := daysOf(func(int) float64 { return 1 }, 70)
		for d := range days {
			if d >= 40 {
				days[d].Hours = c.hours
			}
			gain := 1.0
			if d >= 60 {
				gain = c.leak
			}
			level += gain * days[d].Hours * 0.0003
			x, sigma := level+0.003*rnd.NormFloat64(), 0.003
			if c.q == AfterfilterLevel {
				x, sigma = 260*(1+x), 260*sigma
			}
			days[d].set(c.q, x, sigma)
		}
		var m Measure
		b := baseline{days: days, windowFrom: days[len(days)-1].Start}
		b.measure(c.q, &m)
		if m.Onset.Found != c.found {
			t.Errorf("%s: onset %v at %v by %.3g, want %v", c.name, m.Onset.Found, m.Onset.At, m.Onset.Size, c.found)
		}
		if at := days[60].Start; c.found && m.Onset.At.Sub(at).Abs() > 3*24*time.Hour {
			t.Errorf("%s: since %v, want %v", c.name, m.Onset.At, at)
		}
		now := days[len(days)-1].Value[c.q]
		if c.q == AfterfilterLevel && !c.found && math.Abs(now-m.Normal.Value) > 4 {
			t.Errorf("%s: normal %.0f where it stands at %.0f", c.name, m.Normal.Value, now)
		}
	}
}
