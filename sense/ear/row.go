package ear

import (
	"cmp"
	"math"
	"slices"
)

// row is the most regular row of bursts: one place for every moment a pulse was due.
type row struct {
	at       []int   // frames, ascending
	interval float64 // [s]
	score    float64 // how far it stands above what any row gets
	strength []float64
	rival    float64 // reward of the next best row over its own
	share    float64 // of its places that sound
	paused   []bool  // the controller rested before this place
}

// Bounds of the search for the row.
const (
	intervalSlack = 0.10  // the interval may be off by this share of what was said
	stepSlack     = 0.035 // and change by this share from one pulse to the next
	leastInterval = 1.5   // [s]
	mostInterval  = 60
	coarse        = 4    // frames drawn together for the search
	restLeast     = 1.25 // intervals from the last pulse before a rest to the first after
	restCost      = 1.7  // pulses that have to speak for a rest
	placeCost     = 0.45 // what chance gives a place: none are put into a rest
)

// groups are the bands listened to by themselves at first: a thump lies in few, a hiss in others.
var groups = [...][2]int{{0, 5}, {3, 9}, {7, 14}, {12, bands}, {0, bands}}

// rows finds rows in each group of bands by itself, the best first; the best one again with the bands
// weighted as it says.
func (s *sound) rows(spec Spec) []*row {
	var rows []*row
	for _, g := range groups {
		var w [bands]float64
		for b := g[0]; b < g[1]; b++ {
			w[b] = 1
		}
		if r := s.search(s.strength(w), s.candidates(spec.Interval, intervalSlack)); r != nil {
			rows = append(rows, r)
		}
	}
	slices.SortStableFunc(rows, func(a, b *row) int { return cmp.Compare(b.score, a.score) })
	for range 2 {
		if len(rows) == 0 {
			return nil
		}
		if r := s.search(s.strength(s.weights(rows[0])), s.candidates(rows[0].interval, 0.03)); r != nil {
			rows[0] = r
		}
	}
	return rows
}

// weights says in which bands the stronger half of a row rises.
func (s *sound) weights(r *row) [bands]float64 {
	half := middle(r.strength)
	var w [bands]float64
	for b := range bands {
		var z []float64
		for i, f := range r.at {
			if r.strength[i] >= half {
				z = append(z, held(s.rise[b][f]))
			}
		}
		w[b] = math.Max(0, quantile(z, 0.5)-0.5)
	}
	return w
}

// held keeps one loud blow from counting more than a clear pulse.
func held(z float64) float64 { return math.Max(-2, math.Min(6, z)) }

// candidates lists the intervals to try: near the one given, or all.
func (s *sound) candidates(interval, slack float64) []float64 {
	seconds := float64(s.frames) * s.step
	lo, hi := leastInterval, math.Min(mostInterval, seconds/2)
	if interval > 0 {
		lo, hi = interval*(1-slack), math.Min(interval*(1+slack), seconds)
	}
	var out []float64
	for t := lo; t <= hi; t *= 1.01 {
		out = append(out, t)
	}
	return out
}

// search finds the best row over the intervals.
func (s *sound) search(strength []float64, intervals []float64) *row {
	if strength == nil {
		return nil
	}
	var best *row
	for _, t := range intervals {
		reward := s.reward(strength, t)
		chance := mean(dilate(reward, int(stepSlack*t/s.step/coarse)+1))
		at, sum := follow(reward, t/s.step/coarse)
		score := sum - float64(len(at))*(chance+0.05)
		if len(at) >= 2 && (best == nil || score > best.score) {
			best = &row{at: at, interval: t, score: score}
		}
	}
	if best == nil {
		return nil
	}
	s.finish(best, strength)
	return best
}

// finish sets exact places, their strength, and how well a rival row between them does.
func (s *sound) finish(r *row, strength []float64) {
	reward := s.reward(strength, r.interval)
	own := 0.0
	masked := append([]float64(nil), reward...)
	for i, c := range r.at {
		own += reward[c]
		for f := max(0, c-8); f < min(len(masked), c+int(math.Min(0.3*r.interval, 1.5)/s.step/coarse)); f++ {
			masked[f] = 0
		}
		f := c * coarse
		for k := max(0, f-1); k <= min(s.frames-1, f+coarse); k++ {
			if strength[k] > strength[f] {
				f = k
			}
		}
		r.at[i] = f
		r.strength = append(r.strength, strength[f])
		step := 0.0
		if i > 0 {
			step = float64(r.at[i]-r.at[i-1]) * s.step
		}
		r.paused = append(r.paused, step > (1+restLeast)/2*r.interval)
	}
	_, rival := follow(masked, r.interval/s.step/coarse)
	r.rival = rival / math.Max(own, 1e-9)
	r.share = own / float64(len(r.at))
}

