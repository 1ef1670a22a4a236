package trace

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// refine finds the common pulse shape from the slots seen so far, moves every slot's onset to where that
// shape fits best or, where nothing is seen, to where its neighbours say it was due.
func (w *work) refine() {
	for pass := range 2 {
		var shift float64
		w.shape, shift = commonShape(w.s, w.slots, w.interval)
		reach := 0.06*w.interval + 0.3
		if pass > 0 {
			reach = 0.02*w.interval + 0.12
		}
		w.relocate(shift, reach)
		w.smoothTimes()
	}
}

// strong tells whether a slot carries a pulse that can be trusted on its own.
func (x slot) strong(found []peak, z float64) bool { return x.peak >= 0 && found[x.peak].z >= z }

// commonShape fits the pulse shape to the median of the aligned pulses. shift is where the onset lies
// relative to the slots' present onsets [s].
func commonShape(s *signal, slots []slot, interval float64) (pulseShape, float64) {
	pre, post := s.bins(math.Min(0.6, 0.2*interval)), s.bins(math.Min(4, 0.6*interval))
	var rows [][]float64
	var falls []float64
	for _, x := range slots {
		i := s.at(x.at)
		if x.peak < 0 || i-pre < 0 || i+post >= len(s.y) {
			continue
		}
		row := slices.Clone(s.y[i-pre : i+post])
		level := stat.Mean(row[:max(1, pre*2/3)], nil)
		for l := range row {
			row[l] -= level
		}
		near := min(post, s.bins(0.7))
		rows, falls = append(rows, row), append(falls, -stat.Mean(row[pre:pre+near], nil))
	}
	rows = deepest(rows, falls)
	if len(rows) == 0 {
		return pulseShape{fall: 0.14, back: 2}, 0
	}
	mean := make([]float64, pre+post)
	col := make([]float64, len(rows))
	for l := range mean {
		for r, row := range rows {
			col[r] = row[l]
		}
		mean[l] = middle(col)
	}
	return fitShape(mean, pre, s.dt)
}

// deepest leaves out rows whose pulse is small against the others': a header that something drains has small
// ones, and their shape is noise.
func deepest(rows [][]float64, falls []float64) [][]float64 {
	if len(rows) < 4 {
		return rows
	}
	sorted := slices.Sorted(slices.Values(falls))
	var out [][]float64
	for i, f := range falls {
		if f >= 0.35*sorted[len(sorted)*4/5] {
			out = append(out, rows[i])
		}
	}
	return out
}

// middle is the mean of the middle half: as robust as the quartiles, less noisy than the median.
func middle(v []float64) float64 {
	w := slices.Clone(v)
	slices.Sort(w)
	lo := len(w) / 4
	w = w[lo : len(w)-lo]
	var sum float64
	for _, x := range w {
		sum += x
	}
	return sum / float64(len(w))
}

// fitShape finds the shape and the onset that leave the least of a mean pulse unexplained.
func fitShape(mean []float64, pre int, dt float64) (pulseShape, float64) {
	best, bestShift, bestLeft := pulseShape{fall: 0.14, back: 2}, 0.0, math.Inf(1)
	for _, fall := range []float64{0.06, 0.1, 0.14, 0.18, 0.24, 0.32, 0.45} {
		if fall < 1.2*dt {
			continue
		}
		for _, back := range []float64{0.2, 0.35, 0.6, 1, 1.6, 2.6, 4.5, 9, math.Inf(1)} {
			for shift := -0.4; shift <= 0.41; shift += 0.02 {
				h := pulseShape{fall: fall, back: back}
				if left := unexplained(mean, h, pre, dt, shift); left < bestLeft {
					best, bestShift, bestLeft = h, shift, left
				}
			}
		}
	}
	return best, bestShift
}

