package sense

import (
	"testing"
	"time"
)

// Where pulses are counted and no valve is named, a dead one shows as the one turn in six at which the header does not fall. Once
// the log names valves, what turns showed is dropped.
func TestADeadValveShowsByItsTurn(t *testing.T) {
	g := usual()
	g.dead = 4
	s, _ := g.run(36, 2)
	named := s.Pulses
	s.Pulses = nil
	r := NewReducer(g.file())
	r.Add(s)
	f := At(r.History(), g.file(), time.Time{})
	if !f.Turns || len(f.Valves) != 6 {
		t.Fatalf("turns %v, %d valves: want the turns of six", f.Turns, len(f.Valves))
	}
	dead := 0
	for _, v := range f.Valves {
		switch {
		case v.Alone < 10:
			t.Errorf("turn %d was seen %d times", v.Valve, v.Alone)
		case v.NoDrop == v.Alone:
			dead++
		case v.NoDrop > 0:
			t.Errorf("turn %d: no drop %d times out of %d", v.Valve, v.NoDrop, v.Alone)
		}
	}
	if dead != 1 {
		t.Errorf("%d turns never make the header fall, want one", dead)
	}
	later := s.slice(0, s.Len())
	for i := range later.Time {
		later.Time[i] += 36 * int64(time.Hour)
	}
	later.Pulses = named
	r.Add(later)
	f = At(r.History(), g.file(), time.Time{})
	for _, v := range f.Valves {
		if f.Turns || (v.Valve == g.dead) != (v.NoDrop == v.Alone) || v.LastDrop.Before(start.Add(36*time.Hour)) && v.Valve != g.dead {
			t.Errorf("named: turns %v, valve %d has no drop %d times out of %d, the last at %v", f.Turns, v.Valve, v.NoDrop, v.Alone, v.LastDrop)
		}
	}
}
