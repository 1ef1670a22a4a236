package trace

import (
	"math"
	"slices"
)

// pulseShape is a pulse as a departure from the level before it, 1 at its deepest: a ramp over fall,
// then back with time constant back (infinite = the supply brings nothing back).
type pulseShape struct{ fall, back float64 }

func (h pulseShape) at(t float64) float64 {
	switch {
	case t <= 0:
		return 0
	case t < h.fall:
		return t / h.fall
	case math.IsInf(h.back, 1):
		return 1
	}
	return math.Exp(-(t - h.fall) / h.back)
}

// kernel is a pulse shape made orthogonal to level and slope over its window, so that its product
// with the trace is the least-squares drop.
type kernel struct {
	shape pulseShape
	pre   int // bins before the onset
	k     []float64
}

func newKernel(h pulseShape, dt, before, after float64) kernel {
	pre := max(3, int(before/dt))
	n := pre + max(4, int(after/dt))
	v := make([]float64, n)
	for i := range v {
		v[i] = h.at((float64(i-pre) + 0.5) * dt)
	}
	orthogonalise(v)
	return kernel{shape: h, pre: pre, k: v}
}

// orthogonalise takes level and slope out of v and scales it to a least-squares estimator of the
// depth of a dip of that shape.
func orthogonalise(v []float64) {
	n := float64(len(v))
	var mean, slope float64
	for i, x := range v {
		mean += x
		slope += x * (float64(i) - (n-1)/2)
	}
	mean /= n
	slope /= n * (n*n - 1) / 12
	var norm float64
	for i := range v {
		v[i] -= mean + slope*(float64(i)-(n-1)/2)
		norm += v[i] * v[i]
	}
	if norm == 0 {
		return
	}
	for i := range v {
		v[i] /= -norm
	}
}

// run gives the least-squares drop at every bin taken as an onset; NaN where the window leaves the trace.
func (k kernel) run(s *signal) []float64 {
	out := make([]float64, len(s.y))
	for i := range out {
		lo := i - k.pre
		if lo < 0 || lo+len(k.k) > len(s.y) {
			out[i] = k.edge(s, lo)
			continue
		}
		var a float64
		for j, w := range k.k {
			a += w * s.y[lo+j]
		}
		out[i] = a
	}
	return out
}

// edge fits a window that hangs over an end of the trace with what is inside, if enough is.
func (k kernel) edge(s *signal, lo int) float64 {
	from, to := max(0, -lo), min(len(k.k), len(s.y)-lo)
	if k.pre-from < 4 || to-k.pre < 4 {
		return math.NaN()
	}
	v := make([]float64, to-from)
	for i := range v {
		v[i] = k.shape.at((float64(i+from-k.pre) + 0.5) * s.dt)
	}
	orthogonalise(v)
	var a float64
	for i, w := range v {
		a += w * s.y[lo+from+i]
	}
	return a
}

// spread is a robust standard deviation of the drops a filter gives where there is no pulse.
func spread(a []float64) float64 {
	d := make([]float64, 0, len(a))
	for _, v := range a {
		if !math.IsNaN(v) {
			d = append(d, math.Abs(v))
		}
	}
	if len(d) == 0 {
		return 0
	}
	return 1.4826 * nth(d, len(d)/2)
}

// peak is a candidate pulse.
type peak struct {
	bin  int
	drop float64 // [Pa]
	z    float64 // drop over its noise
}

// peaks lists local maxima of the filter at least apart bins from a larger one, in order of time.
func peaks(a []float64, sigma float64, apart int) []peak {
	order := make([]int, 0, len(a)/4)
	for i := 1; i < len(a)-1; i++ {
		if a[i] > 1.5*sigma && a[i] >= a[i-1] && a[i] > a[i+1] {
			order = append(order, i)
		}
	}
	slices.SortFunc(order, func(x, y int) int {
		switch {
		case a[x] > a[y]:
			return -1
		case a[x] < a[y]:
			return 1
		}
		return x - y
	})
	taken := make([]bool, len(a))
	var out []peak
	for _, i := range order {
		if taken[i] {
			continue
		}
		out = append(out, peak{bin: i, drop: a[i], z: a[i] / sigma})
		for j := max(0, i-apart); j <= min(len(a)-1, i+apart); j++ {
			taken[j] = true
		}
	}
	slices.SortFunc(out, func(x, y peak) int { return x.bin - y.bin })
	return out
}

// shapes are the pulses the first pass looks for.
func shapes() []pulseShape {
	var out []pulseShape
	for _, back := range []float64{0.3, 0.8, 2, 6, math.Inf(1)} {
		out = append(out, pulseShape{fall: 0.14, back: back})
	}
	return out
}

// search runs every shape over the trace and keeps the one that explains the expected number of
// pulses best.
func search(s *signal, interval float64) (kernel, []float64, []peak, float64) {
	var best kernel
	var bestA []float64
	var bestPeaks []peak
	bestScore, bestSigma := -1.0, 0.0
	expect := max(1, int(s.duration()/interval))
	for _, h := range shapes() {
		before := math.Min(2.5, 0.4*interval)
		after := math.Min(0.45*interval, math.Max(0.8, 2.5*h.back))
		k := newKernel(h, s.dt, before, after)
		a := k.run(s)
		sigma := math.Max(spread(a), k.noise(s))
		found := peaks(a, sigma, max(2, s.bins(0.3)))
		z := make([]float64, len(found))
		for i, p := range found {
			z[i] = p.z
		}
		slices.Sort(z)
		slices.Reverse(z)
		score := 0.0
		for _, v := range z[:min(len(z), expect)] {
			score += math.Log1p(v * v)
		}
		if score > bestScore {
			best, bestA, bestPeaks, bestScore, bestSigma = k, a, found, score, sigma
		}
	}
	return best, bestA, bestPeaks, bestSigma
}
