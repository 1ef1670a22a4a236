package trace

import (
	"math"
	"slices"
)

// suspects lists the patterns worth fitting.
func suspects(xs []stretch, turns []turn, n int) []pattern {
	out := []pattern{{kind: tight, valve: -1}}
	for v := range n {
		out = append(out, pattern{kind: holds, valve: v})
	}
	for j, t := range turns {
		if xs[0].turn >= j {
			continue // nothing before it to compare with
		}
		out = append(out, pattern{kind: forGood, valve: t.index % n, onset: j})
	}
	return passing(out, xs, turns, n)
}

// passing adds the patterns that begin or end between turns.
func passing(out []pattern, xs []stretch, turns []turn, n int) []pattern {
	for lo, x := range xs {
		for hi := lo + 1; hi < len(xs) && hi <= lo+longestSpell; hi++ {
			if x.turn >= 0 && (lo == 0 || xs[lo-1].turn < x.turn) {
				out = append(out, pattern{kind: spell, valve: turns[x.turn].index % n, onset: x.turn, lo: lo, hi: hi})
			}
			out = append(out, pattern{kind: drawn, valve: -1, lo: lo, hi: hi})
		}
		if lo > 2 {
			out = append(out, pattern{kind: midway, valve: -1, onset: x.turn, lo: lo, hi: len(xs)})
		}
	}
	return out
}

// How often a valve sticks open in each of the ways, and how often a header leaks elsewhere
// (common experience, no source).
const (
	stuckRate  = 0.01
	leakRate   = 0.012
	alwaysRate = 0.03 // of valves that stood open already: the header's low level called for the trace
	drawRate   = 0.05 // others that draw from the line for a while
)

// longestSpell is how many stretches a passing bleed may last: some four turns.
const longestSpell = 16

// logPriorOf is the prior of one pattern relative to nothing bleeding. For always it is left to
// believe, which knows whether a valve or something else is blamed.
func logPriorOf(p pattern, turns []turn, n int) float64 {
	switch p.kind {
	case forGood:
		return math.Log(stuckRate * float64(n) / float64(len(turns)))
	case holds:
		return math.Log(stuckRate)
	case spell:
		return math.Log(0.4 * stuckRate * float64(n) / float64(len(turns)) / longestSpell)
	case midway:
		return math.Log(0.3 * stuckRate * float64(n) / float64(4*len(turns)))
	case drawn:
		return math.Log(drawRate / float64(4*len(turns)) / longestSpell)
	}
	return 0
}

// levelPrior is how probable it is that the supply holds a level when the file says set.
func levelPrior(level, set float64) float64 {
	if !known(set) {
		return 0
	}
	z := math.Log(level / set)
	return logSum([]float64{math.Log(0.93) - sq(z/0.055)/2, math.Log(0.06*0.055/0.18) - sq(z/0.18)/2, math.Log(2e-5)})
}

// ready are supplies with their shares worked out.
func (l *ledger) ready(all []supply, w wander) []supply {
	out := make([]supply, len(all))
	for i, u := range all {
		u.wander = w
		out[i] = u.with(l.xs, l.ambient)
	}
	return out
}

// mostLevels is how many levels of each law are tried again with a wander.
const mostLevels = 3

// bestOf is a pattern's best fit: every supply as it stands, the best of each law with every wander.
func (l *ledger) bestOf(p pattern, term []int, tried [][]supply) balance {
	plain := make([]balance, len(tried[0]))
	for i, u := range tried[0] {
		plain[i] = l.scored(p, u, term, l.set)
	}
	order := make([]int, len(plain))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return byScore(plain[a], plain[b]) })
	best := plain[order[0]]
	taken := map[supplyLaw]int{}
	for _, i := range order {
		law := plain[i].supply.law
		if taken[law]++; taken[law] > mostLevels {
			continue
		}
		for _, wandering := range tried[1:] {
			if b := l.scored(p, wandering[i], term, l.set); b.score > best.score {
				best = b
			}
		}
	}
	return best
}

// findBalance fits all patterns and returns them, best first, scores with priors included.
func findBalance(l *ledger) []balance {
	set := l.set
	if len(l.xs) < 3 {
		return nil
	}
	tightly := pattern{kind: tight, valve: -1}
	all := supplies(l.xs, set)
	var base []balance
	for _, u := range all {
		base = append(base, l.fit(tightly, u.with(l.xs, l.ambient), l.termsOf(tightly)))
	}
	slices.SortStableFunc(base, byScore)
	wanders, steady := l.wanders(seeds(base))
	patterns := l.likely(suspects(l.xs, l.turns, l.n), append([]balance{steady}, base...))
	best := make([]balance, len(patterns))
	l.settle(steady)
	var tried [][]supply
	for _, w := range wanders { // the first is none
		tried = append(tried, l.ready(all, w))
	}
	for i, p := range patterns {
		best[i] = l.bestOf(p, l.termsOf(p), tried)
	}
	best = append(best, l.withBreaks(patterns, best, all, set)...)
	for i, p := range patterns {
		if p.kind == holds || p.kind == spell {
			l.leftOut(&best[i], all, set)
		}
	}
	slices.SortStableFunc(best, byScore)
	polished := 0
	for i := range best {
		if best[i].kind == tight || slices.Max(best[i].bleed[:]) > 0.01*l.full {
			l.polish(&best[i], set)
			polished++
		}
		if polished == 12 {
			break
		}
	}
	slices.SortStableFunc(best, byScore)
	if b, ok := l.bledThroughout(tightest(best), set); ok {
		best = append(best, b)
	}
	slices.SortStableFunc(best, byScore)
	return best
}

