package main

import (
	"maps"
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
	f := newValveFitter(names, planted(names, 4000, 1))
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
	f := newValveFitter(names, planted(names, 60, 3))
	f.net = begun(len(f.names()), 5, len(f.causes), 3)
	checkSlope(t, f, f.net)
}

// A lesson is read back as it was written, but for what the valves say together; what is no lesson is an error.
func TestLessonIsReadBack(t *testing.T) {
	w := newWords()
	r := newReader(w)
	l, err := r.lesson("17\tall\tend\tvalve-dead:12\traw/sure=0.5\tvalve 12:left/past=-0.25\tvalve 12:share=1\tvalve 1:share=1\tvalves:valve-dead=3")
	if err != nil {
		t.Fatal(err)
	}
	if l.seed != 17 || l.level != "all" || !l.end || l.truth != "valve-dead" || l.number != 12 {
		t.Errorf("read %+v", l)
	}
	named := func(some []seen) map[string]float32 {
		out := map[string]float32{}
		for _, x := range some {
			out[w.names[x.word]] = x.x
		}
		return out
	}
	if got := named(l.sights); !maps.Equal(got, map[string]float32{"raw/sure": 0.5}) {
		t.Errorf("sights %v", got)
	}
	if len(l.valves) != 2 || l.valves[0].number != 12 || l.valves[1].number != 1 ||
		!maps.Equal(named(l.valves[0].sights), map[string]float32{"left/past": -0.25, "share": 1}) {
		t.Errorf("valves %+v", l.valves)
	}
	for _, text := range []string{"", "17\tall", "17\tall\tend", "17\tall\tend\tnone:x", "1\tall\tnever\tnone:0", "x\tall\tend\tnone:0", "1\tall\tend\tnone:0\traw=x", "1\tall\tend\tnone:0\tvalve a:left=1", "1\tall\tend\tnone:0\traw"} {
		if _, err := r.lesson(text); err == nil {
			t.Errorf("%q was read without an error", text)
		}
	}
}

// Any line is read or refused with an error.
func FuzzLesson(f *testing.F) {
	f.Add("17\tall\tend\tvalve-dead:12\traw/sure=0.5\tvalve 12:left/past=-0.25\tvalves:valve-dead=3")
	f.Add("1\tdP only\tbefore\tnone:0")
	f.Add("1\tall\tend\tnone\traw=")
	f.Fuzz(func(t *testing.T, text string) {
		w := newWords()
		l, err := newReader(w).lesson(text)
		if err != nil {
			return
		}
		for _, s := range l.sights {
			if int(s.word) >= len(w.names) {
				t.Errorf("%q: word %d of %d", text, s.word, len(w.names))
			}
		}
	})
}
