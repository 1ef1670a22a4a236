package life

import (
	"math"
	"slices"
)

// sample is one reading of what ages against its age.
type sample struct {
	x     float64 // age: running hours, or dust taken up
	y     float64 // what ages, such as dP at design flow
	sigma float64 // standard uncertainty of y, NaN unknown
	doubt float64 // relative error that neighbouring readings share; more readings don't lessen it
}

// bin is a stretch of a record drawn together: median value, mean age.
type bin struct {
	x, y   float64
	width  float64 // stretch of age it stands for
	n      int
	doubt  float64 // as in sample
	noise2 float64 // variance of y from scatter and doubt
	single float64 // the part of it that more readings in the bin would lessen
}

// maxBins is how many stretches a record is drawn together into; more add cost and no knowledge.
const maxBins = 48

// edges returns the limits of the stretches between first and now: finer towards now, since the
// newest part of a curve says most about the next.
func edges(first, now float64) []float64 {
	out := make([]float64, maxBins+1)
	for i := range out {
		u := 1 - float64(i)/maxBins
		out[i] = now - (now-first)*math.Pow(u, 1.5)
	}
	return out
}

// gather draws samples, sorted by x, together into bins and estimates their scatter.
func gather(s []sample) []bin {
	if len(s) == 0 {
		return nil
	}
	first, now := s[0].x, s[len(s)-1].x
	if len(s) <= maxBins || now <= first {
		out := make([]bin, len(s))
		for i, p := range s {
			out[i] = bin{x: p.x, y: p.y, n: 1, doubt: p.doubt}
		}
		return scatter(widths(out, first, now), s)
	}
	var out []bin
	limits := edges(first, now)
	i := 0
	ys := make([]float64, 0, len(s)/8)
	for b := 1; b < len(limits); b++ {
		var sum, doubt float64
		ys = ys[:0]
		for i < len(s) && (s[i].x <= limits[b] || b == maxBins) {
			ys = append(ys, s[i].y)
			sum += s[i].x
			doubt += s[i].doubt
			i++
		}
		if len(ys) == 0 {
			continue
		}
		n := float64(len(ys))
		out = append(out, bin{x: sum / n, y: middle(ys), n: len(ys), doubt: doubt / n})
	}
	return scatter(widths(out, first, now), s)
}

// widths gives each bin the stretch of age halfway to its neighbours, held below a tenth of the
// record so that a point beside a gap does not count for the gap.
func widths(b []bin, first, now float64) []bin {
	most := math.Max((now-first)/10, 1e-12)
	for i := range b {
		lo, hi := first, now
		if i > 0 {
			lo = 0.5 * (b[i-1].x + b[i].x)
		}
		if i < len(b)-1 {
			hi = 0.5 * (b[i].x + b[i+1].x)
		}
		b[i].width = math.Min(math.Max(hi-lo, 1e-3*most), most)
	}
	return b
}

// middle returns the mean of the middle half of v (the median of up to four): near the median in
// what it forgives, near the mean in what it wastes. It reorders v.
func middle(v []float64) float64 {
	slices.Sort(v)
	lo, hi := len(v)/4, len(v)-len(v)/4
	var sum float64
	for _, y := range v[lo:hi] {
		sum += y
	}
	return sum / float64(hi-lo)
}