func tightest(list []balance) balance {
	for _, b := range list {
		if b.kind == tight {
			return b
		}
	}
	return list[0]
}

// polish moves level and step of a fit off the grid.
func (l *ledger) polish(b *balance, set float64) {
	term := l.termsOf(b.pattern)
	for _, d := range []float64{0.02, 0.01, 0.005, 0.003} {
		for range 3 {
			moved := false
			for _, s := range []float64{-1, 1} {
				u := b.supply
				u.level *= 1 + s*d
				moved = l.better(b, u, term, set) || moved
				if u = b.supply; u.wander.step != 0 {
					u.wander.step += s * d
					moved = l.better(b, u, term, set) || moved
				}
				if u = b.supply; u.wander.trend != 0 {
					u.wander.trend += s * d
					moved = l.better(b, u, term, set) || moved
				}
			}
			if !moved {
				break
			}
		}
	}
}

// better replaces b by its pattern's fit under another supply where that scores higher.
func (l *ledger) better(b *balance, u supply, term []int, set float64) bool {
	f := l.scored(b.pattern, u.with(l.xs, l.ambient), term, set)
	if f.score <= b.score {
		return false
	}
	*b = f
	return true
}

// scored fits a pattern and adds the priors.
func (l *ledger) scored(p pattern, u supply, term []int, set float64) balance {
	b := l.fit(p, u, term)
	prior := levelPrior(u.highest(), set)
	if b.rate < 0.01*u.level { // nothing comes in: what counts is what the header did reach
		prior = math.Min(prior, levelPrior(l.top, set)+math.Log(0.03))
	}
	b.score += prior + u.wander.logPrior(len(l.turns)) + logPriorOf(p, l.turns, l.n)
	return b
}

// termsOf says for every stretch which bleed term of the pattern acts on it.
func (l *ledger) termsOf(p pattern) []int {
	out := make([]int, len(l.xs))
	for i, x := range l.xs {
		out[i] = p.term(i, x, l.turns, l.n)
	}
	return out
}

// bledThroughout reads a tight fit as a header that bleeds all the time: the trace is the same, only
// the level is below what the supply would hold. With the supply's rate k per pascal and a bleed g, the
// level a settles where k (set - a) = g out(a) and is approached at k + g out'(a); both are seen.
func (l *ledger) bledThroughout(t balance, set float64) (balance, bool) {
	a := t.supply.level
	if !known(set) || t.supply.highest() > 0.97*set {
		return balance{}, false
	}
	approach := 1 / l.back
	d := 0.02 * a
	bend := (outflow(a+d, l.ambient) - outflow(a-d, l.ambient)) / (2 * d)
	g := approach / (bend + outflow(a, l.ambient)/(set-a))
	b := t
	b.pattern = pattern{kind: always, valve: -1}
	b.bleed = [3]float64{g}
	b.score += math.Log(0.93) - levelPrior(t.supply.highest(), set)
	return b, true
}

// seeds picks the fits from which to look for wanders: the best, and of each law the best two that
// do see a supply.
func seeds(base []balance) []balance {
	out := []balance{base[0]}
	taken := map[supplyLaw]int{}
	for _, b := range base {
		if taken[b.supply.law] < 2 && b.rate > 0.05*b.supply.level {
			out = append(out, b)
			taken[b.supply.law]++
		}
	}
	return out
}

func byScore(a, b balance) int {
	switch {
	case a.score > b.score:
		return -1
	case a.score < b.score:
		return 1
	}
	return 0
}

// supplies lists laws and levels to try: around what the header reaches, and around the setting.
func supplies(xs []stretch, set float64) []supply {
	v := make([]float64, len(xs))
	for i, x := range xs {
		v[i] = x.level
	}
	slices.Sort(v)
	high := v[int(0.9*float64(len(v)-1))]
	top := v[len(v)-1]
	var levels []float64
	for _, f := range []float64{0.86, 0.92, 0.96, 0.985, 1, 1.01, 1.025, 1.06, 1.12, 1.3} {
		levels = append(levels, f*high)
	}
	if top > 1.15*high {
		levels = append(levels, 0.97*top, 1.01*top)
	}
	if known(set) {
		for _, f := range []float64{0.92, 0.97, 1.02, 1.07} {
			levels = append(levels, f*set)
		}
	}
	var out []supply
	for _, law := range []supplyLaw{supplyLinear, supplyISO, supplyRamp, supplyLine} {
		for _, a := range levels {
			out = append(out, supply{law: law, level: a})
		}
	}
	return out
}
