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
	atEnd  float64 // share of the seasoning rise that is reached at the limit
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
	bins    []bin
	now     float64 // age now, at or after the last sample
	limit   float64
	shapes  []shape
	pr      prior
	tn      tuning
	slope   []float64
	fl      *follower
	rise    float64            // prior standard deviation of the seasoning rise
	logRise float64            // its logarithm
	drawn   [abreast][]float64 // room to work in
}

// prepared completes a fitter whose record, age, limit, shapes, prior and tuning are set.
func (f fitter) prepared() *fitter {
	bins, now, limit := f.bins, f.now, f.limit
	top := 0.0
	for _, b := range bins {
		top = math.Max(top, math.Abs(b.y))
	}
	f.rise = 0.25 * top
	f.logRise = math.Log(f.rise)
	if math.IsNaN(f.pr.birth) && len(bins) > 0 {
		f.pr.birth = bins[0].y
		f.pr.birthSigma = 0.4*math.Abs(bins[0].y) + 0.1*math.Abs(limit)
	}
	f.slope = slopes(bins, now)
	f.fl = f.follow(f.tn.wanders[len(f.tn.wanders)/2])
	for k := range f.drawn {
		f.drawn[k] = make([]float64, len(bins))
	}
	return &f
}

// solution is what the linear part of a fit gives.
type solution struct {
	logl        float64 // log of the marginal likelihood
	birth, rise float64
	atEnd       float64 // as in cell
	drift       drift
}

// abreast is how many ends are fitted at once: each step of the filter waits for the one before, so that three take
// hardly longer than one.
const abreast = 3

// solveLinear fits level at birth and seasoning rise for one hypothesis and several ends. The filter is linear in what it
// is given, so that only the shape has to go through it; the other columns went through before.
func (f *fitter) solveLinear(h *hypothesis, ends [abreast]float64) (out [abreast]solution) {
	var drawn [abreast]trail
	f.draw(&f.shapes[h.shape], &ends, &drawn)
	for k, end := range ends {
		out[k] = f.solution(h, end, f.drawn[k], drawn[k])
	}
	return out
}

// draw runs a shape with each of the ends through the filter into f.drawn, and returns where the filter stands.
func (f *fitter) draw(sh *shape, ends *[abreast]float64, at *[abreast]trail) {
	n := len(f.fl.steps)
	bins, steps := f.bins[:n], f.fl.steps[:n]
	out0, out1, out2 := f.drawn[0][:n], f.drawn[1][:n], f.drawn[2][:n]
	inv0, inv1, inv2 := 1/ends[0], 1/ends[1], 1/ends[2]
	var t0, t1, t2 trail
	for i := range steps {
		st, x := &steps[i], bins[i].x
		out0[i] = st.white * t0.innovation(st, sh.value(x*inv0))
		out1[i] = st.white * t1.innovation(st, sh.value(x*inv1))
		out2[i] = st.white * t2.innovation(st, sh.value(x*inv2))
	}
	*at = [...]trail{t0, t1, t2}
}

