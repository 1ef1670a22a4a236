package trace

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// open draws a plain cycle of five valves, with a bleed of share of the pressure a second between two times; valves
// that are named fall silent while it bleeds.
func open(cycles int, from, to, share float64, silent int) *Trace {
	tr := cycle(cycles, 1, 1, 1, 1, 1)
	p := tr.Header[0]
	for i, t := range tr.Time {
		bleeds := t > from && t < to
		if since := math.Mod(t, 10) - 4; since >= 0 && since < 0.1 && !(bleeds && int(t/10)%5 == silent-1) {
			p -= 25 * p / 60 / 5
		}
		if bleeds {
			p -= share * p * 0.02
		}
		p += (60*psi - p) * 0.02
		tr.Header[i] = p + 300*math.Sin(float64(i*i%977))
	}
	return tr
}

// TestSpells: a valve that sticks once for a while, and one that opens between its turns.
func TestSpells(t *testing.T) {
	for name, c := range map[string]struct {
		trace *Trace
		valve int
		why   string
	}{
		"sticks for two turns":          {open(4, 74.1, 92, 0.4, 0), 3, "then recovers"},
		"opens between turns":           {open(5, 78.5, 1e9, 0.4, 2), 2, "silent from then on"},
		"sticks for some of the wait":   {open(4, 74.1, 80, 0.6, 0), 3, "bleeds"},
		"nothing sticks, others draw a": {open(4, 78.5, 91, 0.3, 0), 0, ""},
	} {
		t.Run(name, func(t *testing.T) {
			for _, marked := range []bool{true, false} {
				if c.trace.Marks = nil; marked {
					c.trace.Marks = marksOf(5, int(c.trace.Time[len(c.trace.Time)-1]/10))
				}
				r, err := Analyse(c.trace, plainSpec(5))
				if err != nil {
					t.Fatal(err)
				}
				for _, v := range r.Valves {
					if (v.State == StuckOpen) != (v.Number == c.valve) || v.Number == c.valve && !strings.Contains(v.Why.String(), c.why) {
						t.Errorf("valve %d is %s (%.2f): %s; want %d stuck open, %q", v.Number, v.State, v.Probability, v.Why, c.valve, c.why)
					}
				}
			}
		})
	}
}

// TestIntervalUntold: without an interval in the file and without marks the pulses tell it.
func TestIntervalUntold(t *testing.T) {
	for _, k := range []float64{0.4, 1.8, 3} {
		tr := cycle(4, 1, 1, 0, 1, 1)
		for i := range tr.Time {
			tr.Time[i] *= k
		}
		sp := plainSpec(5)
		sp.Interval = 0
		r, err := Analyse(tr, sp)
		if k > 2 { // then a reading comes every 60 ms
			sp.OnTime = 0.3
		}
		if err != nil {
			t.Fatalf("every %.0f s: %v", 10*k, err)
		}
		if math.Abs(float64(r.Interval)-10*k) > 0.2*k || r.Valves[2].State != Dead || r.Valves[1].State != OK {
			t.Errorf("every %.0f s: interval %.2f s, valve 2 %s, valve 3 %s", 10*k, r.Interval, r.Valves[1].State, r.Valves[2].State)
		}
	}
}

// TestLongPause: a pause of many intervals does not end the schedule.
func TestLongPause(t *testing.T) {
	tr := cycle(6, 1, 1, 0.5, 1)
	at := 12 * 10 * 50
	for i := at; i < len(tr.Time); i++ {
		tr.Time[i] += 205
	}
	time, press := append([]float64(nil), tr.Time[:at]...), append([]float64(nil), tr.Header[:at]...)
	for i := range 205 * 50 {
		time, press = append(time, tr.Time[at-1]+float64(i+1)/50), append(press, 60*psi+300*math.Sin(float64(i*i%977)))
	}
	r, err := Analyse(&Trace{Time: append(time, tr.Time[at+1:]...), Header: append(press, tr.Header[at+1:]...)}, plainSpec(4))
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []State{OK, OK, Weak, OK} {
		if v := r.Valves[i]; v.State != want || v.Count != 6 {
			t.Errorf("valve %d: %s, %d of %d: %s", i+1, v.State, v.Count, v.Due, v.Why)
		}
	}
}

// TestTwiceInNoise: second openings that no single wait shows are seen over all of a valve's waits.
func TestTwiceInNoise(t *testing.T) {
	tr := cycle(6, 1, 1, 1, 1, 1)
	rng := rand.New(rand.NewPCG(7, 7))
	p := tr.Header[0]
	for i, at := range tr.Time {
		since := math.Mod(at, 10) - 4
		if since >= 0 && since < 0.1 || int(at/10)%5 == 1 && since >= 1.6 && since < 1.7 {
			p -= 25 * p / 60 / 5
		}
		p += (60*psi - p) * 0.02
		tr.Header[i] = p + 12*psi*rng.NormFloat64()
	}
	tr.Marks = marksOf(5, 30)
	r, err := Analyse(tr, plainSpec(5))
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range r.Valves {
		if v.State != OK || (v.Doubles > 4) != (v.Number == 2) || v.Number != 2 && v.Doubles > 0 {
			t.Errorf("valve %d: %s, %d of %d opened twice: %s", v.Number, v.State, v.Doubles, v.Due, v.Why)
		}
	}
}
