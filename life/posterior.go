package life

import "math"

// tuning holds the numbers of the model that are judgement or were set by bench/life;
// calibration.go holds the values and says how.
type tuning struct {
	wanders  []wander // sizes of the error model to choose from
	scaleDF  float64  // degrees of freedom behind the error model's own scale
	temper   float64  // share of the bins that count as evidence: no curve is exactly right
	seasoned float64  // prior probability that the life began with a seasoning rise
	plain    float64  // weight of the prior that knows no earlier lives
	late     float64  // how much a forecast is asked for the more often, the less is left
}

// cell is one hypothesis left after seeing the record: a shape, a seasoning time, an age at the
// limit, with its probability and what follows of the level.
type cell struct {
	shape  int
	season float64 // seasoning time, age units; 0 none
	end    float64 // age at the limit
	weight float64 // probability
	width  float64 // width of the cell in ln(remaining)
	birth  float64 // level at age 0
	rise   float64 // height of the seasoning rise
	drift  drift   // of its age against the clock
	scale  float64 // growth of the record now over that of the curve
}

// prior is what is known before the record is seen.
type prior struct {
	end         []part    // ln(age at the limit), apart from born
	plain       float64   // weight of "somewhere in its life, anywhere alike"
	birth       float64   // level at age 0; NaN unknown
	birthSigma  float64   //
	shapeWeight []float64 // one per shape
	born        []part    // for shapes taken from earlier lives: their own ln(age at the limit); sigma 0 none
}

// part is one normal distribution in a mixture.
type part struct{ weight, mean, sigma float64 }

func (p part) density(x float64) float64 {
	u := (x - p.mean) / p.sigma
	return p.weight * math.Exp(-0.5*u*u) / (p.sigma * math.Sqrt(2*math.Pi))
}

// fitter holds one record and what it is fitted with.
type fitter struct {
	bins   []bin
	now    float64 // age now, at or after the last sample
	limit  float64
	shapes []shape
	pr     prior
	tn     tuning
	slope  []float64
	fl     *follower
	rise   float64 // prior standard deviation of the seasoning rise
}

// prepared completes a fitter whose record, age, limit, shapes, prior and tuning are set.
func (f fitter) prepared() *fitter {
	bins, now, limit := f.bins, f.now, f.limit
	top := 0.0
	for _, b := range bins {
		top = math.Max(top, math.Abs(b.y))
	}
	f.rise = 0.25 * top
	if math.IsNaN(f.pr.birth) && len(bins) > 0 {
		f.pr.birth = bins[0].y
		f.pr.birthSigma = 0.4*math.Abs(bins[0].y) + 0.1*math.Abs(limit)
	}
	f.slope = slopes(bins, now)
	f.fl = follow(bins, f.slope, now, limit, f.tn.wanders[len(f.tn.wanders)/2])
	return &f
}

// trail is the filter's state for one column of the linear fit.
type trail struct{ m, v, g float64 }

// innovation takes the next value of the column and returns what the filter did not foresee.
func (t *trail) innovation(st *step, y float64) float64 {
	m := t.m + st.coast*t.v
	v := st.slow * t.v
	g := st.keep * t.g
	e := y - st.h*m - st.l*g
	t.m, t.v, t.g = m+st.km*e, v+st.kv*e, g+st.kg*e
	return e
}

// solution is what the linear part of a fit gives.
type solution struct {
	logl        float64 // log of the marginal likelihood
	birth, rise float64
	drift       drift
}

