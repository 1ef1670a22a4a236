package sense

import (
	"math"
	"slices"
	"sort"
	"time"

	"dustwright/solve"
)

// onsetPrice is what a change must gain in log likelihood beyond its search to be believed: at 4 a
// change is some fifty times likelier than none.
const onsetPrice = 4

// onsetLeast is the least number of days in which an onset can be seen.
const onsetLeast = 8

// daily is one quantity day by day, gaps left out.
type daily struct {
	t []float64 // days since the first; of usual running where that is what ages it
	x []float64
	s []float64 // own standard uncertainty; NaN unknown
	w []time.Time

	steep float64 // steepest slope that age makes [1/day]; 0 unknown
}

// series takes quantity q out of days from index from on.
func series(days []Day, q Quantity, from int) daily {
	var d daily
	for i := from; i < len(days); i++ {
		if x := days[i].Value[q]; x == x {
			d.t = append(d.t, days[i].Start.Sub(days[from].Start).Hours()/24)
			d.x, d.s, d.w = append(d.x, x), append(d.s, days[i].own(q)), append(d.w, days[i].Start)
		}
	}
	if q.ran() && len(d.t) > 1 {
		d.count(days[from:])
	}
	return d
}

// ran reports that running alone ages a quantity: what the after-filter holds back comes with the air, and a night shift makes it
// grow faster by the day, which is no leak.
func (q Quantity) ran() bool { return q == AfterfilterLevel || q == AfterBeyond }

// count tells the days by what ran before each, as many of them as there were.
func (d *daily) count(days []Day) {
	ran, i := 0.0, 0
	t := make([]float64, 0, len(d.t))
	for k := range days {
		if i < len(d.w) && days[k].Start.Equal(d.w[i]) {
			t = append(t, ran)
			i++
		}
		ran += days[k].Hours
	}
	first, last := t[0], len(t)-1
	if t[last] == first {
		return
	}
	scale := d.t[last] / (t[last] - first)
	for i := range t {
		d.t[i] = (t[i] - first) * scale
	}
}

// tamed returns x with what lies more than four robust deviations off its neighbours' median pulled
// in, so that a single stray day makes no onset.
func tamed(x []float64) []float64 {
	const reach = 3
	out := append([]float64(nil), x...)
	dev := make([]float64, len(x))
	mid := make([]float64, len(x))
	buf := make([]float64, 0, 2*reach+1)
	for i := range x {
		buf = append(buf[:0], x[max(0, i-reach):min(len(x), i+reach+1)]...)
		mid[i] = quantileOf(buf, 0.5)
		dev[i] = math.Abs(x[i] - mid[i])
	}
	scale := 4 * solve.MADToSigma * quantileOf(append([]float64(nil), dev...), 0.5)
	for i := range x {
		if dev[i] > scale && scale > 1e-9*math.Abs(mid[i]) {
			out[i] = mid[i] + math.Copysign(scale, x[i]-mid[i])
		}
	}
	return out
}

// onset looks for the day from which on the quantity runs otherwise than before: higher or lower (a
// step), on another slope (a ramp), or on its way to another level on which it then stays (a slide),
// against one straight course (trend), no steeper than age makes it, or one level. Likelihoods are normal
// with the scatter left by each, thinned by its day-to-day correlation, and no scatter counts as less than
// the days' own.
//
// A quantity that ages may also have settled to its course from the first day on, as the dP of filters that
// season: where that leaves less than any onset, or much less beside one, the onset is sought in what it
// leaves.
func onset(d daily, trend bool) Onset {
	if len(d.x) < onsetLeast {
		return Onset{}
	}
	best, _, left := d.search(trend)
	if !trend {
		return best
	}
	other, base, rest := d.settled().search(trend)
	if base < left || math.Log(left/rest)*float64(len(d.x))/2 > onsetPrice {
		return other
	}
	return best
}

// settleTimes are the time constants tried [days].
var settleTimes = [...]float64{1.5, 3, 6, 12, 20}

