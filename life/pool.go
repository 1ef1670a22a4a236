package life

import (
	"math"
)

// past is what one earlier life says about the next.
type past struct {
	logEnd   float64   // ln(age at the limit)
	sigma    float64   // its standard uncertainty; more where the life was cut short or was a sister's
	birth    float64   // level at age 0; NaN unknown
	evidence []float64 // likelihood of each shape by formula, relative
	curve    *shape    // its own curve, where it came near the limit
}

// betweenLives is the grid of how much ln(life) differs between lives of one machine, with the
// prior weights: a median of about 0.2. Judgement, no source.
var betweenLives = [...]struct{ sigma, weight float64 }{
	{0.05, 0.3}, {0.1, 0.9}, {0.17, 1.4}, {0.27, 1.6}, {0.42, 1.2}, {0.65, 0.8}, {1.0, 0.4},
}

// pool turns earlier lives into a prior for ln(age at the limit): for each possible spread between
// lives the normal predictive distribution, weighted by how well that spread explains them
// (hierarchical normal model, the mean with a flat prior integrated out).
func pool(lives []past) []part {
	if len(lives) == 0 {
		return nil
	}
	parts := make([]part, 0, len(betweenLives))
	best := math.Inf(-1)
	for _, b := range betweenLives {
		var sw, sy float64
		for _, l := range lives {
			w := 1 / (b.sigma*b.sigma + l.sigma*l.sigma)
			sw += w
			sy += w * l.logEnd
		}
		mean := sy / sw
		logl := math.Log(b.weight) - 0.5*math.Log(sw)
		for _, l := range lives {
			v := b.sigma*b.sigma + l.sigma*l.sigma
			logl -= 0.5*math.Log(v) + 0.5*(l.logEnd-mean)*(l.logEnd-mean)/v
		}
		best = math.Max(best, logl)
		parts = append(parts, part{weight: logl, mean: mean, sigma: math.Sqrt(b.sigma*b.sigma + 1/sw)})
	}
	var sum float64
	for i := range parts {
		parts[i].weight = math.Exp(parts[i].weight - best)
		sum += parts[i].weight
	}
	for i := range parts {
		parts[i].weight /= sum
	}
	return parts
}

// birthLevel pools the level at age 0 of earlier lives with the level given for new filters (NaN
// none) and returns NaN where nothing is known.
func birthLevel(lives []past, given, limit float64) (mean, sigma float64) {
	var n, sum, sq float64
	for _, l := range lives {
		if !math.IsNaN(l.birth) {
			n++
			sum += l.birth
			sq += l.birth * l.birth
		}
	}
	floor := 0.02 * math.Abs(limit)
	switch {
	case n > 0:
		mean = sum / n
		v := (math.Max(sq-n*mean*mean, 0) + 2*math.Pow(0.15*mean+floor, 2)) / (n + 1)
		return mean, math.Sqrt(v * (1 + 1/n))
	case given > 0:
		return given, 0.3*given + floor
	}
	return math.NaN(), math.NaN()
}

// shapeWeights mixes the shapes' priors with what earlier lives say of them. About a third of the weight of
// evidence counts (lives differ), and a part of the prior always stays. The curves of earlier lives
// themselves share n/(n+2): the more lives, the likelier is one of them alike.
func shapeWeights(all []shape, lives []past) []float64 {
	const stays, trust = 0.35, 0.35
	w := make([]float64, len(all))
	var sum float64
	formulas := 0
	for i, s := range all {
		if s.born < 0 {
			w[i] = s.prior
			sum += w[i]
			formulas++
		}
	}
	seen := make([]float64, formulas)
	var seenSum float64
	for i := range seen {
		l := 0.0
		for _, p := range lives {
			if len(p.evidence) == formulas {
				l += trust * math.Log(p.evidence[i]+1e-6)
			}
		}
		seen[i] = w[i] / sum * math.Exp(l)
		seenSum += seen[i]
	}
	births := len(all) - formulas
	own := float64(births) / float64(births+2)
	for i := range all {
		switch {
		case all[i].born >= 0:
			w[i] = own / float64(births)
		default:
			w[i] = stays*w[i]/sum + (1-stays)*seen[i]/seenSum
			if births > 0 {
				w[i] *= 1 - own
			}
		}
	}
	return w
}

// ownCurve draws the curve of a life that came near the limit as a shape: bins smoothed, made to
// rise, born at its first level and ended at its age at the limit.
func ownCurve(b []bin, birth, limit, end float64, index int) *shape {
	if len(b) < 8 || !(limit > birth) || b[len(b)-1].y < birth+0.6*(limit-birth) {
		return nil
	}
	x := []float64{0}
	y := []float64{birth}
	fit := rising(b)
	for i := range b {
		if b[i].x > x[len(x)-1] && b[i].x < end {
			x = append(x, b[i].x)
			y = append(y, math.Min(math.Max(fit[i], birth), limit))
		}
	}
	x = append(x, end)
	y = append(y, limit)
	j := 0
	s := tabulate("as an earlier life", 1, func(z float64) float64 {
		a := z * end
		if a < x[j] {
			j = 0
		}
		for j < len(x)-2 && a > x[j+1] {
			j++
		}
		return y[j] + (a-x[j])/(x[j+1]-x[j])*(y[j+1]-y[j])
	})
	s.born = index
	return &s
}

// formulaMisfit is how far a curve by formula lies from the true one, as a share of the way to the limit
// (standard deviation). Set by bench/life.
const formulaMisfit = 0.015

// calm draws the curve of a life, as its bins have it, towards the curves that fit it, the more so the
// more the scatter of its readings hides: few hand readings make steps that no filter has, while the
// formulas can't follow what many readings show.
func (f *fitter) calm(s *shape, cells []cell, birth float64) {
	const least, rare = 0.01, 1e-3
	var scatter, width float64
	for _, b := range f.bins {
		scatter += b.width * b.single
		width += b.width
	}
	span := f.limit - birth
	scatter /= width * span * span
	share := scatter / (scatter + formulaMisfit*formulaMisfit)
	if !(share > least) {
		return
	}
	fitted := tabulate("fitted", 1, func(z float64) (y float64) {
		for i := range cells {
			if c := &cells[i]; c.weight > rare {
				y += c.weight * f.level(c, z*c.end)
			}
		}
		return y
	})
	top := 0.0
	for i, y := range fitted.at {
		top = math.Max(top, y)
		s.at[i] += share * (top - s.at[i])
	}
}

// rising returns the never-falling curve nearest to the bins (pooling of adjacent violators,
// weighted by stretch).
func rising(b []bin) []float64 {
	type block struct {
		sum, w float64
		n      int
	}
	var bs []block
	for _, p := range b {
		bs = append(bs, block{p.y * p.width, p.width, 1})
		for k := len(bs) - 1; k > 0 && bs[k-1].sum*bs[k].w >= bs[k].sum*bs[k-1].w; k-- {
			bs[k-1] = block{bs[k-1].sum + bs[k].sum, bs[k-1].w + bs[k].w, bs[k-1].n + bs[k].n}
			bs = bs[:k]
		}
	}
	out := make([]float64, 0, len(b))
	for _, k := range bs {
		for range k.n {
			out = append(out, k.sum/k.w)
		}
	}
	return out
}
