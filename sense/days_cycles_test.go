package sense

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"dustwright/collector"
)

// The widths of the share of time spent cleaning and of the pulses an hour are those of simulated cleanings and pauses that
// scatter by 0.7 of their length (gamma distributed, as the sum of two exponential times), and a collector that never stops
// cleaning is sure of both.
func TestWhatComesInBurstsIsAsSureAsItsCycles(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	length := func(mean float64) float64 { return mean / 2 * (r.ExpFloat64() + r.ExpFloat64()) }
	const beat = 0.002 // of the day
	for _, c := range []struct{ share, cycles float64 }{{0.05, 20}, {0.3, 10}, {0.5, 40}, {0.8, 10}, {0.95, 20}} {
		var share, pulses Moments
		for range 4000 { // a day of 1, beginning somewhere
			on, n, at := 0.0, 0.0, -3/c.cycles
			for at < 1 {
				a, b := length(c.share/c.cycles), length((1-c.share)/c.cycles)
				from, to := max(0, at), max(0, min(1, at+a))
				if to > from {
					on += to - from
					n += math.Floor((to-at)/beat) - math.Floor((from-at)/beat)
				}
				at += a + b
			}
			share.add(on)
			pulses.add(n)
		}
		sd := func(m Moments) float64 {
			_, se := m.Mean()
			return se * math.Sqrt(float64(m.N))
		}
		usual, _ := pulses.Mean()
		rel := burst(c.share, c.cycles)
		if got, want := c.share*rel, sd(share); got < 0.8*want || got > 1.25*want {
			t.Errorf("cleaning %g of the time in %g cycles: width %.4f, simulated %.4f", c.share, c.cycles, got, want)
		}
		if got, want := pulseWidth(usual, c.share, c.cycles), sd(pulses); got < 0.8*want || got > 1.25*want {
			t.Errorf("%.0f pulses in %g cycles: width %.2f, simulated %.2f", usual, c.cycles, got, want)
		}
	}
	if got := burst(1, 0); got != 0 {
		t.Errorf("cleaning without end: width %g", got)
	}
}

// A day on which the fan stood and the air was shut off says nothing of what the header is held at.
func TestHeaderOfADayWithoutRunning(t *testing.T) {
	g := usual()
	g.shift = 9
	s, _ := g.run(12*24, 60)
	from := start.Add(10 * 24 * time.Hour).UnixNano()
	for i, at := range s.Time {
		if at >= from {
			s.Col[Running][i], s.Col[Cleaning][i], s.Col[DP][i], s.Col[Flow][i] = 0, 0, 0, 0
			s.Col[Header][i], s.Col[HeaderLow][i] = 2000, 1500
		}
	}
	s.Pulses = slices.DeleteFunc(s.Pulses, func(f Firing) bool { return s.Time[f.Row] >= from })
	r := NewReducer(g.file())
	r.Add(s)
	f := At(r.History(), g.file(), time.Time{})
	for _, d := range f.Days {
		if x := d.Value[HeaderLevel]; d.Hours == 0 && x == x {
			t.Errorf("%s: the fan stood all day, the header is held at %.0f Pa", d.Start.Format("2 January"), x)
		}
	}
	if m := f.Get(HeaderLevel); math.Abs(m.Now.Value/g.set-1) > 0.02 || m.Onset.Found {
		t.Errorf("header held at %.0f Pa: now %+v, onset %+v", g.set, m.Now, m.Onset)
	}
}

// A number of pulses told by how long a cleaning took is a whole number of rows, however many cleanings there were.
func TestPulsesByLengthAreAsCoarseAsRows(t *testing.T) {
	g := usual()
	g.rows, g.interval, g.off = 20, 20, 0.4
	s, _ := g.run(24*6, 120)
	for _, c := range []struct {
		what        string
		s           *Series
		least, most float64
	}{{"dP alone", s.only(DP), 120 / 20 / math.Sqrt(12), 4}, {"pulses", s, 0, 1.6}} {
		m := At(reduced(t, c.s, g), g.file(), time.Time{}).Get(PulsesPerCycle)
		if !m.Now.Known() || m.Now.Sigma < c.least || m.Now.Sigma > c.most || m.Spread < c.least {
			t.Errorf("%s: %.1f ± %.2f pulses a cycle, spread %.2f, want a width of %.1f to %.1f", c.what, m.Now.Value, m.Now.Sigma, m.Spread, c.least, c.most)
		}
	}
}

