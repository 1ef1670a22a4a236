package ear

import "math"

// Lengths of the stretches measured around a place [frames].
const (
	patch       = 35 // a pulse with the room's tail, at most
	noiseBefore = 60 // the noise before it, from here
	noiseUntil  = 5  // to here
	noiseAfter  = 25 // and after its end, from here
	margin      = 2  // on either side of a pulse, since a place may be this much off
)

// burst is what is measured of one place in the row.
type burst struct {
	frame    int
	strength float64
	noise    [bands]float64  // before it, a frame
	energy   [bands]float64  // above that noise, over the group's length
	ratio    float64         // energy against the group's [1]
	level    float64         // against the group's [dB]
	sigma    float64         // standard uncertainty of level [dB]
	length   float64         // against the group [1]
	late     float64         // second half against first half, against the group [dB]
	tone     float64         // treble against bass, against the group [dB]
	double   int             // frame of a second burst, 0 none
	match    float64         // how much it is like a usual pulse: 1 of one, 0 of none
	likely   float64         // how much likelier it is with a pulse than without, its parts as loud as they like [ln]
	alike    float64         // the same with all parts as loud as in the others [ln]
	whole    float64         // mean of the parts [dB]
	curve    [levels]float64 // alike for each level [ln]
	apart    [levels]float64 // likely for each level [ln]
	bass     [levels]float64 // alike of its bass alone for each level [ln]
	heard    bool
	paused   bool // the controller rested before it
	hissing  bool // noise seems to go on after it
	inside   bool // the noise before it and the pulse lie in the recording
}

// take measures the noise before a place and its energy over n frames.
func (s *sound) take(frame, n int) burst {
	b := burst{frame: frame, inside: frame >= noiseUntil+6 && frame+n <= s.frames}
	from, to := max(0, frame-noiseBefore), max(1, frame-noiseUntil)
	buf := make([]float64, 0, noiseBefore)
	for k := range bands {
		buf = append(buf[:0], s.power[k][from:to]...)
		limit := 3 * quantile(buf, 0.5)
		sum := 0.0
		for _, p := range buf {
			sum += math.Min(p, limit)
		}
		b.noise[k] = sum / float64(len(buf))
		if after := frame + n + noiseAfter; after+noiseBefore/2 <= s.frames {
			// A hiss that ends with this pulse is not the noise under it.
			b.noise[k] = math.Min(b.noise[k], 1.2*s.mean(k, after, after+noiseBefore/2))
		}
		b.energy[k] = float64(n+2*margin) * (s.mean(k, frame-margin, frame+n+margin) - b.noise[k])
	}
	return b
}

// group is the common shape of the pulses.
type group struct {
	between float64        // likely of places between the pulses [ln]
	n       int            // frames a pulse fills
	energy  [bands]float64 // median over the stronger bursts
	weight  [bands]float64 // by how far it stands above the noise
	length  float64        // frames
	usual   float64        // strength of a usual pulse
	quiet   []burst        // places between the pulses
	limit   float64        // of burst.likely, above which a pulse is heard [ln]
}

// gather measures the row's places, takes the group from the stronger ones and compares all with it.
// quiet are places between pulses: they show what noise alone gives.
func (s *sound) gather(r *row) (list, quiet []burst, g group) {
	g.n = patch
	var hissing []bool
	for range 2 {
		quiet = s.quiet(r, g.n)
		list = list[:0]
		for i, f := range r.at {
			b := s.take(f, g.n)
			b.strength, b.ratio, b.paused = r.strength[i], 1, r.paused[i]
			list = append(list, b)
		}
		if hissing == nil {
			hissing = s.loudAfter(list)
		}
		s.group(&g, list, hissing, quiet)
	}
	quiet = s.quiet(r, g.n)
	for i := range list {
		list[i].hissing = hissing[i]
		s.compare(&list[i], &g)
	}
	return list, quiet, g
}

// loudAfter marks the places that a hiss follows, as far as the row alone shows it.
func (s *sound) loudAfter(list []burst) []bool {
	gaps := s.gaps(list, patch)
	end, before := make([][bands]float64, len(list)), make([][bands]float64, len(list))
	for i := range gaps {
		end[i], before[i] = gaps[i].end, gaps[i].before
	}
	near := stand(end, before, nil)
	var hiss, size []float64
	for i := range list {
		v := near.over[i]
		hiss = append(hiss, 0.5*quantile(v[:], 0.5)+0.5*quantile(v[:], 0.8))
		if !math.IsNaN(hiss[i]) {
			size = append(size, math.Abs(hiss[i]))
		}
	}
	limit := math.Max(loudLeast, loudTimes*quantile(size, 0.5))
	out := make([]bool, len(list))
	for i, h := range hiss {
		out[i] = h > limit
	}
	return out
}

// How much the noise has to be louder after a place for a hiss [ln], and how many times what is usual.
const (
	loudLeast = 0.46
	loudTimes = 7.5
)

