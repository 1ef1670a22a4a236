package sense

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"
)

// A suction that falls off for some hours of the day and comes back is held against what a usual day is sure to, not against
// the scatter that the fault itself brings; a machine that has always scattered so stays as unsure as it is.
func TestWhatComesAndGoesDoesNotHideItself(t *testing.T) {
	for _, c := range []struct {
		name  string
		from  int // first day on which the hatch swings
		q     Quantity
		least float64 // width of now
		most  float64
	}{
		{"suction, of late", 58, InletSPLevel, 0, 0.03 * 900},
		{"suction, ever since", 0, InletSPLevel, 0.05 * 900, 900},
		{"duct, of late", 58, DuctBeyond, 0, 0.02},
	} {
		hours := fanHours(60, 1, nil)
		for i := range hours {
			if h := &hours[i]; i/24 >= c.from && i%2 == 0 {
				h.Stats[3].Mean *= 0.4 // the suction
			}
		}
		h := &History{Hours: hours, First: hours[0].Start * 1e9, Last: (hours[len(hours)-1].Start + 3600) * 1e9}
		m := At(h, usual().file(), unixTime(h.Last/1e9)).Get(c.q)
		if s := m.Now.Sigma; !m.Now.Known() || !(s >= c.least && s <= c.most) {
			t.Errorf("%s: now %.3f give or take %.3f, want a width of %g to %g", c.name, m.Now.Value, s, c.least, c.most)
		}
		if s := m.Fresh.Sigma; !m.Fresh.Known() || !(s >= c.least && s <= 3*c.most) {
			t.Errorf("%s: over the last hours %.3f give or take %.3f, want a width of %g to %g", c.name, m.Fresh.Value, s, c.least, 3*c.most)
		}
	}
}

// Filters blind from the 20th day on, and somebody opens the damper three days later: what does not go with the damper is
// still held against what it was before. A high set point that was moved begins every normal anew.
func TestDamperOpenedForBlindedFilters(t *testing.T) {
	const days, blind, moved = 40, 20, 23
	for _, c := range []struct {
		kind string
		q    Quantity
		want float64
	}{
		{DamperMove, DragAfter, 10000},
		{DamperMove, DropPerPulse, 10000},
		{DamperMove, AfterfilterLevel, 10000},
		{DamperMove, Stop, 20000}, // as read: it goes with the airflow
		{HighMoved, DragAfter, 20000},
		{HighMoved, Stop, 20000},
	} {
		f := &Features{Since: start, Lives: []Life{{}}, Changes: []Change{{Kind: c.kind, At: start.Add((moved*24 - 12) * time.Hour), Confidence: 0.99}}}
		for i := range days {
			d := newDay()
			d.Start, d.Hours = start.Add(time.Duration(i)*24*time.Hour), 24
			x := 10000 * (1 + 0.01*math.Sin(5*float64(i)))
			if i >= blind {
				x *= 2
			}
			d.set(c.q, x, 50)
			f.Days = append(f.Days, d)
		}
		var m Measure
		b := baselineOf(f, start.Add((days-1)*24*time.Hour).Unix(), 0)
		b.measure(c.q, &m)
		near(t, c.kind+", normal of "+c.q.String(), m.Normal.Value, c.want, 0.02)
	}
}

// Two weeks of readings that scatter tell no slope: the normal stays where they lie, and is known as well as that.
func TestASlopeThatIsNotToldIsNotCarriedOn(t *testing.T) {
	for seed := range uint64(20) {
		rnd := rand.New(rand.NewPCG(seed, 8))
		days := daysOf(func(int) float64 { return 550 + 200*(rnd.Float64()-0.5) }, 21)
		b := baseline{days: days, windowFrom: days[14].Start}
		m := Measure{}
		b.measure(DPLow, &m)
		if m.Onset.Found {
			continue
		}
		if off := math.Abs(m.Normal.Value - 550); off > 60 || m.Normal.Sigma > 60 {
			t.Errorf("seed %d: normal %.0f by %.0f, want 550 within what the scatter leaves", seed, m.Normal.Value, m.Normal.Sigma)
		}
	}
}

// Coarse readings that all look alike say little of how filters age in the months after them.
func TestCoarseReadingsSayLittleOfAge(t *testing.T) {
	days := daysOf(func(int) float64 { return 500 }, 90)
	var m Measure
	b := baseline{days: days}
	b.normal(&m, series(days, DPLow, 0).cut(0, 20), 89, filterPace)
	if m.Normal.Sigma < 20 {
		t.Errorf("a normal from twenty days in spring is known within %.0f in summer", m.Normal.Sigma)
	}
}

// A slope that the days show is carried on; few days far back leave what has aged since open.
func TestANormalAgesWithItsDays(t *testing.T) {
	rnd := rand.New(rand.NewPCG(2, 8))
	days := daysOf(func(d int) float64 { return 500 + 2*float64(d) + 3*rnd.NormFloat64() }, 60)
	var m, few Measure
	(&baseline{days: days, windowFrom: days[55].Start}).measure(DPLow, &m)
	near(t, "normal", m.Normal.Value, 618, 0.02)
	b := baseline{days: days}
	b.normal(&few, series(days, DPLow, 0).cut(0, 5), 59, filterPace)
	if far := 59 - 2.0; few.Normal.Sigma < 0.9*filterPace*500*far {
		t.Errorf("five days %v days ago leave a width of %.0f", far, few.Normal.Sigma)
	}
}

// What steps amid a short record was no aging, however well a slope goes through all of it: weather that turned damp, filters
// that blinded within a day. A slope of the usual pace still is.
func TestNothingAgesByLeaps(t *testing.T) {
	for _, q := range [...]Quantity{HumidityLevel, DragAfter, DPLow} {
		for seed := range uint64(10) {
			for _, n := range [...]int{17, 21, 30} {
				rnd := rand.New(rand.NewPCG(seed, uint64(n)))
				drift := 0.0
				leap := func(d int) float64 {
					drift = 0.6*drift + 0.05*rnd.NormFloat64()
					return 400 * (1 + 0.8*b2f(d >= 10) + drift)
				}
				d := seriesOf(q, leap, n)
				var m Measure
				b := baseline{days: d, windowFrom: d[n-1].Start}
				b.measure(q, &m)
				if at := start.Add(10 * 24 * time.Hour); !m.Onset.Found || m.Onset.At.Sub(at).Abs() > 24*time.Hour || math.Abs(m.Normal.Value-400) > 60 {
					t.Errorf("%v, seed %d, %d days: onset %v at %v, normal %.0f; want a step at %v from 400", q, seed, n, m.Onset.Found, m.Onset.At, m.Normal.Value, at)
				}
			}
			rnd := rand.New(rand.NewPCG(seed, 5))
			d := seriesOf(q, func(d int) float64 { return 400 * (1 + q.pace()*float64(d) + 0.02*rnd.NormFloat64()) }, 60)
			var m Measure
			b := baseline{days: d, windowFrom: d[59].Start}
			if b.measure(q, &m); m.Onset.Found {
				t.Errorf("%v, seed %d: what ages as usual shows an onset, score %.1f", q, seed, m.Onset.Score)
			}
		}
	}
}

// seriesOf is daysOf for another quantity.
func seriesOf(q Quantity, x func(d int) float64, n int) []Day {
	days := daysOf(x, n)
	for i := range days {
		days[i].set(q, days[i].Value[DPLow], days[i].Sigma[DPLow])
	}
	return days
}
