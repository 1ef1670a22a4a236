package main

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"dustwright/judge"
)

// numbers returns the numbers of all names given, in alphabetic order.
func (w *words) numbers(all map[string]float64) []seen {
	out := make([]seen, 0, len(all))
	for n, x := range all {
		out = append(out, seen{w.number(n), float32(x)})
	}
	slices.SortFunc(out, func(a, b seen) int { return strings.Compare(w.names[a.word], w.names[b.word]) })
	return out
}

// lectures for tests: lessons of two causes and none, told apart by a sight that only counts beside another.
func crossed(w *words, n int, seed uint64) []lesson {
	r := rand.New(rand.NewPCG(seed, 1))
	var all []lesson
	for range n {
		a, b := r.Float64(), r.Float64()
		l := lesson{from: "a", level: "all", truth: none, sights: w.numbers(map[string]float64{"raw": 8 * (a - 0.5), "header": 8 * (b - 0.5), "low": -r.Float64()})}
		if (a > 0.5) != (b > 0.5) {
			l.truth = "fan-weak"
		}
		all = append(all, l)
	}
	return all
}

// What a network has learned says the same when it is written, read back and used by judge's own sums, but for the three
// figures it is written to.
func TestTableReadsBack(t *testing.T) {
	n := newNetwork(3, 4, 2)
	r := rand.New(rand.NewPCG(5, 1))
	for i := range n.all {
		n.all[i] = r.NormFloat64()
	}
	back, err := judge.ReadNet("# a remark\n" + n.table([]string{"fan-weak", "cake-damp"}, []string{"1", "raw+", "low-"}).String())
	if err != nil {
		t.Fatal(err)
	}
	got := back.Odds(map[string]float64{"raw+": 0.7, "low-": 0.2, "never met": 3})
	want := newRun(n, nil).forward([]input{{1, 0.7}, {2, 0.2}}, nil)
	for j, x := range want {
		if math.Abs(got[j]-x) > 0.02*(1+math.Abs(x)) {
			t.Errorf("log odds %v, and %v once read back", want, got)
		}
	}
}

// The slope of the loss is that by differences.
func TestFitGradient(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 1))
	names := newWords()
	var all []lesson
	for i := range 90 {
		l := lesson{from: "a", truth: none, culprits: names.numbers(map[string]float64{judge.Culprits + "valve-dead": r.Float64()})}
		if i%3 == 0 {
			l.truth = []string{"fan-weak", "valve-dead"}[i%2]
		}
		l.sights = names.numbers(map[string]float64{"raw/sure": r.Float64(), "low": -r.Float64()})
		all = append(all, l)
	}
	f := newFitter(names, all, nil)
	want := slices.Concat([]string{"1"}, judge.TermNames("low", -1), judge.TermNames("raw/sure", 1), judge.TermNames(judge.Culprits+"valve-dead", 1)[1:])
	if !slices.Equal(f.terms, want) {
		t.Fatalf("fitted are %q, want %q", f.terms, want)
	}
	f.net = begun(len(f.terms), 5, len(f.causes), 3)
	checkSlope(t, f, f.net)
}

// checkSlope holds the slopes of the loss of all lessons against those by differences, at weights drawn at random.
func checkSlope(t *testing.T, of lecture, n *network) {
	t.Helper()
	r := rand.New(rand.NewPCG(9, 1))
	for i := range n.all {
		n.all[i] = 0.5 * r.NormFloat64()
	}
	grad, on := newNetwork(n.in, n.units, n.out), newRun(n, nil)
	loss := func(grad *network) (sum float64) {
		for i := range of.lessons() {
			sum += of.study(on, i, grad)
		}
		return sum
	}
	loss(grad)
	for i := range n.all {
		const h = 1e-6
		was := n.all[i]
		n.all[i] = was + h
		up := loss(nil)
		n.all[i] = was - h
		down := loss(nil)
		n.all[i] = was
		if d := (up - down) / (2 * h); math.Abs(d-grad.all[i]) > 1e-4*math.Max(1, math.Abs(d)) {
			t.Errorf("slope %d: %g, by differences %g", i, grad.all[i], d)
		}
	}
}

