package life

import (
	"math"
	"slices"

	"dustwright/sense"
)

// With nothing but the dP to go by, the airflow is what fan, ducts and damper make of it as they stood: it seems to fall as
// the filters age, and the dP at design flow to rise the faster. Where somebody opens the damper again, as who reads this
// will, it does not fall. Between the two the truth lies anywhere.

// tendedShare is how much of such a fall is taken to have been made good, and tendedDoubt the standard deviation of that.
// Judgement: halfway, and as wide as what is not known.
const tendedShare, tendedDoubt = 0.6, 0.3

// tended is a life with its levels as they are where a part of an airflow's fall that nothing measured is made good.
func tended(l *sense.Life) *sense.Life {
	from := flowAtFirst(l)
	out := *l
	out.Points = slices.Clone(l.Points)
	for i := range out.Points {
		p := &out.Points[i]
		back := math.Pow(p.Flow/from, tendedShare)
		if !(back > 0) {
			continue
		}
		p.DP, p.Sigma, p.Low, p.High, p.Before, p.Rise = back*p.DP, back*p.Sigma, back*p.Low, back*p.High, back*p.Before, back*p.Rise
		p.Flow /= back
	}
	if n := len(l.Points); n > 0 {
		if fall := math.Abs(math.Log(l.Points[n-1].Flow / from)); fall > 0 {
			out.Shared = math.Hypot(l.Shared, tendedDoubt*fall)
		}
	}
	return &out
}

// flowAtFirst is the airflow over design of the first tenth of a life; NaN unknown.
func flowAtFirst(l *sense.Life) float64 {
	var v []float64
	for i := range l.Points[:max(min(len(l.Points), 3), len(l.Points)/10)] {
		if f := l.Points[i].Flow; f > 0 {
			v = append(v, f)
		}
	}
	return medianOr(v, math.NaN())
}
