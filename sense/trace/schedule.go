package trace

import (
	"math"
	"slices"
)

// slot is one turn of one valve.
type slot struct {
	at    float64 // onset [s]
	index int     // position in the firing sequence; counts turns, whether fired or not
	peak  int     // index of the peak that sits on it, or -1
	mark  int     // valve number the trace gives, or 0
	pause bool    // the schedule paused before this slot
}

// reward of a peak as part of a schedule: grows with evidence, and with the drop up to the usual one.
func reward(p peak, usual float64) float64 {
	return math.Min(p.z*p.z/2, 40) * math.Min(1, 1.2*p.drop/usual)
}

// usualDrop is the upper quartile of the drops of the strongest peaks, as many as slots are expected:
// half the valves may be dead. Where only one valve of many fires the rest is noise, which the largest drops
// but one show.
func usualDrop(found []peak, expect int) float64 {
	d := make([]float64, len(found))
	for i, p := range found {
		d[i] = p.drop
	}
	slices.Sort(d)
	slices.Reverse(d)
	d = d[:min(len(d), max(1, expect))]
	if len(d) == 0 {
		return 1
	}
	return max(d[len(d)/4], 0.4*d[min(1, len(d)-1)], 1e-3)
}

const (
	missCost  = 1.5
	pauseCost = 9
)

// chain finds the sequence of peaks that best fits a controller firing every interval seconds, with
// missed turns and pauses at a cost. It returns the indices of the peaks and the score.
func chain(s *signal, found []peak, usual, interval float64) ([]int, float64) {
	n := len(found)
	score := make([]float64, n)
	from := make([]int, n)
	best, bestScore := -1, math.Inf(-1)
	far, behind := -1, 0 // best end of a chain so long ago that only a pause leads on from it; peaks looked at for it
	lead := func(d float64) float64 { return missCost * math.Floor(d/interval) }
	for i, p := range found {
		t := s.time(p.bin)
		r := reward(p, usual)
		score[i], from[i] = r-math.Min(lead(t-s.t0), pauseCost), -1
		for k := i - 1; k >= 0; k-- {
			gap := t - s.time(found[k].bin)
			if gap > 12*interval {
				break
			}
			if c := stepCost(gap, interval); score[k]+r-c > score[i] {
				score[i], from[i] = score[k]+r-c, k
			}
		}
		for ; t-s.time(found[behind].bin) > 12*interval; behind++ {
			if far < 0 || score[behind] > score[far] {
				far = behind
			}
		}
		if far >= 0 && score[far]+r-pauseCost > score[i] {
			score[i], from[i] = score[far]+r-pauseCost, far
		}
		if total := score[i] - math.Min(lead(s.end()-t), pauseCost); total > bestScore {
			best, bestScore = i, total
		}
	}
	var out []int
	for i := best; i >= 0; i = from[i] {
		out = append(out, i)
	}
	slices.Reverse(out)
	return out, bestScore
}

// stepCost is what a gap between two pulses costs under an interval.
func stepCost(gap, interval float64) float64 {
	n := math.Max(1, math.Round(gap/interval))
	s := 0.015*interval*math.Sqrt(n) + 0.04
	dev := (gap - n*interval) / s
	cost := dev*dev/2 + (n-1)*missCost
	if gap > 1.25*interval {
		return math.Min(cost, pauseCost)
	}
	if math.Abs(dev) > 4 {
		return math.Inf(1)
	}
	return cost
}

// findInterval chooses the interval whose chain explains most: near the nominal one where it was told, else
// from 2.5 to 40 s.
func findInterval(s *signal, found []peak, nominal float64, told bool) (float64, []int, float64) {
	expect := int(s.duration() / nominal)
	usual := usualDrop(found, expect)
	try := func(lo, hi, step, width float64) (float64, []int, float64) {
		bestT, bestScore, bestValue := nominal, 0.0, math.Inf(-1)
		var best []int
		for f := lo; f <= hi+1e-9; f *= step {
			path, score := chain(s, found, usual, f*nominal)
			off := math.Log(f) / width
			score -= math.Min(off*off/2, 12)
			value := score
			if width < 0.1 { // near the nominal one, fewer missed turns are no reason for a longer interval
				value += missCost * missedAlong(s, found, path, f*nominal)
			}
			if value > bestValue {
				bestT, bestScore, bestValue, best = f*nominal, score, value, path
			}
		}
		return bestT, best, bestScore
	}
	if !told { // plain pulses only: with a short interval there is room for every noise peak in a chain
		all := found
		found = nil
		for _, p := range all {
			if p.drop > 0.5*usual || p.drop > 0.3*usual && p.z > 5 {
				found = append(found, p)
			}
		}
		nominal, _, _ = try(2.5/nominal, 40/nominal, 1.015, 2)
		found = all
		return try(0.97, 1.03, 1.003, 2)
	}
	t, path, score := try(0.78, 1.28, 1.01, 0.08)
	if total := totalReward(found, usual, expect); score < 0.55*total {
		if t2, path2, score2 := try(0.3, 3, 1.015, 0.3); score2 > score+0.2*total {
			return t2, path2, score2
		}
	}
	return t, path, score
}

