package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"

	"gonum.org/v1/gonum/floats"

	"dustwright/judge"
)

// held is the share of the seeds kept out of a fit to see how it does: one in three.
func held(l lesson) bool { return l.seed/2%3 == 0 }

// learn fits the weights to lessons and writes them, after printing how a fit without a third of the
// seeds does on that third.
//
// With goOn it begins with the weights that stand in the two tables, and draws them there rather than to nothing: what older
// lessons taught is the prior of the new ones.
func learn(paths []string, out, valves string, goOn bool) error {
	var old tables
	if goOn {
		var err error
		if old.causes, err = readTable(out); err != nil {
			return err
		}
		if old.valves, err = readTable(valves); err != nil {
			return err
		}
	}
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
	trial, err := fitBoth(w, most, old)
	if err != nil {
		return err
	}
	trial.valves.report(rest)
	trial.valves.together(rest)
	trial.causes.report(rest)
	last, err := fitBoth(w, all, old)
	if err != nil {
		return err
	}
	how := "-learn"
	if goOn {
		how = "-learn -go-on"
	}
	if err := writeTable(valves, how, last.valves.lessons(), last.valves.net.table(last.valves.causes, last.valves.names())); err != nil {
		return err
	}
	return writeTable(out, how, last.causes.lessons(), last.causes.net.table(last.causes.causes, last.causes.terms))
}

// writeTable writes what was fitted, how, and to how many lessons.
func writeTable(path, how string, lessons int, n *judge.Net) error {
	return os.WriteFile(path, []byte(fmt.Sprintf("# source: bench/causes %s, %d lessons\n%s", how, lessons, n)), 0o644)
}

// both is a fit of single valves, and one of the causes by what these say together.
type both struct {
	valves *valveFitter
	causes *fitter
}

// tables are those to go on from; nil ones: from nothing.
type tables struct{ causes, valves *judge.Net }

// readTable reads a table from a file.
func readTable(path string) (*judge.Net, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	n, err := judge.ReadNet(string(text))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return n, nil
}

// fitBoth fits valves and causes to lessons.
func fitBoth(w *words, all []lesson, old tables) (both, error) {
	b := both{valves: newValveFitter(w, all, old.valves)}
	var err error
	if b.valves.net, err = toValves.fit(b.valves, old.valves, b.valves.causes, b.valves.names(), valveUnits); err != nil {
		return b, err
	}
	b.valves.together(all)
	b.causes = newFitter(w, slices.Concat(all, thinned(w, all), young(w, all)), old.causes)
	b.causes.net, err = toCauses.fit(b.causes, old.causes, b.causes.causes, b.causes.terms, causeUnits)
	return b, err
}

// Where a fit goes on from a table, it goes over the lessons this often, in steps of this part, and what is kept is the mean of
// the weights from which and to which it went: better on seeds left out than either (Wortsman and others, Model soups, 2022, from
// memory).
const (
	goOnPasses = 3
	goOnStep   = 0.5
	goOnShare  = 0.5
)

// fit takes a new network through the course, or one that goes on from a table.
func (c course) fit(of lecture, old *judge.Net, outputs, terms []string, units int) (*network, error) {
	if old == nil {
		n := begun(len(terms), units, len(outputs), c.seed)
		c.take(n, of)
		return n, nil
	}
	n, err := resumed(old, outputs, terms)
	if err != nil {
		return nil, err
	}
	c.known, c.passes, c.fast = slices.Clone(n.all), goOnPasses, goOnStep*c.fast
	c.take(n, of)
	floats.Scale(goOnShare, n.all)
	floats.AddScaled(n.all, 1-goOnShare, c.known)
	return n, nil
}

// begun is a network to begin with.
func begun(in, units, out int, seed uint64) *network {
	n := newNetwork(in, units, out)
	n.scatter(rand.New(rand.NewPCG(seed, 12)))
	return n
}

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
		thin.sights, thin.culprits, thin.valves = only(thin.sights, left), only(thin.culprits, left), nil
		out = append(out, thin)
	}
	return out
}

// only returns those sights whose word is to be kept.
func only(sights []seen, keep func(word int32) bool) []seen {
	var out []seen
	for _, s := range sights {
		if keep(s.word) {
			out = append(out, s)
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
		l.sights, l.valves = only(l.sights, func(word int32) bool { return strings.Contains(w.names[word], ":") }), nil
		if rnd.IntN(2) == 0 {
			l.culprits = nil
		}
		out = append(out, l)
	}
	return out
}

// quantityOf is the quantity that a sight is about.
func quantityOf(name string) string {
	if i := strings.IndexAny(name, "/:"); i > 0 {
		name = name[:i]
	}
	return name
}

// report prints how the weights do on lessons they were not fitted to.
func (f *fitter) report(rest []lesson) {
	type score struct{ n, first, faults, found, alarms, sound, loss float64 }
	by := map[string]*score{}
	on := newRun(f.net, nil)
	for i := range rest {
		l := &rest[i]
		r := f.row(l)
		p := f.odds(on, &r)
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
