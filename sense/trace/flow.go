package trace

import (
	"math"
	"slices"
)

// stretch is a part of the time between two pulses: how fast the header rose and at what level. It is
// the balance of supply against everything that bleeds.
type stretch struct {
	turn, part int     // index into the turns (-1: before the first), third of the wait
	from, to   float64 // [s]
	level      float64 // weighted mean pressure [Pa]
	rise       float64 // weighted mean rate of rise [Pa/s]
	sigma      float64 // of the rise [Pa/s]
}

// soon is how long the first stretch after a pulse is at most [s]: a quick recovery must not drown in a long
// wait.
const soon = 1.2

// stretches cuts every wait after the pulse's own noise into three, and the first of the three again where
// it is long.
func stretches(s *signal, turns []turn, h pulseShape, interval float64) []stretch {
	var out []stretch
	lag := math.Max(0.35, h.fall+0.22)
	if first := turns[0].at - 0.1; first-s.t0 > 0.6 {
		out = s.addStretch(out, stretch{turn: -1, part: 2, from: s.t0, to: first})
	}
	for j, t := range turns {
		from := t.at + lag
		to := math.Min(t.next-0.08, t.at+1.15*interval)
		if to-from < 0.3*interval {
			continue
		}
		edges := []float64{from, from + 0.22*(to-from), from + 0.58*(to-from), to}
		parts := []int{0, 1, 2}
		if edges[1]-from > 2*soon {
			edges, parts = slices.Insert(edges, 1, from+soon), []int{0, 0, 1, 2}
		}
		for k, part := range parts {
			x := stretch{turn: j, part: part, from: edges[k], to: edges[k+1]}
			if !disturbed(t, x) {
				out = s.addStretch(out, x)
			}
		}
	}
	return out
}

// disturbed tells whether a further opening falls into the stretch.
func disturbed(t turn, x stretch) bool {
	for _, e := range t.extra {
		if e > x.from-0.4 && e < x.to {
			return true
		}
	}
	return false
}

// addStretch measures level and rise with a parabola as weight: integration by parts gives the rise
// without differentiating noise, and the two belong to the same weighted moment.
func (s *signal) addStretch(out []stretch, x stretch) []stretch {
	lo, hi := max(0, s.at(x.from)), min(len(s.y)-1, s.at(x.to))
	n := hi - lo
	if n < 5 {
		return out
	}
	var w, level, rise, square float64
	bad := 0
	for i := lo; i <= hi; i++ {
		u := (float64(i-lo) + 0.5) / float64(n+1)
		f, d := 4*u*(1-u), 4*(1-2*u)/(float64(n+1)*s.dt)
		w += f
		level += f * s.y[i]
		rise -= d * s.y[i]
		square += d * d
		if !s.ok[i] {
			bad++
		}
	}
	if bad*3 > n {
		return out
	}
	x.level, x.rise = level/w, rise/w
	m := math.Max(1, float64(n)/4)
	x.sigma = s.meanNoise(m) * math.Sqrt(m*square) / w
	return append(out, x)
}

// supplyLaw is the form of the rate of rise over pressure, 1 far below the level the supply holds.
type supplyLaw int

const (
	supplyLinear supplyLaw = iota // rate proportional to what is missing
	supplyISO                     // ISO 6358 restriction behind a regulator
	supplyRamp                    // constant rate up to the level
	supplyLine                    // an open regulator passes what the line's pressure drives, up to the level
)

// share is the rate of rise at gauge pressure p relative to the rate at zero gauge, with the supply
// holding the header at level a.
func (l supplyLaw) share(p, a, ambient float64) float64 {
	switch l {
	case supplyLinear:
		return (a - p) / a
	case supplyRamp:
		return math.Max(-0.2, math.Min(1, (a-p)/(0.06*a)))
	}
	if l == supplyLine { // the line a third above the level; flow with the root of the difference of squares
		q := (p + ambient) / (1.33*a + ambient)
		return math.Max(-0.2, math.Min(math.Sqrt(math.Max(0, 1-q*q)), (a-p)/(0.06*a)))
	}
	const b = 0.3
	if p >= a { // a regulator does not vent: falling from above is slow
		return 0.5 * (a - p) / a
	}
	z := ((p+ambient)/(a+ambient) - b) / (1 - b)
	if z <= 0 {
		return 1
	}
	return math.Sqrt(math.Max(0, 1-z*z))
}

