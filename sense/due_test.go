package sense

import (
	"testing"
	"time"

	"dustwright/collector"
)

// byClock is a rig that cleans by the clock for as long as its fan runs, and its log without pulses.
func byClock(rows, dead int) (rig, *collector.Collector, *Series) {
	g := usual()
	g.rows, g.dead, g.interval, g.low, g.high, g.shift, g.feed = rows, dead, 120, 0, 0, 9, 3000
	c := g.file()
	c.Cleaning.Mode = collector.Timed
	s, _ := g.run(80, 60)
	s.Pulses, s.Col[Pulse] = nil, nil
	return g, c, s
}

// A valve that is dead from the first reading shows where no pulse is logged: at its turn the header does not fall, though one was
// due by the clock. Nothing else is made of such pulses.
func TestADeadValveShowsByTheClock(t *testing.T) {
	for _, flagged := range []bool{true, false} {
		for _, k := range []struct{ rows, dead int }{{2, 1}, {2, 0}, {6, 4}, {6, 0}} {
			_, c, s := byClock(k.rows, k.dead)
			if !flagged {
				s.Col[Cleaning] = nil
			}
			r := NewReducer(c)
			r.Add(s)
			f := At(r.History(), c, time.Time{})
			dead := 0
			for _, v := range f.Valves {
				switch {
				case v.Alone < 20:
					t.Errorf("%+v: turn %d was due %d times", k, v.Valve, v.Alone)
				case float64(v.NoDrop) > 0.95*float64(v.Alone):
					dead++
				case v.NoDrop > 0:
					t.Errorf("%+v: turn %d: no drop %d times out of %d", k, v.Valve, v.NoDrop, v.Alone)
				}
			}
			if want := min(1, k.dead); !f.Turns || len(f.Valves) != k.rows || dead != want {
				t.Errorf("%+v, flagged %v: turns %v, %d valves, %d of them dead, want %d", k, flagged, f.Turns, len(f.Valves), dead, want)
			}
			if f.Seen[Pulse] || f.Get(PulsesPerHour).Now.Known() || f.Get(PulsesPerCycle).Now.Known() {
				t.Errorf("%+v: pulses are made of what was due", k)
			}
		}
	}
}

// No turn is missed where falls come later than the interval by less than another, or farther apart than one round of the valves;
// and what was due is dropped once pulses are counted.
func TestWhatWasDueIsNotGuessed(t *testing.T) {
	for _, interval := range []float64{150, 700} {
		g, c, _ := byClock(2, 0)
		g.interval = interval
		s, _ := g.run(30, 60)
		s.Pulses, s.Col[Pulse] = nil, nil
		r := NewReducer(c)
		r.Add(s)
		for _, v := range At(r.History(), c, time.Time{}).Valves {
			if v.NoDrop > 0 {
				t.Errorf("every %g s: turn %d missed %d times", interval, v.Valve, v.NoDrop)
			}
		}
	}
	g, c, s := byClock(2, 1)
	r := NewReducer(c)
	r.Add(s)
	g.dead = 0
	later, _ := g.run(8, 60)
	later.Pulses = nil
	for i := range later.Time {
		later.Time[i] += 81 * int64(time.Hour)
	}
	r.Add(later)
	for _, v := range At(r.History(), c, time.Time{}).Valves {
		if v.Alone == 0 || v.NoDrop > 0 {
			t.Errorf("counted: turn %d missed %d times out of %d", v.Valve, v.NoDrop, v.Alone)
		}
	}
}
