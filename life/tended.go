package life

import (
	"math"
	"slices"
	"time"

	"dustwright/sense"
)

// With nothing but the dP to go by, the airflow is what fan, ducts and damper make of it as they stood: it seems to fall as
// the filters age, and the dP at design flow to rise the faster. Where somebody opens the damper again, as who reads this
// will, it does not fall. Between the two the truth lies anywhere.

// care is how much of such a fall is taken to have been made good, and the standard deviation of that.
type care struct{ share, doubt float64 }

// Judgement: halfway and as wide as what is not known; near the whole where somebody noted that he moved the damper since the
// filters went in.
var usualCare, notedCare = care{0.6, 0.3}, care{0.85, 0.15}

// afterNew is how long after new filters went in the damper is moved on their account [of the clock]. Common practice, no source.
const afterNew = 7 * 24 * time.Hour

// careOf looks whether somebody noted that he moved the damper in a life.
func careOf(changes []sense.Change, l *sense.Life) care {
	for _, c := range changes {
		if c.Kind == sense.DamperMove && c.Logged && c.At.After(l.Start.Add(afterNew)) && !c.At.After(l.End) {
			return notedCare
		}
	}
	return usualCare
}

// tended is a life with its levels, and the dust it took up, as they are where a part of an airflow's fall that nothing measured is
// made good.
func tended(l *sense.Life, by care) *sense.Life {
	from := flowAtFirst(l)
	out := *l
	out.Points = slices.Clone(l.Points)
	var before, dust float64 // as it was taken to be up to the point before, and as it is
	for i := range out.Points {
		p := &out.Points[i]
		back := math.Pow(p.Flow/from, by.share)
		if !(back > 0) {
			back = 1
		}
		if p.Dust == p.Dust {
			dust += (p.Dust - before) / back
			before, p.Dust = p.Dust, dust
		}
		p.DP, p.Sigma, p.Low, p.High, p.Before, p.Rise = back*p.DP, back*p.Sigma, back*p.Low, back*p.High, back*p.Before, back*p.Rise
		p.Flow /= back
	}
	if n := len(l.Points); n > 0 {
		if fall := math.Abs(math.Log(l.Points[n-1].Flow / from)); fall > 0 {
			out.Shared = math.Hypot(l.Shared, by.doubt*fall)
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
