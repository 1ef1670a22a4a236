package trace

import (
	"math"
	"slices"
)

// turn is what the trace shows of one slot.
type turn struct {
	slot
	before float64   // level just before [Pa]
	drop   float64   // [Pa], least squares; about zero where nothing fired
	sigma  float64   // its standard deviation [Pa]
	next   float64   // time of the next slot or the end of the trace [s]
	extra  []float64 // onsets of further openings within the slot [s]
	hidden bool      // the window holds too few readings to say anything
}

// chooseWindow is the shortest window after the onset that is precise enough: short windows do not
// mind what the supply does, long ones carry less noise [s].
func chooseWindow(s *signal, slots []slot, h pulseShape, interval float64) float64 {
	best := 0.3
	for _, after := range []float64{0.3, 0.6, 1.2, 2.4, 4} {
		if after > 0.45*interval {
			break
		}
		best = after
		var d, sd []float64
		for _, t := range measureTurns(s, slots, h, window{interval: interval, after: after}) {
			if t.peak >= 0 && !math.IsNaN(t.drop) {
				d = append(d, t.drop)
				sd = append(sd, t.sigma)
			}
		}
		slices.Sort(d)
		slices.Sort(sd)
		if len(d) > 0 && sd[len(sd)/2] < 0.03*d[len(d)*3/4] {
			break
		}
	}
	return best
}

// window is the part of the trace around an onset in which its drop is measured.
type window struct {
	interval, after float64          // [s]
	extras          [][]float64      // further openings by slot [s]: the window ends before them
	known           map[float64]turn // what was measured before, by the slot's time; nil where nothing is kept
}

// measureTurns fits every slot with the common shape over a window.
func measureTurns(s *signal, slots []slot, h pulseShape, v window) []turn {
	turns := make([]turn, len(slots))
	before := math.Min(math.Max(0.4, v.after), 0.35*v.interval)
	whole := newKernel(h, s.dt, before, v.after)
	for j, x := range slots {
		k := whole
		if v.extras != nil && len(v.extras[j]) > 0 {
			k = newKernel(h, s.dt, before, math.Min(v.after, math.Max(v.extras[j][0]-x.at-0.03, 0.2)))
		}
		if t, ok := v.known[x.at]; ok {
			turns[j] = t
			turns[j].slot, turns[j].at = x, t.at
		} else {
			turns[j] = measureOne(s, k, x)
			if v.known != nil {
				v.known[x.at] = turns[j]
			}
		}
		turns[j].next = s.end()
		if j > 0 {
			turns[j-1].next = x.at
		}
	}
	return turns
}

func measureOne(s *signal, k kernel, x slot) turn {
	i := s.at(x.at)
	t := turn{slot: x, sigma: k.noise(s), drop: k.one(s, i)}
	if t.drop > 8*t.sigma { // plain to see: the onset may be set to the best fit
		reach := max(1, s.bins(0.08))
		for l := i - reach; l <= i+reach; l++ {
			if d := k.one(s, l); d > t.drop {
				t.drop, t.at = d, s.time(l)
			}
		}
	}
	if math.IsInf(t.drop, -1) {
		t.drop, t.hidden = math.NaN(), true
	}
	bad, all := 0, 0
	for l := i - k.pre; l < i-k.pre+len(k.k); l++ {
		all++
		if !s.inside(l) || !s.ok[l] {
			bad++
		}
	}
	for l := i - 1; l <= i+s.bins(0.25); l++ {
		if s.inside(l) && !s.ok[l] {
			bad += all / 12
		}
	}
	if bad*3 > all {
		t.hidden = true
	}
	t.before = s.level(x.at-0.6, x.at-0.05)
	// Where the header still rises or falls fast, the drop depends on how that goes on.
	pre := math.Min(0.6, float64(k.pre)*s.dt)
	n := math.Max(2, pre/s.dt)
	doubt := math.Abs(s.slope(x.at-pre, x.at-0.04)) - 2*s.meanNoise(n/3)*2.5/pre
	t.sigma = math.Hypot(t.sigma, 0.1*math.Max(0, doubt))
	return t
}

// noise is the standard deviation of the kernel's drops: white noise as its weights let through,
// times what slow noise adds over half its length.
func (k kernel) noise(s *signal) float64 {
	var square float64
	for _, w := range k.k {
		square += w * w
	}
	m := math.Max(1, float64(len(k.k)-k.pre)/2)
	return math.Sqrt(square) * s.meanNoise(m) * math.Sqrt(m)
}

// level is the mean pressure over a stretch of time, NaN where it lies outside the trace.
func (s *signal) level(from, to float64) float64 {
	lo, hi := max(0, s.at(from)), min(len(s.y)-1, s.at(to))
	if hi < lo {
		return math.NaN()
	}
	return (s.upTo[hi+1] - s.upTo[lo]) / float64(hi-lo+1)
}
