package feed

import (
	"cmp"
	"math"
	"slices"

	"dustwright/sense"
)

// settle puts the rows in order of time and makes one row of rows with the same time: for each
// channel the last reading there is counts, last in the order in which files were given and rows
// stand in them. It counts what it did in the report.
func (t *table) settle(report *Report) {
	if t.ascending(0) {
		return
	}
	order := timeOrder(t.times)
	groups := groupStarts(t.times, order)
	report.Duplicates += len(t.times) - len(groups)
	for ch := range t.col {
		if t.col[ch] != nil && sense.Channel(ch) != sense.Pulse {
			var conflicts int
			t.col[ch], conflicts = pick(t.col[ch], order, groups)
			report.Conflicts += conflicts
		}
	}
	t.settleFirings(order, groups)
	times := make([]int64, len(groups))
	for g, at := range groups {
		times[g] = t.times[order[at]]
	}
	t.times = times
}

// timeOrder returns the rows in order of time; rows of the same time keep their order. Stretches that
// rise already are merged as wholes, so that a log in order, or two that overlap, cost one pass.
func timeOrder(times []int64) []int32 {
	order := make([]int32, len(times))
	runs := []int{0}
	for i := range times {
		order[i] = int32(i)
		if i > 0 && times[i] < times[i-1] {
			runs = append(runs, i)
		}
	}
	if len(runs) > len(times)/4 { // no stretches to speak of
		slices.SortStableFunc(order, func(a, b int32) int { return cmp.Compare(times[a], times[b]) })
		return order
	}
	runs = append(runs, len(times))
	spare := make([]int32, len(times))
	for len(runs) > 2 {
		next := runs[:1]
		for k := 0; k+1 < len(runs); k += 2 {
			from, mid := runs[k], runs[k+1]
			to := mid
			if k+2 < len(runs) {
				to = runs[k+2]
			}
			mergeRuns(spare[from:to], order[from:mid], order[mid:to], times)
			next = append(next, to)
		}
		runs = next
		order, spare = spare, order
	}
	return order
}

// mergeRuns merges two ordered stretches; of equal times the first stretch comes first.
func mergeRuns(into, a, b []int32, times []int64) {
	i, j := 0, 0
	for k := range into {
		if j == len(b) || i < len(a) && times[a[i]] <= times[b[j]] {
			into[k] = a[i]
			i++
		} else {
			into[k] = b[j]
			j++
		}
	}
}

// groupStarts returns where, in order, each time begins.
func groupStarts(times []int64, order []int32) []int32 {
	groups := make([]int32, 0, len(order))
	for k := range order {
		if k == 0 || times[order[k]] != times[order[k-1]] {
			groups = append(groups, int32(k))
		}
	}
	return groups
}

// pick builds a column with one cell per time: the last reading, and NaN where no row has one. It
// counts readings that were passed over for another value.
func pick(col []float64, order, groups []int32) ([]float64, int) {
	out := make([]float64, len(groups))
	conflicts := 0
	for g := range groups {
		v := math.NaN()
		for _, row := range order[groups[g]:groupEnd(order, groups, g)] {
			c := col[row]
			if math.IsNaN(c) {
				continue
			}
			if !math.IsNaN(v) && math.Abs(c-v) > 1e-9*math.Abs(v) {
				conflicts++
			}
			v = c
		}
		out[g] = v
	}
	return out, conflicts
}

func groupEnd(order, groups []int32, g int) int32 {
	if g+1 < len(groups) {
		return groups[g+1]
	}
	return int32(len(order))
}

// settleFirings gives each time the firings of the last of its rows that has any.
func (t *table) settleFirings(order, groups []int32) {
	col := t.col[sense.Pulse]
	if col == nil {
		return
	}
	first := make([]int32, len(col)+1) // where the firings of each row begin
	for _, f := range t.firings {
		first[f.Row+1]++
	}
	for i := 1; i < len(first); i++ {
		first[i] += first[i-1]
	}
	out := make([]float64, len(groups))
	firings := make([]sense.Firing, 0, len(t.firings))
	for g := range groups {
		chosen := int32(-1)
		for _, row := range order[groups[g]:groupEnd(order, groups, g)] {
			if chosen < 0 || col[row] > 0 || math.IsNaN(col[chosen]) {
				chosen = row
			}
		}
		out[g] = col[chosen]
		for _, f := range t.firings[first[chosen]:first[chosen+1]] {
			firings = append(firings, sense.Firing{Row: int32(g), Valve: f.Valve})
		}
	}
	t.col[sense.Pulse], t.firings = out, firings
}
