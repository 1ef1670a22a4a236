package main

import (
	"math"
	"slices"
	"strings"
	"sync"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/optimize"

	"dustwright/bench/causes/made"
	"dustwright/judge"
)

// fitter fits the log odds of every cause against none to lessons: multinomial logistic regression with
// a normal prior on the weights (Bishop, Pattern Recognition and Machine Learning, 2006, section 4.3.4,
// from memory).
type fitter struct {
	vocabulary
	causes []string
	given  []int32 // word of what the valves say of each cause
	shows  []int   // by word: the circumstances it is a mark of, by bit
	rows   []row
	prior  float64 // precision of the weights
	added  float64 // and of what circumstances add to them
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
	set      int       // of circumstances, by bit
	truth    int       // index into causes; -1 for none
	given    []float64 // log odds of the causes that are not fitted: what the valves say
	weight   float64
}

// numCircumstances is how many circumstances make sights count otherwise.
var numCircumstances = len(judge.Circumstances())

// rare is in how many lessons a term must stand to be fitted.
const rare = 40

// healthy is the share of the lessons that have nothing wrong, as they are weighed.
const healthy = 0.42

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

// newFitter numbers terms and causes.
func newFitter(w *words, all []lesson, prior float64) *fitter {
	f := &fitter{prior: prior, added: prior}
	f.causes = made.Causes()
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
		return !strings.HasPrefix(n, judge.Culprits) || strings.HasSuffix(n, "+") // the valves' own odds are given
	})
	f.shows = make([]int, len(w.names))
	for i, n := range w.names {
		f.shows[i] = judge.Shows(n)
	}
	f.rows = make([]row, len(all))
	for i := range all {
		f.rows[i] = f.row(&all[i])
	}
	f.weigh(all)
	slices.SortStableFunc(f.rows, func(a, b row) int { return a.set - b.set }) // so that their weights stay at hand
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
	for _, t := range l.terms {
		r.set |= f.shows[t.word]
	}
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

// odds writes the log odds of all causes, by the weights that count under the row's circumstances.
func (f *fitter) odds(w []float64, r *row, out []float64) {
	clear(out)
	copy(out, r.given)
	floats.Add(out, w[:len(out)])
	f.add(w, r.terms, out)
	f.add(w, r.culprits, out)
}

// size is the number of weights that count whatever the circumstances are.
func (f *fitter) size() int { return len(f.terms) * len(f.causes) }

// spread returns the weights that count under each set of circumstances: what each of them adds comes on top.
func (f *fitter) spread(w []float64) [][]float64 {
	n := f.size()
	out := make([][]float64, 1<<numCircumstances)
	for set := range out {
		out[set] = slices.Clone(w[:n])
		for g := range numCircumstances {
			if set>>g&1 == 1 {
				floats.Add(out[set], w[(g+1)*n:(g+2)*n])
			}
		}
	}
	return out
}

// gather is what spread does to the gradient.
func (f *fitter) gather(bySet, grad []float64) {
	n := f.size()
	clear(grad)
	for set := range 1 << numCircumstances {
		part := bySet[set*n : set*n+n]
		floats.Add(grad[:n], part)
		for g := range numCircumstances {
			if set>>g&1 == 1 {
				floats.Add(grad[(g+1)*n:(g+2)*n], part)
			}
		}
	}
}

// add adds what terms are worth by weights, causes within terms, to the odds of the causes.
func (v *vocabulary) add(w []float64, terms []term, odds []float64) {
	k := len(odds)
	for _, t := range terms {
		if i := int(v.at[t.word]); i > 0 {
			floats.AddScaled(odds, float64(t.x), w[i*k:i*k+k])
		}
	}
}

