package main

import (
	"math"
	"slices"
	"testing"

	"dustwright/judge"
)

// A table that was written reads back, and one of other numbers of columns does not.
func TestTableReadsBack(t *testing.T) {
	causes, terms := []string{"fan-weak", "cake-damp"}, []string{"1", "raw+", "low-"}
	text := writeTable("a test", causes, terms, []float64{0.25, -1.5, 3, 0, -1e-4, 12})
	got, weights, err := judge.ReadWeights(text)
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(got, []judge.Cause{"fan-weak", "cake-damp"}) || len(weights) != len(terms) || !slices.Equal(weights["raw+"], []float64{3, 0}) || !slices.Equal(weights["low-"], []float64{-1e-4, 12}) {
		t.Errorf("%v, %v", got, weights)
	}
	if _, _, err := judge.ReadWeights(text + "top+,1\n"); err == nil {
		t.Error("a line that lacks a weight is taken")
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
	found, err := f.fit()
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
		l := lesson{from: "a", truth: none, terms: w.numbers(map[string]float64{"low-": float64(i%7) / 7, "raw+": float64(i%5) / 5})}
		if i%3 == 0 {
			l.truth = "fan-weak"
		}
		all = append(all, l)
	}
	first := newFitter(w, all[:100], 1)
	found, err := first.fit()
	if err != nil {
		t.Fatal(err)
	}
	f := newFitter(w, all, 1)
	cold, err := f.fit()
	if err != nil {
		t.Fatal(err)
	}
	warm, err := f.fitFrom(vocabulary{terms: first.terms[:2]}, found)
	if err != nil {
		t.Fatal(err)
	}
	for i := slices.Index(f.causes, "fan-weak"); i < len(cold); i += len(f.causes) { // the others never occur
		if math.Abs(cold[i]-warm[i]) > 1e-3 {
			t.Errorf("weight %d: %.4f from nothing, %.4f from another fit", i, cold[i], warm[i])
		}
	}
}
