package trace

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// findExtras looks in every wait for openings beyond the one that was due: a fall of the level itself,
// sharper than the fall before it, so that neither the bends of a recovery nor a valve that stays open
// count.
func (w *work) findExtras() [][]float64 {
	s, turns, n, c, h := w.s, w.turns, w.n, w.centre, w.ownShape()
	out := make([][]float64, len(turns))
	guard := math.Max(0.7, 0.08*w.interval)
	for j, t := range turns {
		f := faller{s: s, h: h, c: c, earliest: t.at + h.fall}
		out[j] = f.all(t.at+h.fall+0.12, t.next-guard)
	}
	for v := range n {
		f, m := w.foldedFaller(v)
		if m < 2 {
			continue
		}
		wait := f.s.end()
		for _, at := range f.all(h.fall+0.12, wait-guard) {
			fall, _ := f.at(at)
			for j, t := range turns {
				one := faller{s: s, h: h, c: c, earliest: t.at + h.fall}
				if t.index%n == v && len(out[j]) == 0 && t.at+at < t.next-guard && one.size(t.at+at) > 0.4*fall {
					out[j] = append(out[j], t.at+at)
				}
			}
		}
	}
	w.findAgain(out)
	return out
}

// ownShape is the common shape with a fall no longer than one pulse's own: doubles and late closers stretch
// the common one.
func (w *work) ownShape() pulseShape {
	h := w.shape
	h.fall = math.Min(h.fall, 0.25)
	return h
}

// foldedFaller is a faller over the mean wait of one valve: what it does every time stands out of the
// noise there. m is how many waits went into it; time runs from the onset.
func (w *work) foldedFaller(v int) (f faller, m int) {
	s := w.s
	length := math.MaxInt
	var starts []int
	pre := s.bins(0.6)
	for _, t := range w.turns {
		i := s.at(t.at) - pre
		wait := s.bins(t.next - t.at)
		if t.index%w.n != v || t.hidden || i < 0 || wait < s.bins(1.2) {
			continue
		}
		starts = append(starts, i)
		length = min(length, pre+wait, len(s.y)-i)
	}
	if len(starts) < 2 {
		return f, 0
	}
	mean := &signal{t0: -float64(pre) * s.dt, dt: s.dt, y: make([]float64, length), ok: make([]bool, length)}
	col := make([]float64, len(starts))
	for l := range length {
		for r, i := range starts {
			col[r] = s.y[i+l]
		}
		mean.y[l], mean.ok[l] = middle(col), true
	}
	mean.sum()
	for _, sd := range s.noise {
		mean.noise = append(mean.noise, 1.2*sd/math.Sqrt(float64(len(starts))))
	}
	h := w.ownShape()
	return faller{s: mean, h: h, c: w.centre, earliest: h.fall}, len(starts)
}

// all lists the openings between two times.
func (f faller) all(from, to float64) []float64 {
	var out []float64
	for at := from; at < to; at += f.s.dt {
		fall, ok := f.at(at)
		if !ok {
			continue
		}
		best, bestFall := at, fall
		for a := at; a < math.Min(at+0.3, to); a += f.s.dt {
			if v, ok := f.at(a); ok && v > bestFall {
				best, bestFall = a, v
			}
		}
		at = best + math.Max(0.3, f.h.fall+0.15)
		if !f.staysOpen(best, bestFall, to) {
			out = append(out, f.onset(best))
		}
	}
	return out
}

// staysOpen tells whether the level goes on falling after an opening at t: then nothing closed again, and it is
// no further pulse.
func (f faller) staysOpen(t, fall, end float64) bool {
	from := t + f.h.fall + 0.35
	to := math.Min(from+1.2, end)
	if to-from < 0.5 {
		return false
	}
	m := (to - from) / 3
	first, ok1 := f.s.midLevel(from, from+m)
	last, ok2 := f.s.midLevel(to-m, to)
	return ok1 && ok2 && first-last > 0.15*fall && first-last > 4*1.4*f.s.meanNoise(m/f.s.dt)
}

// onset is where the level begins to fall most steeply within the opening found at t.
func (f faller) onset(t float64) float64 {
	s := f.s
	m := max(2, s.bins(0.06))
	best, steepest := t, 0.0
	for i := s.at(t); s.time(i) < t+f.h.fall+0.1; i++ {
		if i-m < 0 || i+m >= len(s.y) {
			continue
		}
		if d := stat.Mean(s.y[i-m:i+1], nil) - stat.Mean(s.y[i:i+m+1], nil); d > steepest {
			best, steepest = s.time(i)-0.05, d
		}
	}
	return math.Max(best, t)
}

// size is the fall of the level over a quarter second on either side of an opening at t.
func (f faller) size(t float64) float64 {
	return f.s.level(math.Max(f.earliest, t-0.25), t-f.s.dt/2) - f.s.level(t+f.h.fall, t+f.h.fall+0.25)
}

