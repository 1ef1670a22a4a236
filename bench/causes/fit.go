package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"sync"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/optimize"

	"dustwright/judge"
)

// fitter fits the log odds of every cause against none to lessons: multinomial logistic regression with
// a normal prior on the weights (Bishop, Pattern Recognition and Machine Learning, 2006, section 4.3.4,
// from memory).
type fitter struct {
	vocabulary
	causes []string
	given  []int32 // word of what the valves say of each cause, -1 none
	rows   []row
	prior  float64 // precision of the weights
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

// newVocabulary takes the words in that were counted often enough and are wanted, in alphabetic order.
func newVocabulary(w *words, count []int, wanted func(name string) bool) vocabulary {
	v := vocabulary{terms: []string{"1"}, at: make([]int32, len(w.names))}
	var kept []string
	for i, n := range w.names {
		if i < len(count) && count[i] >= rare && wanted(n) {
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
	f := &fitter{prior: prior}
	for _, e := range judge.Causes()[1:] {
		f.causes = append(f.causes, string(e.Name))
		f.given = append(f.given, w.number(judge.Culprits+string(e.Name)))
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

// odds writes the log odds of all causes.
func (f *fitter) odds(w []float64, r *row, out []float64) {
	clear(out)
	copy(out, r.given)
	floats.Add(out, w[:len(out)])
	f.add(w, r.terms, out)
	f.add(w, r.culprits, out)
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
	sum := inHalves(len(f.rows), grad, func(from, to int, grad []float64) float64 { return f.sum(f.rows[from:to], grad, w) })
	n := float64(len(f.rows))
	for i, v := range w {
		if i >= len(f.causes) { // the bias is free
			sum += f.prior / 2 * v * v
		}
		if grad == nil {
			continue
		}
		if i >= len(f.causes) {
			grad[i] += f.prior * v
		}
		grad[i] /= n
	}
	return sum / n
}

// sum is the negative log likelihood of some lessons; its gradient is added to grad where that has a length.
func (f *fitter) sum(rows []row, grad, w []float64) float64 {
	k := len(f.causes)
	p := make([]float64, k)
	sum := 0.0
	for i := range rows {
		r := &rows[i]
		f.odds(w, r, p)
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
		floats.AddScaled(grad[:k], r.weight, p)
		f.slope(grad, r.terms, p, r.weight)
		f.slope(grad, r.culprits, p, r.weight)
	}
	return sum
}

// fit returns the weights, causes within terms.
func (f *fitter) fit() ([]float64, error) { return f.fitFrom(vocabulary{}, nil) }

// fitFrom is fit that begins with weights of another fit, which need not have all terms.
func (f *fitter) fitFrom(other vocabulary, found []float64) ([]float64, error) {
	return climb(f.loss, f.start(other, found, len(f.causes)), optimize.Settings{MajorIterations: 150, GradientThreshold: 1e-5})
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
	singly := newValveFitter(w, most, valvePrior)
	u, err := singly.fit()
	if err != nil {
		return err
	}
	singly.report(u, rest)
	singly.together(u, most)
	singly.together(u, rest)
	trial := newFitter(w, append(most, thinned(w, most)...), prior)
	found, err := trial.fit()
	if err != nil {
		return err
	}
	trial.report(found, rest)
	before := singly.vocabulary
	singly = newValveFitter(w, all, valvePrior)
	if u, err = singly.fitFrom(before, u); err != nil {
		return err
	}
	singly.together(u, all)
	if err := os.WriteFile(valves, []byte(writeTable(fmt.Sprintf("bench/causes -learn, %d lessons; precision of the weights %g", len(singly.rows), float64(valvePrior)), singly.causes, singly.terms, u)), 0o644); err != nil {
		return err
	}
	f := newFitter(w, append(all, thinned(w, all)...), prior)
	if found, err = f.fitFrom(trial.vocabulary, found); err != nil {
		return err
	}
	from := fmt.Sprintf("bench/causes -learn, %d lessons; precision of the weights %g", len(f.rows), f.prior)
	return os.WriteFile(out, []byte(writeTable(from, f.causes, f.terms, found)), 0o644)
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
		left := func(terms []term) []term {
			var some []term
			for _, t := range terms {
				g := group[t.word]
				if drawn[g] != i+1 {
					drawn[g], kept[g] = i+1, rnd.Float64() < keep
				}
				if kept[g] {
					some = append(some, t)
				}
			}
			return slices.Clip(some)
		}
		thin := all[i]
		thin.terms, thin.culprits, thin.valves = left(thin.terms), left(thin.culprits), nil
		out = append(out, thin)
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
	for i := range rest {
		l := &rest[i]
		r := f.row(l)
		f.odds(w, &r, p)
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

// writeTable writes weights, causes within terms, with where they are from.
func writeTable(from string, causes, terms []string, w []float64) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# source: %s\nterm,%s\n", from, strings.Join(causes, ","))
	k := len(causes)
	for i, n := range terms {
		b.WriteString(n)
		for _, v := range w[i*k : i*k+k] {
			fmt.Fprintf(&b, ",%.3g", v)
		}
		b.WriteByte('\n')
	}
	return b.String()
}
