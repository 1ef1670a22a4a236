package trace

import (
	"math"
	"slices"
)

// ordering maps valve numbers to positions in the firing order and back.
type ordering struct {
	number   []int // by position
	position map[int]int
}

func newOrdering(n int, order []int) ordering {
	o := ordering{position: map[int]int{}}
	if len(order) == n {
		o.number = slices.Clone(order)
	} else {
		for v := 1; v <= n; v++ {
			o.number = append(o.number, v)
		}
	}
	for i, v := range o.number {
		o.position[v] = i
	}
	return o
}

// orderFromMarks is the firing order the marks themselves show: the valve that most often follows
// each one an interval later. It returns nil where they do not show a full round.
func orderFromMarks(marks []Mark, time []float64, n int, interval float64) []int {
	votes := map[[2]int]int{}
	for i := 1; i < len(marks); i++ {
		gap := time[marks[i].Row] - time[marks[i-1].Row]
		if gap > 0.6*interval && gap < 1.4*interval && marks[i].Valve != marks[i-1].Valve {
			votes[[2]int{marks[i-1].Valve, marks[i].Valve}]++
		}
	}
	next := make([]int, n+1)
	for from := 1; from <= n; from++ {
		for to := 1; to <= n; to++ {
			if v := votes[[2]int{from, to}]; v > 0 && (next[from] == 0 || v > votes[[2]int{from, next[from]}]) {
				next[from] = to
			}
		}
	}
	var out []int
	seen := make([]bool, n+1)
	for v := 1; v != 0 && !seen[v]; v = next[v] {
		seen[v] = true
		out = append(out, v)
	}
	if len(out) != n {
		return nil
	}
	return out
}

// counted gives marks that only say that some valve fires, a 1 at every pulse, the numbers of a count in
// firing order. It returns the trace itself where its marks are numbers.
func (w *work) counted(tr *Trace) *Trace {
	if w.n < 2 || len(tr.Marks) < 3 {
		return tr
	}
	var steps []float64
	for i, m := range tr.Marks {
		if m.Valve != tr.Marks[0].Valve {
			return tr
		}
		if i > 0 {
			steps = append(steps, tr.Time[m.Row]-tr.Time[tr.Marks[i-1].Row])
		}
	}
	slices.Sort(steps)
	usual := steps[len(steps)/2]
	if usual > 1.5*w.interval || usual < 0.5*w.interval {
		return tr
	}
	out := &Trace{Time: tr.Time, Header: tr.Header, Source: tr.Source, Notes: tr.Notes}
	index := 0
	for i, m := range tr.Marks {
		if i > 0 {
			gap := (tr.Time[m.Row] - tr.Time[tr.Marks[i-1].Row]) / usual
			if gap < 0.5 {
				continue // a second opening
			}
			if index++; math.Abs(gap-math.Round(gap)) < 0.2 {
				index += int(math.Round(gap)) - 1
			}
		}
		out.Marks = append(out.Marks, Mark{Row: m.Row, Valve: w.order.number[index%w.n]})
	}
	return out
}

// marked is the trace's marks, cleaned, with what follows from all of them.
type marked struct {
	at       []float64 // when the pressure follows [s]
	pos      []int     // in the firing order
	number   []int
	n        int
	interval float64
	whole    bool // nearly every turn has its mark
}

// readMarks cleans the marks and finds interval and lag.
func (w *work) readMarks(tr *Trace) marked {
	marks := withoutRepeats(tr, w.interval)
	m := marked{n: w.n, interval: markInterval(tr, marks, w.order, w.interval), whole: markEveryTurn(marks, w.order)}
	lag := markLag(w.s, tr, marks, w.found)
	for _, x := range marks {
		m.at = append(m.at, tr.Time[x.Row]+lag)
		m.pos = append(m.pos, w.order.position[x.Valve])
		m.number = append(m.number, x.Valve)
	}
	return m
}

// turns is how many turns lie between mark i-1 and mark i: the count that agrees with the valve numbers
// and comes nearest to the time that passed. fits says that no pause is needed to explain the time.
func (m marked) turns(i int) (k int, fits bool) {
	gaps := (m.at[i] - m.at[i-1]) / m.interval
	k = ((m.pos[i]-m.pos[i-1])%m.n + m.n) % m.n
	if k == 0 {
		k = m.n
	}
	if m.whole { // a long wait is a pause, not a round without marks
		return k, math.Abs(float64(k)-gaps) < 0.35
	}
	for k+m.n <= int(gaps+0.5*float64(m.n)) && math.Abs(float64(k+m.n)-gaps) < math.Abs(float64(k)-gaps) {
		k += m.n
	}
	return k, math.Abs(float64(k)-gaps) < 0.35+0.02*gaps
}

