package sense

import (
	"fmt"
	"math"
	"testing"
	"time"
)

// A machine that is fed more dust cleans more often. Rows a quarter of an hour apart scatter the more for it, and must
// not hide the very teeth that tell.
func TestMoreDustIsMoreTeethBetweenRows(t *testing.T) {
	const days = 8
	for _, c := range []struct{ step, more, least float64 }{{900, 1, 0.95}, {900, 1.8, 0.65}, {600, 1.8, 0.95}} {
		t.Run(fmt.Sprintf("%v times every %v s", c.more, c.step), func(t *testing.T) {
			g := usual()
			quiet, _ := g.run(24*days, c.step)
			g.feed *= c.more
			busy, truth := g.run(24*days, c.step)
			s := quiet.only(DP)
			for i, at := range busy.Time {
				s.Time = append(s.Time, at+24*days*hourNs)
				s.Col[DP] = append(s.Col[DP], busy.Col[DP][i])
			}
			n, from := 0, start.UnixNano()+24*days*hourNs
			var rises []float64
			for _, cy := range settle(t, s, g).Cycles {
				if cy.By == BySawtooth && cy.Start >= from {
					n++
					rises = append(rises, float64(cy.Rise))
				}
			}
			if want := float64(len(truth.starts)); math.Abs(float64(n)-want) > (1-c.least)*want {
				t.Errorf("%d cycles found, truth %v", n, want)
			}
			near(t, "rise", medianOf(rises), 418*c.more, 0.03)
		})
	}
}

// A machine whose teeth have only ever been a few rows long has shown no other fall to go by than its set points.
func TestTeethOfFewRowsFromTheFirstReading(t *testing.T) {
	g := usual()
	g.feed *= 1.8
	s, truth := g.run(24*8, 900)
	n := 0
	for _, cy := range settle(t, s.only(DP), g).Cycles {
		if cy.By == BySawtooth {
			n++
		}
	}
	if want := float64(len(truth.starts)); math.Abs(float64(n)-want) > 0.35*want {
		t.Errorf("%d cycles found, truth %v", n, want)
	}
}

// What takes pass after pass over the valves falls hardly faster than it rises, and is a cleaning all the same: from set
// point to set point. A fall of the airflow as slow that ends elsewhere is none.
func TestSlowCleaningIsSeen(t *testing.T) {
	g := usual()
	g.rows, g.off, g.feed = 12, 0.2, 70000
	s, truth := g.run(24*4, 60)
	cycles := settle(t, s.only(DP), g).Cycles
	if want := len(truth.starts); want < 20 || len(cycles) < want-2 || len(cycles) > want {
		t.Errorf("%d cycles found, truth %d", len(cycles), want)
	}
	for _, c := range cycles {
		near(t, "stop", float64(c.After[0]), g.low, 0.05)
	}
	g.low = 300 // the file's; the machine still stops at 500
	if n := len(settle(t, s.only(DP), g).Cycles); n > 0 {
		t.Errorf("%d slow falls that end far off the set point taken for cleanings", n)
	}
}

// Slow cleanings are told by going from set point to set point; a zero that went off moves both.
func TestSlowCleaningByAGaugeOffItsZero(t *testing.T) {
	g := usual()
	g.rows, g.off, g.feed, g.shift = 12, 0.2, 70000, 14
	s, truth := g.run(24*12, 60)
	for i := range s.Col[DP] {
		s.Col[DP][i] -= 160 * math.Min(1, float64(i)/float64(s.Len()/2))
	}
	n, late := 0, 0
	half := start.Add(6 * 24 * time.Hour).UnixNano()
	for _, c := range settle(t, s.only(DP), g).Cycles {
		if c.By == BySawtooth && c.Start > half {
			n++
		}
	}
	for _, at := range truth.starts {
		if at > half {
			late++
		}
	}
	if late < 30 || float64(n) < 0.85*float64(late) {
		t.Errorf("%d cycles found, truth %d", n, late)
	}
}

// Where the set points lie close together a cleaning takes less off the dP than what else would be taken for the airflow's.
func TestCleaningBetweenCloseSetPoints(t *testing.T) {
	g := usual()
	g.rows, g.off, g.feed, g.low, g.high = 12, 0.2, 20000, 905, 1000
	s, truth := g.run(24*6, 60)
	n := len(settle(t, s.only(DP), g).Cycles)
	if want := len(truth.starts); want < 20 || float64(n) < 0.85*float64(want) || n > want {
		t.Errorf("%d cycles found, truth %d", n, want)
	}
}
