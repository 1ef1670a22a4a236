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
			x, sigma := 1+level+0.003*rnd.NormFloat64(), 0.003
			if c.q == AfterfilterLevel {
				x, sigma = 260*x, 260*sigma
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

// An after-filter that gains as much every day, and doubles so in three months, is where it should be: its log would bend, and
// be taken for one that gains less of late.
func TestAnAfterFilterFillsEvenly(t *testing.T) {
	hours := fanHours(90, 7, nil)
	for i := range hours {
		h := &hours[i]
		air := float64(h.Stats[1].Mean) / 2
		h.Has = 1<<DP | 1<<Flow | 1<<AfterfilterDP
		h.Stats = []Stat{h.Stats[0], {N: 60, Mean: float32(200 * (1 + float64(i)/24/90) * air)}, h.Stats[1]}
	}
	h := &History{Hours: hours, First: hours[0].Start * 1e9, Last: (hours[len(hours)-1].Start + 3600) * 1e9}
	m := At(h, usual().file(), unixTime(h.Last/1e9)).Get(AfterBeyond)
	if m.Onset.Found || !(math.Abs(m.Now.Value/m.Normal.Value-1) < 0.02) || !(m.Now.Sigma < 0.02*m.Now.Value) {
		t.Errorf("now %.3f give or take %.3f, normal %.3f, onset %v", m.Now.Value, m.Now.Sigma, m.Normal.Value, m.Onset)
	}
}
