package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"

	"dustwright/judge"
)

// held is the share of the seeds kept out of a fit to see how it does: one in three.
func held(l lesson) bool { return l.seed/2%3 == 0 }

// learn fits the weights to lessons and writes them, after printing how a fit without a third of the
// seeds does on that third.
func learn(paths []string, out, valves string, prior float64) error {
	w := newWords()
	all, err := readAll(w, paths)
	if err != nil {
		return err
	}
	var most, rest []lesson
	for _, l := range all {
		if held(l) {
			rest = append(rest, l)
		} else {
			most = append(most, l)
		}
	}
	trial, err := fitBoth(w, most, prior, nil)
	if err != nil {
		return err
	}
	trial.valves.report(trial.ofValves, rest)
	trial.valves.together(trial.ofValves, rest)
	trial.causes.report(trial.ofCauses, rest)
	last, err := fitBoth(w, all, prior, trial)
	if err != nil {
		return err
	}
	text := writeTable(source(len(last.valves.rows), valvePrior), last.valves.causes, last.valves.terms, last.ofValves)
	if err := os.WriteFile(valves, []byte(text), 0o644); err != nil {
		return err
	}
	text = writeTable(source(len(last.causes.rows), prior), last.causes.causes, last.causes.terms, last.ofCauses)
	return os.WriteFile(out, []byte(text), 0o644)
}

// source says where a table is from.
func source(lessons int, prior float64) string {
	return fmt.Sprintf("bench/causes -learn, %d lessons; precision of the weights %g", lessons, prior)
}

// both is a fit of single valves, and one of the causes by what these say together.
type both struct {
	valves   *valveFitter
	ofValves []float64
	causes   *fitter
	ofCauses []float64
}

// fitBoth fits valves and causes to lessons, beginning with the weights of another fit where there is one.
func fitBoth(w *words, all []lesson, prior float64, before *both) (*both, error) {
	if before == nil {
		before = &both{valves: &valveFitter{}, causes: &fitter{}}
	}
	b := &both{valves: newValveFitter(w, all, valvePrior)}
	var err error
	if b.ofValves, err = b.valves.fit(before.valves.vocabulary, before.ofValves); err != nil {
		return nil, err
	}
	b.valves.together(b.ofValves, all)
	b.causes = newFitter(w, slices.Concat(all, thinned(w, all), young(w, all)), prior)
	b.ofCauses, err = b.causes.fit(before.causes.vocabulary, before.ofCauses)
	return b, err
}

// valvePrior is the precision of the weights of single valves: far fewer lessons hold a bad one than show valves.
// Between 0.5 and 2 what is called on seeds left out does not change.
const valvePrior = 1

// thinOf is out of how many lessons one is learned from a second time, with much of it left out.
const thinOf = 3

// thinned returns lessons in which only some of the quantities are known, down to none: a record may be a
// day long or lack any channel, and what is not known must not count as seen.
func thinned(w *words, all []lesson) []lesson {
	rnd := rand.New(rand.NewPCG(1, 2))
	group := make([]int32, len(w.names)) // the first word met of the same quantity
	first := map[string]int32{}
	for i, n := range w.names {
		q := quantityOf(n)
		if _, met := first[q]; !met {
			first[q] = int32(i)
		}
		group[i] = first[q]
	}
	kept, drawn := make([]bool, len(w.names)), make([]int, len(w.names))
	var out []lesson
	for i := range all {
		if rnd.IntN(thinOf) > 0 {
			continue
		}
		keep := rnd.Float64() * rnd.Float64()
		left := func(word int32) bool {
			g := group[word]
			if drawn[g] != i+1 {
				drawn[g], kept[g] = i+1, rnd.Float64() < keep
			}
			return kept[g]
		}
		thin := all[i]
		thin.terms, thin.culprits, thin.valves = only(thin.terms, left), only(thin.culprits, left), nil
		out = append(out, thin)
	}
	return out
}

// only returns those terms whose word is to be kept.
func only(terms []term, keep func(word int32) bool) []term {
	var out []term
	for _, t := range terms {
		if keep(t.word) {
			out = append(out, t)
		}
	}
	return slices.Clip(out)
}

// youngOf is out of how many lessons one is learned from as if its record had just begun.
const youngOf = 6

// young returns lessons of records that have just begun: there is no normal of the collector's own yet, and only what is
// held against a fixed reference is known.
func young(w *words, all []lesson) []lesson {
	rnd := rand.New(rand.NewPCG(3, 4))
	var out []lesson
	for i := range all {
		if rnd.IntN(youngOf) > 0 {
			continue
		}
		l := all[i]
		l.terms, l.valves = only(l.terms, func(word int32) bool { return strings.Contains(w.names[word], ":") }), nil
		if rnd.IntN(2) == 0 {
			l.culprits = nil
		}
		out = append(out, l)
	}
	return out
}

// quantityOf is the quantity that a term is about.
func quantityOf(name string) string {
	if i := strings.IndexAny(name, "/:+?"); i > 0 {
		name = name[:i]
	}
	return strings.TrimRight(name, "-")
}

// report prints how the weights do on lessons they were not fitted to.
func (f *fitter) report(w []float64, rest []lesson) {
	type score struct{ n, first, faults, found, alarms, sound, loss float64 }
	by := map[string]*score{}
	p := make([]float64, len(f.causes))
	spread := f.spread(w)
	for i := range rest {
		l := &rest[i]
		r := f.row(l)
		f.odds(spread[r.set], &r, p)
		sound := soften(p)
		best, right := -1, sound
		for j, x := range p {
			if x > sound && (best < 0 || x > p[best]) {
				best = j
			}
		}
		if r.truth >= 0 {
			right = p[r.truth]
		}
		s := by[l.level]
		if s == nil {
			s = &score{}
			by[l.level] = s
		}
		s.n++
		s.loss -= math.Log(right + 1e-12)
		if best == r.truth {
			s.first++
		}
		if r.truth >= 0 {
			s.faults++
			if best == r.truth {
				s.found++
			}
		} else {
			s.sound++
			if best >= 0 {
				s.alarms++
			}
		}
	}
	for _, l := range levels() {
		if s := by[l.name]; s != nil {
			fmt.Printf("%-28s lessons %5.0f  log loss %.3f  first %4.1f %%  faults named %4.1f %%  sound ones named %4.1f %%\n",
				l.name, s.n, s.loss/s.n, 100*s.first/s.n, 100*s.found/s.faults, 100*s.alarms/s.sound)
		}
	}
}

// least is the weight below which one counts as none: its term moves the odds by no more.
const least = 0.005

// writeTable writes weights, causes within terms, with where they are from. Where there are more weights than terms,
// they go on with what each circumstance adds to them; terms to which it adds nothing are left out.
func writeTable(from string, causes, terms []string, w []float64) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# source: %s\nterm,%s\n", from, strings.Join(causes, ","))
	k := len(causes)
	for i := 0; i*k < len(w); i++ {
		name, mine := terms[i%len(terms)], w[i*k:i*k+k]
		if g := i / len(terms); g > 0 {
			if slices.IndexFunc(mine, func(v float64) bool { return math.Abs(v) >= least }) < 0 {
				continue
			}
			name = judge.With(name, judge.Circumstances()[g-1])
		}
		b.WriteString(name)
		for _, v := range mine {
			if math.Abs(v) < least {
				v = 0
			}
			fmt.Fprintf(&b, ",%.3g", v)
		}
		b.WriteByte('\n')
	}
	return b.String()
}
