package collector

import "math"

// tree is how the branches of a file hang together, by their indexes. What the file says wrongly (see branchTree) is left
// out of it: a name that is not there is the collector, and branches in a ring are in no order.
type tree struct {
	next    []int     // branch each one joins; -1 where it ends at the collector
	feeders [][]int   // branches that join each one; none: it has a hood
	order   []int     // every branch after the one it joins
	flow    []float64 // design flow, of a main that of what joins it [m3/s]; NaN not known
	total   float64   // through all hoods [m3/s]; NaN not known
}

// tree puts the branches in order.
func (c *Collector) tree() *tree {
	n := len(c.Branches)
	t := &tree{next: make([]int, n), feeders: make([][]int, n), flow: make([]float64, n)}
	index := make(map[string]int, n)
	for i, b := range c.Branches {
		if _, twice := index[b.Name]; !twice {
			index[b.Name] = i
		}
	}
	for i, b := range c.Branches {
		t.next[i] = -1
		if j, known := index[b.Into]; known && b.Into != "" && j != i {
			t.next[i] = j
			t.feeders[j] = append(t.feeders[j], i)
		}
		t.flow[i] = math.NaN()
	}
	for i, next := range t.next {
		if next == -1 {
			t.order = append(t.order, i)
		}
	}
	roots := len(t.order)
	for k := 0; k < len(t.order); k++ {
		t.order = append(t.order, t.feeders[t.order[k]]...)
	}
	for k := len(t.order) - 1; k >= 0; k-- {
		i := t.order[k]
		t.flow[i] = float64(c.Branches[i].Flow)
		for m, f := range t.feeders[i] {
			if m == 0 {
				t.flow[i] = 0
			}
			t.flow[i] += t.flow[f]
		}
	}
	for _, i := range t.order[:roots] {
		t.total += t.flow[i]
	}
	if len(t.order) < n {
		t.total = math.NaN()
	}
	return t
}

// hood reports whether branch i has a hood: no other joins it.
func (t *tree) hood(i int) bool { return len(t.feeders[i]) == 0 }

// mains reports whether any branch joins another.
func (t *tree) mains() bool {
	for i := range t.next {
		if t.next[i] != -1 {
			return true
		}
	}
	return false
}

// ring is the branches that join each other without end, in the order in which they do; nil where there are none.
func (t *tree) ring() []int {
	placed := make([]bool, len(t.next))
	for _, i := range t.order {
		placed[i] = true
	}
	for i := range placed {
		if placed[i] {
			continue
		}
		at := i
		for range placed { // whoever joins the ring from outside has run into it by now
			at = t.next[at]
		}
		ring, from := []int{at}, t.next[at]
		for ; from != at; from = t.next[from] {
			ring = append(ring, from)
		}
		return ring
	}
	return nil
}

// others are the names of the branches but i.
func (t *tree) others(c *Collector, i int) []string {
	var names []string
	for j, b := range c.Branches {
		if j != i {
			names = append(names, b.Name)
		}
	}
	return names
}

// behind reports whether the air of branch i comes through branch j.
func (t *tree) behind(i, j int) bool {
	for range t.next {
		if i = t.next[i]; i == j || i == -1 {
			return i == j
		}
	}
	return false
}
