package main

import (
	"math"
	"slices"

	"dustwright/bench/causes/made"
	"dustwright/judge"
)

// fitter fits the log odds of every cause against none to lessons, as a network that ends in a multinomial logistic model
// (Bishop, Pattern Recognition and Machine Learning, 2006, sections 4.3.4 and 5.2, from memory).
type fitter struct {
	vocabulary
	causes []string
	given  []int32 // word of what the valves say of each cause
	rows   []row
	net    *network
}

// vocabulary is which words are fitted.
type vocabulary struct {
	terms []string // "1", which is always there, first
	at    []int32  // by word: its index in terms, 0 where it is not fitted
}

// row is a lesson in the fitter's own numbers; its terms are the lesson's.
type row struct {
	terms    []term
	culprits []term
	truth    int       // index into causes; -1 for none
	given    []float64 // log odds of the causes that are not fitted: what the valves say
	weight   float64
}

// rare is in how many lessons a term must stand to be fitted.
const rare = 40

// healthy is the share of the lessons that have nothing wrong, as they are weighed.
const healthy = 0.42

// causeUnits is how many units each hidden layer has, and toCauses how the network is fitted.
const causeUnits = 128

var toCauses = course{passes: 6, fast: 2e-3, direct: 60, hidden: 10, drop: 0.3, seed: 1}

// newVocabulary takes the words in that were counted often enough and are wanted, in alphabetic order.
func newVocabulary(w *words, count []int, wanted func(name string) bool) vocabulary {
	v := vocabulary{terms: []string{"1"}, at: make([]int32, len(w.names))}
	var kept []string
	for i, n := range w.names {
		if count[i] >= rare && wanted(n) {
			kept = append(kept, n)
		}
	}
	slices.Sort(kept)
	for i, n := range kept {
		v.at[w.index[n]] = int32(i + 1)
	}
	v.terms = append(v.terms, kept...)
	return v
}

// inputs appends terms, as they are numbered here, to some; those that are not fitted are left out.
func (v *vocabulary) inputs(some []input, terms []term) []input {
	for _, t := range terms {
		if i := v.at[t.word]; i > 0 {
			some = append(some, input{i, float64(t.x)})
		}
	}
	return some
}

// newFitter numbers terms and causes.
func newFitter(w *words, all []lesson) *fitter {
	f := &fitter{causes: made.Causes()}
	for _, c := range f.causes {
		f.given = append(f.given, w.number(judge.Culprits+c))
	}
	count := make([]int, len(w.names))
	for i := range all {
		for _, part := range [...][]term{all[i].terms, all[i].culprits} {
			for _, t := range part {
				count[t.word]++
			}
		}
	}
	f.vocabulary = newVocabulary(w, count, func(n string) bool {
		return !slices.Contains(f.given, w.index[n])
	})
	f.rows = make([]row, len(all))
	for i := range all {
		f.rows[i] = f.row(&all[i])
	}
	f.weigh(all)
	return f
}

// weigh gives every simulator the same weight, and within each the sound lessons the share they are to
// have: what holds in one simulator alone is not to be learned from the number of its trials.
func (f *fitter) weigh(all []lesson) {
	type part struct {
		from  string
		sound bool
	}
	count, froms := map[part]float64{}, map[string]bool{}
	for _, l := range all {
		count[part{l.from, l.truth == none}]++
		froms[l.from] = true
	}
	for i, l := range all {
		share := 1 - healthy
		if l.truth == none {
			share = healthy
		}
		f.rows[i].weight = share * float64(len(all)) / float64(len(froms)) / count[part{l.from, l.truth == none}]
	}
}

// row puts a lesson into numbers.
func (f *fitter) row(l *lesson) row {
	r := row{truth: slices.Index(f.causes, l.truth), terms: l.terms, culprits: l.culprits, weight: 1}
	for _, t := range l.culprits {
		if i := slices.Index(f.given, t.word); i >= 0 {
			if r.given == nil {
				r.given = make([]float64, len(f.causes))
			}
			r.given[i] = float64(t.x)
		}
	}
	return r
}

// odds returns the log odds of all causes, which hold until the next call.
func (f *fitter) odds(on *run, r *row) []float64 {
	return on.forward(f.inputs(f.inputs(on.everything[:0], r.terms), r.culprits), r.given)
}

// soften turns log odds into probabilities in place and returns that of none.
func soften(odds []float64) float64 {
	top := 0.0
	for _, o := range odds {
		top = math.Max(top, o)
	}
	sum := math.Exp(-top)
	for j, o := range odds {
		odds[j] = math.Exp(o - top)
		sum += odds[j]
	}
	for j := range odds {
		odds[j] /= sum
	}
	return math.Exp(-top) / sum
}

// surprise turns log odds into the slopes of the negative log likelihood by them, in place, and returns that; a truth below 0 is none.
func surprise(odds []float64, truth int, weight float64) float64 {
	right := soften(odds)
	if truth >= 0 {
		right = odds[truth]
		odds[truth]--
	}
	for j := range odds {
		odds[j] *= weight
	}
	return -weight * math.Log(right+1e-12)
}

func (f *fitter) lessons() int { return len(f.rows) }

func (f *fitter) study(on *run, lesson int, grad *network) float64 {
	r := &f.rows[lesson]
	odds := f.odds(on, r)
	loss := surprise(odds, r.truth, r.weight)
	if grad != nil {
		on.backward(odds, grad)
	}
	return loss
}