// untangle looks at openings found around a turn: the one that stands nearest to when the other valves' beat
// says the turn was due is the turn's own, the others are further ones. It reports whether a slot was moved.
func (w *work) untangle(extras [][]float64) bool {
	moved := false
	for j := range w.slots {
		x := &w.slots[j]
		if w.turns[j].hidden {
			continue
		}
		var near []float64
		if j > 0 && !x.pause {
			near = append(near, extras[j-1]...)
		}
		near = append(near, extras[j]...)
		due, beat := w.dueAt(j)
		if !beat { // nobody else fires: of two openings the first is the turn's
			due = math.Inf(-1)
		}
		silent := w.turns[j].drop < 0.2*w.centre.drop*w.centre.at(w.turns[j].before)
		best := x.at
		for _, e := range near {
			if math.Abs(e-x.at) > math.Min(3, 0.4*w.interval) || beat && math.Abs(e-due) > 0.05*w.interval+0.3 {
				continue
			}
			if silent && best == x.at || math.Abs(e-due) < math.Abs(best-due)-0.05 || !beat && e < best {
				best = e
			}
		}
		if best != x.at {
			x.at, moved = best, true
		}
	}
	return moved
}

// dueAt is when slot j was due by the beat of the other valves around it; false where too few fire.
func (w *work) dueAt(j int) (float64, bool) {
	var at []float64
	for k := max(0, j-8); k <= min(len(w.slots)-1, j+8); k++ {
		x := w.slots[k]
		if x.index%w.n != w.slots[j].index%w.n && x.strong(w.found, 6) && !w.pausedBetween(j, k) {
			at = append(at, x.at+float64(w.slots[j].index-x.index)*w.interval)
		}
	}
	if len(at) < 2 {
		return 0, false
	}
	slices.Sort(at)
	return at[len(at)/2], true
}

func (w *work) pausedBetween(a, b int) bool {
	for k := min(a, b) + 1; k <= max(a, b); k++ {
		if w.slots[k].pause {
			return true
		}
	}
	return false
}

// faller measures falls of the mean level across a moment within one wait.
type faller struct {
	s        *signal
	h        pulseShape
	c        centre
	earliest float64 // the due pulse is over [s]
}

// at is the fall of the mean level across an opening at time t, and whether it is certain, sharp and
// big enough to be one.
func (f faller) at(t float64) (float64, bool) {
	s := f.s
	for _, w := range []float64{0.12, 0.25, 0.5} {
		w = math.Max(w, 3.2*s.dt)
		lo := math.Max(f.earliest, t-w)
		n1, n2 := float64(s.bins(t-s.dt/2-lo)), float64(s.bins(w))
		if n1 < 2 || !s.inside(s.at(t+f.h.fall+w)) {
			continue
		}
		if s.level(lo, t-s.dt/2)-s.level(t+f.h.fall, t+f.h.fall+w) < 0.01*f.c.drop {
			continue // not worth a closer look
		}
		before, ok1 := s.midLevel(lo, t-s.dt/2)
		after, ok2 := s.midLevel(t+f.h.fall, t+f.h.fall+w)
		if !ok1 || !ok2 {
			continue
		}
		fall := before - after
		sigma := 1.1 * math.Hypot(s.meanNoise(n1), s.meanNoise(n2))
		expect := f.c.drop * f.c.scaling.at(before)
		if fall > 5.5*sigma && fall > 0.3*expect && fall > 0.02*f.c.drop && fall > 2.2*f.trend(lo, t, w) {
			return fall, true
		}
	}
	return 0, false
}

// midLevel is the level over a stretch of time that a single wild reading does not move; false where too
// little of it was recorded.
func (s *signal) midLevel(from, to float64) (float64, bool) {
	lo, hi := max(0, s.at(from)), min(len(s.y)-1, s.at(to))
	if hi < lo {
		return 0, false
	}
	read := 0
	for i := lo; i <= hi; i++ {
		if s.ok[i] {
			read++
		}
	}
	return middle(s.y[lo : hi+1]), 10*read >= 7*(hi-lo+1)
}

// trend is how much the level would fall across the same distance if it went on as before.
func (f faller) trend(lo, t, w float64) float64 {
	from := math.Max(f.earliest, t-math.Max(0.6, 2*w))
	slope := f.s.slope(from, t-f.s.dt/2)
	return -slope * (f.h.fall + (t-lo)/2 + w/2)
}

// slope is the least-squares rate of change over a stretch of time [Pa/s].
func (s *signal) slope(from, to float64) float64 {
	lo, hi := max(0, s.at(from)), min(len(s.y)-1, s.at(to))
	n := float64(hi - lo + 1)
	if n < 2 {
		return 0
	}
	var sxy float64
	for i := lo; i <= hi; i++ {
		sxy += (float64(i-lo) - (n-1)/2) * s.y[i]
	}
	return sxy / (n * (n*n - 1) / 12) / s.dt
}