// slope adds the gradient by the weights to grad, for a gradient by the odds.
func (v *vocabulary) slope(grad []float64, terms []term, byOdds []float64, weight float64) {
	k := len(byOdds)
	for _, t := range terms {
		if i := int(v.at[t.word]); i > 0 {
			floats.AddScaled(grad[i*k:i*k+k], weight*float64(t.x), byOdds)
		}
	}
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

// inHalves sums the loss of n lessons and its gradient on both processors; a grad of no length is not written.
func inHalves(n int, grad []float64, sum func(from, to int, grad []float64) float64) float64 {
	other, rest := make([]float64, len(grad)), 0.0
	var wg sync.WaitGroup
	wg.Go(func() { rest = sum(n/2, n, other) })
	clear(grad)
	total := sum(0, n/2, grad)
	wg.Wait()
	for i, g := range other {
		grad[i] += g
	}
	return total + rest
}

// loss returns the penalised negative log likelihood for each lesson, and writes its gradient where grad
// is not nil.
func (f *fitter) loss(grad, w []float64) float64 {
	var bySet []float64
	if grad != nil {
		bySet = make([]float64, f.size()<<numCircumstances)
	}
	spread := f.spread(w)
	sum := inHalves(len(f.rows), bySet, func(from, to int, grad []float64) float64 { return f.sum(f.rows[from:to], grad, spread) })
	if grad != nil {
		f.gather(bySet, grad)
	}
	n := float64(len(f.rows))
	for i, v := range w {
		prior := f.prior
		if i < len(f.causes) { // the bias is free
			prior = 0
		}
		if i >= f.size() {
			prior = f.added
		}
		sum += prior / 2 * v * v
		if grad != nil {
			grad[i] = (grad[i] + prior*v) / n
		}
	}
	return sum / n
}

// sum is the negative log likelihood of some lessons; its gradient, by the weights under each set of circumstances, is
// added to grad where that has a length.
func (f *fitter) sum(rows []row, grad []float64, spread [][]float64) float64 {
	k := len(f.causes)
	p := make([]float64, k)
	sum := 0.0
	for i := range rows {
		r := &rows[i]
		f.odds(spread[r.set], r, p)
		right := soften(p)
		if r.truth >= 0 {
			right = p[r.truth]
		}
		sum -= r.weight * math.Log(right+1e-12)
		if len(grad) == 0 {
			continue
		}
		if r.truth >= 0 {
			p[r.truth]--
		}
		grad := grad[r.set*f.size():]
		floats.AddScaled(grad[:k], r.weight, p)
		f.slope(grad, r.terms, p, r.weight)
		f.slope(grad, r.culprits, p, r.weight)
	}
	return sum
}

// fit returns the weights, causes within terms. It begins with those of another fit, which need not have all terms, or any.
func (f *fitter) fit(other vocabulary, found []float64) ([]float64, error) {
	var start []float64
	for part := range 1 + numCircumstances {
		from := min(len(found), part*len(other.terms)*len(f.causes))
		start = append(start, f.start(other, found[from:], len(f.causes))...)
	}
	return climb(f.loss, start, optimize.Settings{MajorIterations: 150, GradientThreshold: 1e-5})
}

// start returns the weights of another fit for k causes under the own terms, nothing for what that did not have.
func (v *vocabulary) start(other vocabulary, found []float64, k int) []float64 {
	out := make([]float64, len(v.terms)*k)
	at := map[string]int{}
	for i, n := range other.terms {
		at[n] = i
	}
	for i, n := range v.terms {
		if j, has := at[n]; has {
			copy(out[i*k:i*k+k], found[j*k:])
		}
	}
	return out
}

// climb finds the weights of the least loss. The slope is worked out with the loss, and kept for the time it is
// asked for.
func climb(loss func(grad, w []float64) float64, start []float64, s optimize.Settings) ([]float64, error) {
	at, grad := make([]float64, len(start)), make([]float64, len(start))
	value, known := 0.0, false
	work := func(w []float64) {
		if !known || !slices.Equal(at, w) {
			copy(at, w)
			value, known = loss(grad, w), true
		}
	}
	problem := optimize.Problem{
		Func: func(w []float64) float64 { work(w); return value },
		Grad: func(out, w []float64) { work(w); copy(out, grad) },
	}
	res, err := optimize.Minimize(problem, start, &s, &optimize.LBFGS{})
	if res == nil {
		return nil, err
	}
	return res.X, nil
}
