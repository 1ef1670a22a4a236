package trace

import (
	"math"
	"slices"
)

// A valve that sticks for good and a supply that wanders may come together. Each turn at which the level
// breaks down is looked at as the first by allowing for a wander on either side of it.

// breaks lists the turns before which the header stood highest against what it holds afterwards, three
// at most with their neighbours: places in the list of patterns.
func (l *ledger) breaks(patterns []pattern) []int {
	late := map[int]float64{}
	for _, x := range l.xs {
		if x.part == 2 {
			late[x.turn] = x.level
		}
	}
	near := func(from, to int) float64 {
		var v []float64
		for j := from; j <= to; j++ {
			if p, ok := late[j]; ok {
				v = append(v, p)
			}
		}
		if len(v) == 0 {
			return math.NaN()
		}
		slices.Sort(v)
		return v[len(v)/2]
	}
	fall := map[int]float64{}
	var out []int
	for i, p := range patterns {
		if p.kind != forGood {
			continue
		}
		before, after := near(p.onset-3, p.onset-1), near(p.onset, p.onset+2)
		if f := before - after; f > 0.04*l.top {
			fall[i] = f
			out = append(out, i)
		}
	}
	slices.SortStableFunc(out, func(a, b int) int {
		if fall[a] > fall[b] {
			return -1
		}
		return 1
	})
	var apart, with []int // neighbours of a break show it, too: which of them it is the fits decide
	far := func(i, k int) int { return abs(patterns[k].onset - patterns[i].onset) }
	for _, i := range out {
		if len(apart) < 3 && !slices.ContainsFunc(apart, func(k int) bool { return far(i, k) < 3 }) {
			apart = append(apart, i)
		}
	}
	for _, i := range out {
		if slices.ContainsFunc(apart, func(k int) bool { return far(i, k) < 2 }) {
			with = append(with, i)
		}
	}
	return with
}

func abs(k int) int { return max(k, -k) }

// withBreaks gives further fits with the breaks, beside the plain ones, which may well explain a break by a
// wander alone. best holds the plain fits by pattern; those that need no break get the wanders found, too.
func (l *ledger) withBreaks(patterns []pattern, best []balance, all []supply, set float64) []balance {
	var out []balance
	for _, i := range l.breaks(patterns) {
		b := l.broken(patterns[i], all, set)
		out = append(out, b)
		for k, p := range patterns {
			if p.kind == forGood || b.supply.wander.step == 0 {
				continue
			}
			term := l.termsOf(p)
			for _, u := range []supply{best[k].supply, b.supply} {
				u.wander = b.supply.wander
				if f := l.scored(p, u.with(l.xs, l.ambient), term, set); f.score > best[k].score {
					best[k] = f
				}
			}
		}
	}
	return out
}

// broken fits a valve that sticks for good together with a wander of the supply.
func (l *ledger) broken(p pattern, all []supply, set float64) balance {
	term := l.termsOf(p)
	best := balance{score: math.Inf(-1)}
	var plain []balance
	for _, u := range all {
		plain = append(plain, l.scored(p, u.with(l.xs, l.ambient), term, set))
	}
	slices.SortStableFunc(plain, byScore)
	try := func(u supply, w wander) {
		u.wander = w
		if b := l.scored(p, u.with(l.xs, l.ambient), term, set); b.score > best.score {
			best = b
		}
	}
	bases := firstOfEachLaw(plain)
	changes := l.changes(mostChanges)
	for _, b := range bases {
		for _, j := range changes {
			t := l.turns[j]
			for _, share := range []float64{-0.15, -0.07, 0.1} {
				try(b.supply, wander{step: share, time: t.at + 0.3*(t.next-t.at)})
			}
		}
	}
	rough := best.supply.wander
	for _, u := range all {
		try(u, rough)
	}
	for _, t := range l.turns {
		if math.Abs(t.at-rough.time) > 1.5*(t.next-t.at) {
			continue
		}
		for _, part := range []float64{0.03, 0.12, 0.35, 0.65} {
			for _, size := range []float64{0.5, 0.75, 1, 1.3} {
				try(best.supply, wander{step: size * rough.step, time: t.at + part*(t.next-t.at)})
			}
		}
	}
	apart := l.followingApart(p.onset, 0.09)
	for _, u := range all {
		try(u, apart)
	}
	l.polish(&best, set)
	return best
}

// firstOfEachLaw is the best supply of each law in a list that is sorted.
func firstOfEachLaw(list []balance) []balance {
	var out []balance
	taken := map[supplyLaw]bool{}
	for _, b := range list {
		if !taken[b.supply.law] {
			taken[b.supply.law] = true
			out = append(out, b)
		}
	}
	return out
}

// followingApart is a wander along what the header settles to, apart for the turns before the onset and from
// it on: the break itself is left to the valve.
func (l *ledger) followingApart(onset int, most float64) wander {
	out := wander{follow: make(map[int]float64, len(l.turns)+1)}
	for _, side := range [][2]int{{-1, onset}, {onset, len(l.turns)}} {
		late := map[int]float64{}
		var all []float64
		for _, x := range l.xs {
			if x.part == 2 && x.turn >= side[0] && x.turn < side[1] {
				late[x.turn] = x.level
				all = append(all, x.level)
			}
		}
		slices.Sort(all)
		for j := side[0]; j < side[1]; j++ {
			out.follow[j] = 1
			if p, ok := late[j]; ok {
				out.follow[j] = math.Max(1-most, math.Min(1+most, p/all[len(all)/2]))
			}
		}
	}
	out.jolts = jolts(out.follow, onset)
	return out
}