// strength draws the rises of the bands together; nil without weights.
func (s *sound) strength(w [bands]float64) []float64 {
	sum := 0.0
	for _, v := range w {
		sum += v
	}
	if sum == 0 {
		return nil
	}
	out := make([]float64, s.frames)
	for b, v := range w {
		if v == 0 {
			continue
		}
		for f, z := range s.rise[b] {
			out[f] += v / sum * held(z)
		}
	}
	return out
}

// reward is the strength, from nothing to what a usual pulse at this interval has, in coarse frames.
func (s *sound) reward(strength []float64, interval float64) []float64 {
	out := make([]float64, s.frames/coarse+1)
	for f, v := range strength {
		if v > out[f/coarse] {
			out[f/coarse] = v
		}
	}
	per := max(1, int(interval/s.step/coarse))
	var tops []float64
	for f := 0; f+per/2 < len(out); f += per {
		top := 0.0
		for _, v := range out[f:min(f+per, len(out))] {
			top = math.Max(top, v)
		}
		tops = append(tops, top)
	}
	limit := math.Max(0.3, 0.8*quantile(tops, 0.6))
	for f, v := range out {
		out[f] = math.Min(1, v/limit)
	}
	return out
}

// follow finds the best row whose steps stay near the interval t [coarse frames], by dynamic
// programming: each place takes the best place about one interval before it, or at a cost any one longer ago, the
// controller having rested between. It reaches over the whole recording: places where nothing sounds stand
// where the row says a pulse was due.
func follow(reward []float64, t float64) (at []int, sum float64) {
	n := len(reward)
	slack := max(2, int(math.Ceil(stepSlack*t)))
	best, from := make([]float64, n), make([]int, n)
	cost := make([]float64, 2*slack+1) // of a step that is off, the longest first
	for i := range cost {
		d := (float64(int(t)+slack-i) - t) / float64(slack)
		cost[i] = 0.15 * d * d
	}
	rested := -1 // best place before a rest
	for f := range n {
		best[f], from[f] = reward[f]-placeCost, -1
		if f < int(t)-slack {
			continue
		}
		top, arg := math.Inf(-1), -1
		if g := f - max(int(restLeast*t), int(t)+slack+1); g >= 0 {
			if rested < 0 || best[g] > best[rested] {
				rested = g
			}
			top, arg = best[rested]-restCost, rested
		}
		first := f - int(t) - slack
		for i, c := range cost[max(0, -first):] {
			g := max(0, first) + i
			if v := best[g] - c; v > top {
				top, arg = v, g
			}
		}
		if arg >= 0 {
			best[f], from[f] = reward[f]-placeCost+top, arg
		}
	}
	end := n - 1
	for f := max(0, n-int(t)-slack); f < n; f++ {
		if best[f] > best[end] {
			end = f
		}
	}
	for f := end; f >= 0; f = from[f] {
		at = append(at, f)
		sum += reward[f]
		if from[f] >= 0 && float64(f-from[f]) > float64(int(t)+slack) {
			sum -= restCost
		}
	}
	slices.Reverse(at)
	return at, sum
}

// dilate returns the running maximum within reach.
func dilate(v []float64, reach int) []float64 {
	out := make([]float64, len(v))
	queue := make([]int, 0, 2*reach+2)
	for i := 0; i < len(v)+reach; i++ {
		if i < len(v) {
			for len(queue) > 0 && v[queue[len(queue)-1]] <= v[i] {
				queue = queue[:len(queue)-1]
			}
			queue = append(queue, i)
		}
		if k := i - reach; k >= 0 {
			for queue[0] < k-reach {
				queue = queue[1:]
			}
			out[k] = v[queue[0]]
		}
	}
	return out
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(max(1, len(v)))
}