// settled is the series without the exponential that fits it best, beside level and slope, and dies away from the first day on.
func (d daily) settled() daily {
	out, least := d, math.Inf(1)
	for _, tau := range settleTimes {
		u := make([]float64, len(d.t))
		var m [3][4]float64
		for i, t := range d.t {
			u[i] = math.Exp((d.t[0] - t) / tau)
			row := [4]float64{1, t, u[i], d.x[i]}
			for a := range m {
				for b := range row {
					m[a][b] += row[a] * row[b]
				}
			}
		}
		beta, ok := eliminate(m)
		if !ok {
			continue
		}
		left := 0.0
		for i, x := range d.x {
			u[i] = x - beta[2]*u[i]
			off := u[i] - beta[0] - beta[1]*d.t[i]
			left += off * off
		}
		if left < least {
			out.x, least = u, left
		}
	}
	return out
}

// search is onset with the sums of squares that none and the best one leave.
func (d daily) search(trend bool) (best Onset, base, left float64) {
	n := len(d.x)
	f := newCourses(d.t, tamed(d.x), trend, d.steep)
	base, left = f.without(), math.Inf(1)
	own := ownNoise(d)
	floor := own * float64(n)
	gain := func(rss float64) float64 { return math.Log((base + floor) / (rss + floor)) }
	scores, sudden := make([]float64, n), make([]float64, n)
	best = Onset{Score: math.Inf(-1)}
	turn := 0
	for k := onsetEdge; k < n; k++ {
		rss, beta, kind := f.from(k)
		sudden[k] = gain(rss)
		if r, b := f.slideFrom(k); r < rss*math.Exp(-2*slidePrice/f.all.n) {
			rss, beta, kind = r, b, slide
		}
		scores[k] = gain(rss)
		if scores[k] <= best.Score {
			continue
		}
		turn, left = k, rss
		best = Onset{Kind: "step", At: d.w[k], Size: beta[2], Before: f.x0 + beta[0] + beta[1]*f.t[k], Score: scores[k]}
		switch kind {
		case ramp:
			best.Kind, best.Size = "ramp", beta[2]*(f.t[n-1]-f.t[k-1])
		case slide:
			best.Kind = "slide"
		}
	}
	if best.Kind != "slide" { // a slide that sets out some days before a step fits it nearly as well
		scores = sudden
	}
	eff := (float64(n) - 3) * thinning(d.x, turn, math.Sqrt(own))
	for k := range scores {
		scores[k] *= eff / 2
	}
	best.Score *= eff / 2
	best.From, best.To = interval(scores, d.w, best.Score)
	best.Score -= onsetPrice + math.Log(float64(n))
	best.Found = best.Score > 0
	return best, base, left
}

// onsetEdge is how many days must lie before an onset.
const onsetEdge = 3

// The kinds of onset.
const (
	jump = iota
	ramp
	slide
)

// slideDays are the lengths of slides tried; one that has not ended is a ramp. slidePrice is what one must gain in log likelihood
// over a step and a ramp: it has more ways to fit.
var slideDays = [...]float64{5, 12, 25}

const slidePrice = 3

// courses fits level, slope and one onset to a series from running sums, so that every day can be
// tried in the same time whatever the length.
type courses struct {
	t, x  []float64 // less their means
	x0    float64   // mean taken off x
	trend bool
	steep float64 // steepest slope before any onset [1/day]
	all   tally
	rest  []tally // of the points from k on
}

// tally holds the sums of a stretch of points.
type tally struct{ n, t, tt, x, tx, xx float64 }

func newCourses(t, x []float64, trend bool, steep float64) *courses {
	n := len(x)
	f := &courses{t: make([]float64, n), x: make([]float64, n), trend: trend, steep: steep, rest: make([]tally, n+1)}
	t0 := 0.0
	for i := range x {
		f.x0 += x[i] / float64(n)
		t0 += t[i] / float64(n)
	}
	for i := n - 1; i >= 0; i-- {
		f.t[i], f.x[i] = t[i]-t0, x[i]-f.x0
		a, b := f.t[i], f.x[i]
		r := f.rest[i+1]
		f.rest[i] = tally{r.n + 1, r.t + a, r.tt + a*a, r.x + b, r.tx + a*b, r.xx + b*b}
	}
	f.all = f.rest[0]
	if steep == 0 {
		f.steep = math.Inf(1)
	}
	return f
}