// solution fits one end, given what the filter did not foresee of the shape, and where it then stood.
func (f *fitter) solution(h *hypothesis, end float64, drawn []float64, at trail) solution {
	fl, c := f.fl, &f.fl.rising[h.time]
	level, ones, rising := fl.level.fresh[:len(drawn)], fl.ones.fresh[:len(drawn)], c.fresh[:len(drawn)]
	var gg, gl, g1, gr float64
	for i, g := range drawn {
		gg += g * g
		gl += g * level[i]
		g1 += g * ones[i]
		gr += g * rising[i]
	}
	p0 := 1 / (f.pr.birthSigma * f.pr.birthSigma)
	way := f.limit - f.pr.birth
	// the columns of the fit are 1 - g and rising - atEnd g, what they are fitted to is level - way g
	s11, s12, s22 := p0+fl.ones.one-2*g1+gg, 0.0, 1.0
	b1, b2, q := fl.level.one-gl-way*(g1-gg), 0.0, fl.level.square-2*way*gl+way*way*gg
	atEnd := 0.0
	if h.season > 0 {
		atEnd = seasoned(end, h.season)
		s22 = 1/(f.rise*f.rise) + c.square - 2*atEnd*gr + atEnd*atEnd*gg
		s12 = c.one - gr - atEnd*(g1-gg)
		b2 = c.level - way*gr - atEnd*(gl-way*gg)
	}
	det := s11*s22 - s12*s12
	birth := (s22*b1 - s12*b2) / det
	rise := (s11*b2 - s12*b1) / det
	logdet := math.Log(det / p0)
	if h.season > 0 {
		logdet += 2 * f.logRise
	}
	q -= birth*b1 + rise*b2
	a := f.tn.scaleDF / 2
	k := f.tn.temper * float64(len(drawn))
	shape := rise*atEnd + birth - way // how often the shape's own trail counts
	return solution{
		logl:  -(a+k/2)*math.Log1p(max(q, 0)/(2*a)) - 0.5*logdet,
		birth: f.pr.birth + birth, rise: rise, atEnd: atEnd,
		drift: drift{
			m: fl.level.end.m + shape*at.m - birth*fl.ones.end.m - rise*c.end.m,
			v: fl.level.end.v + shape*at.v - birth*fl.ones.end.v - rise*c.end.v},
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
	coarseSteps = 20 // one more is a multiple of abreast
	zooms       = 5
	surveyStep  = 9    // one hypothesis in this many is surveyed; no divisor of the number of shapes
	negligible  = 9.0  // log units below the best at which a hypothesis is dropped
	countless   = 3e-6 // probability against the best at which a cell is dropped
)

// scan walks ln(remaining) for one shape and seasoning time and returns cells around the mass,
// their weights still as logs. It gives up early on what cannot come within reach of best.
func (f *fitter) scan(h *hypothesis, lo, hi, best float64, out []cell) []cell {
	base := math.Log(f.pr.shapeWeight[h.shape]*h.share + 1e-300)
	var line [coarseSteps + 1]cell
	for zoom := 0; ; zoom++ {
		step := (hi - lo) / coarseSteps
		top := math.Inf(-1)
		for i := 0; i < len(line); i += abreast {
			var left, ends [abreast]float64
			for k := range ends {
				left[k] = math.Exp(lo + step*float64(i+k))
				ends[k] = f.now + left[k]
			}
			for k, fit := range f.solveLinear(h, ends) {
				logl := fit.logl + base + f.logPrior(h.shape, left[k])
				line[i+k] = cell{shape: h.shape, season: h.season, end: ends[k], weight: logl, width: step, birth: fit.birth, rise: fit.rise, drift: fit.drift, atEnd: fit.atEnd}
				top = max(top, logl)
			}
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

// hypothesis is a shape with a seasoning time.
type hypothesis struct {
	shape  int
	time   int     // index in seasonTimes
	season float64 // the seasoning time in units of age
	share  float64 // prior probability of this seasoning time
}

// seasonTimes are the seasoning times tried, as shares of the age; 0 is none.
var seasonTimes = [...]float64{0, 0.02, 0.06, 0.18, 0.5}

// hypotheses lists every shape with every seasoning time.
func (f *fitter) hypotheses() []hypothesis {
	out := make([]hypothesis, 0, len(seasonTimes)*len(f.shapes))
	for i, t := range seasonTimes {
		share := 1 - f.tn.seasoned
		if t > 0 {
			share = f.tn.seasoned / float64(len(seasonTimes)-1)
		}
		for k := range f.shapes {
			out = append(out, hypothesis{shape: k, time: i, season: t * f.now, share: share})
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
	cells := make([]cell, 0, (coarseSteps+1)*(1+len(all)/surveyStep))
	for _, wd := range f.tn.wanders {
		f.fl = f.follow(wd)
		cells = cells[:0]
		for i := 0; i < len(all); i += surveyStep {
			cells = f.scan(&all[i], from, to, math.Inf(-1), cells)
		}
		peak := math.Inf(-1)
		for _, c := range cells {
			peak = max(peak, c.weight)
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
	if f.fl == nil { // no hypothesis has anything to do with these readings
		return nil, nil
	}
	best := math.Inf(-1)
	cells = make([]cell, 0, 8*len(all))
	var line [coarseSteps + 1]cell
	for i := range all {
		found := f.scan(&all[i], lo, hi, top, line[:0])
		for _, c := range found {
			top = max(top, c.weight)
			best = max(best, c.weight+math.Log(c.width+1e-300))
		}
		for _, c := range found {
			if math.Exp(c.weight-best)*c.width > countless { // best only grows
				cells = append(cells, c)
			}
		}
	}
	evidence = make([]float64, len(f.shapes))
	kept := cells[:0]
	var sum float64
	for _, c := range cells {
		w := math.Exp(c.weight-best) * c.width
		if !(w > countless) {
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

// seasoned is the share of the seasoning rise that is reached at an age: beyond forty seasoning times all of it, to the last
// digit.
func seasoned(x, season float64) float64 {
	if x > 40*season {
		return 1
	}
	return 1 - math.Exp(-x/season)
}

// level returns what a hypothesis says of the level at an age.
func (f *fitter) level(c *cell, x float64) float64 {
	g := f.shapes[c.shape].value(x / c.end)
	y := c.birth*(1-g) + f.limit*g
	if c.season > 0 {
		y += c.rise * (seasoned(x, c.season) - g*c.atEnd)
	}
	return y
}
