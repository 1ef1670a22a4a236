package trace

import (
	"errors"
	"math"
	"strings"
	"testing"

	"dustwright/sense/trace/tracetest"
)

// cycle draws a plain trace: each valve takes its share of 25 psi, the supply puts it back in a second.
func cycle(cycles int, shares ...float64) *Trace {
	tr := &Trace{}
	n := len(shares)
	p := 60.0
	for i := range cycles * n * 10 * 50 {
		t := float64(i) / 50
		turn := int(t/10) % n
		if since := math.Mod(t, 10) - 4; since >= 0 && since < 0.1 {
			p -= 25 * shares[turn] * p / 60 / 5
		}
		p += (60 - p) * 0.02
		tr.Time = append(tr.Time, t)
		tr.Header = append(tr.Header, (p+0.05*math.Sin(float64(i*i%977)))*psi)
	}
	return tr
}

func plainSpec(n int) Spec { return Spec{Valves: n, Interval: 10, Set: 60 * psi} }

func TestPlainCycle(t *testing.T) {
	r, err := Analyse(cycle(3, 1, 1, 0.5, 1, 0, 1), plainSpec(6))
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []State{OK, OK, Weak, OK, Dead, OK} {
		v := r.Valves[i]
		if v.State != want || v.Unsure || v.Due != 3 || v.Count != map[bool]int{true: 0, false: 3}[want == Dead] {
			t.Errorf("valve %d: %s, unsure %v, %d of %d: %s", i+1, v.State, v.Unsure, v.Count, v.Due, v.Why)
		}
	}
	if !r.Relative || r.Marked || math.Abs(float64(r.Interval)-10) > 0.05 {
		t.Errorf("relative %v, marked %v, interval %v", r.Relative, r.Marked, r.Interval)
	}
	if got := float64(r.Valves[2].Drop / r.Valves[0].Drop); math.Abs(got-0.5) > 0.03 {
		t.Errorf("valve 3 takes %.2f of valve 1, want 0.50", got)
	}
}

// TestNumbers: marks and firing order decide who is who.
func TestNumbers(t *testing.T) {
	order := []int{1, 4, 2, 5, 3, 6}
	tr := cycle(2, 1, 1, 1, 0, 1, 1) // the fourth turn is silent
	sp := plainSpec(6)
	sp.Order = order
	mark := func(turns ...int) {
		tr.Marks = nil
		for _, k := range turns {
			tr.Marks = append(tr.Marks, Mark{Row: (k*10 + 4) * 50, Valve: order[k%6]})
		}
	}
	dead := func(t *testing.T, want int, relative bool) {
		t.Helper()
		r, err := Analyse(tr, sp)
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range r.Valves {
			if (v.State == Dead) != (v.Number == want) {
				t.Errorf("valve %d is %s, the dead one is %d", v.Number, v.State, want)
			}
		}
		if r.Relative != relative {
			t.Errorf("relative %v, want %v", r.Relative, relative)
		}
	}
	t.Run("by the file's order", func(t *testing.T) { dead(t, 5, true) })
	t.Run("by every mark", func(t *testing.T) { mark(0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11); dead(t, 5, false) })
	t.Run("by one mark", func(t *testing.T) { mark(7); dead(t, 5, false) })
	t.Run("marks know the order better than the file", func(t *testing.T) {
		sp.Order = nil
		mark(0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11)
		dead(t, 5, false)
	})
	t.Run("a one at every pulse is no number", func(t *testing.T) {
		mark(0, 1, 2, 4, 5, 6, 7, 8, 10, 11)
		for i := range tr.Marks {
			tr.Marks[i].Valve = 1
		}
		sp.Order = nil
		dead(t, 4, true)
	})
	t.Run("without a number of valves", func(t *testing.T) {
		mark(0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11)
		sp = Spec{Interval: 10}
		dead(t, 5, false)
	})
}

// TestPause: a controller that waits between cycles does not make the valves after it miss.
func TestPause(t *testing.T) {
	tr := cycle(3, 1, 1, 0.5, 1)
	at := 40 * 50 // after the first cycle
	wait := 2500
	var time, press []float64
	for i := range len(tr.Time) + wait {
		time = append(time, float64(i)/50)
		switch {
		case i < at:
			press = append(press, tr.Header[i])
		case i < at+wait:
			press = append(press, 60*psi+300*math.Sin(float64(i*i%977)))
		default:
			press = append(press, tr.Header[i-wait])
		}
	}
	r, err := Analyse(&Trace{Time: time, Header: press}, plainSpec(4))
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []State{OK, OK, Weak, OK} {
		if v := r.Valves[i]; v.State != want || v.Count != 3 {
			t.Errorf("valve %d: %s, %d of %d: %s", i+1, v.State, v.Count, v.Due, v.Why)
		}
	}
	if text := notes(r); !strings.Contains(text, "paused") {
		t.Errorf("no word of the pause in %q", text)
	}
}