// solveLinear fits level at birth and seasoning rise for one shape, seasoning time and end.
func (f *fitter) solveLinear(sh *shape, rising []float64, season, end float64) solution {
	p0 := 1 / (f.pr.birthSigma * f.pr.birthSigma)
	s11, s12, s22 := p0, 0.0, 1.0
	var b1, b2, q float64
	d0 := f.pr.birth
	atEnd := 0.0
	if season > 0 {
		s22 = 1 / (f.rise * f.rise)
		atEnd = 1 - math.Exp(-end/season)
	}
	inv := 1 / end
	var r0, r1, r2 trail
	for i := range f.bins {
		b := &f.bins[i]
		st := &f.fl.steps[i]
		g := sh.value(b.x * inv)
		a1 := 1 - g
		r := r0.innovation(st, b.y-f.limit*g-d0*a1) // about the prior mean of the birth level
		a1 = r1.innovation(st, a1)
		s11 += a1 * a1 * st.inv
		b1 += a1 * r * st.inv
		q += r * r * st.inv
		if season > 0 {
			a2 := r2.innovation(st, rising[i]-g*atEnd)
			s12 += a1 * a2 * st.inv
			s22 += a2 * a2 * st.inv
			b2 += a2 * r * st.inv
		}
	}
	det := s11*s22 - s12*s12
	birth := (s22*b1 - s12*b2) / det
	rise := (s11*b2 - s12*b1) / det
	logdet := math.Log(det / p0)
	if season > 0 {
		logdet += 2 * math.Log(f.rise)
	}
	q -= birth*b1 + rise*b2
	a := f.tn.scaleDF / 2
	n := f.tn.temper * float64(len(f.bins))
	return solution{
		logl:  -(a+n/2)*math.Log1p(math.Max(q, 0)/(2*a)) - 0.5*logdet,
		birth: d0 + birth, rise: rise,
		drift: drift{m: r0.m - birth*r1.m - rise*r2.m, v: r0.v - birth*r1.v - rise*r2.v},
	}
}

// logPrior is the log prior density of ln(remaining) for a shape. A forecast is asked for again and again as
// the end comes near, with chance left^-late of its life: at 0 any moment is alike, at 1 any ln(left).
func (f *fitter) logPrior(k int, left float64) float64 {
	end := f.now + left
	x := math.Log(end)
	d := f.pr.plain * f.now / end
	for _, p := range f.pr.end {
		d += p.density(x)
	}
	if k < len(f.pr.born) && f.pr.born[k].sigma > 0 {
		d = 0.5*d + 0.5*f.pr.born[k].density(x)
	}
	return math.Log(d+1e-300) + (1-f.tn.late)*math.Log(left/end)
}

// span returns the range of ln(remaining) that is searched.
func (f *fitter) span() (lo, hi float64) {
	most := 300 * f.now
	for _, p := range f.pr.end {
		most = math.Max(most, math.Exp(p.mean+4*p.sigma))
	}
	return math.Log(math.Max(1e-4*f.now, 1e-9*most)), math.Log(most)
}

const (
	coarseSteps = 20
	zooms       = 5
	surveyStep  = 9   // one hypothesis in this many is surveyed; no divisor of the number of shapes
	negligible  = 9.0 // log units below the best at which a hypothesis is dropped
)

// scan walks ln(remaining) for one shape and seasoning time and returns cells around the mass,
// their weights still as logs. It gives up early on what cannot come within reach of best.
func (f *fitter) scan(h hypothesis, lo, hi, best float64, out []cell) []cell {
	base := math.Log(f.pr.shapeWeight[h.shape]*h.share + 1e-300)
	var line [coarseSteps + 1]cell
	for zoom := 0; ; zoom++ {
		step := (hi - lo) / coarseSteps
		top := math.Inf(-1)
		for i := range line {
			left := math.Exp(lo + step*float64(i))
			end := f.now + left
			fit := f.solveLinear(&f.shapes[h.shape], h.rise, h.season, end)
			logl := fit.logl + base + f.logPrior(h.shape, left)
			line[i] = cell{shape: h.shape, season: h.season, end: end, weight: logl, width: step, birth: fit.birth, rise: fit.rise, drift: fit.drift}
			top = math.Max(top, logl)
		}
		first, last := -1, 0
		for i := range line {
			if line[i].weight > top-negligible {
				if first < 0 {
					first = i
				}
				last = i
			}
		}
		if last-first >= coarseSteps/3 || zoom == zooms {
			break
		}
		if top < best-negligible-4 && (zoom > 0 || top < best-30) {
			return out
		}
		lo, hi = lo+step*math.Max(float64(first-1), 0), lo+step*math.Min(float64(last+1), coarseSteps)
	}
	return append(out, line[:]...)
}

