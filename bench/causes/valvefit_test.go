package main

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"dustwright/judge"
)

// planted makes lessons in which the culprit's term lies two higher than the others', for one numbered cause.
func planted(n int, seed uint64) []lesson {
	r := rand.New(rand.NewPCG(seed, 1))
	var out []lesson
	for i := range n {
		l := lesson{from: "planted", seed: uint64(i), truth: none, terms: map[string]float64{}, valves: map[int]map[string]float64{}}
		for v := 1; v <= 5; v++ {
			l.valves[v] = map[string]float64{"seen": r.NormFloat64(), "noise": r.NormFloat64()}
		}
		if i%2 == 0 {
			l.truth, l.number = string(judge.ValveDead), 1+r.IntN(5)
			l.valves[l.number]["seen"] += 4
		}
		out = append(out, l)
	}
	return out
}

// What is fitted to planted lessons finds the culprit in others, and is the log likelihood ratio itself: of two
// normals of width one, four apart, it is 4 x - 8 (Bishop, Pattern Recognition and Machine Learning, 2006, section
// 4.2.1, from memory).
func TestValveFitFindsThePlantedCulprit(t *testing.T) {
	f := newValveFitter(planted(4000, 1), 0.01)
	w, err := f.fit()
	if err != nil {
		t.Fatal(err)
	}
	k := len(f.causes)
	if a, b := w[0], w[f.index["seen"]*k]; math.Abs(b-4) > 0.6 || math.Abs(a+8) > 1.6 {
		t.Errorf("the log likelihood ratio comes out as %.2f x %+.2f, want 4 x - 8", b, a)
	}
	right, n := 0, 0
	for _, l := range planted(500, 2) {
		if l.number == 0 {
			continue
		}
		n++
		r, best, most := f.row(l), -1, math.Inf(-1)
		for v := range r.valves {
			out := make([]float64, k)
			if f.odds(w, &r.valves[v], out); out[0] > most {
				best, most = v, out[0]
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
	f := newValveFitter(planted(60, 3), 0.5)
	w := make([]float64, len(f.terms)*len(f.causes))
	r := rand.New(rand.NewPCG(4, 1))
	for i := range w {
		w[i] = r.NormFloat64()
	}
	grad := make([]float64, len(w))
	f.loss(grad, w)
	for i := range w {
		const h = 1e-5
		was := w[i]
		w[i] = was + h
		up := f.loss(nil, w)
		w[i] = was - h
		down := f.loss(nil, w)
		w[i] = was
		if d := (up - down) / (2 * h); math.Abs(d-grad[i]) > 1e-6*math.Max(1, math.Abs(d)) {
			t.Errorf("slope %d: %g, by differences %g", i, grad[i], d)
		}
	}
}

// A term of a single valve is read back as it was written; what is no number is an error.
func TestLessonReadsTermsOfSingleValves(t *testing.T) {
	l := lesson{terms: map[string]float64{}, valves: map[int]map[string]float64{}}
	for _, text := range []string{"raw/sure+=0.5", "valve 12:left/past--=0.25", "valve 12:share?=1"} {
		if err := l.read(text); err != nil {
			t.Fatal(err)
		}
	}
	if l.terms["raw/sure+"] != 0.5 || l.valves[12]["left/past--"] != 0.25 || l.valves[12]["share?"] != 1 || len(l.terms) != 1 {
		t.Errorf("read %+v", l)
	}
	for _, text := range []string{"raw+=x", "valve a:left+=1", "raw"} {
		if err := l.read(text); err == nil || strings.Contains(err.Error(), "panic") {
			t.Errorf("%q was read without an error", text)
		}
	}
}
