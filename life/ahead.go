package life

import (
	"math"
	"slices"
	"time"

	"dustwright/unit"
)

// Ahead returns the level expected after some more running hours [h], with its standard
// uncertainty; NaN both where nothing can be said. Over a horizon that is short against the life it leans on the local
// trend, further out on the curves, each by its variance.
func Ahead(in Input, hours float64) (dp, sigma unit.Pressure) {
	in = in.plausible()
	if !(in.MaxDP > 0) && !(in.FlowLimit > 0) {
		in.MaxDP = nominal(in)
	}
	n, _ := present(in, in.At)
	n.views(&Result{})
	if n.main == nil {
		return unit.Pressure(math.NaN()), unit.Pressure(math.NaN())
	}
	y, s := n.main.ahead(n.main.f.now + hours*n.perHour())
	return unit.Pressure(y), unit.Pressure(s)
}

// nominal stands in for a limit nobody gave, so that curves have something to aim at: half as much
// again as the highest level on record.
func nominal(in Input) unit.Pressure {
	top := unit.Pressure(0)
	for _, l := range in.Lives {
		for _, p := range tidy(l.Points, in.At) {
			top = max(top, p.DP)
		}
	}
	return 1.5 * top
}

// perHour is the age gained in a running hour.
func (n *now) perHour() float64 {
	if n.dust {
		return n.feed
	}
	return 1
}

// curveDoubt widens the curves' own uncertainty where they are weighed against the local trend:
// on the open record they err by that much more than they say.
const curveDoubt = 1.5

// aheadWidth widens the uncertainty of a short forecast: without it the 80 % interval held two
// times in three on the open record (bench/life).
const aheadWidth = 1.3

// ahead weighs what curves and local trend say of the level at an age to come.
func (o *outlook) ahead(x float64) (y, sigma float64) {
	says, within := o.levels(x, nil)
	return o.blend(x, says, within)
}

// blend does so with what the curves say at hand.
func (o *outlook) blend(x float64, says []say, within float64) (y, sigma float64) {
	mid := weighted(says, 0.5)
	half := 0.5 * (weighted(says, 0.8413) - weighted(says, 0.1587))
	sigma = math.Sqrt(half*half + within)
	l, v, ok := trend(o.samples, o.use, x)
	if !ok {
		return mid, sigma
	}
	t := math.Exp(l)
	st := t * math.Sqrt(v)
	wc, wt := 1/math.Pow(curveDoubt*sigma, 2), 1/(st*st)
	y = (wc*mid + wt*t) / (wc + wt)
	apart := (mid - t) * (mid - t) * wc * wt / math.Pow(wc+wt, 2)
	return y, aheadWidth * math.Sqrt((wc*sigma*sigma+wt*st*st)/(wc+wt)+apart)
}

// slight is the probability below which a hypothesis is not asked for levels.
const slight = 3e-5

// say is a level with a probability.
type say struct{ y, w float64 }

// levels returns what each hypothesis says of the level at an age to come, in room where that is large enough, and the
// variance that each leaves.
func (o *outlook) levels(x float64, room []say) (says []say, within float64) {
	f := o.f
	far := math.Max(x-f.now, 0)
	step := 0.01 * f.now
	wander, coast := f.fl.spread(far, 1), coasting(far, f.fl.hold)
	says = slices.Grow(room[:0], len(o.cells))
	for i := range o.cells {
		c := &o.cells[i]
		if c.weight < slight {
			continue
		}
		at := x + c.drift.after(coast)
		y := f.level(c, at)
		slope := (f.level(c, at+step) - y) / step
		y = min(y, 2*math.Abs(f.limit))
		says = append(says, say{y, c.weight})
		within += c.weight * (wander*slope*slope + f.fl.pg*y*y)
	}
	return says, within
}

// says is levels without the variance.
func (o *outlook) says(x float64, room []say) []say {
	coast := coasting(math.Max(x-o.f.now, 0), o.f.fl.hold)
	most := 2 * math.Abs(o.f.limit)
	out := slices.Grow(room[:0], len(o.cells))
	for i := range o.cells {
		if c := &o.cells[i]; c.weight >= slight {
			out = append(out, say{min(o.f.level(c, x+c.drift.after(coast)), most), c.weight})
		}
	}
	return out
}

// weighted returns a quantile of says, the lowest level with at least the share q at or below it, and puts them in another
// order. It parts them as solve.Pick does, and goes on with the part that the quantile lies in.
func weighted(says []say, q float64) float64 {
	want := q * weightOf(says)
	for len(says) > 1 {
		a, b, c := says[0].y, says[len(says)/2].y, says[len(says)-1].y
		pivot := max(min(a, b), min(max(a, b), c))
		i, j := 0, len(says)-1
		for i <= j {
			for says[i].y < pivot {
				i++
			}
			for says[j].y > pivot {
				j--
			}
			if i <= j {
				says[i], says[j] = says[j], says[i]
				i++
				j--
			}
		}
		lower, equal := weightOf(says[:j+1]), weightOf(says[j+1:i])
		switch {
		case lower >= want && j >= 0:
			says = says[:j+1]
		case lower+equal >= want || i == len(says):
			return pivot
		default:
			says, want = says[i:], want-lower-equal
		}
	}
	return says[0].y
}

// weightOf is the probability of some says.
func weightOf(says []say) (sum float64) {
	for i := range says {
		sum += says[i].w
	}
	return sum
}

// fan draws the level from now to the given running hours ahead: the middle as Ahead gives it, the
// width as the curves do. What ages does not come down again, so that no part of the fan does: far out, where the local
// trend is more sure of itself than the curves are, the middle lies far below theirs, and so would the rest.
func (n *now) fan(cal calendar, hours float64) []FanPoint {
	const steps = 16
	out := make([]FanPoint, 0, steps+1)
	var last FanPoint
	var says []say
	for k := 0; k <= steps; k++ {
		h := hours * float64(k) / steps
		x := n.main.f.now + h*n.perHour()
		var within float64
		says, within = n.main.levels(x, says)
		mid := weighted(says, 0.5)
		wide := 1.2816 * math.Sqrt(within)
		lo := mid - math.Hypot(mid-weighted(says, 0.1), wide)
		hi := mid + math.Hypot(weighted(says, 0.9)-mid, wide)
		y, _ := n.main.blend(x, says, within)
		lo, hi, mid = lo+y-mid, hi+y-mid, y
		if math.IsNaN(lo + mid + hi) { // so far beyond the limit no curve goes
			break
		}
		last.At = cal.at.Add(time.Duration(cal.clock(h) * float64(time.Hour))).Round(time.Second)
		last.P10, last.P50, last.P90 = max(last.P10, unit.Pressure(lo)), max(last.P50, unit.Pressure(mid)), max(last.P90, unit.Pressure(hi))
		out = append(out, last)
	}
	return out
}
