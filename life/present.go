package life

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"dustwright/unit"
)

// now is the present life with all that informs it, in the terms of the engine.
type now struct {
	in      Input
	current Record // readings up to the time of interest
	hours   float64
	main    *outlook // of the dP; nil where it could not be made
	dust    bool     // age is the dust taken up, not running hours
	feed    float64  // dust per running hour
	limit   unit.Pressure
	why     Limit
	vague   float64 // relative standard uncertainty of limit
}

// present finds the present life and its age at Input.At; readings after seen are left out.
func present(in Input, seen time.Time) (*now, float64) {
	n := &now{in: in}
	if k := presentLife(in.Lives); k >= 0 {
		n.current = in.Lives[k]
	}
	whole := tidy(n.current.Points, in.At)
	n.hours = ageAt(whole, in)
	n.current.Points = tidy(whole, seen)
	n.dust, n.feed = feedOf(n.current.Points, in)
	return n, n.hours
}

// presentLife is the index of the present life, the last one that has not ended; -1 where there is none.
func presentLife(lives []Record) int {
	k := len(lives) - 1
	for k >= 0 && (lives[k].Ended || lives[k].Sister) {
		k--
	}
	return k
}

// tidy returns the points up to a time that have a dP and an age, in order of age.
func tidy(ps []Point, at time.Time) []Point {
	out := make([]Point, 0, len(ps))
	for _, p := range ps {
		bad := !(p.DP > 0) || p.DP > mostDP || !(p.Hours >= 0) || math.IsInf(p.Hours, 0)
		if !bad && (at.IsZero() || !p.At.After(at)) {
			out = append(out, p)
		}
	}
	slices.SortStableFunc(out, func(a, b Point) int { return cmp.Compare(a.Hours, b.Hours) })
	return out
}

// mostDP is the dP beyond which no filter is read, of air or of a liquid [Pa]. Common practice, no source.
const mostDP = 1e7

// ageAt is the running hours at Input.At: those of the last point, and what has run since at the
// usual rate.
func ageAt(ps []Point, in Input) float64 {
	if len(ps) == 0 {
		return 0
	}
	last := ps[len(ps)-1]
	since := in.At.Sub(last.At).Hours()
	if in.At.IsZero() || since <= 0 {
		return last.Hours
	}
	return last.Hours + math.Min(since*runShare(ps, in), since)
}

// runShare is the share of the clock during which the machine runs: as given, or as in the record.
func runShare(ps []Point, in Input) float64 {
	if in.HoursPerWeek > 0 {
		return math.Min(in.HoursPerWeek/168, 1)
	}
	if n := len(ps); n > 1 {
		if clock := ps[n-1].At.Sub(ps[0].At).Hours(); clock > 0 {
			return math.Min(math.Max((ps[n-1].Hours-ps[0].Hours)/clock, 0.01), 1)
		}
	}
	return 1
}

// feedOf says whether age can be counted in dust: the present life and every earlier one must know
// it; the feed is that of the latest tenth of the present life.
func feedOf(ps []Point, in Input) (dust bool, feed float64) {
	n := len(ps)
	if n < 3 || !knowsDust(ps) {
		return false, math.NaN()
	}
	for _, r := range in.Lives {
		if r.Ended && len(r.Points) >= 3 && !knowsDust(r.Points) {
			return false, math.NaN()
		}
	}
	from := ps[n-1]
	for i := n - 2; i >= 0; i-- {
		if ps[i].Hours <= 0.9*ps[n-1].Hours {
			from = ps[i]
			break
		}
	}
	if from.Hours >= ps[n-1].Hours {
		from = Point{}
	}
	feed = (ps[n-1].Dust - from.Dust) / (ps[n-1].Hours - from.Hours)
	if !(feed > 0) {
		feed = ps[n-1].Dust / ps[n-1].Hours
	}
	return feed > 0 && !math.IsInf(feed, 0), feed
}

// knowsDust reports whether nearly every point of a life says how much dust was taken up.
func knowsDust(ps []Point) bool {
	known, most := 0, 0.0
	for _, p := range ps {
		if p.Dust >= 0 && !math.IsInf(p.Dust, 0) {
			known, most = known+1, math.Max(most, p.Dust)
		}
	}
	return most > 0 && 10*known >= 9*len(ps)
}