// pattern is a hypothesis about which stretches are bled, and by which valve.
type pattern struct {
	kind   patternKind
	valve  int // position in the firing order, or -1
	onset  int // turn from which it bleeds
	lo, hi int // stretches it bleeds through, hi left out: for spell, midway and drawn
}

type patternKind int

const (
	tight   patternKind = iota // nothing bleeds
	forGood                    // a valve sticks at one of its turns and bleeds from then on
	holds                      // a valve closes late on every turn
	always                     // something bleeds all the time
	spell                      // a valve sticks at one of its turns and frees itself some time later
	midway                     // a valve opens between two turns and bleeds from then on
	drawn                      // others draw from the line for a while
)

// term says which bleed term of a pattern acts on stretch i: its index, or -1.
func (p pattern) term(i int, x stretch, turns []turn, n int) int {
	switch p.kind {
	case spell, midway, drawn:
		if i >= p.lo && i < p.hi {
			return 0
		}
	case forGood:
		if x.turn >= p.onset {
			return 0
		}
	case holds:
		if x.turn >= 0 && turns[x.turn].index%n == p.valve {
			return x.part
		}
	case always:
		return 0
	}
	return -1
}

func (p pattern) terms() int {
	switch p.kind {
	case forGood, always, spell, midway, drawn:
		return 1
	case holds:
		return 3
	}
	return 0
}

// balance is a fitted pattern.
type balance struct {
	pattern
	supply supply
	rate   float64    // rise at zero gauge [Pa/s]
	bleed  [3]float64 // opening per time constant of the tank [1/s], by term
	score  float64    // log-likelihood less what the terms cost
}

// supply is how the header is refilled: the law, the level it holds and how that level wandered.
type supply struct {
	law    supplyLaw
	level  float64 // [Pa gauge]
	wander wander
	share  []float64 // rate of rise over the rate at zero gauge, by stretch
	slope  []float64 // fall of that share per pascal, by stretch
}

// wander is a change of the supply's level that has nothing to do with valves.
type wander struct {
	step   float64         // share of the level, from the time on
	time   float64         // [s]
	trend  float64         // share of the level from the first to the last stretch
	middle float64         // of the trace [s]
	span   float64         // [s]
	follow map[int]float64 // by turn
	reach  int             // turns to either side that were smoothed over
	jolts  float64         // what its changes from turn to turn cost
}

func (w wander) none() bool { return w.step == 0 && w.trend == 0 && w.follow == nil }

func (w wander) factor(x stretch) float64 {
	t := (x.from + x.to) / 2
	f := 1.0
	if w.follow != nil {
		f = w.follow[x.turn]
	}
	if w.step != 0 && t > w.time {
		f += w.step
	}
	if w.trend != 0 {
		f += w.trend * (t - w.middle) / w.span
	}
	return f
}

// with works out the supply's share at every stretch.
func (u supply) with(xs []stretch, ambient float64) supply {
	u.share = make([]float64, len(xs))
	u.slope = make([]float64, len(xs))
	for i, x := range xs {
		a := math.Max(1, u.level*u.wander.factor(x))
		const d = 0.02
		u.share[i] = u.law.share(x.level, a, ambient)
		u.slope[i] = (u.law.share(x.level-d*a, a, ambient) - u.law.share(x.level+d*a, a, ambient)) / (2 * d * a)
	}
	return u
}