// without returns the sum of squares left with no onset.
func (f *courses) without() float64 {
	rss := f.all.xx - f.all.x*f.all.x/f.all.n
	if f.trend && f.all.tt > 0 {
		slope := f.gentle(f.all.tx / f.all.tt)
		rss -= slope * (2*f.all.tx - slope*f.all.tt)
	}
	return max(0, rss)
}

// gentle is a slope no steeper than age makes it.
func (f *courses) gentle(slope float64) float64 { return math.Max(-f.steep, math.Min(f.steep, slope)) }

// from returns the sum of squares left with the better of a step and a ramp at day k, and its level, slope
// and size (of the step, or of the change of slope).
func (f *courses) from(k int) (rss float64, beta [3]float64, kind int) {
	late := f.rest[k]
	rss, beta = f.solve(late.by(0, 1))
	if len(f.t)-k < 3 {
		return rss, beta, jump
	}
	if r, b := f.solve(late.by(1, -f.t[k-1])); r < rss && !(f.trend && settles(b)) {
		return r, b, ramp
	}
	return rss, beta, jump
}

// slideFrom is from for the best of the slides that set out at day k and have ended.
func (f *courses) slideFrom(k int) (rss float64, beta [3]float64) {
	rss = math.Inf(1)
	for _, days := range slideDays {
		end := sort.SearchFloat64s(f.t, f.t[k-1]+days)
		if len(f.t)-end < slideStays || end-k < slideStays {
			continue
		}
		way := f.rest[k].less(f.rest[end]).by(1/days, -f.t[k-1]/days)
		if r, b := f.solve(way.and(f.rest[end].by(0, 1))); r < rss {
			rss, beta = r, b
		}
	}
	return rss, beta
}

// slideStays is how many days a slide must last, and stay at its end.
const slideStays = 3

// settles reports that a slope only goes on more gently the same way from the bend on.
func settles(beta [3]float64) bool {
	return beta[1]*beta[2] < 0 && math.Abs(beta[2]) <= math.Abs(beta[1])
}

// further holds the sums of a further regressor e over all points: its own, with t, with itself, and with x.
type further struct{ e, t, e2, x float64 }

// by is what the regressor p t + q on the points of s sums to, 0 elsewhere.
func (s tally) by(p, q float64) further {
	return further{p*s.t + q*s.n, p*s.tt + q*s.t, p*p*s.tt + 2*p*q*s.t + q*q*s.n, p*s.tx + q*s.x}
}

// less is s without the points of o, which are among them.
func (s tally) less(o tally) tally {
	return tally{s.n - o.n, s.t - o.t, s.tt - o.tt, s.x - o.x, s.tx - o.tx, s.xx - o.xx}
}

// and joins two regressors that share no point.
func (m further) and(o further) further { return further{m.e + o.e, m.t + o.t, m.e2 + o.e2, m.x + o.x} }

// solve fits with a further regressor.
func (f *courses) solve(by further) (rss float64, beta [3]float64) {
	e1, et, ee, ex := by.e, by.t, by.e2, by.x
	m := [3][4]float64{{f.all.n, f.all.t, e1, f.all.x}, {f.all.t, f.all.tt, et, f.all.tx}, {e1, et, ee, ex}}
	if !f.trend {
		m[1] = [4]float64{0, 1, 0, 0}
		m[0][1], m[2][1] = 0, 0
	}
	beta, ok := eliminate(m)
	if held := f.gentle(beta[1]); ok && held != beta[1] {
		m[1] = [4]float64{0, 1, 0, held}
		beta, ok = eliminate(m)
	}
	if !ok {
		return math.Inf(1), beta
	}
	a, b, c := beta[0], beta[1], beta[2]
	rss = f.all.xx - 2*(a*f.all.x+b*f.all.tx+c*ex) + a*(a*f.all.n+2*b*f.all.t+2*c*e1) + b*(b*f.all.tt+2*c*et) + c*c*ee
	return max(0, rss), beta
}

