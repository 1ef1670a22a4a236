package ear

import "math"

// What a hiss is told from a turned gain by.
const (
	stepSigma = 0.10 // of a band's noise level from one stretch to the next, with a long tail [ln]
	gainTurn  = 0.1  // how much a recorder's gain may turn from one place to the next [ln]
	openLeast = 8.0  // how much likelier an open valve has to be [ln]
	openTimes = 5.0  // and how many times more than at other places
	openShare = 0.02 // and its power, of a pulse's
	stepTail  = 2.5  // in that spread: more counts as no more
)

// opens sets for every place how much likelier the step of the noise after it is with the sound of
// an open valve than without. An open valve sounds like a pulse, so the bands rise as the pulse stands
// above the noise in each; a recorder's gain moves all bands alike and is fitted out.
func (s *sound) opens(list []burst, g *group) {
	for i := range list {
		b := &list[i]
		b.open = math.NaN()
		if math.IsNaN(b.hiss) {
			continue
		}
		var step, over []float64
		for k := range bands {
			e := math.Max(0, g.energy[k]) / (float64(g.n) * b.noise[k])
			if g.weight[k] == 0 {
				e = 0
			}
			step, over = append(step, b.steps[k]*math.Ln10/10), append(over, e)
		}
		none := misfit(step, over, 0)
		best, share := none, 0.0
		for h := 0.01; h < 1.5; h *= 1.3 {
			if m := misfit(step, over, h); m < best {
				best, share = m, h
			}
		}
		b.open, b.share = none-best, share
	}
}

// misfit is how badly an open valve of a share of a pulse's power explains the steps of the bands,
// half the squared distance in its spread, after the gain has been fitted out; a gain that turns
// far costs too.
func misfit(step, over []float64, share float64) float64 {
	rest := make([]float64, len(step))
	for k := range step {
		rest[k] = step[k] - math.Log(1+share*over[k])
	}
	gain := middle(rest) / (1 + 1.6*stepSigma*stepSigma/float64(len(step))/(gainTurn*gainTurn))
	sum := gain * gain / (2 * gainTurn * gainTurn)
	for _, r := range rest {
		d := math.Abs(r-gain) / stepSigma
		sum += stepTail * stepTail / 2 * math.Log1p(d*d/(stepTail*stepTail))
	}
	return sum
}

// shown is how much likelier an open valve is after a burst, nothing where it would be far too quiet for one.
func (b *burst) shown() float64 {
	if b.share < openShare {
		return 0
	}
	return b.open
}

// openLimit is how likely an open valve has to be, from what those places that count show.
func openLimit(list []burst, counts func(i int) bool) float64 {
	var v []float64
	for i := range list {
		if b := &list[i]; !math.IsNaN(b.open) && counts(i) {
			v = append(v, b.shown())
		}
	}
	if len(v) < 2 {
		return openLeast
	}
	return math.Max(openLeast, openTimes*quantile(v, 0.75))
}