// ledger is the data all patterns are fitted to.
type ledger struct {
	xs              []stretch
	outLow, outHigh []float64 // outflow at each stretch for an opening of one time constant, and its width [Pa/s per 1/s]
	turns           []turn
	n               int
	ambient         float64
	set             float64   // of the collector file [Pa gauge]; NaN unknown
	floor           float64   // of the model's error [Pa/s]
	top             float64   // the highest level of a stretch [Pa]
	back            float64   // time constant of the common pulse recovery [s]
	full            float64   // a wide open valve per time constant of the tank [1/s]
	sd              []float64 // of each stretch's rise, the model's own error included
}

func (w *work) newLedger() *ledger {
	l := &ledger{xs: w.xs, turns: w.turns, n: w.n, ambient: w.ambient, set: w.set, floor: 0.002 * w.centre.ref, back: w.shape.back, full: w.fullOpen()}
	for _, x := range l.xs {
		l.top = math.Max(l.top, x.level)
		doubt := 0.0
		if x.level < 0.06*w.centre.ref {
			doubt = 0.012*w.centre.ref + w.s.noise[len(w.s.noise)-1]
		}
		l.outLow = append(l.outLow, outflow(x.level-doubt, l.ambient))
		l.outHigh = append(l.outHigh, outflow(x.level+doubt, l.ambient))
		l.sd = append(l.sd, math.Sqrt(sq(x.sigma)+sq(0.2*x.rise)+sq(3*l.floor)))
	}
	return l
}

// fit finds rate and bleeds of a pattern under one supply, by least squares that do not mind outliers.
func (l *ledger) fit(p pattern, u supply, term []int) balance {
	b := balance{pattern: p, supply: u}
	k := 1 + p.terms()
	l.start(&b, term)
	for range 3 {
		var a [4][4]float64
		var y [4]float64
		for i, x := range l.xs {
			f0, t := u.share[i], term[i]
			r, sd := l.residual(b, i, t)
			w := 1 / (sd*sd + r*r/4)
			a[0][0] += w * f0 * f0
			y[0] += w * f0 * x.rise
			if t >= 0 {
				f := -l.outAt(b, i, t)
				a[0][1+t] += w * f0 * f
				a[1+t][1+t] += w * f * f
				y[1+t] += w * f * x.rise
			}
		}
		for t := 1; t < k; t++ {
			a[t][0] = a[0][t]
		}
		v := solveNonNegative(a, y, k)
		b.rate = math.Max(v[0], l.leastRate(p, u))
		copy(b.bleed[:], v[1:])
	}
	b.score = -1.5 * float64(k-1)
	many := 1.0 // one logarithm for many stretches; those of the deviations are the same for all patterns
	for i := range l.xs {
		r, sd := l.residual(b, i, term[i])
		if many *= 1 + r*r/(4*sd*sd); many > 1e100 || i == len(l.xs)-1 {
			b.score -= 2.5 * math.Log(many)
			many = 1
		}
	}
	return b
}

// leastRate is the slowest supply that agrees with how fast pulses are seen to recover. Where a valve
// bleeds for good, the recovery seen may be that of the bled header, and says nothing.
func (l *ledger) leastRate(p pattern, u supply) float64 {
	if p.kind == forGood || !(l.back < 3) {
		return 1e-6
	}
	if u.law == supplyLinear {
		return 0.06 * u.level / l.back
	}
	return 0.03 * u.level / l.back
}

// residual is what a stretch's rise has beyond the model, and the standard deviation that allows.
func (l *ledger) residual(b balance, i, term int) (r, sd float64) {
	net := b.rate * b.supply.share[i]
	if term >= 0 {
		net -= b.bleed[term] * l.outAt(b, i, term)
	}
	return l.xs[i].rise - net, l.sd[i]
}