// A fit finds what no weight of a single term could tell: a cause that shows where one of two sights is high and not both.
// The same lessons give the same weights.
func TestFitFindsWhatTells(t *testing.T) {
	w := newWords()
	f := newFitter(w, crossed(w, 3000, 1), nil)
	c := toCauses
	c.passes, c.fast, c.direct, c.hidden, c.drop = 60, 0.01, 1, 0.1, 0.2
	f.net = begun(len(f.terms), 32, len(f.causes), 1)
	c.take(f.net, f)
	again := begun(len(f.terms), 32, len(f.causes), 1)
	net := f.net
	f.net = again
	if c.take(again, f); !slices.Equal(net.all, again.all) {
		t.Error("the same lessons gave other weights")
	}
	right, some := 0, crossed(w, 500, 2)
	on, fan := newRun(f.net, nil), slices.Index(f.causes, "fan-weak")
	for i := range some {
		r := f.row(&some[i])
		if (f.odds(on, &r)[fan] > 0) == (some[i].truth != none) {
			right++
		}
	}
	if right < 450 {
		t.Errorf("%d of 500 lessons are told", right)
	}
}

// What is dropped at random leaves the sums as they are on the average.
func TestDroppingKeepsTheMean(t *testing.T) {
	n := begun(20, 8, 2, 4)
	for i := range n.last {
		n.last[i] = 1
	}
	var terms []input
	for i := range 19 {
		terms = append(terms, input{int32(i + 1), 0.5})
	}
	one := func(r *run) float64 {
		r.forward(terms, nil)
		sum := 0.0
		for _, x := range r.inputs {
			sum += x.x
		}
		return sum
	}
	r, sum := newRun(n, &dropper{0.3, rand.New(rand.NewPCG(1, 1))}), 0.0
	for range 2000 {
		sum += one(r) / 2000
	}
	if whole := one(newRun(n, nil)); math.Abs(sum/whole-1) > 0.02 {
		t.Errorf("%g on the average, %g where nothing is dropped", sum, whole)
	}
}

// A record that has just begun knows what is held against fixed references, and nothing against its own normal.
func TestYoungRecordsHaveNoNormal(t *testing.T) {
	w := newWords()
	var all []lesson
	for i := range 600 {
		all = append(all, lesson{from: "a", truth: none, number: i, sights: w.numbers(map[string]float64{"raw:high": 0.5, "raw": -1, "raw/fresh": 1, "header:set": 1})})
	}
	some := young(w, all)
	if len(some) < 60 || len(some) > 140 {
		t.Errorf("%d of %d lessons are young", len(some), len(all))
	}
	for _, l := range some {
		var names []string
		for _, x := range l.sights {
			names = append(names, w.names[x.word])
		}
		if !slices.Equal(names, []string{"header:set", "raw:high"}) {
			t.Fatalf("a young record knows %q", names)
		}
	}
	if len(all[0].sights) != 4 {
		t.Error("the lessons themselves have lost sights")
	}
}

// A fit that goes on from a table knows what few new lessons would not have taught it, and takes in a term that the table
// has not; a table of other causes is refused.
func TestFitGoesOn(t *testing.T) {
	w := newWords()
	c := toCauses
	c.passes, c.fast, c.direct, c.hidden, c.drop = 60, 0.01, 1, 0.1, 0.2
	loss := func(f *fitter, n *network) (sum float64) {
		on := newRun(n, nil)
		for i := range f.lessons() {
			sum += f.study(on, i, nil)
		}
		return sum / float64(f.lessons())
	}
	fitted := func(f *fitter, c course, old *judge.Net) *network {
		n, err := c.fit(f, old, f.causes, f.terms, 32)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	many := newFitter(w, crossed(w, 3000, 1), nil)
	table := fitted(many, c, nil).table(many.causes, many.terms)
	lessons := crossed(w, 120, 2)
	for i := range lessons {
		lessons[i].sights = append(lessons[i].sights, seen{w.number("airflow"), 1})
	}
	few := newFitter(w, lessons, table)
	exam := *few
	exam.rows = nil
	for _, l := range crossed(w, 400, 3) {
		exam.rows = append(exam.rows, exam.row(&l))
	}
	afresh, wentOn := loss(&exam, fitted(few, c, nil)), loss(&exam, fitted(few, c, table))
	if wentOn > 0.7*afresh || wentOn > 0.3 {
		t.Errorf("a fit to 120 lessons that goes on from 3,000 others: loss %.3f on new ones, and %.3f afresh", wentOn, afresh)
	}
	if _, err := c.fit(few, &judge.Net{Outputs: []judge.Cause{"fan-weak"}}, few.causes, few.terms, 32); err == nil {
		t.Error("a table of one cause was gone on from without an error")
	}
}
