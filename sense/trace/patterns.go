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

// wanders lists changes of the supply's level worth allowing for, and the best fit with them.
func (l *ledger) wanders(base []balance) ([]wander, balance) {
	f := &finder{l: l, base: base, term: l.termsOf(pattern{valve: -1}), best: base[0], out: []wander{{}}}
	first, last := l.xs[0].from, l.xs[len(l.xs)-1].to
	var trends, steps []wander
	for _, share := range []float64{-0.2, -0.13, -0.07, 0.07, 0.13, 0.2} {
		trends = append(trends, wander{trend: share, middle: (first + last) / 2, span: last - first})
	}
	for _, j := range l.changes(mostChanges) {
		t := l.turns[j]
		for _, share := range []float64{-0.2, -0.1, 0.1} {
			for _, part := range []float64{0.12, 0.35, 0.65} {
				steps = append(steps, wander{step: share, time: t.at + part*(t.next-t.at)})
			}
		}
	}
	f.try(trends)
	f.try([]wander{l.following(1, 0.12), l.following(0, 0.09)})
	f.try(steps)
	if w := f.out[len(f.out)-1]; w.step != 0 { // then its size
		var sizes []wander
		for _, share := range []float64{0.7, 0.8, 0.9, 1.1, 1.25, 1.5} {
			other := w
			other.step *= share
			sizes = append(sizes, other)
		}
		f.try(sizes)
	}
	return f.out, f.best
}

// finder keeps the best wander of each list it tries, and the best fit of all.
type finder struct {
	l    *ledger
	base []balance // supplies to try them with
	term []int
	best balance
	out  []wander
}

func (f *finder) try(list []wander) {
	found, top := wander{}, f.base[0].score+3
	for _, w := range list {
		for _, b := range f.base {
			u := supply{law: b.supply.law, level: b.supply.level, wander: w}.with(f.l.xs, f.l.ambient)
			fit := f.l.fit(pattern{valve: -1}, u, f.term)
			if fit.score > top {
				found, top = w, fit.score
			}
			if fit.score > f.best.score {
				f.best = fit
			}
		}
	}
	if !found.none() {
		f.out = append(f.out, found)
	}
}

// following is a wander along what the header settles to, turn by turn, as a loading and unloading
// compressor makes it: at most by most up or down, smoothed over reach turns to either side.
func (l *ledger) following(reach int, most float64) wander {
	late := map[int]float64{}
	var all []float64
	for _, x := range l.xs {
		if x.part == 2 {
			late[x.turn] = x.level
			all = append(all, x.level)
		}
	}
	if len(all) < 4 {
		return wander{}
	}
	slices.Sort(all)
	mid := all[len(all)/2]
	follow := make(map[int]float64, len(l.turns))
	for j := -1; j < len(l.turns); j++ {
		var near []float64
		for k := j - reach; k <= j+reach; k++ {
			if v, ok := late[k]; ok {
				near = append(near, v)
			}
		}
		if len(near) == 0 {
			near = append(near, mid)
		}
		slices.Sort(near)
		follow[j] = math.Max(1-most, math.Min(1+most, near[len(near)/2]/mid))
	}
	return wander{follow: follow, reach: reach, jolts: jolts(follow, math.MaxInt)}
}

// leftOut fits a valve that closes late once more, with a wander that follows the turns it does not bleed and lies
// between them at those it does.
func (l *ledger) leftOut(b *balance, all []supply, set float64) {
	term := l.termsOf(b.pattern)
	bled := map[int]bool{}
	for i, x := range l.xs {
		if term[i] >= 0 {
			bled[x.turn] = true
		}
	}
	w := l.followingBut(bled, 0.15)
	if w.none() {
		return
	}
	for _, u := range all {
		if u.law == b.supply.law {
			u.wander = w
			l.better(b, u, term, set)
		}
	}
}

// followingBut is a wander along what the header settles to, turn by turn but for those named, which lie between
// their neighbours.
func (l *ledger) followingBut(bled map[int]bool, most float64) wander {
	var at []int
	var level []float64
	for _, x := range l.xs {
		if x.part == 2 && !bled[x.turn] {
			at, level = append(at, x.turn), append(level, x.level)
		}
	}
	if len(at) < 4 {
		return wander{}
	}
	mid := nth(slices.Clone(level), len(level)/2)
	follow := make(map[int]float64, len(l.turns)+1)
	for k, j := 0, -1; j < len(l.turns); j++ {
		for k+1 < len(at) && at[k+1] <= j {
			k++
		}
		v := level[k]
		if at[k] < j && k+1 < len(at) {
			v += (level[k+1] - v) * float64(j-at[k]) / float64(at[k+1]-at[k])
		}
		follow[j] = math.Max(1-most, math.Min(1+most, v/mid))
	}
	return wander{follow: follow, jolts: jolts(follow, math.MaxInt)}
}

// jolts is what a wander along the turns costs for its changes from one to the next: what varies all the time may
// go on to, a level that stood still and breaks is no wander. The change into the turn apart is free.
func jolts(follow map[int]float64, apart int) float64 {
	var steps []float64
	for j := 0; ; j++ {
		f, ok := follow[j]
		if !ok {
			break
		}
		if j != apart {
			steps = append(steps, math.Abs(f-follow[j-1]))
		}
	}
	if len(steps) == 0 {
		return 0
	}
	usual := math.Max(0.006, 2*nth(slices.Clone(steps), len(steps)/2))
	sum := 0.0
	for _, d := range steps {
		sum += math.Min(sq(d/usual)/2, 6)
	}
	return sum - 0.2*float64(len(steps))
}

// logPrior of a wander: none is usual.
func (w wander) logPrior(turns int) float64 {
	switch {
	case w.step != 0:
		return math.Log(0.06/float64(3*turns)) - 1.5
	case w.trend != 0:
		return math.Log(0.06 / 6)
	case w.follow != nil:
		return math.Log(0.06) - 0.2*float64(turns)/float64(1+w.reach) - math.Max(0, w.jolts)
	}
	return math.Log(0.88)
}

// findBalance fits all patterns and returns them, best first, scores with priors included.
func findBalance(l *ledger, set float64) []balance {
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
	terms := make([][]int, len(patterns))
	best := make([]balance, len(patterns))
	for i, p := range patterns {
		terms[i] = l.termsOf(p)
		best[i].score = math.Inf(-1)
	}
	l.settle(steady)
	for _, w := range wanders {
		for _, u := range all {
			u.wander = w
			u = u.with(l.xs, l.ambient)
			for i, p := range patterns {
				if b := l.scored(p, u, terms[i], set); b.score > best[i].score {
					best[i] = b
				}
			}
		}
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

// highest is the highest level the supply holds, whatever it wanders to [Pa gauge]: at what it holds once it is set.
func (u supply) highest() float64 {
	most := 0.0
	for _, f := range u.wander.follow {
		most = math.Max(most, f-1)
	}
	return u.level * (1 + math.Max(0, u.wander.step) + math.Abs(u.wander.trend)/2 + most)
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
