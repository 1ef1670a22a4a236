package life

import (
	"cmp"
	"math"
	"slices"
)

// track is one life as the engine sees it: samples by age, sorted, cleaned.
type track struct {
	samples []sample
	limit   float64
	clean   float64 // level of new filters, NaN unknown
	sister  bool    // of another machine of the same kind
	whole   bool    // samples start at birth
	pulsed  bool    // cleaned by pulses
	steady  bool    // not the filters: it gains with the dust that comes, in a line or a little less
}

// outlook is what the engine says of one ageing quantity: hypotheses with probabilities.
type outlook struct {
	f       *fitter
	cells   []cell
	lives   int     // earlier lives that informed it,
	sisters int     // and how many of them were sisters'
	shared  float64 // relative error that all readings share
	use     usual
	samples []sample
}

// look fits the present life, with earlier lives pooled. now is the present age.
func look(current track, now float64, earlier []track, tn tuning) *outlook {
	all := shapes(current.pulsed)
	if current.steady {
		all = slices.Clip(steadyFormulas())
	}
	var lives []past
	sisters := 0
	for i := range earlier {
		if p, ok := recall(earlier[i], current.limit, all, tn); ok {
			lives = append(lives, p)
			if earlier[i].sister {
				sisters++
			}
		}
	}
	formulas := len(all)
	pr := prior{plain: tn.plain, end: pool(lives)}
	for i, l := range lives {
		if l.curve != nil {
			l.curve.born = i
			all = append(all, *l.curve)
		}
	}
	pr.born = make([]part, len(all))
	for k := formulas; k < len(all); k++ {
		l := lives[all[k].born]
		pr.born[k] = part{weight: 1, mean: l.logEnd, sigma: math.Hypot(0.2, l.sigma)}
	}
	if len(lives) == 0 {
		pr.plain = 1
	}
	pr.birth, pr.birthSigma = birthLevel(lives, current.clean, current.limit)
	pr.shapeWeight = shapeWeights(all, lives)
	f := fitter{bins: gather(current.samples), now: now, limit: current.limit, shapes: all, pr: pr, tn: tn}.prepared()
	cells, _ := f.posterior()
	for i := range cells {
		cells[i].drift, cells[i].scale = f.standing(&cells[i])
	}
	return &outlook{f: f, cells: cells, lives: len(lives), sisters: sisters, use: usualGrowth(current, earlier), samples: current.samples}
}

// recall reads an earlier life against the present limit.
func recall(t track, limit float64, all []shape, tn tuning) (past, bool) {
	missing := 0.0
	if t.pulsed {
		missing = missingAge(t)
		t = aged(t, missing)
	}
	b := gather(t.samples)
	if len(b) < 3 {
		return past{}, false
	}
	now := t.samples[len(t.samples)-1].x
	pr := prior{plain: 1, birth: math.NaN(), birthSigma: math.NaN(), shapeWeight: make([]float64, len(all))}
	for i := range all {
		pr.shapeWeight[i] = all[i].prior
	}
	if t.clean > 0 {
		pr.birth, pr.birthSigma = birthLevel(nil, t.clean, limit)
	}
	p := past{birth: math.NaN()}
	end, crossed := crossing(b, limit)
	f := fitter{bins: b, now: now, limit: limit, shapes: all, pr: pr, tn: tn}.prepared()
	var cells []cell
	if crossed {
		p.logEnd, p.sigma = math.Log(end), 0.03
		p.evidence, cells = f.given(end)
	} else {
		if cells, p.evidence = f.posterior(); len(cells) == 0 {
			return past{}, false
		}
		var mean, sq float64
		for _, c := range cells {
			l := math.Log(c.end)
			mean += c.weight * l
			sq += c.weight * l * l
		}
		p.logEnd, p.sigma = mean, math.Sqrt(math.Max(sq-mean*mean, 0)+0.03*0.03)
		end = math.Exp(mean)
	}
	if t.sister {
		p.sigma = math.Hypot(p.sigma, 0.2)
	}
	p.sigma = math.Hypot(p.sigma, missingDoubt*missing/end)
	birth := atBirth(b, cells)
	if t.whole {
		p.birth = birth
	}
	if p.curve = ownCurve(b, birth, limit, end, 0); p.curve != nil {
		f.calm(p.curve, cells, birth)
	}
	return p, true
}

