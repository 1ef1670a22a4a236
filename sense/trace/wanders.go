package trace

import (
	"math"
	"slices"
)

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
		return math.Log(0.06/float64(3*turns)) - 1.5 - sq(sq(w.step/0.16)) // a fifth is much, a quarter unheard of
	case w.trend != 0:
		return math.Log(0.06 / 6)
	case w.follow != nil:
		return math.Log(0.06) - 0.2*float64(turns)/float64(1+w.reach) - math.Max(0, w.jolts)
	}
	return math.Log(0.88)
}

// highest is the highest level the supply holds, whatever it wanders to [Pa gauge]: at what it holds once it is set.
func (u supply) highest() float64 {
	most := 0.0
	for _, f := range u.wander.follow {
		most = math.Max(most, f-1)
	}
	return u.level * (1 + math.Max(0, u.wander.step) + math.Abs(u.wander.trend)/2 + most)
}
