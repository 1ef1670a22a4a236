package sense

import (
	"fmt"
	"math"
	"math/rand/v2"
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
			near(t, "running hours", ran(settle(t, s.only(c), g)), tr.running, 0.01)
			f := At(reduced(t, s.only(c), g), g.file(), time.Time{})
			if f.RunningBy != c.String() {
				t.Errorf("running by %q, want %q", f.RunningBy, c)
			}
		})
	}
}

// ran is how long the fan ran in all [h].
func ran(h *History) float64 { return (&part{hours: h.Hours}).running() }

// A gauge whose zero is off reads some of the dP of new filters while the fan stands, or as much below nothing.
func TestGaugeOffItsZeroIsNoRunning(t *testing.T) {
	g := usual()
	g.shift = 10
	for _, off := range []float64{-80, 70} {
		t.Run(fmt.Sprint(off), func(t *testing.T) {
			s, tr := g.run(96, 60)
			for i := range s.Col[DP] {
				s.Col[DP][i] += off
			}
			near(t, "running hours", ran(settle(t, s.only(DP), g)), tr.running, 0.01)
		})
	}
}

// A gauge's zero that drifts ever farther off goes past all that could tell a standing fan at once, and takes the readings of the
// running fan along.
func TestAZeroThatDriftsIsNoRunning(t *testing.T) {
	g := usual()
	g.shift = 10
	s, tr := g.run(24*24, 60)
	for i := range s.Col[DP] {
		s.Col[DP][i] += 140 * float64(i) / float64(s.Len())
	}
	near(t, "running hours", ran(settle(t, s.only(DP), g)), tr.running, 0.01)
}

// Hours that lost most of their rows are of a standing fan where what is left of them says so.
func TestHoursWithFewReadings(t *testing.T) {
	g := usual()
	g.shift = 10
	s, tr := g.run(96, 60)
	for i, at := range s.Time {
		if i > 1440 && at%hourNs > 15*60e9 {
			s.Col[DP][i] = math.NaN()
		}
	}
	near(t, "running hours", ran(settle(t, s.only(DP), g)), tr.running, 0.01)
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
		return ran(r.History().settled(c, math.MaxInt64))
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

// A log that begins while the fan stands, with gauges that show noise about zero and no channel that
// says whether it runs: the noise is no airflow, and a spike in it no running.
func TestLogThatBeginsWithTheFanStanding(t *testing.T) {
	g := usual()
	g.shift = 10
	s, tr := g.run(24*8, 60)
	const stands = 30 * 60
	rnd := rand.New(rand.NewPCG(3, 4))
	noisy := func(on float64, noise float64) []float64 {
		out := make([]float64, stands+s.Len())
		for i := range out {
			out[i] = noise * rnd.NormFloat64()
			if i >= stands {
				out[i] += on * s.Col[Flow][i-stands] / g.design
			}
		}
		out[stands/2] = on / 2
		return out
	}
	late := &Series{}
	for i := range stands + s.Len() {
		late.Time = append(late.Time, start.UnixNano()+int64(i)*int64(time.Minute))
	}
	late.Col[FanCurrent], late.Col[FlowIndex], late.Col[InletSP] = noisy(14, 0.05), noisy(6, 0.02), noisy(-870, 3)
	late.Col[DP] = append(make([]float64, stands), s.Col[DP]...)
	for _, keep := range [][]Channel{{InletSP, DP}, {FanCurrent, InletSP, DP}, {FlowIndex, DP}, {DP}} {
		f := At(reduced(t, late.only(keep...), g), g.file(), time.Time{})
		hours := 0.0
		for _, d := range f.Days {
			hours += d.Hours
		}
		near(t, fmt.Sprint("running hours by ", keep), hours, tr.running, 0.02)
		if x := f.Get(FlowShare).Now.Value; !(x > 0.8 && x < 1.2) {
			t.Errorf("%v: airflow %.2f of design", keep, x)
		}
		if len(f.Changes) > 0 {
			t.Errorf("%v: %+v", keep, f.Changes)
		}
	}
}

// The first row of a morning still says that the fan stands while the dP of the running fan is read: that is no zero of the
// gauge's, nor is the last one while the fan runs down. Rows far from any with the fan running are.
func TestTheZeroIsReadWhileTheFanStands(t *testing.T) {
	for _, c := range []struct {
		name  string
		night bool // rows come at night too
		known bool
	}{{"rows by day only", false, false}, {"rows at night", true, true}} {
		s := &Series{}
		s.Col[DP], s.Col[Running] = []float64{}, []float64{}
		for i := range 10 * 24 * 60 {
			minute := i % (24 * 60)
			on, dp := minute >= 6*60 && minute < 20*60, 0.0
			if !on && !c.night && minute != 6*60-1 {
				continue
			}
			if on || minute == 6*60-1 || minute == 20*60 { // the flag comes a row late, the fan runs down
				dp = 600
			}
			s.Time = append(s.Time, start.UnixNano()+int64(i)*60e9)
			s.Col[DP], s.Col[Running] = append(s.Col[DP], dp), append(s.Col[Running], b2f(on))
		}
		r := NewReducer(usual().file())
		r.Add(s)
		m := At(r.History(), usual().file(), time.Time{}).Get(StoppedDP)
		if m.Now.Known() != c.known || c.known && m.Now.Value > 2 {
			t.Errorf("%s: the gauge's zero is known %v, %.0f Pa; want %v, 0", c.name, m.Now.Known(), m.Now.Value, c.known)
		}
	}
}