// track turns a record into what the engine reads.
func (n *now) track(r Record, ps []Point) track {
	t := track{limit: float64(n.limit), clean: float64(n.in.CleanDP), sister: r.Sister, whole: r.StartKnown, pulsed: n.in.Pulsed}
	for _, p := range ps {
		x := p.Hours
		if n.dust {
			x = p.Dust
		}
		if !(x >= 0) || math.IsInf(x, 0) || len(t.samples) > 0 && x < t.samples[len(t.samples)-1].x {
			continue
		}
		doubt := p.Doubt
		if !(doubt > 0) || math.IsInf(doubt, 0) {
			doubt = 0
		}
		t.samples = append(t.samples, sample{x: x, y: float64(p.DP), sigma: float64(p.Sigma), doubt: doubt})
	}
	t.samples = withoutStrays(t.samples)
	return t
}

// tracks returns the present life and the earlier ones, and the present age.
func (n *now) tracks() (current track, age float64, earlier []track) {
	current = n.track(n.current, n.current.Points)
	for _, r := range n.in.Lives {
		if !r.Ended && !r.Sister {
			continue
		}
		if ps := tidy(r.Points, n.in.At); len(ps) >= 3 {
			earlier = append(earlier, n.track(r, ps))
		}
	}
	age = n.hours
	if n.dust {
		last := n.current.Points[len(n.current.Points)-1]
		age = last.Dust + n.feed*(n.hours-last.Hours)
	}
	if k := len(current.samples); k > 0 {
		age = math.Max(age, current.samples[k-1].x)
	}
	return current, age, earlier
}

// leastPoints is the number of readings below which a curve says nothing.
const leastPoints = 4

// limits sets the dP at which the life ends, what ends it then, and how unsure that dP is: max dP or the flow limit, or, where both
// are known and the latter is unsure, the mean of the lower of them.
func (n *now) limits() {
	dp, flow := float64(n.in.MaxDP), float64(n.in.FlowLimit)
	n.limit, n.why = n.in.MaxDP, ByDP
	if flow > 0 && !(dp > 0 && dp <= flow) {
		n.limit, n.why = n.in.FlowLimit, ByFlow
	}
	unsure := n.in.FlowDoubt * flow
	if !(unsure > 0) {
		return
	}
	mean, sd := above(float64(n.in.FlowHeld), flow, unsure)
	if dp > 0 {
		mean, sd = lower(dp, mean, sd)
	}
	if mean > 0 {
		n.limit, n.vague = unit.Pressure(mean), sd/mean
	}
}

// views forecasts each limit that can be forecast, and notes in r what can't.
func (n *now) views(r *Result) []*view {
	var out []*view
	n.limits()
	if !(n.in.MaxDP > 0) {
		r.Missing = append(r.Missing, Missing{"filters.max_dp", "the dP at which the filters have to go is not known"})
	}
	switch k := len(n.current.Points); {
	case !(n.limit > 0):
	case k < leastPoints:
		r.Missing = append(r.Missing, Missing{"dp", tooFew(k)})
	default:
		if v := n.viewDP(); v != nil {
			out = append(out, v)
		}
	}
	if v := n.viewAir(); v != nil {
		out = append(out, v)
		n.in.Air.Points = nil // the same told later
	}
	for _, g := range []struct {
		limit Limit
		gauge Gauge
	}{{ByAir, n.in.Air}, {ByAfterfilter, n.in.Afterfilter}} {
		if len(g.gauge.Points) == 0 {
			if v := usualView(g.limit, g.gauge); v != nil {
				out = append(out, v)
				r.Missing = append(r.Missing, Missing{"afterfilter_dp", "nobody reads the after-filter: it is taken to be as old as the record and to gain what is usual, within a factor of two"})
			}
			continue
		}
		if v := n.viewGauge(g.limit, g.gauge); v != nil {
			out = append(out, v)
		}
	}
	return out
}

// above is the mean and the standard deviation of a normal value known to lie above another.
func above(least, mean, sigma float64) (m, sd float64) {
	_, m, v := aboveZero((mean - least) / sigma)
	return least + sigma*m, sigma * math.Sqrt(v)
}

// lower is the mean and the standard deviation of the lower of a known value and one that is normal about a mean.
// Source: Clark, The greatest of a finite set of random variables, 1961, from memory.
func lower(known, mean, sigma float64) (m, sd float64) {
	z := (known - mean) / sigma
	below := 0.5 * math.Erfc(-z/math.Sqrt2)
	edge := sigma * math.Exp(-0.5*z*z) / math.Sqrt(2*math.Pi)
	m = mean*below + known*(1-below) - edge
	square := (mean*mean+sigma*sigma)*below + known*known*(1-below) - edge*(known+mean)
	return m, math.Sqrt(math.Max(0, square-m*m))
}

