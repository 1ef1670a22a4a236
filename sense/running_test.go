package sense

import (
	"math"
	"testing"
	"time"
)

// Ten hours a day, shown by one channel alone each time.
func TestRunningIsInferred(t *testing.T) {
	g := usual()
	g.shift = 10
	s, tr := g.run(96, 60)
	on := s.Col[Running]
	scaled := func(k float64) []float64 {
		out := make([]float64, len(on))
		for i, x := range on {
			out[i] = k * x
		}
		return out
	}
	s.Col[FanCurrent], s.Col[FanPower], s.Col[InletSP] = scaled(14), scaled(9000), scaled(-870)
	for _, c := range []Channel{Running, FanPower, FanCurrent, InletSP, Flow, DP} {
		t.Run(c.String(), func(t *testing.T) {
			h := settle(t, s.only(c), g)
			sum := 0.0
			for i := range h.Hours {
				sum += float64(h.Hours[i].Running)
			}
			near(t, "running hours", sum, tr.running, 0.01)
			f := At(reduced(t, s.only(c), g), g.file(), time.Time{})
			if f.RunningBy != c.String() {
				t.Errorf("running by %q, want %q", f.RunningBy, c)
			}
		})
	}
}

// Gaps are not running time, a hand log's days are counted by the collector's week, and with nothing
// to go by the fan is taken to run.
func TestRunningTimeOfOddLogs(t *testing.T) {
	g := usual()
	c := g.file()
	c.Duty.RunPerWeek = 40 * 3600
	at := func(hours ...float64) *Series {
		s := &Series{}
		for _, h := range hours {
			s.Time = append(s.Time, start.UnixNano()+int64(h*3600e9))
			s.Col[DP] = append(s.Col[DP], 700)
		}
		return s
	}
	hours := func(s *Series) float64 {
		r := NewReducer(c)
		r.Add(s)
		sum := 0.0
		for _, h := range r.History().settled(c, math.MaxInt64).Hours {
			sum += float64(h.Running)
		}
		return sum
	}
	var daily []float64
	for d := range 29 {
		daily = append(daily, 24*float64(d)+9)
	}
	near(t, "four weeks by hand at 40 hours a week", hours(at(daily...)), 160, 0.01)
	near(t, "half-hourly rows with a gap of ten hours", hours(at(0, .5, 1, 1.5, 2, 12, 12.5, 13)), 3.5, 0.15)
	s := &Series{Time: at(0, 1, 2, 3).Time}
	s.Col[Humidity] = []float64{.4, .4, .5, .5}
	near(t, "nothing to go by", hours(s), 3, 0.35)
}

// A fan that stands while rows come is told from a log that ends.
func TestIdle(t *testing.T) {
	g := usual()
	g.shift = 10
	s, _ := g.run(72, 60)
	f := At(reduced(t, s, g), g.file(), time.Time{})
	if f.Idle != 14*time.Hour || f.IdleBefore != 14*time.Hour {
		t.Errorf("idle %v, before %v, want 14 h each", f.Idle, f.IdleBefore)
	}
}