func notes(r Result) string {
	var out []string
	for _, n := range r.Notes {
		out = append(out, n.String())
	}
	return strings.Join(out, "; ")
}

// TestRefusals: what cannot be answered is refused by kind, in one sentence.
func TestRefusals(t *testing.T) {
	good := cycle(2, 1, 1, 1)
	with := func(change func(tr *Trace, sp *Spec)) (*Trace, Spec) {
		tr := &Trace{Time: append([]float64(nil), good.Time...), Header: append([]float64(nil), good.Header...), Source: "t.csv"}
		sp := plainSpec(3)
		change(tr, &sp)
		return tr, sp
	}
	for name, c := range map[string]struct {
		change func(tr *Trace, sp *Spec)
		want   error
	}{
		"too few readings":  {func(tr *Trace, _ *Spec) { tr.Time, tr.Header = tr.Time[:10], tr.Header[:10] }, ErrTooShort},
		"less than a cycle": {func(tr *Trace, _ *Spec) { tr.Time, tr.Header = tr.Time[:800], tr.Header[:800] }, ErrTooShort},
		"too slow": {func(tr *Trace, _ *Spec) {
			for i := range tr.Time {
				tr.Time[i] *= 10
			}
		}, ErrTooSlow},
		"a hole": {func(tr *Trace, _ *Spec) {
			for i := range tr.Time {
				tr.Time[i] += 1000 * math.Floor(tr.Time[i]/30)
			}
		}, ErrGaps},
		"flat": {func(tr *Trace, _ *Spec) {
			for i := range tr.Header {
				tr.Header[i] = 400e3
			}
		}, ErrFlat},
		"no air": {func(tr *Trace, _ *Spec) {
			for i := range tr.Header {
				tr.Header[i] *= 0.01
			}
		}, ErrNoAir},
		"no pulse": {func(tr *Trace, _ *Spec) {
			for i := range tr.Header {
				tr.Header[i] = 400e3 + 500*math.Sin(float64(i*i%977))
			}
		}, ErrNoPulse},
		"no number": {func(_ *Trace, sp *Spec) { sp.Valves = 0 }, ErrValves},
		"all missing": {func(tr *Trace, _ *Spec) {
			for i := range tr.Header {
				tr.Header[i] = math.NaN()
			}
		}, ErrTooShort},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Analyse(with(c.change))
			if !errors.Is(err, c.want) || strings.Contains(err.Error(), "\n") || !strings.HasPrefix(err.Error(), "t.csv: ") {
				t.Errorf("%v, want %v", err, c.want)
			}
		})
	}
	if _, err := Analyse(with(func(*Trace, *Spec) {})); err != nil {
		t.Errorf("the good trace: %v", err)
	}
}

// TestStandsStill: when the clock starts changes no verdict, and probabilities are probabilities.
func TestStandsStill(t *testing.T) {
	for seed := range uint64(8) {
		c := tracetest.Generate(7000+seed, tracetest.Options{SNR: 25, Valves: 2 + int(seed%3)})
		a, errA := Analyse(traceOf(c), specOf(c))
		moved := traceOf(c)
		moved.Time = append([]float64(nil), c.Time...)
		for i := range moved.Time {
			moved.Time[i] += 86400 - c.Time[0]
		}
		b, errB := Analyse(moved, specOf(c))
		if (errA == nil) != (errB == nil) {
			t.Fatalf("seed %d: %v; a day later: %v", seed, errA, errB)
		}
		for i := range a.Valves {
			x, y := a.Valves[i], b.Valves[i]
			if x.State != y.State && !x.Unsure && !y.Unsure {
				t.Errorf("seed %d valve %d: %s, a day later: %s", seed, x.Number, x.State, y.State)
			}
			if !(x.Probability > 0 && x.Probability <= 1+1e-9) || x.Count < 0 || x.Due < 0 {
				t.Errorf("seed %d: valve %+v", seed, x)
			}
		}
	}
}