// layAlongMarks lays the schedule along the marks. A gap that holds a whole round and more may as well be
// a pause: which of the two it is, the pulses decide.
func (w *work) layAlongMarks(tr *Trace) {
	m := w.readMarks(tr)
	if w.layByPulses(m) {
		return
	}
	w.interval = m.interval
	rounds := make([]int, len(m.at)) // left out of each gap
	most := slices.Clone(rounds)     // that could be
	for i := 1; i < len(m.at); i++ {
		k, _ := m.turns(i)
		most[i] = (k - 1) / m.n
	}
	w.slots = w.slotsOf(m, rounds)
	if len(most) > 0 && slices.Max(most) > 0 {
		w.refine()
		w.takeCentre()
		w.slots = w.slotsOf(m, w.roundsLeftOut(m, most))
	}
}

// takeCentre measures the slots as they are for a first idea of the usual drop.
func (w *work) takeCentre() {
	w.after = chooseWindow(w.s, w.slots, w.shape, w.interval)
	w.turns = measureTurns(w.s, w.slots, w.shape, w.window())
	w.centre = findCentre(w.turns, w.n, w.hint, w.ambient)
}

// roundsLeftOut chooses how many whole rounds each gap between marks did not hold: none, as many as could
// be in all gaps alike, or what single gaps ask for.
func (w *work) roundsLeftOut(m marked, most []int) []int {
	worth := func(rounds []int) float64 {
		turns, stop := trimEnds(measureTurns(w.s, w.slotsOf(m, rounds), w.shape, w.window()), w.n, w.centre)
		sum, cost := evidence(turns, w.n, w.centre)-stop-w.unexplained(turns), pausePrior
		for _, r := range rounds {
			if r > 0 {
				sum, cost = sum-cost, pauseAgain
			}
		}
		return sum
	}
	best := make([]int, len(most))
	value := worth(best)
	if v := worth(most); v > value+0.5 {
		best, value = slices.Clone(most), v
	}
	for i := range most {
		for r := 0; r <= most[i]; r++ {
			if r == best[i] {
				continue
			}
			h := slices.Clone(best)
			h[i] = r
			if v := worth(h); v > value+0.5 {
				best, value = h, v
			}
		}
	}
	return best
}

// layByPulses lays the schedule along the pulses where marks are few, and lets the marks vote on the
// numbering. It reports false, and leaves things as they were, where marks are many or disagree.
func (w *work) layByPulses(m marked) bool {
	t, path, _ := findInterval(w.s, w.found, m.interval, true)
	if m.whole || 3*len(m.at) > 2*len(path) || len(path) < 3 {
		return false
	}
	old, found := w.interval, slices.Clone(w.found)
	w.interval = t
	w.layOut(path)
	votes := make([]int, m.n)
	best := 0
	nearest := make([]int, len(m.at))
	for i, at := range m.at {
		k := 0
		for j, x := range w.slots {
			if math.Abs(x.at-at) < math.Abs(w.slots[k].at-at) {
				k = j
			}
		}
		nearest[i] = -1
		if math.Abs(w.slots[k].at-at) > 0.25*t {
			continue
		}
		nearest[i] = k
		shift := ((m.pos[i]-w.slots[k].index)%m.n + m.n) % m.n
		votes[shift]++
		if votes[shift] > votes[best] {
			best = shift
		}
	}
	if 10*votes[best] < 9*len(m.at) {
		w.interval, w.found = old, found
		return false
	}
	for j := range w.slots {
		w.slots[j].index += best
	}
	for i, k := range nearest {
		if k >= 0 && w.slots[k].index%m.n == m.pos[i] {
			w.slots[k].mark = m.number[i]
		}
	}
	return true
}

// slotsOf fills the turns between the marks, less the rounds left out, and beyond them.
func (w *work) slotsOf(m marked, rounds []int) []slot {
	var out []slot
	for i, at := range m.at {
		if i == 0 {
			out = append(out, slot{at: at, index: m.pos[0], mark: m.number[0], peak: -1})
			continue
		}
		last := out[len(out)-1]
		k, fits := m.turns(i)
		k -= rounds[i] * m.n
		fits = fits && rounds[i] == 0
		for j, t := range w.between(last.at, at, k, m.interval, fits) {
			out = append(out, slot{at: t, index: last.index + 1 + j, peak: -1})
		}
		out = append(out, slot{at: at, index: last.index + k, mark: m.number[i], peak: -1, pause: !fits && at-last.at > float64(k)*m.interval})
	}
	out = extendMarked(w.s, out, m.interval, m.n)
	attach(w.s, out, w.found, m.interval)
	return out
}

