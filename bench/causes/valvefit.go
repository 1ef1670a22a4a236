package main

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"dustwright/judge"
)

// valveFitter fits how much likelier each numbered cause of a valve makes what is seen of it than a sound valve
// does, beside what is seen of all of them. A lesson with n valves has 1 + n k hypotheses, k the numbered causes: that no
// valve is the culprit, or that valve v is, by cause c, with log odds log(prior(c)/n) + l(c, v) against none. It is a
// conditional logit (McFadden 1974, from memory), with a network for l.
type valveFitter struct {
	vocabulary
	words  *words
	causes []string
	usual  []float64 // log of how often each cause is the truth, over the lessons in which none of them is
	rows   []valveRow
	net    *network
}

// valveRow is a lesson in the fitter's own numbers.
type valveRow struct {
	valves []valveSeen // the lesson's
	truth  int         // index of the valve that is the culprit; -1 where none is
	cause  int
	weight float64
}

// valveUnits is how many units each hidden layer has, and toValves how the network is fitted.
const valveUnits = 48

var toValves = course{passes: 8, fast: 3e-3, direct: 1, hidden: 1, drop: 0.2, seed: 2}

// newValveFitter numbers terms and causes, for a fit that may go on from a table, and takes the lessons in that show single valves.
func newValveFitter(w *words, all []lesson, old *judge.Net) *valveFitter {
	f := &valveFitter{words: w}
	met := make(sideCount, len(w.names))
	for i := range all {
		for _, v := range all[i].valves {
			met.add(v.sights)
		}
	}
	f.vocabulary = newVocabulary(w, met, old, func(string) bool { return true })
	for _, c := range judge.NumberedCauses() {
		f.causes = append(f.causes, string(c))
	}
	froms := map[string]float64{}
	for i := range all {
		if len(all[i].valves) > 0 {
			froms[all[i].from]++
		}
	}
	sums, whole := make([]float64, len(f.causes)), 0.0
	for i := range all {
		l := &all[i]
		if len(l.valves) == 0 {
			continue
		}
		r := f.row(l)
		if r.truth < 0 && slices.Contains(f.causes, l.truth) {
			continue // the culprit itself was not seen
		}
		r.weight = float64(len(all)) / float64(len(froms)) / froms[l.from]
		if r.truth >= 0 {
			sums[r.cause] += r.weight
		} else {
			whole += r.weight
		}
		f.rows = append(f.rows, r)
	}
	for _, s := range sums {
		f.usual = append(f.usual, math.Log(math.Max(s, 1)/math.Max(whole, 1)))
	}
	return f
}

// row puts a lesson into numbers.
func (f *valveFitter) row(l *lesson) valveRow {
	r := valveRow{truth: -1, valves: l.valves}
	if c := slices.Index(f.causes, l.truth); c >= 0 {
		if v := slices.IndexFunc(l.valves, func(v valveSeen) bool { return v.number == l.number }); v >= 0 {
			r.truth, r.cause = v, c
		}
	}
	return r
}

// names are those of the terms of one valve, and of their means over all.
func (f *valveFitter) names() []string {
	out := slices.Clone(f.terms)
	for _, n := range f.terms[1:] {
		out = append(out, judge.OfAll+n)
	}
	return out
}

// means are the means of the terms over all valves, numbered behind those of one.
func (f *valveFitter) means(valves []valveSeen) []input {
	sum := map[int32]float64{}
	for v := range valves {
		for _, t := range f.inputs(nil, valves[v].sights) {
			sum[t.at] += t.x / float64(len(valves))
		}
	}
	var out []input
	for _, at := range slices.Sorted(maps.Keys(sum)) {
		out = append(out, input{int32(len(f.terms)-1) + at, sum[at]})
	}
	return out
}

// odds returns the log likelihood ratio of each cause for one valve beside the means of all, which hold until the next call.
func (f *valveFitter) odds(on *run, v *valveSeen, means []input) []float64 {
	return on.forward(append(f.inputs(on.everything[:0], v.sights), means...), nil)
}

// culprits returns the log odds of every cause of every valve against none, causes within valves, each by its own run.
func (f *valveFitter) culprits(on []*run, r *valveRow) []float64 {
	var out []float64
	means := f.means(r.valves)
	for v := range r.valves {
		for j, x := range f.odds(on[v], &r.valves[v], means) {
			out = append(out, x+f.usual[j]-math.Log(float64(len(r.valves))))
		}
	}
	return out
}

// fleet returns as many runs of the same network as there are valves; they are kept for the next lesson.
func (r *run) fleet(valves int) []*run {
	for len(r.others) < valves {
		r.others = append(r.others, newRun(r.net, r.drop))
	}
	return r.others[:valves]
}

func (f *valveFitter) lessons() int { return len(f.rows) }

func (f *valveFitter) study(on *run, lesson int, grad *network) float64 {
	r := &f.rows[lesson]
	runs, k, truth := on.fleet(len(r.valves)), len(f.causes), -1
	odds := f.culprits(runs, r)
	if r.truth >= 0 {
		truth = r.truth*k + r.cause
	}
	loss := surprise(odds, truth, r.weight)
	if grad != nil {
		for v := range r.valves {
			runs[v].backward(odds[v*k:v*k+k], grad)
		}
	}
	return loss
}

// together puts what the valves say together, by the weights, into lessons.
func (f *valveFitter) together(all []lesson) {
	logs, on := make([][]float64, len(f.causes)), newRun(f.net, nil)
	for i := range all {
		l := &all[i]
		l.culprits = nil
		for j := range logs {
			logs[j] = logs[j][:0]
		}
		means := f.means(l.valves)
		for v := range l.valves {
			for j, x := range f.odds(on, &l.valves[v], means) {
				logs[j] = append(logs[j], x)
			}
		}
		for j, c := range f.causes {
			if len(logs[j]) > 0 {
				l.culprits = append(l.culprits, seen{f.words.number(judge.Culprits + c), float32(judge.Together(logs[j]))})
			}
		}
	}
}

// report prints how often the valve that the valves alone point to most is the culprit, on lessons that were not
// fitted to, and how often they call one at all where none is.
func (f *valveFitter) report(rest []lesson) {
	k := len(f.causes)
	n, named, right := make([]int, k), make([]int, k), make([]int, k)
	sound, called := 0, 0
	on := newRun(f.net, nil)
	for i := range rest {
		l := &rest[i]
		if len(l.valves) == 0 {
			continue
		}
		r := f.row(l)
		p := f.culprits(on.fleet(len(r.valves)), &r)
		none := soften(p)
		best := 0
		for i, x := range p {
			if x > p[best] {
				best = i
			}
		}
		call := p[best] > none
		switch {
		case r.truth >= 0:
			n[r.cause]++
			if call {
				named[r.cause]++
			}
			if call && best == r.truth*k+r.cause {
				right[r.cause]++
			}
		case !slices.Contains(f.causes, l.truth):
			sound++
			if call {
				called++
			}
		}
	}
	for j, c := range f.causes {
		fmt.Printf("by the valves alone: %-18s %5d lessons, %4.1f %% called, %4.1f %% the right valve and cause\n", c, n[j], 100*float64(named[j])/float64(max(1, n[j])), 100*float64(right[j])/float64(max(1, n[j])))
	}
	fmt.Printf("by the valves alone: %-18s %5d lessons, %4.1f %% called\n", "no valve", sound, 100*float64(called)/float64(max(1, sound)))
}
