package main

import (
	"maps"
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
	terms  []string     // "1", which is always there, first
	sights []string     // by word: its name
	at     [][2][]int32 // by word, and by the side it stands on: the indices of its terms, 0 where one is not fitted
}

// row is a lesson in the fitter's own numbers; its sights are the lesson's.
type row struct {
	sights   []seen
	culprits []seen
	truth    int       // index into causes; -1 for none
	given    []float64 // log odds of the causes that are not fitted: what the valves say
	weight   float64
}

// rare is in how many lessons a term must stand to be fitted.
const rare = 40

// healthy is the share of the lessons that have nothing wrong, and ending that of those that show their trial at its end, as
// they are weighed.
const (
	healthy = 0.42
	ending  = 1.0 / 3
)

// causeUnits is how many units each hidden layer has, and toCauses how the network is fitted.
const causeUnits = 192

var toCauses = course{passes: 6, fast: 2e-3, direct: 60, hidden: 10, drop: 0.3, seed: 1}

// The sides that a sight can stand on.
const above, below = 0, 1

func (s seen) side() int {
	if s.x < 0 {
		return below
	}
	return above
}

// sideCount counts in how many lessons each sight stands on each side, by word.
type sideCount [][2]int

func (c sideCount) add(some []seen) {
	for _, s := range some {
		c[s.word][s.side()]++
	}
}

// newVocabulary takes the terms in that were met often enough, or at all where a table to go on from knows them, and are wanted,
// in alphabetic order.
func newVocabulary(w *words, met sideCount, old *judge.Net, wanted func(term string) bool) vocabulary {
	v := vocabulary{terms: []string{"1"}, sights: w.names, at: make([][2][]int32, len(w.names))}
	named, count := make([][2][]string, len(w.names)), map[string]int{}
	for i, n := range w.names {
		named[i] = [2][]string{above: judge.TermNames(n, 1), below: judge.TermNames(n, -1)}
		for side, terms := range named[i] {
			for _, t := range terms {
				count[t] += met[i][side]
			}
		}
	}
	index := map[string]int32{}
	for _, t := range slices.Sorted(maps.Keys(count)) {
		if count[t] >= rareFor(old, t) && wanted(t) {
			index[t] = int32(len(v.terms))
			v.terms = append(v.terms, t)
		}
	}
	for i := range named {
		for side, terms := range named[i] {
			for _, t := range terms {
				v.at[i][side] = append(v.at[i][side], index[t])
			}
		}
	}
	return v
}

// rareFor is in how many lessons a term must stand.
func rareFor(old *judge.Net, term string) int {
	if old != nil {
		if _, known := old.Terms[term]; known {
			return 1
		}
	}
	return rare
}

// inputs appends the terms of sights, as they are numbered here, to some; those that are not fitted are left out.
func (v *vocabulary) inputs(some []input, sights []seen) []input {
	var room [8]float64
	for _, s := range sights {
		values := judge.TermValues(room[:0], v.sights[s.word], float64(s.x))
		for j, i := range v.at[s.word][s.side()] {
			if i > 0 && values[j] != 0 {
				some = append(some, input{i, values[j]})
			}
		}
	}
	return some
}

// newFitter numbers terms and causes, for a fit that may go on from a table.
func newFitter(w *words, all []lesson, old *judge.Net) *fitter {
	f := &fitter{causes: made.Causes()}
	for _, c := range f.causes {
		f.given = append(f.given, w.number(judge.Culprits+c))
	}
	met := make(sideCount, len(w.names))
	for i := range all {
		met.add(all[i].sights)
		met.add(all[i].culprits)
	}
	f.vocabulary = newVocabulary(w, met, old, func(term string) bool {
		i, is := w.index[term]
		return !is || !slices.Contains(f.given, i)
	})
	f.rows = make([]row, len(all))
	for i := range all {
		f.rows[i] = f.row(&all[i])
	}
	f.weigh(all)
	return f
}

// weigh gives every simulator the same weight, within each the ends of trials theirs, and the sound lessons the share they
// are to have: what holds in one simulator alone is not to be learned from the number of its trials, and somebody asks when
// something has gone on for a while.
func (f *fitter) weigh(all []lesson) {
	type part struct {
		from       string
		end, sound bool
	}
	partOf := func(l *lesson) part { return part{l.from, l.end, l.truth == none} }
	count, froms := map[part]float64{}, map[string]bool{}
	for i := range all {
		count[partOf(&all[i])]++
		froms[all[i].from] = true
	}
	for i := range all {
		p := partOf(&all[i])
		f.rows[i].weight = of(healthy, p.sound) * of(ending, p.end) * float64(len(all)) / float64(len(froms)) / count[p]
	}
}

// of is a share, or what it leaves.
func of(share float64, in bool) float64 {
	if in {
		return share
	}
	return 1 - share
}

// row puts a lesson into numbers.
func (f *fitter) row(l *lesson) row {
	r := row{truth: slices.Index(f.causes, l.truth), sights: l.sights, culprits: l.culprits, weight: 1}
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
	return on.forward(f.inputs(f.inputs(on.everything[:0], r.sights), r.culprits), r.given)
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