// between places the k-1 turns between two marks: evenly, or, where the time holds a pause too, before and
// after the pause as the peaks found say.
func (w *work) between(from, to float64, k int, interval float64, fits bool) []float64 {
	out := make([]float64, k-1)
	step := (to - from) / float64(k)
	if fits || step < interval {
		for j := range out {
			out[j] = from + float64(j+1)*step
		}
		return out
	}
	best := -1.0
	for before := 0; before < k; before++ {
		at := make([]float64, k-1)
		seen := 0.01 * float64(before) // nothing to choose: the pause comes last
		for j := range at {
			at[j] = from + float64(j+1)*interval
			if j >= before {
				at[j] = to - float64(k-1-j)*interval
			}
			seen += w.seenAt(at[j], interval)
		}
		if seen > best {
			best, out = seen, at
		}
	}
	return out
}

// seenAt is the evidence, capped, of the strongest peak near a time.
func (w *work) seenAt(t, interval float64) float64 {
	best := 0.0
	for _, p := range w.found {
		if math.Abs(w.s.time(p.bin)-t) < 0.03*interval+0.2 {
			best = math.Max(best, math.Min(p.z, 8))
		}
	}
	return best
}

// withoutRepeats drops marks that repeat a valve within half an interval.
func withoutRepeats(tr *Trace, interval float64) []Mark {
	var out []Mark
	for _, m := range tr.Marks {
		if k := len(out) - 1; k >= 0 && out[k].Valve == m.Valve && tr.Time[m.Row]-tr.Time[out[k].Row] < 0.5*interval {
			continue
		}
		out = append(out, m)
	}
	return out
}

// markEveryTurn tells whether nearly every mark is followed by the next valve in order.
func markEveryTurn(marks []Mark, o ordering) bool {
	n, next := len(o.number), 0
	for i := 1; i < len(marks); i++ {
		if (o.position[marks[i-1].Valve]+1)%n == o.position[marks[i].Valve] {
			next++
		}
	}
	return len(marks) > 1 && next*10 >= 9*(len(marks)-1)
}

// markInterval is the interval the marks keep.
func markInterval(tr *Trace, marks []Mark, o ordering, nominal float64) float64 {
	var v []float64
	n := len(o.number)
	for i := 1; i < len(marks); i++ {
		gap := tr.Time[marks[i].Row] - tr.Time[marks[i-1].Row]
		step := ((o.position[marks[i].Valve]-o.position[marks[i-1].Valve])%n + n) % n
		if step == 0 {
			step = n
		}
		if t := gap / float64(step); t > 0.6*nominal && t < 1.6*nominal {
			v = append(v, t)
		}
	}
	if len(v) == 0 {
		return nominal
	}
	slices.Sort(v)
	return v[len(v)/2]
}

// markLag is by how much the pressure follows the marks, from the peaks near them.
func markLag(s *signal, tr *Trace, marks []Mark, found []peak) float64 {
	best, bestScore := 0.02, 0.0
	for lag := -0.4; lag <= 0.8; lag += 0.04 {
		var sum float64
		for _, m := range marks {
			at := tr.Time[m.Row] + lag
			i, _ := slices.BinarySearchFunc(found, at-0.3, func(p peak, t float64) int {
				if s.time(p.bin) < t {
					return -1
				}
				return 1
			})
			for ; i < len(found) && s.time(found[i].bin) < at+0.3; i++ {
				off := (s.time(found[i].bin) - at) / 0.1
				sum += math.Min(found[i].z, 12) * math.Exp(-off*off/2)
			}
		}
		if sum-math.Abs(lag)*0.1 > bestScore {
			best, bestScore = lag, sum-math.Abs(lag)*0.1
		}
	}
	return best
}

// attach gives every slot the strongest peak near it.
func attach(s *signal, slots []slot, found []peak, interval float64) {
	for j := range slots {
		slots[j].peak = -1
		for i, p := range found {
			if math.Abs(s.time(p.bin)-slots[j].at) < 0.03*interval+0.2 && (slots[j].peak < 0 || p.z > found[slots[j].peak].z) {
				slots[j].peak = i
			}
		}
	}
}

// extendMarked adds unmarked turns at both ends and keeps the numbering of the marks.
func extendMarked(s *signal, slots []slot, interval float64, n int) []slot {
	first := slots[0].index
	slots = extend(s, slots, interval)
	head := 0
	for slots[head].mark == 0 {
		head++
	}
	shift := first - slots[head].index
	for shift+slots[0].index < 0 {
		shift += n
	}
	for i := range slots {
		slots[i].index += shift
	}
	return slots
}
