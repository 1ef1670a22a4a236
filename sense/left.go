package sense

import (
	"math"
	"slices"
)

// shown is what rows show of the valve that fired last in them, and how many of them tell it.
type shown struct {
	of    func(*FiringSet) *Moments
	least uint32
	alike bool // as long after the last pulse as others: valves don't fall into groups by that
}

// What is seen at the end of all rows, and of rows that end so long after the last pulse as others of the same bout:
// these agree much better. How many tell: common practice, no source.
var (
	lacksLast = shown{func(f *FiringSet) *Moments { return &f.Left }, 4, false}
	lacksHeld = shown{func(f *FiringSet) *Moments { return &f.Held }, 2, true}
	puffsLast = shown{func(f *FiringSet) *Moments { return &f.Puff }, 4, false}
	puffsHeld = shown{func(f *FiringSet) *Moments { return &f.HeldPuff }, 3, true}
)

// leftOf holds what the header lacks at the end of the rows in which each valve fired last against the
// median of the others. Where rows and pulses go in step, valves differ by how long before the row's end
// they fire: the scatter of the others, and that of single days before, is the width.
func leftOf(now, before []FiringSet, n int, what shown) []Estimate {
	const why = "no rows in which this valve fired last and the header was read"
	out := lastOf(now, n, what, why)
	var seen []int
	var means []float64
	for i, e := range out {
		if e.Known() {
			seen, means = append(seen, i), append(means, e.Value)
		}
	}
	tells := len(seen) >= 2 && medianOf(slices.Clone(means)) > 0
	daily, days := dayScatter(before, n, what), float64(countDays(now))
	for k, i := range seen {
		others := slices.Delete(slices.Clone(means), k, k+1)
		ref := medianOf(slices.Clone(others))
		if !tells || !(ref > 0) {
			out[i] = Unknown(why)
			continue
		}
		scatter := lonePair * ref
		switch {
		case len(others) > 2 && what.alike:
			scatter = spreadOf(slices.Clone(others))
		case len(others) > 1:
			scatter = deviation(others)
		}
		sigma := hypot(hypot(out[i].Sigma, scatter)/ref, daily/math.Sqrt(days))
		out[i].Value, out[i].Sigma = out[i].Value/ref, max(sigma, leastLeft)
	}
	return out
}

// leastLeft is the least width of that ratio, and lonePair what it is unsure by where there is but one other valve.
// Common practice, no source.
const (
	leastLeft = 0.03
	lonePair  = 0.2
)

// byValve merges what was seen of single valves over the days, for valves 1..n.
func byValve(sets []FiringSet, n int, of func(*FiringSet) *Moments) []Moments {
	out := make([]Moments, n)
	for i := range sets {
		if v := int(sets[i].Valve); v >= 1 && v <= n {
			out[v-1].merge(*of(&sets[i]))
		}
	}
	return out
}

// lastOf is the mean of what was seen at the end of the rows in which each valve fired last; none is known
// better than the scatter of all valves' rows allows.
func lastOf(sets []FiringSet, n int, what shown, why string) []Estimate {
	out := make([]Estimate, n)
	all := byValve(sets, n, what.of)
	usual := within(all)
	for i, m := range all {
		out[i] = Unknown(why)
		if m.N >= what.least {
			out[i] = mean(m, "")
			out[i].Sigma = max(out[i].Sigma, usual/math.Sqrt(float64(m.N)))
		}
	}
	return out
}

// within is the standard deviation of single rows about their own valve's mean, over all valves: few rows may
// agree by chance.
func within(all []Moments) float64 {
	var sq, free float64
	for _, m := range all {
		if m.N > 1 {
			sq += max(0, m.Sq-m.Sum*m.Sum/float64(m.N))
			free += float64(m.N) - 1
		}
	}
	if free == 0 {
		return 0
	}
	return math.Sqrt(sq / free)
}

// countDays is how many days the sets lie on, at least one.
func countDays(sets []FiringSet) int {
	n, last := 0, int64(math.MinInt64)
	for i := range sets {
		if sets[i].Day != last {
			n, last = n+1, sets[i].Day
		}
	}
	return max(1, n)
}

// dayScatter is how far single valves lie off the median of their day, over that median: a robust standard
// deviation, since on some days that median is next to nothing; NaN unknown.
func dayScatter(sets []FiringSet, n int, what shown) float64 {
	var off []float64
	for from := 0; from < len(sets); {
		to := from
		for to < len(sets) && sets[to].Day == sets[from].Day {
			to++
		}
		var day []float64
		for _, m := range byValve(sets[from:to], n, what.of) {
			if m.N >= what.least {
				day = append(day, m.Sum/float64(m.N))
			}
		}
		if len(day) >= 3 {
			if mid := medianOf(append([]float64(nil), day...)); mid > 0 {
				for _, x := range day {
					off = append(off, x/mid-1)
				}
			}
		}
		from = to
	}
	if len(off) < 6 {
		return math.NaN()
	}
	return spreadOf(off)
}

// deviation is the standard deviation of v, strays and all: valves that fire in step with the rows fall
// into groups, whose scatter a robust measure would pass over.
func deviation(v []float64) float64 {
	var m weighted
	for _, x := range v {
		m.add(x, 1)
	}
	_, se := m.value()
	return se * math.Sqrt(m.n)
}

// lacksOf is what the header lacks after each valve against what it lacks after the others: at the end of all rows,
// or of those that end alike, whichever tells better.
func lacksOf(now, before []FiringSet, n int) []Estimate {
	return better(leftOf(now, before, n, lacksLast), leftOf(now, before, n, lacksHeld))
}

// puffsOf is how far the leak detector stands up after each valve above the other valves, chosen likewise. Each kind is held
// against its own, since at the end of all rows it is the whole rise that is known. There valves differ by how long before it
// they fire, as with what the header lacks.
func puffsOf(sets []FiringSet, n int) []Estimate {
	const why = "no rows in which this valve fired last and the leak detector was read"
	all, held := lastOf(sets, n, puffsLast, why), lastOf(sets, n, puffsHeld, why)
	out, alike := make([]Estimate, n), make([]Estimate, n)
	for i := range out {
		out[i], alike[i] = above(all, i), above(held, i)
		var others []float64
		for j := range all {
			if j != i && all[j].Known() {
				others = append(others, all[j].Value)
			}
		}
		if out[i].Known() && len(others) > 1 {
			out[i].Sigma = hypot(out[i].Sigma, deviation(others))
		}
	}
	return better(out, alike)
}

// better takes the better known of two estimates of each valve.
func better(a, b []Estimate) []Estimate {
	for i := range b {
		if !a[i].Known() || b[i].Known() && b[i].Sigma < a[i].Sigma {
			a[i] = b[i]
		}
	}
	return a
}
