package ear

import (
	"math"
	"slices"

	"dustwright/solve"
)

// How the noise between two places is listened to [frames].
const (
	quarters  = 4  // stretches of a gap
	gapAfter  = 8  // after a pulse's end, from here
	gapBefore = 8  // before the next place, until here
	quarter   = 12 // a stretch is at least so long
	lowerPart = 55 // of its frames count, the lower ones: words and blows lie above [%]
)

// gap is the noise around a place, band by band [ln]; NaN where there is none.
type gap struct {
	before [bands]float64           // just before it
	after  [quarters][bands]float64 // from its pulse's end to the next place
	end    [bands]float64           // just before the next
}

// lower is the mean of the lower part of a band's power over frames [ln].
func (s *sound) lower(b, from, to int) float64 {
	from, to = max(0, from), min(s.frames, to)
	if to-from < quarter {
		return math.NaN()
	}
	buf := append(make([]float64, 0, to-from), s.power[b][from:to]...)
	n := max(1, len(buf)*lowerPart/100)
	solve.Pick(buf, n-1)
	return math.Log(mean(buf[:n]))
}

// gaps measures the noise around all places, whose pulses fill n frames.
func (s *sound) gaps(list []burst, n int) []gap {
	out := make([]gap, len(list))
	usual := int(usualStep(list))
	for i, b := range list {
		from, until := max(b.frame, b.double)+n+gapAfter, s.frames
		if i+1 < len(list) {
			until = list[i+1].frame
		}
		if usual > 0 {
			until = min(until, b.frame+usual)
		}
		until -= gapBefore
		long := max(2*quarter, (until-from)/2)
		for k := range bands {
			out[i].before[k] = s.lower(k, b.frame-gapBefore-min(long, b.frame-gapBefore), b.frame-gapBefore)
			out[i].end[k] = s.lower(k, max(from, until-long), until)
			for q := range quarters {
				out[i].after[q][k] = s.lower(k, from+(until-from)*q/quarters, from+(until-from)*(q+1)/quarters)
			}
		}
	}
	return out
}

// rises are how much the noise of each band in each quarter lies over a base, against what is usual in the row,
// and that in its usual spread.
type steps struct {
	over  [][bands]float64
	sigma [bands]float64
	turn  float64
}

// stand sets the steps of some levels over a base, with the row's usual taken off: what stays of a pulse, more of a loud
// one, or what an automatic gain took away for it. power is that of the pulses against the group's; nil: all alike.
func stand(level, base [][bands]float64, power []float64) steps {
	s := steps{over: make([][bands]float64, len(level))}
	var all []float64
	for k := range bands {
		var v, share, under []float64
		for i := range level {
			s.over[i][k] = level[i][k] - base[i][k]
			if !math.IsNaN(s.over[i][k]) {
				v, under = append(v, s.over[i][k]), append(under, base[i][k])
			}
		}
		quiet := quantile(under, 0.33) + 0.1
		for i := range level {
			// What is left of a pulse is heard where the noise is low.
			if power != nil && power[i] > 0.1 && base[i][k] <= quiet && !math.IsNaN(s.over[i][k]) {
				share = append(share, math.Expm1(s.over[i][k])*math.Exp(base[i][k])/power[i])
			}
		}
		// The places a hiss follows are the fewer and lie high.
		centre, left := quantile(v, 0.45), quantile(share, 0.45)
		v = v[:0]
		for i := range s.over {
			if len(share) > 1 && left > 0 {
				// What is left of a pulse stands less over a louder noise.
				centre = math.Log1p(left * math.Min(power[i], 8) / math.Exp(base[i][k]))
			}
			s.over[i][k] -= centre
			if !math.IsNaN(s.over[i][k]) {
				v = append(v, s.over[i][k])
			}
		}
		s.sigma[k] = 2 * stepSigma
		if len(v) > 4 {
			s.sigma[k] = math.Max(stepSigma, 1.4826*mad(v, 0))
		}
	}
	for i := range s.over {
		if m := middle(s.over[i][:]); !math.IsNaN(m) {
			all = append(all, math.Abs(m))
		}
	}
	s.turn = 2.5 * gainTurn
	if len(all) > 4 {
		s.turn = math.Min(gainMost, math.Max(gainTurn, 1.4826*quantile(all, 0.5)))
	}
	return s
}

// What a hiss is told from a turned gain by.
const (
	stepSigma = 0.07 // at least, of a band's noise level from one stretch to the next, with a long tail [ln]
	gainTurn  = 0.04 // at least, of how much a recorder's gain turns from one place to the next [ln]
	gainMost  = 0.35 // and at most
	stepTail  = 3.0  // in that spread: more counts as little more
	hisses    = 14   // strengths tried of a hiss, each twice the one before
	leastHiss = 1.0 / 16
)

// fitted is how much likelier a step is with a hiss of each shape and strength than without [ln].
type fitted [][hisses]float64