// atBirth is the level at birth: the line through the first bins where they begin near it, or else what the
// hypotheses say.
func atBirth(b []bin, cells []cell) (birth float64) {
	if n := min(len(b)/6, 6); n >= 3 && b[0].x < 0.5*b[n-1].x {
		var s, sx, sy, sxx, sxy float64
		for _, p := range b[:n] {
			s++
			sx += p.x
			sy += p.y
			sxx += p.x * p.x
			sxy += p.x * p.y
		}
		slope := (s*sxy - sx*sy) / (s*sxx - sx*sx)
		return (sy - math.Max(slope, 0)*sx) / s
	}
	for i := range cells {
		birth += cells[i].weight * cells[i].birth
	}
	return birth
}

// given weighs the shapes of a life whose age at the limit is known.
func (f *fitter) given(end float64) (evidence []float64, cells []cell) {
	best := math.Inf(-1)
	for _, h := range f.hypotheses() {
		fit := f.solveLinear(&h, [abreast]float64{end, end, end})[0]
		l := fit.logl + math.Log(f.pr.shapeWeight[h.shape]*h.share)
		best = math.Max(best, l)
		cells = append(cells, cell{shape: h.shape, season: h.season, end: end, weight: l, birth: fit.birth, rise: fit.rise, atEnd: fit.atEnd})
	}
	evidence = make([]float64, len(f.shapes))
	var sum float64
	for i := range cells {
		cells[i].weight = math.Exp(cells[i].weight - best)
		sum += cells[i].weight
	}
	for i := range cells {
		cells[i].weight /= sum
		evidence[cells[i].shape] += cells[i].weight / f.pr.shapeWeight[cells[i].shape]
	}
	return evidence, cells
}

// crossing returns the age at which the bins first pass the limit, between two bins by a line;
// a record that stops within 2 % of it counts as having reached it.
func crossing(b []bin, limit float64) (float64, bool) {
	for i := 1; i < len(b); i++ {
		if b[i].y >= limit && (i == len(b)-1 || b[i+1].y >= limit) {
			d := b[i].y - b[i-1].y
			if d <= 0 || b[i-1].y >= limit {
				return b[i].x, true
			}
			return b[i-1].x + (limit-b[i-1].y)/d*(b[i].x-b[i-1].x), true
		}
	}
	last := b[len(b)-1]
	return last.x + 0.5*last.width, last.y >= 0.97*limit
}

// mass is a piece of probability at ln(remaining).
type mass struct{ at, w float64 }

// normalPieces are the means of five equal slices of the standard normal distribution.
var normalPieces = [...]float64{-1.3998, -0.5319, 0, 0.5319, 1.3998}

// remaining spreads each hypothesis by what is not known of the present age and by how the age
// will wander until the limit, and returns the pieces sorted. What is left is taken to be above
// zero, since nobody asks once the filters are out: a hypothesis that has the level beyond its limit
// counts by the chance that scatter alone put it there. Where that can't be, nothing is left.
func (o *outlook) remaining() []mass {
	const flat = 0.05 // of the end: more than that an error of the level can't say about having passed it
	f := o.f
	least := 1e-4 * f.now
	floor := math.Log(least)
	passed, beyond := o.passed()
	if passed == 1 {
		return []mass{{floor, 1}}
	}
	ms := make([]mass, 0, len(normalPieces)*len(o.cells))
	best := math.Inf(-1)
	for _, c := range o.cells {
		if beyond && (c.birth >= f.limit || c.end > 2*f.now) { // what came up to the limit does not fall or stand for as long again
			continue
		}
		left := f.fl.until(c.drift, c.end-f.now)
		way := left
		if left == 0 {
			way = c.end - f.now - c.drift.m
		}
		level := (f.fl.pg + o.shared*o.shared) * math.Pow(f.limit/f.slopeAt(&c), 2)
		wander := f.fl.spread(left, c.scale)
		sigma := math.Sqrt(wander+math.Min(level, math.Pow(flat*c.end, 2))) + 1e-2*least
		kept, mean, variance := aboveZero(way / sigma)
		left = math.Max(sigma*mean, least)
		wander = math.Log1p(wander * variance / (left * left)) // keeps the mean
		s := math.Sqrt(wander + math.Log1p(level/(left*left))) // the level's error keeps the median
		at := math.Log(left) - 0.5*wander
		w := math.Log(c.weight) + kept
		best = math.Max(best, w)
		for _, z := range normalPieces {
			ms = append(ms, mass{max(at+s*z, floor), w})
		}
	}
	var sum float64
	for i := range ms {
		ms[i].w = math.Exp(ms[i].w - best)
		sum += ms[i].w
	}
	for i := range ms {
		ms[i].w *= (1 - passed) / sum
	}
	if len(ms) == 0 {
		passed = 1
	}
	if passed > 0 {
		ms = append(ms, mass{floor, passed})
	}
	slices.SortFunc(ms, func(a, b mass) int { return cmp.Compare(a.at, b.at) })
	return ms
}