// What is cleaned by the clock or without end may show no saw-tooth: a few falls in weeks are not its cleaning, and none
// lately is no sign that it stopped. As many in the last week are something new.
func TestFewFallsAreNoCleaningByTheClock(t *testing.T) {
	g := usual()
	teeth, _ := g.run(6, 60)
	long := func(from time.Time) *Series {
		s, r := &Series{}, rand.New(rand.NewPCG(1, 4))
		for i := range 20 * 1440 {
			s.Time = append(s.Time, from.UnixNano()+int64(i)*60e9)
			s.Col[DP] = append(s.Col[DP], 700+g.noise*r.NormFloat64())
		}
		return s
	}
	after, before := long(start.Add(6*time.Hour)), long(start.Add(-20*24*time.Hour))
	for _, c := range []struct {
		mode  collector.Mode
		parts []*Series
		known bool
	}{
		{collector.OnDemand, []*Series{teeth.only(DP), after}, true}, {collector.Timed, []*Series{teeth.only(DP), after}, false},
		{collector.Continuous, []*Series{teeth.only(DP), after}, false}, {collector.Timed, []*Series{before, teeth.only(DP)}, true},
	} {
		file := g.file()
		file.Cleaning.Mode = c.mode
		r := NewReducer(file)
		for _, s := range c.parts {
			r.Add(s)
		}
		f := At(r.History(), file, time.Time{})
		for _, q := range []Quantity{CyclesPerHour, CleaningShare} {
			if got := f.Get(q).Now.Known(); got != c.known {
				t.Errorf("%v, %v: known %v, want %v", c.mode, q, got, c.known)
			}
		}
	}
}

// Three hours without a cleaning are told to half a cleaning, not to a quarter.
func TestNoCleaningInFewHours(t *testing.T) {
	d := newDay()
	d.Hours = 3
	(&summariser{cyc: ByPulse}).rates(&d, part{})
	if x, sigma := d.Value[CyclesPerHour], d.Sigma[CyclesPerHour]; x != 0 || !(sigma > 0.15) {
		t.Errorf("%.3f cleanings an hour, give or take %.3f", x, sigma)
	}
}

// Where every cleaning falls between two rows of the dP, how long it took is not seen: the share of the time spent cleaning is
// known within what rows so far apart leave open, and is not nothing.
func TestCleaningBetweenTwoRowsIsNotNoCleaning(t *testing.T) {
	g := usual()
	s, tr := g.run(12*24, 300)
	r := NewReducer(g.file())
	r.Add(s.only(DP))
	want := float64(tr.pulses) * g.interval / 3600 / tr.running
	f := At(r.History(), g.file(), time.Time{})
	for _, d := range f.Days {
		if x, w := d.Value[CleaningShare], d.Sigma[CleaningShare]; !(x > 0) || math.Abs(x-want) > 3*w || w > 3*want {
			t.Errorf("%s: it cleaned %.4f of the time, known as %.4f +- %.4f", d.Start.Format("2 January"), want, x, w)
		}
	}
}

// A log of cleaning by the clock that lacks a row now and then shows no cleanings that begin and end: none is said to take
// nothing off the dP, and the low end of the dP stands for what is left after it.
func TestCleaningWithoutEndHasNoBeginning(t *testing.T) {
	for _, every := range []int{40, 90, 3} {
		g := usual()
		s, _ := g.run(8*24, 60)
		for i := range s.Time {
			s.Col[Cleaning][i] = b2f(i%every != 0)
		}
		r := NewReducer(g.file())
		r.Add(s.only(DP, Cleaning, Running, Flow))
		f := At(r.History(), g.file(), time.Time{})
		for _, q := range []Quantity{Trigger, Stop, Recovered, DropPerCycle} {
			if known := f.Get(q).Now.Known(); known != (every == 3) {
				t.Errorf("a row in %d without cleaning: %s known %v", every, q, known)
			}
		}
		if !f.Get(DragAfter).Now.Known() {
			t.Errorf("a row in %d without cleaning: nothing is known of the dP after it", every)
		}
	}
}
