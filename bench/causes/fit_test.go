package main

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"dustwright/judge"
)

// A table that was written reads back, with what circumstances add where they add anything, and one of other numbers of
// columns does not.
func TestTableReadsBack(t *testing.T) {
	causes, terms := []string{"fan-weak", "cake-damp"}, []string{"1", "raw+", "low-"}
	w := []float64{0.25, -1.5, 3, 0, -1e-2, 12}
	text := writeTable("a test", causes, terms, append(w, 0, 0, 0, -2, 0.001, -0.002))
	got, weights, err := judge.ReadWeights(text)
	if err != nil {
		t.Fatal(err)
	}
	added := judge.With("raw+", judge.Circumstances()[0])
	if !slices.Equal(got, []judge.Cause{"fan-weak", "cake-damp"}) || len(weights) != len(terms)+1 ||
		!slices.Equal(weights["raw+"], []float64{3, 0}) || !slices.Equal(weights["low-"], []float64{-1e-2, 12}) || !slices.Equal(weights[added], []float64{0, -2}) {
		t.Errorf("%v, %v", got, weights)
	}
	if _, _, err := judge.ReadWeights(text + "top+,1\n"); err == nil {
		t.Error("a line that lacks a weight is taken")
	}
}

// The slope of the loss is that by differences, for lessons under different circumstances.
func TestFitGradient(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 1))
	names := newWords()
	var all []lesson
	for i := range 90 {
		l := lesson{from: "a", truth: none, culprits: names.numbers(map[string]float64{judge.Culprits + "valve-dead": r.NormFloat64(), judge.Culprits + "valve-dead+": r.Float64()})}
		shown := map[string]float64{"raw+": r.Float64()}
		for _, mark := range []string{"noise?", "header?", "amps?", "emission?"} {
			if r.IntN(2) == 0 {
				shown[mark] = 1
			}
		}
		if i%3 == 0 {
			l.truth = []string{"fan-weak", "valve-dead"}[i%2]
		}
		l.terms = names.numbers(shown)
		all = append(all, l, l) // a term must be met often enough
	}
	f := newFitter(names, all, 0.5)
	f.added = 0.2
	w := f.start(vocabulary{}, nil, len(f.causes))
	w = append(w, make([]float64, f.size()*numCircumstances)...)
	for i := range w {
		w[i] = 0.3 * r.NormFloat64()
	}
	checkSlope(t, f.loss, w)
}

// checkSlope holds the slope of a loss against that by differences.
func checkSlope(t *testing.T, loss func(grad, w []float64) float64, w []float64) {
	t.Helper()
	grad := make([]float64, len(w))
	loss(grad, w)
	for i := range w {
		const h = 1e-5
		was := w[i]
		w[i] = was + h
		up := loss(nil, w)
		w[i] = was - h
		down := loss(nil, w)
		w[i] = was
		if d := (up - down) / (2 * h); math.Abs(d-grad[i]) > 1e-6*math.Max(1, math.Abs(d)) {
			t.Errorf("slope %d: %g, by differences %g", i, grad[i], d)
		}
	}
}

// A fit finds which of two terms tells a cause from sound lessons, and leaves the other near nothing.
func TestFitFindsWhatTells(t *testing.T) {
	var all []lesson
	w := newWords()
	for i := range 200 {
		l, raw := lesson{from: "a", level: "all", truth: none}, 0.1
		if i%2 == 0 {
			l.truth, raw = "fan-weak", 0.9
		}
		l.terms = w.numbers(map[string]float64{"low-": float64(i%7) / 7, "raw+": raw})
		all = append(all, l)
	}
	f := newFitter(w, all, 1)
	found, err := f.fit(vocabulary{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	at := func(term string) float64 {
		return found[slices.Index(f.terms, term)*len(f.causes)+slices.Index(f.causes, "fan-weak")]
	}
	if !(at("raw+") > 3) || math.Abs(at("low-")) > 0.5 {
		t.Errorf("the term that tells weighs %.2f, the other %.2f", at("raw+"), at("low-"))
	}
}

// A fit that begins with the weights of another ends where one from nothing does.
func TestFitFromAnother(t *testing.T) {
	w := newWords()
	var all []lesson
	for i := range 300 {
		l, seen := lesson{from: "a", truth: none}, map[string]float64{"low-": float64(i%7) / 7, "raw+": float64(i%5) / 5}
		if i%3 == 0 {
			l.truth = "fan-weak"
		}
		if i >= 100 {
			seen["header?"] = 1 // the first fit has no such term
		}
		l.terms = w.numbers(seen)
		all = append(all, l)
	}
	first := newFitter(w, all[:100], 1)
	found, err := first.fit(vocabulary{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	f := newFitter(w, all, 1)
	cold, err := f.fit(vocabulary{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	warm, err := f.fit(first.vocabulary, found)
	if err != nil {
		t.Fatal(err)
	}
	for i := slices.Index(f.causes, "fan-weak"); i < len(cold); i += len(f.causes) { // the others never occur
		if math.Abs(cold[i]-warm[i]) > 0.01 {
			t.Errorf("weight %d: %.4f from nothing, %.4f from another fit", i, cold[i], warm[i])
		}
	}
}

// A record that has just begun knows what is held against fixed references, and nothing against its own normal.
func TestYoungRecordsHaveNoNormal(t *testing.T) {
	w := newWords()
	var all []lesson
	for i := range 600 {
		all = append(all, lesson{from: "a", truth: none, number: i, terms: w.numbers(map[string]float64{"raw:high+": 0.5, "raw+": 1, "raw?": 1, "raw/fresh+": 1, "header:set?": 1})})
	}
	some := young(w, all)
	if len(some) < 60 || len(some) > 140 {
		t.Errorf("%d of %d lessons are young", len(some), len(all))
	}
	for _, l := range some {
		var names []string
		for _, x := range l.terms {
			names = append(names, w.names[x.word])
		}
		if !slices.Equal(names, []string{"header:set?", "raw:high+"}) {
			t.Fatalf("a young record knows %q", names)
		}
	}
	if len(all[0].terms) != 5 {
		t.Error("the lessons themselves have lost terms")
	}
}