// scatter estimates the variance of each bin's value. Scatter between neighbouring bins, taken
// from how far each lies off the line through its two neighbours, shows all noise, slow noise
// included, at the grain of the bins; the scatter between neighbouring samples gives the part that
// shrinks with the number of readings in a bin.
func scatter(b []bin, s []sample) []bin {
	white := kinkNoise(len(s), func(i int) (float64, float64) { return s[i].x, s[i].y }, nil)
	given := math.NaN()
	if v := sigmas(s); len(v) > 0 {
		given = middle(v)
	}
	if math.IsNaN(white) || (len(s) < 8 && given > white) {
		white = given
	}
	level := make([]float64, len(b))
	for i := range b {
		level[i] = b[i].y
	}
	typical := 0.0
	if len(level) > 0 {
		typical = middle(level)
	}
	if math.IsNaN(white) {
		white = 0.05 * math.Abs(typical)
	}
	slow2 := 0.0
	if len(b) >= 8 && len(s) > len(b) {
		weight := func(i int) float64 { return white * white / float64(b[i].n) }
		if k := kinkNoise(len(b), func(i int) (float64, float64) { return b[i].x, b[i].y }, weight); !math.IsNaN(k) {
			slow2 = k * k
		}
	}
	scatterAt := noiseByLevel(s, white)
	for i := range b {
		w2 := white * white
		if scatterAt != nil {
			w2 = scatterAt(b[i].y)
		} else if typical > 0 {
			w2 *= math.Pow(0.5+0.5*math.Max(b[i].y, 0)/typical, 2)
		}
		slow := slow2
		if white > 0 {
			slow *= w2 / (white * white)
		}
		b[i].single = w2 / float64(b[i].n)
		b[i].noise2 = b[i].single + slow + math.Pow(b[i].doubt*b[i].y, 2) + 1e-8*typical*typical + 1e-18
	}
	return b
}

// sigmas collects the uncertainties that came with the samples.
func sigmas(s []sample) []float64 {
	var v []float64
	for _, p := range s {
		if p.sigma > 0 && !math.IsInf(p.sigma, 0) {
			v = append(v, p.sigma)
		}
	}
	return v
}

// kinkNoise returns the standard deviation of independent noise in a curve from the distance of
// each point from the line through its neighbours, robustly (median of squares); known, where
// given, is variance already accounted for at each point. NaN with fewer than 4 points.
func kinkNoise(n int, at func(int) (float64, float64), known func(int) float64) float64 {
	if n < 4 {
		return math.NaN()
	}
	step := 1 + (n-2)/2000
	r := make([]float64, 0, n/step+1)
	for i := 1; i < n-1; i += step {
		x0, y0 := at(i - 1)
		x1, y1 := at(i)
		x2, y2 := at(i + 1)
		if x2 <= x0 {
			continue
		}
		u := (x1 - x0) / (x2 - x0)
		d := y1 - (1-u)*y0 - u*y2
		v := d * d / (1 + u*u + (1-u)*(1-u))
		if known != nil {
			v -= known(i)
		}
		r = append(r, v)
	}
	if len(r) == 0 {
		return math.NaN()
	}
	slices.Sort(r)
	return math.Sqrt(math.Max(r[len(r)/2], 0) / 0.4549) // median of chi-squared, 1 degree of freedom
}

// leastForLevels is the number of readings from which their scatter is looked at by level.
const leastForLevels = 60

// noiseByLevel returns the variance of a reading as it changes with the level: a + b y^2 through the
// scatter of the lower and the upper half of the readings. It is nil where they are too few or too
// much alike to tell; white is the scatter of all.
func noiseByLevel(s []sample, white float64) func(y float64) float64 {
	if len(s) < leastForLevels || !(white > 0) {
		return nil
	}
	ys := make([]float64, len(s))
	for i, p := range s {
		ys[i] = p.y
	}
	slices.Sort(ys)
	cut := ys[len(ys)/2]
	var half [2][]sample
	var square, v [2]float64
	for _, p := range s {
		k := 0
		if p.y > cut {
			k = 1
		}
		half[k] = append(half[k], p)
		square[k] += p.y * p.y
	}
	for k, h := range half {
		w := kinkNoise(len(h), func(i int) (float64, float64) { return h[i].x, h[i].y }, nil)
		if !(w > 0) || len(h) < leastForLevels/4 {
			return nil
		}
		v[k], square[k] = w*w, square[k]/float64(len(h))
	}
	if square[1] <= square[0] {
		return nil
	}
	slope := (v[1] - v[0]) / (square[1] - square[0])
	least, most := 0.25*math.Min(v[0], v[1]), 4*math.Max(v[0], v[1])
	return func(y float64) float64 { return math.Min(math.Max(v[0]+slope*(y*y-square[0]), least), most) }
}