// missedAlong is how many missed turns a chain was charged for.
func missedAlong(s *signal, found []peak, path []int, interval float64) float64 {
	if len(path) == 0 {
		return 0
	}
	end := func(d float64) float64 { return math.Min(math.Floor(d/interval), pauseCost/missCost) }
	sum := end(s.time(found[path[0]].bin)-s.t0) + end(s.end()-s.time(found[path[len(path)-1]].bin))
	for j := 1; j < len(path); j++ {
		gap := s.time(found[path[j]].bin) - s.time(found[path[j-1]].bin)
		if stepCost(gap, interval) < pauseCost {
			sum += math.Max(0, math.Round(gap/interval)-1)
		}
	}
	return sum
}

func totalReward(found []peak, usual float64, expect int) float64 {
	r := make([]float64, len(found))
	for i, p := range found {
		r[i] = reward(p, usual)
	}
	slices.Sort(r)
	slices.Reverse(r)
	var sum float64
	for _, v := range r[:min(len(r), max(1, expect))] {
		sum += v
	}
	return sum
}

// withoutNoise leaves out peaks of a chain that are no pulses: they only happen to stand where one was due.
func withoutNoise(found []peak, path []int) []int {
	var d []float64
	for _, i := range path {
		d = append(d, found[i].drop)
	}
	slices.Sort(d)
	var out []int
	for _, i := range path {
		if f, usual := found[i], d[len(d)*3/4]; f.z > 6 || f.z > 2.5 && f.drop > 0.07*usual || f.drop > 0.35*usual {
			out = append(out, i)
		}
	}
	return out
}

// gaps is how many turns without a pulse each gap of a chain holds; a pause is a gap that holds fewer
// than fit into it.
type gaps []int

// firstGaps takes a gap of a whole number of intervals for missed turns, any other for a pause.
func firstGaps(at []float64, interval float64) gaps {
	g := make(gaps, max(0, len(at)-1))
	for j := range g {
		gap := at[j+1] - at[j]
		if stepCost(gap, interval) < pauseCost || gap <= 1.25*interval {
			g[j] = max(0, int(math.Round(gap/interval))-1)
		}
	}
	return g
}

// lay turns a chain of pulses at the given times into slots: missed turns filled in, the ends extended
// to the ends of the trace.
func lay(s *signal, at []float64, path []int, g gaps, interval float64) []slot {
	var out []slot
	for j, i := range path {
		if j == 0 {
			out = append(out, slot{at: at[0], peak: i})
			continue
		}
		last := out[len(out)-1]
		gap := at[j] - last.at
		missed := g[j-1]
		step := gap / float64(missed+1)
		pause := math.Abs(step/interval-1) > 0.2
		if pause {
			step = interval
		}
		for k := 1; k <= missed; k++ {
			out = append(out, slot{at: last.at + step*float64(k), peak: -1, index: last.index + k})
		}
		out = append(out, slot{at: at[j], peak: i, index: last.index + missed + 1, pause: pause})
	}
	return extend(s, out, interval)
}

// extend adds the turns before the first and after the last pulse found.
func extend(s *signal, slots []slot, interval float64) []slot {
	if len(slots) == 0 {
		return slots
	}
	var head []slot
	for k := 1; ; k++ {
		t := slots[0].at - float64(k)*interval
		if t < s.t0+0.02*interval {
			break
		}
		head = append(head, slot{at: t, peak: -1, index: slots[0].index - k})
	}
	slices.Reverse(head)
	slots = append(head, slots...)
	last := slots[len(slots)-1]
	for k := 1; ; k++ {
		t := last.at + float64(k)*interval
		if t > s.end()-math.Max(0.03*interval, 0.3) {
			break
		}
		slots = append(slots, slot{at: t, peak: -1, index: last.index + k})
	}
	first := slots[0].index
	for i := range slots {
		slots[i].index -= first
	}
	return slots
}