// A level that lies beyond the limit by as many of its standard deviations as unlikelyBelow may have passed it, by as many as
// surelyBeyond it has; lately is how many of the newest readings tell where it is. Judgement.
const (
	unlikelyBelow = 1
	surelyBeyond  = 3
	lately        = 5
)

// passed is how sure it is by the newest readings that the level has passed its limit, 0 to 1, and whether it lies beyond it at all.
// The curves can't say it: each reaches the limit at an age to come, and of readings far beyond it those make most that never rise.
func (o *outlook) passed() (sure float64, beyond bool) {
	newest := o.samples[max(0, len(o.samples)-lately):]
	ys := make([]float64, len(newest))
	for i, s := range newest {
		ys[i] = s.y
	}
	b, limit := &o.f.bins[len(o.f.bins)-1], o.f.limit
	noise2 := b.noise2 - b.single + b.single*float64(b.n)/float64(len(ys))
	off := (middle(ys) - limit) / math.Sqrt(noise2+(o.f.fl.pg+o.shared*o.shared)*limit*limit)
	return math.Max(0, math.Min(1, (off-unlikelyBelow)/(surelyBeyond-unlikelyBelow))), off > 0
}

// aboveZero is the part above zero of the normal distribution of mean u and standard deviation one: the log
// of its probability, its mean and its variance.
func aboveZero(u float64) (logShare, mean, variance float64) {
	if u < -12 { // first terms of the series in 1/u
		return -0.5*u*u - math.Log(-u*math.Sqrt(2*math.Pi)), -1 / u, 1 / (u * u)
	}
	share := 0.5 * math.Erfc(-u/math.Sqrt2)
	h := math.Exp(-0.5*u*u) / (math.Sqrt(2*math.Pi) * share)
	return math.Log(share), u + h, 1 - h*(u+h)
}

// standing is where a hypothesis stands: the filter counts what the readings show above or below the
// curve as age at the record's slope; here it is the way along the hypothesis' own curve, so that no
// hypothesis is nearer to its limit than the level is. scale is the record's slope over the curve's own.
func (f *fitter) standing(c *cell) (d drift, scale float64) {
	const most = 3
	h := f.slope[len(f.slope)-1]
	y := f.level(c, f.now) + h*c.drift.m
	span := f.limit - c.birth
	if !(span > 0) {
		return c.drift, 1
	}
	sh := &f.shapes[c.shape]
	a := f.now
	for range 4 {
		g := (y - c.birth) / span
		if c.season > 0 {
			z := sh.value(a / c.end)
			g -= c.rise * (seasoned(a, c.season) - z*c.atEnd) / span
		}
		a = c.end * sh.reaches(math.Min(g, 2))
		if c.season == 0 {
			break
		}
	}
	step := 0.01 * f.now
	own := (f.level(c, a+step) - f.level(c, a-step)) / (2 * step)
	scale = math.Min(math.Max(h/math.Max(own, 1e-9*h), 1.0/most), most)
	return drift{m: a - f.now, v: c.drift.v * scale}, scale
}

// slopeAt is the growth of the level at the limit under a hypothesis.
func (f *fitter) slopeAt(c *cell) float64 {
	const d = 0.02
	return math.Max(f.level(c, c.end)-f.level(c, c.end*(1-d)), 1e-3*f.limit*d) / (d * c.end)
}