// unexplained is the sum of squares left after level and one dip of shape h are fitted.
func unexplained(mean []float64, h pulseShape, pre int, dt, shift float64) float64 {
	n := float64(len(mean))
	var sy, sh, syy, shh, syh float64
	for i, y := range mean {
		x := h.at(float64(i-pre)*dt - shift)
		sy += y
		sh += x
		syy += y * y
		shh += x * x
		syh += x * y
	}
	cyy, chh, cyh := syy-sy*sy/n, shh-sh*sh/n, syh-sy*sh/n
	if chh <= 0 || cyh >= 0 {
		return cyy
	}
	return cyy - cyh*cyh/chh
}

// relocate moves each slot by shift and, where it has a pulse, to the best fit of the shape within reach.
func (w *work) relocate(shift, reach float64) {
	s := w.s
	k := newKernel(w.shape, s.dt, 0.8, math.Min(math.Max(0.4, 1.2*w.shape.back), 2))
	sigma := math.Max(spread(k.run(s)), 1e-3)
	for j := range w.slots {
		x := &w.slots[j]
		x.at += shift
		if x.peak < 0 {
			continue
		}
		i0, r := s.at(x.at), s.bins(reach)
		best, bestScore, drop := i0, math.Inf(-1), math.NaN()
		for i := max(1, i0-r); i <= min(len(s.y)-2, i0+r); i++ {
			a := k.one(s, i)
			if score := a - 0.15*sigma*math.Abs(float64(i-i0))/float64(r+1); score > bestScore {
				best, bestScore, drop = i, score, a
			}
		}
		if math.IsInf(bestScore, -1) {
			continue
		}
		x.at = s.time(best)
		w.found[x.peak].z, w.found[x.peak].drop = drop/sigma, drop
	}
}

// one is the least-squares drop of the kernel at one bin.
func (k kernel) one(s *signal, i int) float64 {
	lo := i - k.pre
	if lo < 0 || lo+len(k.k) > len(s.y) {
		if v := k.edge(s, lo); !math.IsNaN(v) {
			return v
		}
		return math.Inf(-1)
	}
	var a float64
	for j, w := range k.k {
		a += w * s.y[lo+j]
	}
	return a
}

// smoothTimes puts slots that carry no strong pulse where a line through their neighbours says, and
// pulls strong ones that stand off that line back to it.
func (w *work) smoothTimes() {
	at := make([]float64, len(w.slots))
	for j := range w.slots {
		lo, hi := j, j
		for lo > 0 && j-lo < 6 && !w.slots[lo].pause {
			lo--
		}
		for hi < len(w.slots)-1 && hi-j < 6 && !w.slots[hi+1].pause {
			hi++
		}
		at[j] = w.lineThrough(lo, hi, j)
	}
	for j := range w.slots {
		off := math.Abs(w.slots[j].at - at[j])
		if !w.slots[j].strong(w.found, 6) || off > 0.02*w.interval+0.1 {
			w.slots[j].at = at[j]
		}
	}
}

// lineThrough fits onset = a + b*index over the slots lo..hi, robustly, and gives its value at slot j. The
// interval itself counts as a weak observation, so that two noisy pulses do not set it.
func (w *work) lineThrough(lo, hi, j int) float64 {
	const prior = 20 * 9
	here := w.slots[j]
	a, b := here.at, w.interval
	for range 4 {
		var sw, sx, sy float64
		sxx, sxy := prior+0.0, prior*b
		for _, y := range w.slots[lo : hi+1] {
			if y.peak < 0 || w.found[y.peak].z <= 0 {
				continue
			}
			x := float64(y.index - here.index)
			off := y.at - (a + b*x)
			v := sq(math.Min(w.found[y.peak].z, 12)) / (1 + sq(off/0.1))
			sw += v
			sx += v * x
			sy += v * y.at
			sxx += v * x * x
			sxy += v * x * y.at
		}
		if sw == 0 {
			return here.at
		}
		b = (sw*sxy - sx*sy) / (sw*sxx - sx*sx)
		a = (sy - b*sx) / sw
	}
	return a
}
