package main

import (
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"dustwright/judge"
)

// planted makes lessons in which the culprit's term lies two higher than the others', for one numbered cause.
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
			l.valves = append(l.valves, valveTerms{v, w.numbers(map[string]float64{"seen": seen, "noise": r.NormFloat64()})})
		}
		out = append(out, l)
	}
	return out
}

// What is fitted to planted lessons finds the culprit in others, and is the log likelihood ratio itself: of two
// normals of width one, four apart, it is 4 x - 8 (Bishop, Pattern Recognition and Machine Learning, 2006, section
// 4.2.1, from memory).
func TestValveFitFindsThePlantedCulprit(t *testing.T) {
	names := newWords()
	f := newValveFitter(names, planted(names, 4000, 1), 0.01)
	w, err := f.fit(vocabulary{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	k := len(f.causes)
	if a, b := w[0], w[slices.Index(f.terms, "seen")*k]; math.Abs(b-4) > 0.6 || math.Abs(a+8) > 1.6 {
		t.Errorf("the log likelihood ratio comes out as %.2f x %+.2f, want 4 x - 8", b, a)
	}
	right, n := 0, 0
	for _, l := range planted(names, 500, 2) {
		if l.number == 0 {
			continue
		}
		n++
		r, best, most := f.row(&l), -1, math.Inf(-1)
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
	names := newWords()
	f := newValveFitter(names, planted(names, 60, 3), 0.5)
	w := make([]float64, len(f.terms)*len(f.causes))
	r := rand.New(rand.NewPCG(4, 1))
	for i := range w {
		w[i] = r.NormFloat64()
	}
	checkSlope(t, f.loss, w)
}

// A lesson is read back as it was written, but for what the valves say together; what is no lesson is an error.
func TestLessonIsReadBack(t *testing.T) {
	w := newWords()
	r := newReader(w)
	l, err := r.lesson("17\tall\tvalve-dead:12\traw/sure+=0.5\tvalve 12:left/past--=0.25\tvalve 12:share?=1\tvalve 1:share?=1\tvalves:valve-dead=3")
	if err != nil {
		t.Fatal(err)
	}
	if l.seed != 17 || l.level != "all" || l.truth != "valve-dead" || l.number != 12 {
		t.Errorf("read %+v", l)
	}
	named := func(terms []term) map[string]float32 {
		out := map[string]float32{}
		for _, x := range terms {
			out[w.names[x.word]] = x.x
		}
		return out
	}
	if got := named(l.terms); !maps.Equal(got, map[string]float32{"raw/sure+": 0.5}) {
		t.Errorf("terms %v", got)
	}
	if len(l.valves) != 2 || l.valves[0].number != 12 || l.valves[1].number != 1 ||
		!maps.Equal(named(l.valves[0].terms), map[string]float32{"left/past--": 0.25, "share?": 1}) {
		t.Errorf("valves %+v", l.valves)
	}
	for _, text := range []string{"", "17\tall", "17\tall\tnone:x", "x\tall\tnone:0", "1\tall\tnone:0\traw+=x", "1\tall\tnone:0\tvalve a:left+=1", "1\tall\tnone:0\traw"} {
		if _, err := r.lesson(text); err == nil {
			t.Errorf("%q was read without an error", text)
		}
	}
}
