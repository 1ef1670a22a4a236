package sense

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// byHand is a log of one dP reading a day.
func byHand(n int, dp func(d int) float64) *Series {
	s := &Series{Source: "hand"}
	s.Col[DP] = make([]float64, n)
	for d := range n {
		s.Time = append(s.Time, start.Add(time.Duration(24*d+10)*time.Hour).UnixNano())
		s.Col[DP][d] = dp(d)
	}
	return s
}

// A step of a third in daily readings that scatter by a tenth is found, and what is now is the median of so many days.
func TestOneReadingADayShowsAStep(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	s := byHand(60, func(d int) float64 { return math.Round((600+60*rnd.NormFloat64()-200*b2f(d >= 48))/25) * 25 })
	f := At(reduced(t, s, usual()), usual().file(), time.Time{})
	m := f.Get(DPRaw)
	near(t, "now", m.Now.Value, 400, 0.15)
	near(t, "normal", m.Normal.Value, 600, 0.05)
	if at := start.Add(48 * 24 * time.Hour); !m.Onset.Found || m.Onset.At.Sub(at).Abs() > 72*time.Hour {
		t.Errorf("onset %v at %v, want %v", m.Onset.Found, m.Onset.At, at)
	}
	if m.Days < 5 || m.Days > 8 || m.Now.Sigma > 60 {
		t.Errorf("now %.0f by %.0f from %d days", m.Now.Value, m.Now.Sigma, m.Days)
	}
}

// Readings to a coarse step repeat each other now and then: their share is a mean over days, not all or nothing.
func TestRepeatedReadingsADayAreAShare(t *testing.T) {
	for _, c := range []struct {
		every  int // each reading but one in every repeats the one before
		normal float64
	}{{3, 2.0 / 3}, {2, 0.5}} {
		s := byHand(61, func(d int) float64 { return 600 + 25*float64(d/c.every%2) + 200*b2f(d > 53) })
		m := At(reduced(t, s, usual()), usual().file(), time.Time{}).Get(FrozenShare)
		near(t, "normal", m.Normal.Value, c.normal, 0.15)
		if math.Abs(m.Now.Value-c.normal) > 0.2 || !(m.Now.Sigma > 0.05 && m.Now.Sigma < 0.2) {
			t.Errorf("now %.2f by %.2f, want about %.2f", m.Now.Value, m.Now.Sigma, c.normal)
		}
	}
}

// A gauge that reads nothing day after day is read with the fan running: the readings count, and its normal is what it read
// before.
func TestNoDPByHandIsNotAFanThatStands(t *testing.T) {
	s := byHand(40, func(d int) float64 { return (600 + 25*float64(d%3)) * b2f(d < 34) })
	f := At(reduced(t, s, usual()), usual().file(), time.Time{})
	m := f.Get(DPRaw)
	if !m.Now.Known() || m.Now.Value > 10 || f.Get(StoppedDP).Now.Known() {
		t.Errorf("now %.0f, with the fan standing %.0f: want nothing, and not known", m.Now.Value, f.Get(StoppedDP).Now.Value)
	}
	near(t, "normal", m.Normal.Value, 625, 0.05)
}

// A saw-tooth that dwells low is met high now and then: the spread of single readings reaches there.
func TestReadingsThatDwellLowStillReachHigh(t *testing.T) {
	s := byHand(48, func(d int) float64 { return 700 + 15*float64(d%3) + 300*b2f(d%8 == 3) })
	m := At(reduced(t, s, usual()), usual().file(), time.Time{}).Get(DPRaw)
	if m.Spread < 100 || m.Normal.Sigma > 25 {
		t.Errorf("spread %.0f, normal %.0f by %.0f: want 300 within three spreads, and the middle known", m.Spread, m.Normal.Value, m.Normal.Sigma)
	}
}

// Readings to a tenth of an inch that go to the next tenth and back are no step, and scatter at least as rounding makes them.
func TestRoundedReadingsMakeNoOnset(t *testing.T) {
	at := map[int]bool{0: true, 2: true, 5: true, 6: true, 30: true}
	d := series(daysOf(func(d int) float64 { return 550 - 25*b2f(at[d]) }, 75), DPLow, 0)
	for i := range d.s {
		d.s[i] = math.NaN()
	}
	if o := onset(d, false); o.Found {
		t.Errorf("%s at %v, size %.0f, score %.1f", o.Kind, o.At, o.Size, o.Score)
	}
	var m Measure
	(&baseline{}).normal(&m, d, math.NaN(), 0)
	near(t, "spread", m.Spread, 25/math.Sqrt(12), 0.01)
}