// eliminate solves three equations (Gauss with partial pivoting); false when they are degenerate.
func eliminate(m [3][4]float64) (b [3]float64, ok bool) {
	for c := range 3 {
		p := c
		for r := c + 1; r < 3; r++ {
			if math.Abs(m[r][c]) > math.Abs(m[p][c]) {
				p = r
			}
		}
		if math.Abs(m[p][c]) < 1e-9 {
			return b, false
		}
		m[c], m[p] = m[p], m[c]
		for r := range 3 {
			if r != c {
				f := m[r][c] / m[c][c]
				for j := c; j < 4; j++ {
					m[r][j] -= f * m[c][j]
				}
			}
		}
	}
	for c := range 3 {
		b[c] = m[c][3] / m[c][c]
	}
	return b, true
}

// ownNoise is the mean square of the days' own uncertainty, so that a run of exact days makes no
// onset out of nothing; where unknown, a millionth of the level's square, and no less than the rounding of coarse readings
// leaves (a twelfth of the step's square).
func ownNoise(d daily) float64 {
	var sum, level float64
	n := 0.0
	for i, s := range d.s {
		level += d.x[i] * d.x[i]
		if s == s && !math.IsInf(s, 0) {
			sum += s * s
			n++
		}
	}
	grain := grainOf(d.x)
	out := math.Max(1e-6*level/float64(len(d.x)), grain*grain/12)
	if n > 0 {
		out = max(out, 0.25*sum/n)
	}
	return out
}

// grainOf is the step to which readings were rounded: the least difference between values of which at most half differ from all
// others; 0 where they were not.
func grainOf(x []float64) float64 {
	v := append([]float64(nil), x...)
	slices.Sort(v)
	least, kinds := math.Inf(1), 1
	for i := 1; i < len(v); i++ {
		if gap := v[i] - v[i-1]; gap > 1e-9*math.Abs(v[i]) {
			kinds++
			least = math.Min(least, gap)
		}
	}
	if kinds < 2 || 2*kinds > len(v) {
		return 0
	}
	return least
}

// thinningClip is how many standard deviations a day counts off the running median at most: the days of a change
// lie far off it side by side, which says nothing about how days go with each other.
const thinningClip = 3

// thinning is the share of days that count as independent: (1-r)/(1+r) with the lag-one correlation r
// of the differences from a short running median, which does not reach over the turn, far ones pulled
// in, between 0.2 and 1. own is the days' own standard uncertainty.
func thinning(x []float64, turn int, own float64) float64 {
	const reach = 7
	n := len(x)
	res := make([]float64, n)
	buf := make([]float64, 0, 2*reach+1)
	for i := range x {
		from, to := max(0, i-reach), min(n, i+reach+1)
		if i < turn {
			to = min(to, turn)
		} else {
			from = max(from, turn)
		}
		buf = append(buf[:0], x[from:to]...)
		res[i] = x[i] - quantileOf(buf, 0.5)
	}
	far := thinningClip * max(own, spreadOf(append([]float64(nil), res...)))
	for i, d := range res {
		res[i] = min(far, max(-far, d))
	}
	var num, den float64
	for i := 1; i < n; i++ {
		num += res[i] * res[i-1]
		den += res[i] * res[i]
	}
	if den == 0 {
		return 1
	}
	r := min(0.67, max(0, num/den))
	return (1 - r) / (1 + r)
}

// interval returns the days between which nine tenths of the likelihood lie.
func interval(scores []float64, w []time.Time, top float64) (from, to time.Time) {
	sum := 0.0
	p := make([]float64, len(scores))
	for k, s := range scores {
		if k >= onsetEdge {
			p[k] = math.Exp(s - top)
			sum += p[k]
		}
	}
	acc := 0.0
	for k := range p {
		before := acc
		acc += p[k] / sum
		if before < 0.05 && acc >= 0.05 {
			from = w[max(0, k-1)]
		}
		if before < 0.95 && acc >= 0.95 {
			to = w[k].Add(24 * time.Hour)
			break
		}
	}
	return from, to
}
