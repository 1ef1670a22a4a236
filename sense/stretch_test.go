package sense

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// The width of what a line carries on to x0 is s root(1/n + (x0 - mean)^2 / sum of squares) (standard error of a fitted
// mean in simple linear regression, from memory); for days 0 to 9 and x0 = 12 that is s root(0.1 + 7.5^2/82.5).
func TestStretchCarriesALineOn(t *testing.T) {
	var d daily
	rnd := rand.New(rand.NewPCG(7, 1))
	for i := range 15 {
		d.t, d.s = append(d.t, float64(i)), append(d.s, 2)
		d.x = append(d.x, 100+5*float64(i)+0.1*rnd.NormFloat64())
		d.w = append(d.w, start.Add(time.Duration(i)*24*time.Hour))
	}
	s := d.stretch(10, true)
	near(t, "before", s.Before.Value, 160, 0.01)
	near(t, "now", s.Now.Value, 160, 0.01)
	if want := 2 * math.Sqrt(0.1+7.5*7.5/82.5) / math.Sqrt(thinning(d.x[:10])); math.Abs(s.Before.Sigma-want) > 1e-6 {
		t.Errorf("width %.4f, want %.4f", s.Before.Sigma, want)
	}
	if level := d.stretch(10, false); math.Abs(level.Before.Value-122.5) > 0.5 {
		t.Errorf("without a slope it carries on %.1f, want the mean 122.5", level.Before.Value)
	}
}

// A step smaller than the scatter of single days is sure after weeks: a week of it is told in its size, and calm records
// show none beyond what the widths allow.
func TestStretchesTellASubtleStep(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 5))
	var off, calm float64
	const n = 200
	for range n {
		days := daysOf(func(d int) float64 { return 500 + 12*b2f(d >= 53) + 15*rnd.NormFloat64() }, 60)
		b := baseline{days: days}
		var m Measure
		b.stretches(DPLow, &m, start.Add(53*24*time.Hour))
		off += (m.Week.Now.Value - m.Week.Before.Value) / n
		if m.SinceTurn != m.Week {
			t.Fatalf("a turn a week ago is not the week: %+v, %+v", m.SinceTurn, m.Week)
		}
		b.stretches(DPLow, &m, time.Time{})
		if m.SinceTurn.Now.Known() {
			t.Fatal("days since no turn are known")
		}
		still := baseline{days: daysOf(func(int) float64 { return 500 + 15*rnd.NormFloat64() }, 60)}
		still.stretches(DPLow, &m, time.Time{})
		z := (m.Weeks.Now.Value - m.Weeks.Before.Value) / math.Hypot(m.Weeks.Now.Sigma, m.Weeks.Before.Sigma)
		calm += z * z / n
	}
	near(t, "step", off, 12, 3)
	if calm > 2 || calm < 0.3 {
		t.Errorf("calm records stray %.2f times their width on average", math.Sqrt(calm))
	}
}

func TestStretchesOfAShortRecordAreNotKnown(t *testing.T) {
	for n := range 7 {
		b := baseline{days: daysOf(func(int) float64 { return 500 }, n)}
		var m Measure
		b.stretches(DPLow, &m, start)
		if m.Week.Now.Known() || m.Weeks.Before.Known() || m.SinceTurn.Now.Known() {
			t.Errorf("%d days make a stretch", n)
		}
	}
}

// A supply that is short fills the header slowly: just after cleaning it stands below what it reaches long after. A
// regulator that is turned down does not.
func TestHeaderBehindTellsASlowSupply(t *testing.T) {
	for _, c := range []struct {
		name string
		tau  float64 // of filling [s]
		full float64
		want float64
	}{
		{"quick", 5, 500e3, 0}, {"turned down", 5, 350e3, 0}, {"slow", 120, 500e3, 0.3 * math.Exp(-0.5)},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := &Series{Zone: time.UTC}
			var dp, head, run []float64
			for i := range 4 * 24 * 60 {
				since := float64(i%120) * 60
				s.Time = append(s.Time, start.Add(time.Duration(i)*time.Minute).UnixNano())
				if i%120 == 0 {
					s.Pulses = append(s.Pulses, Firing{Row: int32(i), Valve: uint8(1 + i/120%4)})
				}
				dp, run = append(dp, 500), append(run, 1)
				head = append(head, c.full*(1-0.3*math.Exp(-since/c.tau)))
			}
			s.Col[DP], s.Col[Header], s.Col[Running] = dp, head, run
			r := NewReducer(machine())
			r.Add(s)
			f := At(r.History(), machine(), time.Time{})
			m := f.Get(HeaderBehind)
			if !m.Now.Known() || math.Abs(m.Now.Value-c.want) > 0.02 {
				t.Errorf("the header lacks %.3f just after cleaning, want about %.3f", m.Now.Value, c.want)
			}
		})
	}
}