// fit tries all shapes on the steps of place i.
func (s *steps) fit(i int, shapes [][bands]float64) fitted {
	out := make(fitted, len(shapes))
	if math.IsNaN(middle(s.over[i][:])) {
		return out
	}
	wide := s.sigma
	none := s.misfit(&s.over[i], &wide)
	var rest [bands]float64
	for j := range shapes {
		h := leastHiss
		for n := range hisses {
			for k := range rest {
				a := h * shapes[j][k]
				rest[k], wide[k] = s.over[i][k]-math.Log1p(a), math.Hypot(s.sigma[k], shapeSpread*a/(1+a))
			}
			out[j][n] = none - s.misfit(&rest, &wide)
			h *= 2
		}
	}
	return out
}

// misfit is how badly what is left of the steps of the bands is explained by chance, of a spread wide in each: half
// the squared distance, after the gain has been fitted out; a gain that turns far costs too, and so does a spread
// wider than the row's.
func (s *steps) misfit(rest, wide *[bands]float64) float64 {
	v := *rest
	slices.Sort(v[:])
	gain := (v[bands/2-1] + v[bands/2]) / 2 / (1 + 0.1*stepSigma*stepSigma/(s.turn*s.turn))
	sum, wider := gain*gain/(2*s.turn*s.turn), 1.0
	for k, r := range rest {
		d := (r - gain) / wide[k]
		sum += stepTail * stepTail / 2 * math.Log1p(d*d/(stepTail*stepTail))
		wider *= wide[k] / s.sigma[k]
	}
	return sum + math.Log(wider)
}

// shapeSpread is how far a hiss in one band may be from its shape [ln].
const shapeSpread = 0.8

// hissShapes lists how an open valve may raise the bands over their noise, about 1 where it does much: as its pulse
// stands above them, more or less even, or flat between two corners.
func hissShapes(noise [bands]float64, g *group) [][bands]float64 {
	var out [][bands]float64
	for _, even := range []float64{1, 0.5} {
		var pulse [bands]float64
		for k := range bands {
			if g.weight[k] > 0 {
				pulse[k] = math.Pow(math.Max(0, g.energy[k])*math.Exp(-noise[k]), even)
			}
		}
		out = append(out, pulse)
	}
	for _, lo := range []float64{-3, 9} {
		for _, hi := range []float64{25} {
			var flat [bands]float64
			for k := range bands {
				flat[k] = logistic(hissEdge*(float64(k)-lo)) * logistic(hissEdge*(hi-float64(k))) * math.Exp(-noise[k])
			}
			out = append(out, flat)
		}
	}
	for j := range out {
		v := out[j]
		much := math.Max(quantile(v[:], 0.8), 1e-3*slices.Max(out[j][:]))
		for k := range out[j] {
			out[j][k] /= math.Max(much, 1e-300)
		}
	}
	return out
}

// hissEdge is how fast a hiss falls off beyond its corners, a band further [ln].
const hissEdge = 1.1

// fades are how a hiss may die away over the quarters of its gap, in halvings.
var fades = [...][quarters]int{{0, 0, 0, 0}, {0, 0, 1, 1}, {0, 1, 2, 3}}

// leaks is what is told of the hiss after the places of a row.
type leaks struct {
	after [][len(fades)]fitted // place by place, for each way to die away
	stays []float64            // how much likelier a hiss that begins there and stays is than none [ln]
	hiss  []float64            // noise after a place over before, in the loudest quarter of the gap [dB]
}

// leaks listens to the noise around the places.
func (s *sound) leaks(list []burst, g *group) *leaks {
	gaps := s.gaps(list, g.n)
	n := len(list)
	out := &leaks{make([][len(fades)]fitted, n), make([]float64, n), make([]float64, n)}
	base, before, end := make([][bands]float64, n), make([][bands]float64, n), make([][bands]float64, n)
	power := make([]float64, n)
	for i := range gaps {
		if list[i].heard {
			power[i] = math.Pow(10, list[i].level/10)
		}
		before[i], end[i] = gaps[i].before, gaps[i].end
	}
	copy(base, before)
	out.quarters(gaps, base, power, g)
	for i := 1; i+1 < n; i++ {
		// A hiss after the place before, over by the next, is no base.
		if top(out.after[i-1][0]) > hissBefore && lower(end[i+1], before[i]) {
			base[i] = end[i+1]
		}
	}
	out.quarters(gaps, base, power, g)
	from, to := long(before, end)
	near, far := stand(end, before, nil), stand(to, from, nil)
	rise := make([]float64, n)
	for i := range list {
		shapes := hissShapes(before[i], g)
		rise[i] = top(near.fit(i, shapes))
		out.stays[i] = math.Min(2*rise[i], top(far.fit(i, shapes)))
	}
	for i := range list {
		// It begins where the noise rises most.
		if i > 0 && rise[i-1] > rise[i] || i+1 < n && rise[i+1] > rise[i] {
			out.stays[i] = 0
		}
	}
	return out
}

