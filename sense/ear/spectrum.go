package ear

import (
	"math"
	"slices"

	"dustwright/solve"
)

// bands is how many logarithmic bands the spectrum is drawn together into.
const bands = 20

// sound is a recording as short-time power in bands.
type sound struct {
	step    float64          // between frames [s]
	frames  int              //
	power   [bands][]float64 // power of each band, frame by frame
	sum     [bands][]float64 // its running sum
	rise    [bands][]float64 // how much louder just after a frame than before, in its own usual spread
	clipped float64          // share of samples at full scale
}

// listen computes the short-time spectra, about a hundred a second, and how they rise.
func listen(samples []float32, rate int) *sound {
	s := spectra(samples, rate)
	s.clipping(samples)
	s.mend()
	s.rises()
	return s
}

// spectra sets the power of each band, frame by frame.
func spectra(samples []float32, rate int) *sound {
	hop := rate / 100
	n := 256
	for n < 2*hop {
		n *= 2
	}
	s := &sound{step: float64(hop) / float64(rate), frames: max(0, (len(samples)-n)/hop+1)}
	edges := bandEdges(n, rate)
	for b := range s.power {
		s.power[b] = make([]float64, s.frames)
	}
	window, t, p := hann(n), newTransform(n), make([]float64, edges[bands])
	for f := range s.frames {
		t.power(p, samples[f*hop:f*hop+n], window)
		for b := range bands {
			s.power[b][f] = mean(p[edges[b]:edges[b+1]])
		}
	}
	return s
}

// mend fills what dropped out of the recording, nearly silent for some frames, from what is heard to either side, so that
// the sound coming back is not heard as a burst.
func (s *sound) mend() {
	loud := make([]float64, s.frames)
	for f := range loud {
		for k := range bands {
			loud[f] += s.power[k][f]
		}
	}
	least := dropped * middle(loud)
	for f := 0; f < s.frames; f++ {
		if loud[f] > least {
			continue
		}
		from := f
		for f < s.frames && loud[f] <= least {
			f++
		}
		a, b := from-dropEdge-1, f+dropEdge
		for k := range bands {
			var v, n float64
			if a >= 0 {
				v, n = v+s.power[k][a], n+1
			}
			if b < s.frames {
				v, n = v+s.power[k][b], n+1
			}
			for i := max(0, a+1); i < min(b, s.frames); i++ {
				s.power[k][i] = v / math.Max(1, n)
			}
		}
	}
}

// What counts as dropped out, of the usual power, and how far its edges reach [frames].
const (
	dropped  = 1e-5
	dropEdge = 2
)

// hann is the window of each frame.
func hann(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n))
	}
	return w
}

// bandEdges returns the first bin of each band, from 60 Hz to 14 kHz or what the rate allows, at
// least one bin wide.
func bandEdges(n, rate int) [bands + 1]int {
	lo, hi := 60.0, math.Min(14000, 0.45*float64(rate))
	var e [bands + 1]int
	for b := range e {
		f := lo * math.Pow(hi/lo, float64(b)/bands)
		e[b] = max(1, int(math.Round(f*float64(n)/float64(rate))))
		if b > 0 && e[b] <= e[b-1] {
			e[b] = e[b-1] + 1
		}
	}
	return e
}

// clipping sets the share of samples at the top.
func (s *sound) clipping(samples []float32) {
	top := loudest(samples)
	full := 0
	for _, v := range samples {
		if v >= 0.995*top || -v >= 0.995*top {
			full++
		}
	}
	s.clipped = float64(full) / float64(max(len(samples), 1))
}

func loudest(samples []float32) float32 {
	var top float32
	for _, v := range samples {
		if v < 0 {
			v = -v
		}
		if v > top {
			top = v
		}
	}
	return top
}

// Lengths compared for an onset [frames]: a pulse lasts some five frames and more, a hammer blow two.
const (
	riseHalf   = 4
	riseBefore = 25
	riseGap    = 2
	riseLeast  = 0.1 // least spread of a rise [ln]
	fallShare  = 0.7 // of the power later on counts as if it were before
)

// rises sets how much each band is louder just after a frame than before, in units of its usual spread.
func (s *sound) rises() {
	top := 0.0
	for b := range bands {
		for _, p := range s.power[b] {
			top = math.Max(top, p)
		}
	}
	least := 1e-12*top + 1e-30
	for b := range bands {
		s.sum[b] = make([]float64, s.frames+1)
		for f, p := range s.power[b] {
			s.power[b][f] = p + least
			s.sum[b][f+1] = s.sum[b][f] + p + least
		}
		rise := make([]float64, s.frames)
		var usual []float64
		for f := 6; f < s.frames; f++ {
			after := math.Min(s.mean(b, f, f+riseHalf), 2*s.mean(b, f+riseHalf, f+2*riseHalf))
			// What does not fall again is a gain that recovers.
			later := math.Min(s.mean(b, f+45, f+65), s.mean(b, f+75, f+95))
			rise[f] = math.Log(after / math.Max(s.mean(b, f-riseBefore, f-riseGap), fallShare*later))
			if f%3 == 0 {
				usual = append(usual, rise[f])
			}
		}
		centre := quantile(usual, 0.5)
		spread := math.Max(riseLeast, 1.4826*mad(usual, centre))
		for f := 6; f < s.frames; f++ {
			rise[f] = (rise[f] - centre) / spread
		}
		s.rise[b] = rise
	}
}

// mean is the mean power of a band over frames, held within the recording; the nearest frame where none is left.
func (s *sound) mean(b, from, to int) float64 {
	from, to = max(0, from), min(s.frames, to)
	if to <= from {
		return s.power[b][max(0, min(s.frames-1, from))]
	}
	return (s.sum[b][to] - s.sum[b][from]) / float64(to-from)
}

// quantile returns the q-quantile of v, reordering it; NaN of nothing.
func quantile(v []float64, q float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	x := q * float64(len(v)-1)
	i := int(x)
	solve.Pick(v, i)
	if i+1 >= len(v) {
		return v[i]
	}
	return v[i] + (x-float64(i))*(slices.Min(v[i+1:])-v[i])
}

// middle returns the median and leaves v alone.
func middle(v []float64) float64 { return quantile(slices.Clone(v), 0.5) }

// mad returns the median distance of v from centre, reordering v.
func mad(v []float64, centre float64) float64 {
	for i := range v {
		v[i] = math.Abs(v[i] - centre)
	}
	return quantile(v, 0.5)
}
