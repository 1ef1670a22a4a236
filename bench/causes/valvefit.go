package main

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/optimize"

	"dustwright/judge"
)

// valveFitter fits how much likelier each numbered cause of a valve makes what is seen of it than a sound valve
// does. A lesson with n valves has 1 + n k hypotheses, k the numbered causes: that no valve is the culprit, or
// that valve v is, by cause c, with log odds log(prior(c)/n) + w(c) . t(v) against none. It is a conditional
// logit (McFadden 1974, from memory) with a normal prior on the weights.
type valveFitter struct {
	terms  []string
	index  map[string]int
	causes []string
	prior  float64   // precision of the weights
	usual  []float64 // log of how often each cause is the truth, over the lessons in which none of them is
	rows   []valveRow
}

// valveRow is a lesson in the fitter's own numbers.
type valveRow struct {
	valves []row
	truth  int // index of the valve that is the culprit; -1 where none is
	cause  int
	weight float64
}

// newValveFitter numbers terms and causes and takes the lessons in that show single valves.
func newValveFitter(all []lesson, prior float64) *valveFitter {
	f := &valveFitter{index: map[string]int{"1": 0}, terms: []string{"1"}, prior: prior}
	count := map[string]int{}
	for _, l := range all {
		for _, v := range l.valves {
			for n := range v {
				count[n]++
			}
		}
	}
	for _, n := range slices.Sorted(maps.Keys(count)) {
		if count[n] >= rare {
			f.index[n] = len(f.terms)
			f.terms = append(f.terms, n)
		}
	}
	for _, c := range judge.NumberedCauses() {
		f.causes = append(f.causes, string(c))
	}
	froms := map[string]float64{}
	for _, l := range all {
		if len(l.valves) > 0 {
			froms[l.from]++
		}
	}
	sums, whole := make([]float64, len(f.causes)), 0.0
	for _, l := range all {
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
func (f *valveFitter) row(l lesson) valveRow {
	r := valveRow{truth: -1}
	for _, v := range slices.Sorted(maps.Keys(l.valves)) {
		if v == l.number && slices.Contains(f.causes, l.truth) {
			r.truth, r.cause = len(r.valves), slices.Index(f.causes, l.truth)
		}
		one := row{at: []int32{0}, x: []float64{1}}
		for _, n := range slices.Sorted(maps.Keys(l.valves[v])) {
			if i, ok := f.index[n]; ok {
				one.at, one.x = append(one.at, int32(i)), append(one.x, l.valves[v][n])
			}
		}
		r.valves = append(r.valves, one)
	}
	return r
}

// odds returns the log likelihood ratio of each cause for one valve.
func (f *valveFitter) odds(w []float64, r *row, out []float64) {
	clear(out)
	for i, at := range r.at {
		for j := range out {
			out[j] += w[int(at)*len(out)+j] * r.x[i]
		}
	}
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
			one := &r.valves[v]
			for t, at := range one.at {
				for j, d := range p[v*k : v*k+k] {
					grad[int(at)*k+j] += r.weight * one.x[t] * d
				}
			}
		}
	}
	return sum
}

// fit returns the weights, causes within terms.
func (f *valveFitter) fit() ([]float64, error) {
	return climb(f.loss, make([]float64, len(f.terms)*len(f.causes)), optimize.Settings{MajorIterations: 600, GradientThreshold: 1e-7})
}

// together puts what the valves say together, by the weights, into the terms of lessons.
func (f *valveFitter) together(w []float64, all []lesson) {
	for i := range all {
		l := &all[i]
		for n := range l.terms {
			if strings.HasPrefix(n, judge.Culprits) {
				delete(l.terms, n)
			}
		}
		r := f.row(*l)
		logs := make([][]float64, len(f.causes))
		one := make([]float64, len(f.causes))
		for v := range r.valves {
			f.odds(w, &r.valves[v], one)
			for j, x := range one {
				logs[j] = append(logs[j], x)
			}
		}
		for j, c := range f.causes {
			maps.Copy(l.terms, judge.Together(judge.Cause(c), logs[j]))
		}
	}
}

// report prints how often the valve that the valves alone point to most is the culprit, on lessons that were not
// fitted to, and how often they call one at all where none is.
func (f *valveFitter) report(w []float64, rest []lesson) {
	k := len(f.causes)
	n, named, right := make([]int, k), make([]int, k), make([]int, k)
	sound, called := 0, 0
	for _, l := range rest {
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
