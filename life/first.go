package life

import (
	"cmp"
	"math"
	"slices"
)

// view is the distribution of the running hours left to one limit.
type view struct {
	limit  Limit
	o      *outlook
	pieces []mass // at ln(running hours), sorted
	first  float64
}

// newView turns an outlook into running hours; per is hours per unit of age.
func newView(limit Limit, o *outlook, per float64) *view {
	v := &view{limit: limit, o: o, pieces: o.remaining()}
	for i := range v.pieces {
		v.pieces[i].at += math.Log(per)
	}
	return v
}

// combine returns the distribution of the first of several limits, taken as independent, sets each
// one's chance of being the first, and sorts the views by it.
func combine(views []*view) *view {
	if len(views) == 1 {
		views[0].first = 1
		return views[0]
	}
	const steps = 2000
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range views {
		lo = math.Min(lo, v.pieces[0].at)
		hi = math.Max(hi, v.pieces[len(v.pieces)-1].at)
	}
	out := &view{}
	left := make([]float64, len(views)) // chance that each limit is not yet reached
	next := make([]int, len(views))
	for i := range left {
		left[i] = 1
	}
	for k := 0; k <= steps; k++ {
		at := lo + (hi-lo)*float64(k)/steps
		before := 1.0
		for _, l := range left {
			before *= l
		}
		after := 1.0
		for i, v := range views {
			was := left[i]
			for next[i] < len(v.pieces) && v.pieces[next[i]].at <= at {
				left[i] -= v.pieces[next[i]].w
				next[i]++
			}
			left[i] = math.Max(left[i], 0)
			if was > 0 {
				v.first += before * (was - left[i]) / was
			}
			after *= left[i]
		}
		if before > after {
			out.pieces = append(out.pieces, mass{at, before - after})
		}
	}
	var sum float64
	for _, v := range views {
		sum += v.first
	}
	for _, v := range views {
		v.first /= sum
	}
	slices.SortStableFunc(views, func(a, b *view) int { return cmp.Compare(b.first, a.first) })
	return out
}

// quantiles returns running hours by which the limit is reached with the given probabilities.
func (v *view) quantiles(q ...float64) []float64 { return quantiles(v.pieces, q) }

// quantiles interpolates in sorted pieces of probability at ln(x), and returns x.
func quantiles(ms []mass, q []float64) []float64 {
	var sum float64
	for _, m := range ms {
		sum += m.w
	}
	out := make([]float64, len(q))
	for i, p := range q {
		var cum float64
		out[i] = math.Exp(ms[len(ms)-1].at)
		for j, m := range ms {
			if cum+m.w >= p*sum {
				lo := m.at
				if j > 0 {
					lo = ms[j-1].at
				}
				out[i] = math.Exp(lo + (p*sum-cum)/m.w*(m.at-lo))
				break
			}
			cum += m.w
		}
	}
	return out
}
