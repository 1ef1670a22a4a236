package trace

import (
	"math"
	"slices"
)

// State is what one valve is.
type State string

// The four states, in the words of files and pages.
const (
	OK        State = "ok"
	Weak      State = "weak"
	Dead      State = "dead"
	StuckOpen State = "stuck-open"
)

// belief is the posterior of one valve.
type belief struct {
	stuck float64
	kind  [numKinds]float64 // given that it is not stuck, times the probability of that
	looks int
}

// state is the most probable state and its probability.
func (b belief) state() (State, float64) {
	ok := b.kind[isOK] + b.kind[isLong]
	weak := b.kind[isWeak] + b.kind[isFitful]
	best, p := OK, ok
	if weak > p {
		best, p = Weak, weak
	}
	if b.kind[isDead] > p {
		best, p = Dead, b.kind[isDead]
	}
	if b.stuck > p {
		best, p = StuckOpen, b.stuck
	}
	return best, p
}

// smallestBleed is the share of a wide open valve below which a bleed is a leak and no stuck valve.
const smallestBleed = 0.03

// trifling tells whether a bleed is too small to be a valve: small against a wide open one or, where it goes
// on for good, with little effect on what the header holds.
func (w *work) trifling(f balance, full float64) bool {
	g := slices.Max(f.bleed[:])
	switch f.kind {
	case drawn: // blames no valve
		return false
	case always:
		return g < smallestBleed*full && f.supply.level > 0.88*w.set
	case forGood, spell, midway:
		if g*outflow(f.supply.level, w.ambient) > 0.5*f.rate { // half of what the supply can give at all
			return false
		}
		held := settled(f, g, w.ambient) / f.supply.level
		return held > 0.95 || g < smallestBleed*full && held > 0.9
	}
	return g < smallestBleed*full
}

// verdict is one explanation of the whole trace: nothing bleeds, or this valve does, in this way.
type verdict struct {
	log   float64 // probability, not normalised
	valve int     // position of the culprit, -1 for none
}

// believe joins the balance of the header between pulses with the drops at them.
func (w *work) believe() []belief {
	c, n := w.centre, w.n
	rel := relatives(w.turns, c.scaling)
	all, _ := looksOf(w.turns, n, c.drop, c.drop, rel)
	sound := make([]weights, n)
	for v := range sound {
		sound[v] = weigh(all[v])
	}
	fits := w.fits
	if len(fits) == 0 {
		fits = []balance{{pattern: pattern{kind: tight, valve: -1}}}
	}
	full := w.fullOpen()
	var cases []verdict
	var logs []float64
	for _, f := range fits {
		if f.score < fits[0].score-40 {
			break
		}
		if f.kind != tight && w.trifling(f, full) {
			continue
		}
		cases = append(cases, w.verdicts(f, all, rel, full)...)
	}
	for i, x := range cases {
		if x.valve >= 0 { // the culprit's looks count as a stuck valve's, not as a sound one's
			cases[i].log -= sound[x.valve].total()
		}
		logs = append(logs, cases[i].log)
	}
	total := logSum(logs)
	out := make([]belief, n)
	for _, x := range cases {
		if x.valve >= 0 {
			out[x.valve].stuck += math.Exp(x.log - total)
		}
	}
	for v := range out {
		out[v].looks = len(all[v])
		t := sound[v].total()
		for k := range numKinds {
			out[v].kind[k] = (1 - out[v].stuck) * math.Exp(sound[v][k]-t)
		}
	}
	return out
}

// verdicts are the explanations a fitted pattern allows, with what they make of the culprit's looks; full is
// a wide open valve's opening per time constant of the tank [1/s].
func (w *work) verdicts(f balance, all [][]look, rel []float64, full float64) []verdict {
	switch f.kind {
	case holds:
		full, part := math.Log(0.9)+spanFlat(all[f.valve], 0.8, 3), math.Log(0.1)+spanFlat(all[f.valve], 0.1, 0.8)
		return []verdict{{f.score + logSum([]float64{full, part}), f.valve}}
	case forGood, spell:
		early, late := w.split(f.pattern, f.valve, rel)
		before := weigh(early)
		jams, moves := math.Log(0.5)+spanNormal(late, 0.01, 0.03), math.Log(0.5)+spanFlat(late, 0, 1.1)
		return []verdict{{f.score + before.total() + logSum([]float64{jams, moves}), f.valve}}
	case midway: // whose turns fall silent from then on is the culprit
		var out []verdict
		for v := range w.n {
			early, late := w.split(f.pattern, v, rel)
			before := weigh(early)
			out = append(out, verdict{f.score - math.Log(float64(w.n)) + before.total() + spanNormal(late, 0.01, 0.03), v})
		}
		return out
	case always:
		// A header seam leaks a little; what halves the pressure is a valve.
		open := f.bleed[0] / full
		out := []verdict{{f.score + math.Log(leakRate) - math.Min(6, open/0.06), -1}}
		for v := range w.n {
			jams := math.Log(0.3) + spanNormal(all[v], 0.01, 0.03)
			opensOn := math.Log(0.35) + spanNormal(all[v], math.Max(0, 1-open), 0.25)
			other := math.Log(0.35) + spanFlat(all[v], 0.08, 0.9)
			out = append(out, verdict{f.score + math.Log(alwaysRate) + logSum([]float64{jams, opensOn, other}), v})
		}
		return out
	}
	return []verdict{{f.score, -1}}
}

// split deals a suspect's looks into those while it stands open and the others.
func (w *work) split(p pattern, valve int, rel []float64) (shut, open []look) {
	d := w.centre.drop
	from, to := p.onset+1, len(w.turns)
	if p.kind == spell {
		to = min(to, w.xs[p.hi-1].turn+1)
	}
	a, _ := looksOf(w.turns[:from], w.n, d, d, rel)
	b, _ := looksOf(w.turns[from:to], w.n, d, d, rel[from:])
	c, _ := looksOf(w.turns[to:], w.n, d, d, rel[to:])
	return append(a[valve], c[valve]...), b[valve]
}