// outAt is the outflow of a stretch under a fit: within what the transmitter's own error leaves open, the
// one that suits. Near empty the outflow hangs on the last tenths of the pressure.
func (l *ledger) outAt(b balance, i, term int) float64 {
	if b.bleed[term] <= 0 {
		return (l.outLow[i] + l.outHigh[i]) / 2
	}
	want := (b.rate*b.supply.share[i] - l.xs[i].rise) / b.bleed[term]
	return math.Max(l.outLow[i], math.Min(l.outHigh[i], want))
}

// allowance is the standard deviation of a stretch's rise about the model: the trace's noise, the
// supply's level wandering by 3 %, the law's own error.
func (l *ledger) allowance(b balance, i int, scale float64) float64 {
	x := l.xs[i]
	own := sq(b.rate*b.supply.slope[i]*0.03*x.level) + sq(0.12*b.rate*b.supply.share[i])
	return math.Sqrt(sq(x.sigma) + sq(scale)*own + sq(l.floor))
}

// settle fixes the allowances for all patterns from the best fit without any bleed, narrowed to what
// most stretches need, so that patterns are compared on the same terms.
func (l *ledger) settle(b balance) {
	v := make([]float64, len(l.xs))
	for i := range l.xs {
		r, sd := l.residual(b, i, -1)
		v[i] = math.Abs(r) / sd
	}
	slices.Sort(v)
	scale := math.Max(0.2, math.Min(1, 1.4826*v[len(v)*6/10]))
	sd := make([]float64, len(l.xs))
	for i := range l.xs {
		sd[i] = l.allowance(b, i, scale)
	}
	l.sd = sd
}

func sq(x float64) float64 { return x * x }

// start is a first guess: the rate from the stretches that do not bleed and lie well below the level, the
// bleeds from what the others lack. Far from the truth everything would look an outlier.
func (l *ledger) start(b *balance, term []int) {
	var v []float64
	for i, x := range l.xs {
		if share := b.supply.share[i]; term[i] < 0 && share > 0.15 {
			v = append(v, x.rise/share)
		}
	}
	b.rate = 0.2 * b.supply.level
	if len(v) > 0 {
		b.rate = math.Max(nth(v, len(v)*2/3), 1e-3*b.supply.level)
	}
	for t := range b.terms() {
		v = v[:0]
		for i, x := range l.xs {
			if out := (l.outLow[i] + l.outHigh[i]) / 2; term[i] == t && out > 0 {
				v = append(v, (b.rate*b.supply.share[i]-x.rise)/out)
			}
		}
		if len(v) > 0 {
			b.bleed[t] = math.Max(0, nth(v, len(v)/2))
		}
	}
}

// solveNonNegative solves the k normal equations, dropping the most negative unknown until none is.
func solveNonNegative(a [4][4]float64, y [4]float64, k int) []float64 {
	on := make([]bool, k)
	for i := range on {
		on[i] = a[i][i] > 0
	}
	for {
		v := solveSmall(a, y, on)
		worst := -1
		for i := range v {
			if on[i] && v[i] < 0 && (worst < 0 || v[i] < v[worst]) {
				worst = i
			}
		}
		if worst < 0 {
			return v
		}
		on[worst] = false
	}
}

// solveSmall is Gaussian elimination over the unknowns that are on; the others are zero.
func solveSmall(a [4][4]float64, y [4]float64, on []bool) []float64 {
	k := len(on)
	v := make([]float64, k)
	for i := range k {
		if !on[i] {
			for j := range k {
				a[i][j], a[j][i] = 0, 0
			}
			a[i][i], y[i] = 1, 0
			continue
		}
		a[i][i] *= 1 + 1e-9
	}
	for i := range k {
		for r := i + 1; r < k; r++ {
			f := a[r][i] / a[i][i]
			for c := i; c < k; c++ {
				a[r][c] -= f * a[i][c]
			}
			y[r] -= f * y[i]
		}
	}
	for i := k - 1; i >= 0; i-- {
		v[i] = y[i]
		for c := i + 1; c < k; c++ {
			v[i] -= a[i][c] * v[c]
		}
		v[i] /= a[i][i]
	}
	return v
}
