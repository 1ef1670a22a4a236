package trace

import "math"

// look is one turn as seen by the comparison: its drop over what this turn would give if its valve
// were like the group's centre.
type look struct {
	ratio, sigma float64
	scale        float64 // the usual drop over the centre's
}

// kinds of valve that the comparison of drops can tell apart.
const (
	isOK = iota
	isWeak
	isDead
	isLong
	isFitful
	numKinds
)

// priors of the kinds: a valve picked at random on a quarterly check (common experience, no source).
// Dead and weak valves are why the check is made.
func priors() [numKinds]float64 {
	return [numKinds]float64{isOK: 0.845, isWeak: 0.065, isDead: 0.07, isLong: 0.01, isFitful: 0.01}
}

// weights are the joint probabilities of a valve's looks with each kind, in logarithms.
type weights [numKinds]float64

// total is the logarithm of the probability of the looks, whatever the kind.
func (w weights) total() float64 { return logSum(w[:]) }

func logSum(v []float64) float64 {
	top := math.Inf(-1)
	for _, x := range v {
		top = math.Max(top, x)
	}
	if math.IsInf(top, -1) {
		return top
	}
	var sum float64
	for _, x := range v {
		sum += math.Exp(x - top)
	}
	return top + math.Log(sum)
}

const (
	missRate    = 0.008 // of a sound valve's turns
	turnScatter = 0.03  // of a valve's own drops
)

// weigh gives the joint log-probability of the looks and each kind.
func weigh(looks []look) weights {
	p := priors()
	var w weights
	tight := spanNormal(looks, 1, 0.05)
	wide := spanNormal(looks, 1, 0.12)
	w[isOK] = math.Log(p[isOK]) + logSum([]float64{math.Log(0.8) + tight, math.Log(0.2) + wide})
	w[isWeak] = math.Log(p[isWeak]) + spanFlat(looks, 0.13, 0.82)
	w[isLong] = math.Log(p[isLong]) + spanFlat(looks, 1.2, 3)
	w[isDead] = math.Log(p[isDead]) + spanNormal(looks, 0.01, 0.02)
	w[isFitful] = math.Log(p[isFitful]) + fitful(looks)
	return w
}

// spanNormal integrates the likelihood over a valve's own mean, normal about centre.
func spanNormal(looks []look, centre, sd float64) float64 {
	const n = 13
	var terms [n]float64
	for i := range n {
		z := -3 + 6*float64(i)/(n-1)
		terms[i] = -z*z/2 - math.Log(math.Sqrt(2*math.Pi)) + math.Log(6.0/(n-1)) + likelihood(looks, centre+z*sd)
	}
	return logSum(terms[:])
}

// spanFlat integrates the likelihood over a valve's own mean, flat between lo and hi.
func spanFlat(looks []look, lo, hi float64) float64 {
	const n = 28
	var terms [n]float64
	for i := range n {
		terms[i] = likelihood(looks, lo+(hi-lo)*(float64(i)+0.5)/n) - math.Log(n)
	}
	return logSum(terms[:])
}

// likelihood of all looks of a valve whose drops are mean times the centre's. A few turns may be
// missed, a few looks may be spoilt by something else.
func likelihood(looks []look, mean float64) float64 {
	var sum float64
	for _, l := range looks {
		sd := math.Hypot(l.sigma, turnScatter*math.Max(mean, 0.4*l.scale))
		hit := normal(l.ratio, mean, sd)
		miss := normal(l.ratio, 0, math.Hypot(l.sigma, 0.02*l.scale))
		sum += math.Log((1-missRate-0.01)*hit + missRate*miss + 0.01*spoilt(l))
	}
	return sum
}

// spoilt is the density of a look about which nothing is known.
func spoilt(l look) float64 { return normal(l.ratio, 0.7, 0.8+l.sigma) }

// fitful is the likelihood of a valve that fires on some turns only.
func fitful(looks []look) float64 {
	var sum float64
	for _, l := range looks {
		hit := normal(l.ratio, 1, math.Hypot(l.sigma, 0.08))
		miss := normal(l.ratio, 0, math.Hypot(l.sigma, 0.02*l.scale))
		sum += math.Log(0.495*hit + 0.495*miss + 0.01*spoilt(l))
	}
	return sum
}

func normal(x, mean, sd float64) float64 {
	z := (x - mean) / sd
	return math.Exp(-z*z/2) / (sd * math.Sqrt(2*math.Pi))
}
