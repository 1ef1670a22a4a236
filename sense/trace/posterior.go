package trace

import (
	"math"
	"slices"
)

// State is what one valve is.
type State string

// The four states, in the words of files and pages.
const (
	OK        State = "ok"
	Weak      State = "weak"
	Dead      State = "dead"
	StuckOpen State = "stuck-open"
)

// belief is the posterior of one valve.
type belief struct {
	stuck float64
	kind  [numKinds]float64 // given that it is not stuck, times the probability of that
	looks int
}

// state is the most probable state and its probability.
func (b belief) state() (State, float64) {
	ok := b.kind[isOK] + b.kind[isLong]
	weak := b.kind[isWeak] + b.kind[isFitful]
	best, p := OK, ok
	if weak > p {
		best, p = Weak, weak
	}
	if b.kind[isDead] > p {
		best, p = Dead, b.kind[isDead]
	}
	if b.stuck > p {
		best, p = StuckOpen, b.stuck
	}
	return best, p
}

// smallestBleed is the share of a wide open valve below which a bleed is a leak and no stuck valve.
const smallestBleed = 0.03

// believe joins the looks of all valves with the patterns of bleeding; full is a wide open valve's
// opening per time constant of the tank [1/s].
//
// It joins the balance of the header between pulses with the drops at them.
func believe(turns []turn, n int, c centre, fits []balance, full float64) []belief {
	rel := relatives(turns, c.scaling)
	all, _ := looksOf(turns, n, c.drop, c.drop, rel)
	w := make([]weights, n)
	for v := range w {
		w[v] = weigh(all[v])
	}
	type weighed struct {
		log     float64
		valve   int
		weights weights // of that valve under the pattern, if it is not the culprit
	}
	var cases []weighed
	if len(fits) == 0 {
		fits = []balance{{pattern: pattern{kind: tight, valve: -1}}}
	}
	for _, f := range fits {
		if f.score < fits[0].score-40 {
			break
		}
		if f.kind != tight && slices.Max(f.bleed[:]) < smallestBleed*full {
			continue
		}
		switch f.kind {
		case tight:
			cases = append(cases, weighed{log: f.score, valve: -1})
		case always:
			// A header seam leaks a little; what halves the pressure is a valve.
			small := math.Min(6, f.bleed[0]/full/0.06)
			cases = append(cases, weighed{log: f.score + math.Log(leakRate) - small, valve: -1})
			for v := range n {
				gain := logSum([]float64{
					math.Log(0.3) + spanNormal(all[v], 0.01, 0.03),
					math.Log(0.35) + spanNormal(all[v], math.Max(0, 1-f.bleed[0]/full), 0.25),
					math.Log(0.35) + spanFlat(all[v], 0.08, 0.9)}) - w[v].total()
				cases = append(cases, weighed{log: f.score + math.Log(stuckRate) + gain, valve: v})
			}
		case holds:
			gain := spanFlat(all[f.valve], 0.1, 3) - w[f.valve].total()
			cases = append(cases, weighed{log: f.score + gain, valve: f.valve})
		case forGood:
			early, late := split(turns, n, f.pattern, c, rel)
			before := weigh(early)
			gain := before.total() + spanFlat(late, 0, 1.1) - w[f.valve].total()
			cases = append(cases, weighed{log: f.score + gain, valve: f.valve})
		}
	}
	logs := make([]float64, len(cases))
	for i, x := range cases {
		logs[i] = x.log
	}
	total := logSum(logs)
	out := make([]belief, n)
	for v := range out {
		out[v].looks = len(all[v])
	}
	for _, x := range cases {
		p := math.Exp(x.log - total)
		if x.valve >= 0 {
			out[x.valve].stuck += p
		}
	}
	for v := range out {
		t := w[v].total()
		for k := range numKinds {
			out[v].kind[k] = (1 - out[v].stuck) * math.Exp(w[v][k]-t)
		}
	}
	return out
}

// split deals a suspect's looks into those up to the turn it stuck and those after.
func split(turns []turn, n int, p pattern, c centre, rel []float64) (early, late []look) {
	a, _ := looksOf(turns[:p.onset+1], n, c.drop, c.drop, rel)
	b, _ := looksOf(turns[p.onset+1:], n, c.drop, c.drop, rel[p.onset+1:])
	return a[p.valve], b[p.valve]
}