// quiet measures places between those of the row.
func (s *sound) quiet(r *row, n int) []burst {
	var out []burst
	for _, f := range r.at {
		for _, share := range []float64{0.4, 0.5, 0.6, 0.7, 0.8} {
			k := f + int(share*r.interval/s.step)
			if k > noiseBefore && k+n < s.frames {
				out = append(out, s.take(k, n))
			}
		}
	}
	return out
}

// group sets the shape from the stronger places.
func (s *sound) group(g *group, list []burst, hissing []bool, quiet []burst) {
	var st []float64
	for _, b := range list {
		st = append(st, b.strength)
	}
	g.usual = quantile(st, 0.7)
	var strong []burst
	for i, b := range list {
		if b.strength >= 0.5*g.usual && b.inside && !hissing[i] {
			strong = append(strong, b)
		}
	}
	if len(strong) < 2 {
		strong = list
	}
	for k := range bands {
		var e, q, n []float64
		for _, b := range strong {
			e, n = append(e, b.energy[k]), append(n, b.noise[k])
		}
		for _, b := range quiet {
			q = append(q, b.energy[k]/b.noise[k])
		}
		g.energy[k] = quantile(e, 0.5)
		spread := 0.3 * float64(g.n)
		if len(q) > 2 {
			spread = 1.4826*mad(q, quantile(q, 0.5)) + 0.02*float64(g.n)
		}
		z := math.Max(0, g.energy[k]) / (spread * quantile(n, 0.5))
		g.weight[k] = z * z / (1 + z*z/9)
		if z < 1 {
			g.weight[k] = 0
		}
	}
	s.envelope(g, strong)
}

// envelope sets how long the group's pulses last.
func (s *sound) envelope(g *group, strong []burst) {
	curve := make([]float64, patch)
	for i := range curve {
		var v []float64
		for j := range strong {
			if c := s.curve(&strong[j], g, i); !math.IsNaN(c) {
				v = append(v, c)
			}
		}
		curve[i] = math.Max(0, quantile(v, 0.5))
	}
	sum := 0.0
	for _, v := range curve {
		sum += v
	}
	acc := 0.0
	g.n = 0
	for i, v := range curve {
		acc += v
		if g.n == 0 && acc > 0.93*sum {
			g.n = i + 1
		}
	}
	g.n = max(6, min(patch, g.n+1))
	g.length = lasting(curve[:g.n])
}

// curve is a burst's excess in frame i after its place, weighted over the bands.
func (s *sound) curve(b *burst, g *group, i int) float64 {
	f := b.frame + i
	if f >= s.frames {
		return math.NaN()
	}
	sum, total := 0.0, 0.0
	for k, w := range g.weight {
		if w > 0 {
			sum += w * (s.power[k][f] - b.noise[k]) / g.energy[k]
			total += w
		}
	}
	return sum / math.Max(total, 1e-12)
}

// lasting returns how long a curve lasts, its sum over the mean of its strongest three frames.
func lasting(curve []float64) float64 {
	sum, top := 0.0, 0.0
	for i, v := range curve {
		sum += v
		if i >= 2 {
			top = math.Max(top, (curve[i-2]+curve[i-1]+v)/3)
		}
	}
	return math.Max(0, sum) / math.Max(top, 1e-12)
}

// compare sets a burst's level, length and tone against the group.
func (s *sound) compare(b *burst, g *group) {
	var v, w []float64
	var low, high, lowW, highW float64
	half := g.halfBand()
	for k, weight := range g.weight {
		if weight <= 0 {
			continue
		}
		x := b.energy[k] / g.energy[k]
		v, w = append(v, x), append(w, weight)
		if k < half {
			low, lowW = low+weight*x, lowW+weight
		} else {
			high, highW = high+weight*x, highW+weight
		}
	}
	b.ratio = weightedMiddle(v, w)
	b.tone = 10 * math.Log10(math.Max(high/math.Max(highW, 1e-9), 1e-3)/math.Max(low/math.Max(lowW, 1e-9), 1e-3))
	if lowW == 0 || highW == 0 {
		b.tone = 0
	}
	curve := make([]float64, 0, g.n)
	for i := range g.n {
		if c := s.curve(b, g, i); !math.IsNaN(c) {
			curve = append(curve, c)
		}
	}
	b.length = lasting(curve) / math.Max(g.length, 1e-9)
}

// halfBand is the band that halves the weight.
func (g *group) halfBand() int {
	total := 0.0
	for _, w := range g.weight {
		total += w
	}
	sum := 0.0
	for k, w := range g.weight {
		if sum += w; sum >= total/2 {
			return k + 1
		}
	}
	return bands
}

// weightedMiddle is the weighted median of v.
func weightedMiddle(v, w []float64) float64 {
	total := 0.0
	for _, x := range w {
		total += x
	}
	sum := 0.0
	for {
		arg := -1
		for i, x := range v {
			if w[i] > 0 && (arg < 0 || x < v[arg]) {
				arg = i
			}
		}
		if arg < 0 {
			return 0
		}
		if sum += w[arg]; sum >= total/2 {
			return v[arg]
		}
		w[arg] = 0
	}
}