// hypothesis is a shape with a seasoning time and the seasoning rise at each bin.
type hypothesis struct {
	shape  int
	season float64
	share  float64 // prior probability of this seasoning time
	rise   []float64
}

// seasonTimes are the seasoning times tried, as shares of the age; 0 is none.
var seasonTimes = [...]float64{0, 0.02, 0.06, 0.18, 0.5}

// hypotheses lists every shape with every seasoning time.
func (f *fitter) hypotheses() []hypothesis {
	var out []hypothesis
	for _, t := range seasonTimes {
		season := t * f.now
		share := 1 - f.tn.seasoned
		var rise []float64
		if t > 0 {
			share = f.tn.seasoned / float64(len(seasonTimes)-1)
			rise = make([]float64, len(f.bins))
			for i, b := range f.bins {
				rise[i] = 1 - math.Exp(-b.x/season)
			}
		}
		for k := range f.shapes {
			out = append(out, hypothesis{shape: k, season: season, share: share, rise: rise})
		}
	}
	return out
}

// survey looks at a part of the hypotheses under each size of the error model, keeps the size with
// the most evidence (empirical Bayes), and returns the range of ln(remaining) worth searching and
// the best log weight.
func (f *fitter) survey(all []hypothesis) (lo, hi, best float64) {
	from, to := f.span()
	top := math.Inf(-1)
	var kept *follower
	var cells []cell
	for _, wd := range f.tn.wanders {
		f.fl = follow(f.bins, f.slope, f.now, f.limit, wd)
		cells = cells[:0]
		for i := 0; i < len(all); i += surveyStep {
			cells = f.scan(all[i], from, to, math.Inf(-1), cells)
		}
		peak := math.Inf(-1)
		for _, c := range cells {
			peak = math.Max(peak, c.weight)
		}
		var sum float64
		for _, c := range cells {
			sum += math.Exp(c.weight-peak) * c.width
		}
		if l := wd.favour + peak + math.Log(sum+1e-300) - 0.5*f.tn.temper*f.fl.logdet; l > top {
			top, kept, best = l, f.fl, peak
			lo, hi = to, from
			for _, c := range cells {
				if c.weight > peak-15 {
					x := math.Log(c.end - f.now)
					lo, hi = math.Min(lo, x), math.Max(hi, x)
				}
			}
		}
	}
	f.fl = kept
	return math.Max(lo-1.5, from), math.Min(hi+1.5, to), best
}

// posterior returns the hypotheses that remain, with probabilities that sum to one, and the log of
// the evidence for each shape.
func (f *fitter) posterior() (cells []cell, evidence []float64) {
	all := f.hypotheses()
	lo, hi, top := f.survey(all)
	for _, h := range all {
		n := len(cells)
		cells = f.scan(h, lo, hi, top, cells)
		for _, c := range cells[n:] {
			top = math.Max(top, c.weight)
		}
	}
	best := math.Inf(-1)
	for i := range cells {
		if l := cells[i].weight + math.Log(cells[i].width+1e-300); l > best {
			best = l
		}
	}
	evidence = make([]float64, len(f.shapes))
	kept := cells[:0]
	var sum float64
	for _, c := range cells {
		w := math.Exp(c.weight-best) * c.width
		if !(w > 3e-6) {
			continue
		}
		evidence[c.shape] += w
		sum += w
		c.weight = w
		kept = append(kept, c)
	}
	for i := range kept {
		kept[i].weight /= sum
	}
	for k := range evidence {
		evidence[k] /= sum * math.Max(f.pr.shapeWeight[k], 1e-300)
	}
	return kept, evidence
}

// level returns what a hypothesis says of the level at an age.
func (f *fitter) level(c *cell, x float64) float64 {
	g := f.shapes[c.shape].value(x / c.end)
	y := c.birth*(1-g) + f.limit*g
	if c.season > 0 {
		y += c.rise * (1 - math.Exp(-x/c.season) - g*(1-math.Exp(-c.end/c.season)))
	}
	return y
}
