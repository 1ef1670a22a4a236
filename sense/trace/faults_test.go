package trace

import (
	"math"
	"strings"
	"testing"
)

// marksOf marks every turn of a drawn cycle.
func marksOf(n, turns int) []Mark {
	var out []Mark
	for k := range turns {
		out = append(out, Mark{Row: (k*10 + 4) * 50, Valve: k%n + 1})
	}
	return out
}

// states compares what is said of every valve.
func states(t *testing.T, r Result, want ...State) {
	t.Helper()
	for i, v := range r.Valves {
		if v.State != want[i] || v.Unsure {
			t.Errorf("valve %d: %s (%.2f, unsure %v), want %s: %s", v.Number, v.State, v.Probability, v.Unsure, want[i], v.Why)
		}
	}
}

// bled draws a plain cycle in which something takes share of the pressure a second from a turn on.
func bled(cycles, from int, share float64, shares ...float64) *Trace {
	tr := cycle(cycles, shares...)
	p := tr.Header[0]
	for i, t := range tr.Time {
		turn := int(t / 10)
		if since := math.Mod(t, 10) - 4; since >= 0 && since < 0.1 {
			p -= 25 * shares[turn%len(shares)] * p / 60 / 5
		}
		if turn > from || turn == from && math.Mod(t, 10) > 4.1 {
			p -= share * p * 0.02
		}
		p += (60*psi - p) * 0.02
		tr.Header[i] = p + 300*math.Sin(float64(i*i%977))
	}
	return tr
}

func TestFaults(t *testing.T) {
	for name, c := range map[string]struct {
		trace *Trace
		want  []State
	}{
		"one dead":                       {cycle(3, 1, 1, 0, 1, 1), []State{OK, OK, Dead, OK, OK}},
		"one weak":                       {cycle(3, 1, 1, 1, 0.6, 1), []State{OK, OK, OK, Weak, OK}},
		"one sticks on the way":          {bled(3, 6, 0.4, 1, 1, 1, 1, 1), []State{OK, StuckOpen, OK, OK, OK}},
		"one sticks and one is dead":     {bled(3, 6, 0.4, 1, 1, 1, 0, 1), []State{OK, StuckOpen, OK, Dead, OK}},
		"one is open from the start":     {bled(3, -1, 0.5, 1, 1, 0, 1, 1), []State{OK, OK, StuckOpen, OK, OK}},
		"dead and weak in one cycle":     {cycle(1, 1, 0.5, 1, 0, 1, 1), []State{OK, Weak, OK, Dead, OK, OK}},
		"only one of six fires":          {cycle(3, 0, 0, 1, 0, 0, 0), []State{Dead, Dead, OK, Dead, Dead, Dead}},
		"many turns of weak and dead":    {cycle(24, 1, 0.5, 0), []State{OK, Weak, Dead}},
		"half of the valves are dead":    {cycle(3, 1, 0, 1, 0, 0, 1), []State{OK, Dead, OK, Dead, Dead, OK}},
		"two dead beside each other":     {cycle(3, 1, 0, 0, 1, 1, 1), []State{OK, Dead, Dead, OK, OK, OK}},
		"two weak, each in its own way":  {cycle(3, 0.35, 1, 1, 1, 0.55, 1), []State{Weak, OK, OK, OK, Weak, OK}},
		"all sound, nothing to complain": {cycle(3, 1, 0.97, 1.02, 1), []State{OK, OK, OK, OK}},
	} {
		t.Run(name, func(t *testing.T) {
			n := len(c.want)
			c.trace.Marks = marksOf(n, int(c.trace.Time[len(c.trace.Time)-1]/10))
			for _, marked := range []bool{true, false} {
				if !marked {
					c.trace.Marks = nil
				}
				r, err := Analyse(c.trace, plainSpec(n))
				if err != nil {
					t.Fatal(err)
				}
				states(t, r, c.want...)
			}
		})
	}
}

// TestSilence: where marks tell the turns and nothing moves, all valves are dead, and no figure is made up.
func TestSilence(t *testing.T) {
	tr := cycle(2, 0, 0, 0, 0)
	tr.Marks = marksOf(4, 8)
	r, err := Analyse(tr, plainSpec(4))
	if err != nil {
		t.Fatal(err)
	}
	states(t, r, Dead, Dead, Dead, Dead)
	if r.Whole == nil || !strings.Contains(r.Whole.String(), "no valve fires") || !math.IsNaN(float64(r.Drop)) || !math.IsNaN(float64(r.Refill.Flow)) {
		t.Errorf("whole %v, drop %v, refill %v", r.Whole, r.Drop, r.Refill.Flow)
	}
}

// TestUnevenSteps: readings that come unevenly, with some lost, still show every valve.
func TestUnevenSteps(t *testing.T) {
	tr := cycle(3, 1, 0.5, 1, 0)
	out := &Trace{}
	for i := range tr.Time {
		if h := i * i % 977; h%9 != 0 {
			out.Time = append(out.Time, tr.Time[i]+0.015*float64(h)/977)
			out.Header = append(out.Header, tr.Header[i])
		}
	}
	r, err := Analyse(out, plainSpec(4))
	if err != nil {
		t.Fatal(err)
	}
	states(t, r, OK, Weak, OK, Dead)
}
