package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// The mean of a fit and a table keeps the terms of both; one that is in one of them alone counts half. A
// table of other causes, or with what is no number, is an error that says so.
func TestMeanWithATable(t *testing.T) {
	fit := func() *fitter {
		return &fitter{terms: []string{"1", "raw+"}, index: map[string]int{"1": 0, "raw+": 1}, causes: []string{"a", "b"}}
	}
	table := func(text string) string {
		p := filepath.Join(t.TempDir(), "w.csv")
		if err := os.WriteFile(p, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return p
	}
	f := fit()
	got, err := f.meanWith([]float64{1, 2, 3, 4}, table("# source: x\nterm,a,b\n1,3,4\nlow-,6,8\n"))
	if want := []float64{2, 3, 1.5, 2, 3, 4}; err != nil || !slices.Equal(got, want) {
		t.Errorf("%v, %v, want %v", got, err, want)
	}
	if out := writeTable("x", f.causes, f.terms, got); !strings.HasSuffix(out, "\nlow-,3,4\n") {
		t.Errorf("the table lacks the term that was in the other alone: %q", out)
	}
	for text, want := range map[string]string{"": "causes as they are now", "term,a,c\n1,1,1\n": "causes as they are now", "term,a,b\n1,one,2\n": "term 1"} {
		if _, err := fit().meanWith(make([]float64, 4), table(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: error %v, want one with %q", text, err, want)
		}
	}
}
