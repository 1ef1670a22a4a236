package trace

import (
	"math"
	"slices"
)

// signal is the trace on an even grid: means over bins, despiked, gaps bridged and marked.
type signal struct {
	t0, dt float64   // time of the first bin's centre and the step [s]
	y      []float64 // [Pa gauge]
	ok     []bool    // false where the bin holds no reading and y is bridged
	rate   float64   // of the recording [1/s]
	noise  []float64 // standard deviation of means over 1, 2, 4 ... bins, robust [Pa]
	spikes int
	upTo   []float64 // sums of y before each bin
}

// sum makes means over any stretch cheap; it is called once y is final.
func (s *signal) sum() {
	s.upTo = make([]float64, len(s.y)+1)
	for i, v := range s.y {
		s.upTo[i+1] = s.upTo[i] + v
	}
}

const finest = 0.02 // s; bins are not finer, pulses are not faster

func (s *signal) at(t float64) int   { return int(math.Round((t - s.t0) / s.dt)) }
func (s *signal) time(i int) float64 { return s.t0 + float64(i)*s.dt }
func (s *signal) end() float64       { return s.time(len(s.y) - 1) }
func (s *signal) bins(d float64) int { return int(math.Round(d / s.dt)) }
func (s *signal) inside(i int) bool  { return i >= 0 && i < len(s.y) }
func (s *signal) duration() float64  { return s.end() - s.t0 }

// newSignal puts a trace on an even grid.
func newSignal(tr *Trace) *signal {
	time, p := valid(tr)
	s := &signal{}
	if len(time) < 2 {
		return s
	}
	step := medianStep(time)
	s.rate = 1 / step
	s.dt = math.Max(step, finest)
	s.t0 = time[0]
	p, s.spikes = despike(p)
	n := int((time[len(time)-1]-time[0])/s.dt) + 1
	sum := make([]float64, n)
	count := make([]int, n)
	for i, t := range time {
		k := min(n-1, int(math.Round((t-s.t0)/s.dt)))
		sum[k] += p[i]
		count[k]++
	}
	s.y = sum
	s.ok = make([]bool, n)
	for k, c := range count {
		if c > 0 {
			s.y[k] /= float64(c)
			s.ok[k] = true
		}
	}
	s.bridge()
	s.sum()
	s.noise = noiseScales(s.y, resolution(p))
	return s
}

// valid leaves out rows without a reading.
func valid(tr *Trace) (time, p []float64) {
	for i, v := range tr.Header {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			time = append(time, tr.Time[i])
			p = append(p, v)
		}
	}
	return time, p
}

func medianStep(time []float64) float64 {
	d := make([]float64, 0, len(time)-1)
	for i := 1; i < len(time); i++ {
		d = append(d, time[i]-time[i-1])
	}
	slices.Sort(d)
	return math.Max(d[len(d)/2], 1e-6)
}

// despike replaces single samples that stand far outside everything beside them. A pulse's own
// bottom is no spike: its neighbours already span a good part of the drop.
func despike(p []float64) ([]float64, int) {
	out := slices.Clone(p)
	limit := 7*whiteNoise(p) + 1
	found := 0
	for i := 2; i < len(p)-2; i++ {
		lo := min(p[i-2], p[i-1], p[i+1], p[i+2])
		hi := max(p[i-2], p[i-1], p[i+1], p[i+2])
		out1 := math.Max(p[i]-hi, lo-p[i])
		if out1 > limit && out1 > 2.5*(hi-lo) {
			out[i] = (p[i-1] + p[i+1]) / 2
			found++
		}
	}
	return out, found
}

// whiteNoise is a robust standard deviation of sample-to-sample scatter, from second differences.
func whiteNoise(y []float64) float64 {
	d := make([]float64, 0, len(y))
	for i := 1; i < len(y)-1; i++ {
		d = append(d, math.Abs(y[i]-0.5*(y[i-1]+y[i+1])))
	}
	if len(d) == 0 {
		return 0
	}
	return 1.4826 * nth(d, len(d)/2) / math.Sqrt(1.5)
}

// noiseScales is the noise of means over 1, 2, 4 ... 32 bins. Slow noise shows as a slower fall
// than one over the square root. No scale is quieter than the transmitter's steps allow.
func noiseScales(y []float64, step float64) []float64 {
	var out []float64
	floor := 0.3 * step
	for m := 1; m <= 32 && len(y) >= 8*m; m *= 2 {
		means := make([]float64, len(y)/m)
		for i := range means {
			for _, v := range y[i*m : (i+1)*m] {
				means[i] += v / float64(m)
			}
		}
		sd := math.Max(whiteNoise(means), floor)
		if m > 1 {
			sd = math.Min(sd, out[len(out)-1])
		}
		out = append(out, sd)
		floor *= 0.7
	}
	if len(out) == 0 {
		return []float64{1}
	}
	return out
}

// meanNoise is the standard deviation of a mean over m bins.
func (s *signal) meanNoise(m float64) float64 {
	m = math.Max(m, 1)
	l := math.Log2(m)
	k := min(int(l), len(s.noise)-1)
	white := s.noise[k] / math.Sqrt(m/math.Pow(2, float64(k)))
	if k+1 < len(s.noise) {
		f := l - float64(k)
		return math.Exp((1-f)*math.Log(s.noise[k]) + f*math.Log(s.noise[k+1]))
	}
	return white
}

// resolution is the step of the transmitter: the smallest step that occurs often, 0 if there is none.
func resolution(p []float64) float64 {
	var d []float64
	zero := 0
	for i := 1; i < len(p); i++ {
		if v := math.Abs(p[i] - p[i-1]); v > 1e-6 {
			d = append(d, v)
		} else {
			zero++
		}
	}
	if len(d) == 0 || zero*20 < len(p) {
		return 0
	}
	slices.Sort(d)
	return d[len(d)/20]
}

// bridge draws straight lines over bins without a reading. Where the readings on both sides are so near that no
// pulse gets lost between them, the bin counts as read.
func (s *signal) bridge() {
	last := -1
	for k := range s.y {
		if !s.ok[k] {
			continue
		}
		near := last >= 0 && float64(k-last)*s.dt <= math.Max(0.065, 2.05*s.dt)
		for j := last + 1; j < k; j++ {
			if last < 0 {
				s.y[j] = s.y[k]
			} else {
				f := float64(j-last) / float64(k-last)
				s.y[j] = s.y[last] + f*(s.y[k]-s.y[last])
				s.ok[j] = near
			}
		}
		last = k
	}
	for j := last + 1; last >= 0 && j < len(s.y); j++ {
		s.y[j] = s.y[last]
	}
}
