package trace

import (
	"math"
	"slices"
)

// centre is the group's usual drop and how it depends on pressure.
type centre struct {
	scaling
	drop  float64 // at ref [Pa]
	score float64 // log-probability of all looks
}

// relatives gives for every turn what the usual opening would drop there over what it drops at ref.
func relatives(turns []turn, c scaling) []float64 {
	out := make([]float64, len(turns))
	for j, t := range turns {
		out[j] = c.at(t.before)
	}
	return out
}

// looksOf deals the turns to n valves. usual decides which turns can tell anything, so that two
// centres are compared on the same looks, and is what errors that do not come from noise are counted in, so that a
// small centre does not make silent turns look precise; logScale is the Jacobian that makes centres comparable.
func looksOf(turns []turn, n int, drop, usual float64, relative []float64) (looks [][]look, logScale float64) {
	looks = make([][]look, n)
	for j, t := range turns {
		if t.hidden || relative[j] <= 0.02 || t.sigma > 1.5*usual*relative[j] {
			continue
		}
		expect := drop * relative[j]
		v := t.index % n
		scale := usual / drop
		looks[v] = append(looks[v], look{ratio: t.drop / expect, scale: scale, sigma: math.Hypot(t.sigma/expect, scale*(0.01+0.12*math.Abs(math.Log(relative[j]))))})
		logScale -= math.Log(expect)
	}
	return looks, logScale
}

// score is the log-probability of all turns for a centre.
func score(turns []turn, n int, drop, usual float64, relative []float64) float64 {
	looks, total := looksOf(turns, n, drop, usual, relative)
	for _, l := range looks {
		if len(l) > 0 {
			w := weigh(l)
			total += w.total()
		}
	}
	return total
}

// hint is what the collector file expects of one pulse: drop [Pa] and the logarithmic width of that.
type hint struct{ drop, width float64 }

func (h hint) logPrior(drop float64) float64 {
	if !known(h.drop) {
		return 0
	}
	z := math.Log(drop/h.drop) / h.width
	return logSum([]float64{math.Log(0.8) - z*z/2, math.Log(0.2)}) // files are wrong at times
}

// findCentre chooses law and usual drop that make the turns most probable.
func findCentre(turns []turn, n int, h hint, ambient float64) centre {
	ref, usual := typical(turns)
	best := centre{scaling: newScaling(lawTank, ref, usual, ambient), drop: usual, score: math.Inf(-1)}
	lo, hi := pressureRange(turns)
	for _, l := range []law{lawTank, lawShare, lawFixed} {
		if l != lawTank && hi-lo < 0.04*ref {
			break // all start alike: the laws cannot be told apart and need not be
		}
		sc := newScaling(l, ref, usual, ambient)
		rel := relatives(turns, sc)
		doubt := []float64{0, 1.2, 2}[l]
		try := func(f float64) {
			d := usual * f
			if d > 0.98*ref {
				return
			}
			if v := score(turns, n, d, usual, rel) + h.logPrior(d) - doubt; v > best.score {
				best = centre{scaling: sc, drop: d, score: v}
			}
		}
		for e := -1.2; e <= 1.21; e += 0.08 {
			try(math.Exp(e))
		}
		if best.law == l {
			at := best.drop / usual
			for e := -0.06; e <= 0.061; e += 0.02 {
				try(at * math.Exp(e))
			}
		}
	}
	return best
}

// typical is the level pulses start from where the header is full, and the upper-quartile drop there.
func typical(turns []turn) (ref, usual float64) {
	var p []float64
	for _, t := range turns {
		if !t.hidden {
			p = append(p, t.before)
		}
	}
	if len(p) == 0 {
		return 1, 1
	}
	slices.Sort(p)
	ref = p[len(p)*2/3]
	if high := p[max(0, len(p)-2)]; high > 1.3*ref { // most turns are after something emptied the header
		ref = high
	}
	var d, seen []float64
	for _, t := range turns {
		if t.hidden || t.before < 0.75*ref {
			continue
		}
		d = append(d, t.drop)
		if t.drop > 4*t.sigma {
			seen = append(seen, t.drop)
		}
	}
	if len(seen) > 1 { // silent turns say nothing about the usual drop
		d = seen
	}
	if len(d) == 0 {
		return math.Max(ref, 1), 1
	}
	slices.Sort(d)
	return math.Max(ref, 1), math.Max(d[len(d)*2/3], 1)
}

func pressureRange(turns []turn) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, t := range turns {
		if !t.hidden {
			lo, hi = math.Min(lo, t.before), math.Max(hi, t.before)
		}
	}
	return lo, hi
}
