package ear

import (
	"math"
	"slices"
)

// What a hiss is told from a turned gain by.
const (
	stepSigma = 0.05 // at least, of a band's noise level from one stretch to the next, with a long tail [ln]
	gainTurn  = 0.04 // at least, of how much a recorder's gain turns from one place to the next [ln]
	openLeast = 14.0 // how much likelier an open valve has to be [ln]
	openTimes = 5.0  // and how many times more than at other places
	stepTail  = 2.5  // in that spread: more counts as no more
)

// opens sets for every place how much likelier the step of the noise after it is with the sound of
// an open valve than without. An open valve sounds like a pulse, so the bands rise as the pulse stands
// above the noise in each, or it hisses: flat between two corners. A recorder's gain moves all bands
// alike and is fitted out.
func (s *sound) opens(list []burst, g *group) {
	sigma, turn := s.stepSpread(list)
	for i := range list {
		b := &list[i]
		b.open = math.NaN()
		if math.IsNaN(b.hiss) {
			continue
		}
		step := make([]float64, bands)
		for k := range bands {
			step[k] = b.steps[k] * math.Ln10 / 10
		}
		none := misfit(step, sigma, turn)
		b.open = 0
		rest := make([]float64, bands)
		for _, over := range b.hissShapes(g) {
			for h := 0.1; h < 300; h *= 1.5 {
				for k := range rest {
					rest[k] = step[k] - math.Log(1+h*over[k])
				}
				b.open = math.Max(b.open, none-misfit(rest, sigma, turn))
			}
		}
	}
}

// stepSpread is how far the noise of each band, and of all together, usually steps within the gaps
// between pulses [ln]; talk makes the one wide, a gain that turns the other.
func (s *sound) stepSpread(list []burst) (sigma []float64, turn float64) {
	var steps [bands][]float64
	var turns []float64
	for i := range list[:len(list)-1] {
		from, to := list[i].frame+hissFrom, list[i+1].frame-hissGap
		half := min((to-from)/2, hissLong(to-from+hissFrom))
		if half < 20 {
			continue
		}
		var all []float64
		for k := range bands {
			d := (s.lower(k, to-half, to) - s.lower(k, from, from+half)) * math.Ln10 / 10
			steps[k], all = append(steps[k], math.Abs(d)), append(all, d)
		}
		turns = append(turns, math.Abs(quantile(all, 0.5)))
	}
	sigma = make([]float64, bands)
	for k := range bands {
		sigma[k] = 2 * stepSigma
		if len(turns) > 2 {
			sigma[k] = math.Max(stepSigma, quantile(steps[k], 0.7)/1.04)
		}
	}
	turn = 2.5 * gainTurn
	if len(turns) > 2 {
		turn = math.Max(gainTurn, quantile(turns, 0.65)/0.93)
	}
	return sigma, turn
}

// hissShapes lists how an open valve may raise the bands over their noise, 1 where it does most.
func (b *burst) hissShapes(g *group) [][]float64 {
	pulse := make([]float64, bands)
	for k := range bands {
		if g.weight[k] > 0 {
			pulse[k] = math.Max(0, g.energy[k]) / b.noise[k]
		}
	}
	out := [][]float64{pulse}
	for _, lo := range []float64{-3, 6, 9, 12} {
		for _, hi := range []float64{17, 25} {
			flat := make([]float64, bands)
			for k := range bands {
				flat[k] = logistic(hissEdge*(float64(k)-lo)) * logistic(hissEdge*(hi-float64(k))) / b.noise[k]
			}
			out = append(out, flat)
		}
	}
	for _, v := range out {
		top := slices.Max(v)
		for k := range v {
			v[k] /= math.Max(top, 1e-300)
		}
	}
	return out
}

// hissEdge is how fast a hiss falls off beyond its corners, a band further [ln].
const hissEdge = 1.1

// misfit is how badly what is left of the steps of the bands is explained by chance, half the squared
// distance in its spread, after the gain has been fitted out; a gain that turns far costs too.
func misfit(rest, sigma []float64, turn float64) float64 {
	narrow := slices.Min(sigma)
	gain := middle(rest) / (1 + 1.6*narrow*narrow/float64(len(rest))/(turn*turn))
	sum := gain * gain / (2 * turn * turn)
	for k, r := range rest {
		d := math.Abs(r-gain) / sigma[k]
		sum += stepTail * stepTail / 2 * math.Log1p(d*d/(stepTail*stepTail))
	}
	return sum
}

// openLimit is how likely an open valve has to be, from what those places that count show.
func openLimit(list []burst, counts func(i int) bool) float64 {
	var v []float64
	for i := range list {
		if b := &list[i]; !math.IsNaN(b.open) && counts(i) {
			v = append(v, b.open)
		}
	}
	if len(v) < 2 {
		return openLeast
	}
	return math.Max(openLeast, openTimes*quantile(v, 0.75))
}
