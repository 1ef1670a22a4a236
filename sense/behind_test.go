package sense

import (
	"testing"
	"time"
)

// A counter that is read before the rest of the row puts every pulse a row late: a dead valve's own row then shows the fall of the
// valve before it. Where the first falls of cleanings come before their pulses, rows are put right; where they do not, nothing is.
func TestPulsesThatComeARowLate(t *testing.T) {
	g := usual()
	g.dead, g.interval, g.feed = 4, 40, 60000
	for _, rows := range []int32{0, 1} {
		s, _ := g.run(96, 30)
		for i := range s.Pulses {
			s.Pulses[i].Row += rows
		}
		for n := len(s.Pulses); n > 0 && int(s.Pulses[n-1].Row) >= s.Len(); n-- {
			s.Pulses = s.Pulses[:n-1]
		}
		s.Col[Pulse] = nil
		r := NewReducer(g.file())
		r.Add(s)
		h := r.History()
		if b := h.Open.Air.Behind; b.Late.carried() != (rows == 1) {
			t.Errorf("%d rows late: %d cleanings prompt, %d late", rows, b.Late.Against, b.Late.For)
		}
		for _, v := range At(h, g.file(), time.Time{}).Valves {
			if missed := float64(v.NoDrop) / float64(v.Alone); v.Alone < 10 || (v.Valve == g.dead) != (missed > 0.9) || v.Valve != g.dead && missed > 0.1 {
				t.Errorf("%d rows late: valve %d shows no drop %d times out of %d", rows, v.Valve, v.NoDrop, v.Alone)
			}
		}
	}
}

// A logger that writes the lowest pressure of the row it closed last shows no fall in the first row of a cleaning and one in the
// row after its last. What is then read in a dead valve's own row is the fall of those before it. Other logs are left alone, and
// so is one whose first valve is dead.
func TestLowestThatTrails(t *testing.T) {
	for _, c := range []struct {
		rows int
		dead int
	}{{0, 4}, {1, 4}, {0, 1}} {
		g := usual()
		g.dead, g.interval, g.feed = c.dead, 25, 60000
		s, _ := g.run(96, 30)
		low := s.Col[HeaderLow]
		copy(low[c.rows:], append([]float64(nil), low[:len(low)-c.rows]...))
		s.Col[Pulse] = nil
		r := NewReducer(g.file())
		r.Add(s)
		h := r.History()
		if b := h.Open.Air.Behind; b.Trailed.carried() != (c.rows == 1) {
			t.Errorf("%d rows late, valve %d dead: %d cleanings begun, %d trailed", c.rows, c.dead, b.Trailed.Against, b.Trailed.For)
		}
		for _, v := range At(h, g.file(), time.Time{}).Valves {
			if missed := float64(v.NoDrop) / float64(v.Alone); v.Alone < 10 || (v.Valve == g.dead) != (missed > 0.9) || v.Valve != g.dead && missed > 0.1 {
				t.Errorf("%d rows late: valve %d shows no drop %d times out of %d", c.rows, v.Valve, v.NoDrop, v.Alone)
			}
		}
	}
}