// viewDP forecasts the dP.
func (n *now) viewDP() *view {
	current, age, earlier := n.tracks()
	if len(current.samples) < leastPoints || !(age > 0) {
		return nil
	}
	tn := defaultTuning(n.in.Pulsed)
	o := look(current, age, earlier, tn)
	if len(o.cells) == 0 {
		return nil
	}
	o.shared = math.Hypot(n.in.Shared, n.vague)
	n.main = o
	per := 1.0
	if n.dust {
		per = 1 / n.feed
	}
	return newView(n.why, o, per)
}

// viewAir forecasts when the pulses use more air than there is to spare, by the level at which they do.
func (n *now) viewAir() *view {
	limit := n.in.AirLevel
	if n.main == nil || !(limit > 0) || !(limit < n.limit) {
		return nil
	}
	other := *n
	other.limit, other.why, other.vague = limit, ByAir, airVague
	return other.viewDP()
}

// airVague is the relative standard uncertainty of the level at which the pulses use what air there is to spare. Judgement.
const airVague = 0.05

// viewGauge forecasts pulse air or after-filter.
func (n *now) viewGauge(limit Limit, g Gauge) *view {
	t := track{limit: g.Limit, clean: g.New, pulsed: true, steady: limit == ByAfterfilter, whole: g.New > 0}
	var last Mark // the oldest in age
	for _, p := range g.Points {
		if !(math.Abs(p.Value) < mostDP) || !(p.Hours >= 0) || math.IsInf(p.Hours, 0) || !n.in.At.IsZero() && p.At.After(n.in.At) {
			continue
		}
		t.samples = append(t.samples, sample{x: p.Hours, y: p.Value, sigma: math.NaN()})
		if !(p.Hours < last.Hours) {
			last = p
		}
	}
	if len(t.samples) < leastPoints || !(g.Limit > 0) {
		return nil
	}
	slices.SortStableFunc(t.samples, func(a, b sample) int { return cmp.Compare(a.x, b.x) })
	t.samples = withoutStrays(t.samples)
	age := t.samples[len(t.samples)-1].x
	if since := n.in.At.Sub(last.At).Hours(); since > 0 {
		age += since * runShare(n.current.Points, n.in)
	}
	if !(age > 0) {
		return nil
	}
	o := look(t, age, nil, defaultTuning(true))
	if len(o.cells) == 0 {
		return nil
	}
	o.shared = n.in.Shared
	return newView(limit, o, 1)
}

// usualSpread is the standard deviation of ln(life) of a gauge that nobody reads: judgement.
const usualSpread = 0.5

// usualView is the outlook of a gauge without readings, from what is usual; that its limit is not
// yet reached is taken for granted.
func usualView(limit Limit, g Gauge) *view {
	if !(g.Usual > 0) || !(g.Limit > g.New) || !(g.Age >= 0) {
		return nil
	}
	const steps = 200
	whole := (g.Limit - g.New) / g.Usual
	v := &view{limit: limit}
	for i := -steps; i <= steps; i++ {
		z := 4 * float64(i) / steps
		if left := whole*math.Exp(usualSpread*z) - g.Age; left > 1e-3*whole {
			v.pieces = append(v.pieces, mass{math.Log(left), math.Exp(-0.5 * z * z)})
		}
	}
	var sum float64
	for _, m := range v.pieces {
		sum += m.w
	}
	if !(sum > 1e-3) {
		return nil // far older than any: nothing can be said
	}
	for i := range v.pieces {
		v.pieces[i].w /= sum
	}
	return v
}

// withoutStrays drops single readings that lie far off the run of their neighbours.
func withoutStrays(s []sample) []sample {
	const reach, far = 3, 6.0
	if len(s) < 2*reach+1 {
		return s
	}
	noise := kinkNoise(len(s), func(i int) (float64, float64) { return s[i].x, s[i].y }, nil)
	out := make([]sample, 0, len(s))
	near := make([]float64, 0, 2*reach)
	for i, p := range s {
		near = near[:0]
		for j := max(0, i-reach); j <= min(len(s)-1, i+reach); j++ {
			if j != i {
				near = append(near, s[j].y)
			}
		}
		slices.Sort(near)
		mid, span := near[len(near)/2], near[len(near)-1]-near[0]
		if math.Abs(p.y-mid) > far*noise+span+1e-9*math.Abs(mid) && i < len(s)-1 {
			continue
		}
		out = append(out, p)
	}
	return out
}

// tooFew says that so many points of a life show no trend yet.
func tooFew(points int) string {
	switch points {
	case 0:
		return "too little of this life is on record to see a trend"
	case 1:
		return "one reading of this life is too few to see a trend"
	}
	return fmt.Sprintf("%d readings of this life are too few to see a trend", points)
}
