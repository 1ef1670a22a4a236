package sense

import (
	"math"
	"testing"
	"time"
)

// Where cleaning goes on without end day after day, the low end of the dP lies as far off what it is just after cleaning on all
// of them: a day is held against the others without that.
func TestEndlessDaysAreAlike(t *testing.T) {
	g := usual()
	g.high, g.low = 210, 100 // never reached
	s, _ := g.run(15*24, 120)
	r := NewReducer(g.file())
	r.Add(s)
	m := At(r.History(), g.file(), time.Time{}).Get(DragAfter)
	if limit := 0.03 * m.Now.Value; !(m.Now.Sigma < limit) || !(m.Spread < limit) || !m.Normal.Known() {
		t.Errorf("now %.0f by %.0f, from day to day %.0f: want less than %.0f", m.Now.Value, m.Now.Sigma, m.Spread, limit)
	}
}

// A day on which the low end stands in is held against days with a dP after each cleaning by all its width, and against few of
// those by little of it.
func TestUnlikeDaysAreHeldApart(t *testing.T) {
	const value, rest = 40000.0, 300.0
	for _, c := range []struct {
		ends   int // days on which cleaning ends, of twenty
		unlike float64
	}{{0, 0}, {5, 0.25 * longShare * value}, {20, longShare * value}} {
		b := baseline{windowFrom: start.Add(20 * 24 * time.Hour)}
		day := func(i int, endless bool) Day {
			d := newDay()
			d.Start = start.Add(time.Duration(i) * 24 * time.Hour)
			d.set(DragAfter, value, rest)
			if endless {
				d.alike = longShare * value
				d.set(DragAfter, value, math.Hypot(rest, d.alike))
			}
			return d
		}
		for i := range 20 {
			b.days = append(b.days, day(i, i >= c.ends))
		}
		last := day(20, true)
		near(t, "width", b.apart(DragAfter, &last), math.Hypot(rest, c.unlike), 0.01)
	}
}
