package main

import (
	"math"
	"math/rand/v2"
	"testing"

	"dustwright/judge"
)

// planted makes lessons in which the culprit's sight lies two higher than the others', for one numbered cause.
func planted(w *words, n int, seed uint64) []lesson {
	r := rand.New(rand.NewPCG(seed, 1))
	var out []lesson
	for i := range n {
		l := lesson{from: "planted", seed: uint64(i), truth: none}
		if i%2 == 0 {
			l.truth, l.number = string(judge.ValveDead), 1+r.IntN(5)
		}
		for v := 1; v <= 5; v++ {
			seen := r.NormFloat64()
			if v == l.number {
				seen += 4
			}
			l.valves = append(l.valves, valveSeen{v, w.numbers(map[string]float64{"seen": seen, "noise": r.NormFloat64()})})
		}
		out = append(out, l)
	}
	return out
}

// What is fitted to planted lessons finds the culprit in others, and is near the log likelihood ratio itself: of two
// normals of width one, four apart, it is 4 x - 8 (Bishop, Pattern Recognition and Machine Learning, 2006, section
// 4.2.1, from memory).
func TestValveFitFindsThePlantedCulprit(t *testing.T) {
	names := newWords()
	f := newValveFitter(names, planted(names, 4000, 1), nil)
	f.net = begun(len(f.names()), 12, len(f.causes), 1)
	c := toValves
	c.passes, c.fast, c.direct, c.hidden, c.drop = 60, 0.03, 0.01, 0.1, 0
	c.take(f.net, f)
	on := newRun(f.net, nil)
	dead := func(seen float64) float64 { // beside four sound ones
		valves := []valveSeen{{1, names.numbers(map[string]float64{"seen": seen, "noise": 0})}}
		for v, x := range []float64{-1, -0.3, 0.3, 1} {
			valves = append(valves, valveSeen{v + 2, names.numbers(map[string]float64{"seen": x, "noise": 0})})
		}
		return f.odds(on, &valves[0], f.means(valves))[0]
	}
	for _, x := range []float64{1, 2, 3} {
		if got, want := dead(x), 4*x-8; math.Abs(got-want) > 1.2 {
			t.Errorf("the log likelihood ratio at %g is %.2f, want %g", x, got, want)
		}
	}
	right, n := 0, 0
	for _, l := range planted(names, 500, 2) {
		if l.number == 0 {
			continue
		}
		n++
		r, best, most := f.row(&l), -1, math.Inf(-1)
		for v := range r.valves {
			if x := f.odds(on, &r.valves[v], f.means(r.valves))[0]; x > most {
				best, most = v, x
			}
		}
		if best == r.truth {
			right++
		}
	}
	if right < n*95/100 {
		t.Errorf("the culprit was found in %d of %d lessons", right, n)
	}
}

func TestValveFitGradient(t *testing.T) {
	names := newWords()
	f := newValveFitter(names, planted(names, 60, 3), nil)
	f.net = begun(len(f.names()), 5, len(f.causes), 3)
	checkSlope(t, f, f.net)
}
