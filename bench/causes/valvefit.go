package main

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/optimize"

	"dustwright/judge"
)

// valveFitter fits how much likelier each numbered cause of a valve makes what is seen of it than a sound valve
// does. A lesson with n valves has 1 + n k hypotheses, k the numbered causes: that no valve is the culprit, or
// that valve v is, by cause c, with log odds log(prior(c)/n) + w(c) . t(v) against none. It is a conditional
// logit (McFadden 1974, from memory) with a normal prior on the weights.
type valveFitter struct {
	vocabulary
	words  *words
	causes []string
	prior  float64   // precision of the weights
	usual  []float64 // log of how often each cause is the truth, over the lessons in which none of them is
	rows   []valveRow
}

// valveRow is a lesson in the fitter's own numbers.
type valveRow struct {
	valves []valveTerms // the lesson's
	truth  int          // index of the valve that is the culprit; -1 where none is
	cause  int
	weight float64
}

// newValveFitter numbers terms and causes and takes the lessons in that show single valves.
func newValveFitter(w *words, all []lesson, prior float64) *valveFitter {
	f := &valveFitter{words: w, prior: prior}
	count := make([]int, len(w.names))
	for i := range all {
		for _, v := range all[i].valves {
			for _, t := range v.terms {
				count[t.word]++
			}
		}
	}
	f.vocabulary = newVocabulary(w, count, func(string) bool { return true })
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
		if v := slices.IndexFunc(l.valves, func(v valveTerms) bool { return v.number == l.number }); v >= 0 {
			r.truth, r.cause = v, c
		}
	}
	return r
}

// odds returns the log likelihood ratio of each cause for one valve.
func (f *valveFitter) odds(w []float64, v *valveTerms, out []float64) {
	copy(out, w[:len(out)])
	f.add(w, v.terms, out)
}

// culprits writes the log odds of every cause of every valve against none, causes within valves.
func (f *valveFitter) culprits(w []float64, r *valveRow, out []float64) {
	k := len(f.causes)
	for v := range r.valves {
		mine := out[v*k : v*k+k]
		f.odds(w, &r.valves[v], mine)
		for j := range mine {
			mine[j] += f.usual[j] - math.Log(float64(len(r.valves)))
		}
	}
}

// loss returns the penalised negative log likelihood for each lesson, and writes its gradient where grad is
// not nil.
func (f *valveFitter) loss(grad, w []float64) float64 {
	sum := inHalves(len(f.rows), grad, func(from, to int, grad []float64) float64 { return f.sum(f.rows[from:to], grad, w) })
	n := float64(len(f.rows))
	for i, v := range w {
		sum += f.prior / 2 * v * v
		if grad != nil {
			grad[i] = (grad[i] + f.prior*v) / n
		}
	}
	return sum / n
}

// sum is the negative log likelihood of some lessons; its gradient is added to grad where that has a length.
func (f *valveFitter) sum(rows []valveRow, grad, w []float64) float64 {
	k := len(f.causes)
	var p []float64
	sum := 0.0
	for i := range rows {
		r := &rows[i]
		p = slices.Grow(p[:0], k*len(r.valves))[:k*len(r.valves)]
		f.culprits(w, r, p)
		right := soften(p)
		if r.truth >= 0 {
			right = p[r.truth*k+r.cause]
		}
		sum -= r.weight * math.Log(right+1e-12)
		if len(grad) == 0 {
			continue
		}
		if r.truth >= 0 {
			p[r.truth*k+r.cause]--
		}
		for v := range r.valves {
			mine := p[v*k : v*k+k]
			floats.AddScaled(grad[:k], r.weight, mine)
			f.slope(grad, r.valves[v].terms, mine, r.weight)
		}
	}
	return sum
}

// fit returns the weights, causes within terms. It begins with those of another fit, which need not have all terms, or any.
func (f *valveFitter) fit(other vocabulary, found []float64) ([]float64, error) {
	return climb(f.loss, f.start(other, found, len(f.causes)), optimize.Settings{MajorIterations: 600, GradientThreshold: 1e-7})
}

// together puts what the valves say together, by the weights, into lessons.
func (f *valveFitter) together(w []float64, all []lesson) {
	logs, one := make([][]float64, len(f.causes)), make([]float64, len(f.causes))
	for i := range all {
		l := &all[i]
		l.culprits = nil
		for j := range logs {
			logs[j] = logs[j][:0]
		}
		for v := range l.valves {
			f.odds(w, &l.valves[v], one)
			for j, x := range one {
				logs[j] = append(logs[j], x)
			}
		}
		for j, c := range f.causes {
			l.culprits = append(l.culprits, f.words.numbers(judge.Together(judge.Cause(c), logs[j]))...)
		}
	}
}

// report prints how often the valve that the valves alone point to most is the culprit, on lessons that were not
// fitted to, and how often they call one at all where none is.
func (f *valveFitter) report(w []float64, rest []lesson) {
	k := len(f.causes)
	n, named, right := make([]int, k), make([]int, k), make([]int, k)
	sound, called := 0, 0
	for i := range rest {
		l := &rest[i]
		if len(l.valves) == 0 {
			continue
		}
		r := f.row(l)
		p := make([]float64, k*len(r.valves))
		f.culprits(w, &r, p)
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