// hissBefore is how likely a hiss has to be to be no base for the place after it [ln].
const hissBefore = 10

// lower says whether most bands of one noise lie clearly below those of another.
func lower(a, b [bands]float64) bool {
	var d [bands]float64
	for k := range d {
		d[k] = a[k] - b[k]
	}
	return quantile(d[:], 0.5) < -0.1
}

// quarters sets the fits of all places over their bases, and how loud a hiss is.
func (l *leaks) quarters(gaps []gap, base [][bands]float64, power []float64, g *group) {
	var stretch [quarters]steps
	level := make([][bands]float64, len(gaps))
	for q := range quarters {
		for i := range gaps {
			level[i] = gaps[i].after[q]
		}
		stretch[q] = stand(level, base, power)
	}
	for i := range gaps {
		l.place(i, &stretch, hissShapes(base[i], g))
		l.hiss[i] = math.NaN()
		for q := 1; q < quarters; q++ { // the first holds the pulse's own end
			if v := 10 / math.Ln10 * quantile(slices.Clone(stretch[q].over[i][:]), 0.7); v > l.hiss[i] || math.IsNaN(l.hiss[i]) {
				l.hiss[i] = v
			}
		}
	}
}

// span is over how many gaps before and after a place the noise is taken together to tell whether a hiss stays.
const span = 3

// long is the middle of the noise over some gaps before each place, and over some after it from the second on.
func long(before, end [][bands]float64) (from, to [][bands]float64) {
	from, to = make([][bands]float64, len(end)), make([][bands]float64, len(end))
	for i := range end {
		for k := range bands {
			var a, b []float64
			for j := max(0, i-span+1); j <= i; j++ {
				if v := before[j][k]; !math.IsNaN(v) {
					a = append(a, v)
				}
			}
			for j := i + 1; j < min(len(end), i+1+span); j++ {
				if v := end[j][k]; !math.IsNaN(v) {
					b = append(b, v)
				}
			}
			from[i][k], to[i][k] = quantile(a, 0.5), quantile(b, 0.5)
		}
	}
	return from, to
}

// place sets the fitted of one place.
func (l *leaks) place(i int, stretch *[quarters]steps, shapes [][bands]float64) {
	var part [quarters]fitted
	for q := range quarters {
		part[q] = stretch[q].fit(i, shapes)
	}
	for f, fade := range fades {
		sum := make(fitted, len(shapes))
		for j := range sum {
			for h := range hisses {
				for q, by := range fade {
					if q > 0 && h-by >= 0 {
						sum[j][h] += part[q][j][h-by] / 2
					}
				}
				// What is heard at first only is the pulse's own end.
				sum[j][h] += math.Min(part[0][j][h]/2, firstAlone+1.5*math.Max(0, sum[j][h]))
			}
		}
		l.after[i][f] = sum
	}
}

// firstAlone is how much the first quarter alone may speak for a hiss [ln].
const firstAlone = 2

// top is the greatest of fitted, not below 0.
func top(f fitted) float64 {
	best := 0.0
	for j := range f {
		for _, v := range f[j] {
			best = math.Max(best, v)
		}
	}
	return best
}

// open is how much likelier a valve due at some places stands open than not [ln], and from which place on for good, -1 where
// it hisses after each of them.
func (l *leaks) open(places []int) (likely float64, from int) {
	from = -1
	for f := range fades {
		var sum fitted
		for _, i := range places {
			for j, v := range l.after[i][f] {
				if j >= len(sum) {
					sum = append(sum, v)
					continue
				}
				for h := range v {
					sum[j][h] += v[h]
				}
			}
		}
		likely = math.Max(likely, top(sum))
	}
	for _, i := range places {
		if l.stays[i] > likely {
			likely, from = l.stays[i], i
		}
	}
	return likely, from
}

// loud is the noise after some places over before [dB], or after the one from which on it stays.
func (l *leaks) loud(places []int, from int) float64 {
	if from >= 0 {
		return l.hiss[from]
	}
	var v []float64
	for _, i := range places {
		if !math.IsNaN(l.hiss[i]) {
			v = append(v, l.hiss[i])
		}
	}
	return quantile(v, 0.5)
}

// How much likelier an open valve has to be [ln], and how many times more than other valves.
const (
	openLeast = 5.5
	openTimes = 3.0
)

// openLimit is how likely valve i has to be open, from what the others show; a hiss also shows at the valve after it.
func openLimit(open []float64, i int) float64 {
	var v []float64
	for k, o := range open {
		if k != i && k != (i+1)%len(open) {
			v = append(v, o)
		}
	}
	if len(v) < 2 {
		return openLeast
	}
	return math.Max(openLeast, openTimes*quantile(v, 0.7))
}
