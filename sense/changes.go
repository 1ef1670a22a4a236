package sense

import (
	"fmt"
	"math"
	"slices"
	"time"

	"dustwright/unit"
)

// Kinds of change, as they stand in Change.Kind.
const (
	FilterChange = "filters"
	DamperMove   = "damper"
	HighMoved    = "setpoint-high"
	LowMoved     = "setpoint-low"
	HeaderMoved  = "header-set"
)

// Searches for steps. block and span count points (hours or days); least is in the log of the level.
// A filter change must take an eighth off the level: seasoned filters lose less to a good cleaning. One strange day ends no creep.
var (
	dailyStep  = stepSearch{block: 1, span: 5, after: 2, least: 0.04, score: 5, sharp: 0.5}
	dailyFall  = stepSearch{block: 1, span: 5, after: 2, least: 0.12, score: 5, sharp: 0.5, sign: -1}
	creepEnd   = stepSearch{block: 1, span: 5, after: 3, least: creepFall, score: 5, sharp: 0.5, sign: -1}
	damperStep = stepSearch{block: 1, span: 6, after: 3, least: 0.02, score: 5, sharp: 0.7}
)

// changesOf finds what was done to the machine, and joins it with what was logged.
func (v *view) changesOf(days []Day, s *summariser) []Change {
	var out []Change
	if s.red != nil {
		out = append(out, v.renewalsByLevel(s.points)...)
	} else {
		ls := v.lows(s)
		out = append(out, v.renewalsOf(days, ls)...)
		out = append(out, v.setPoints(out, days)...)
	}
	out = append(out, v.damperMoves(days)...)
	out = append(out, v.headerMoves(days)...)
	out = v.joinNoted(out)
	slices.SortStableFunc(out, func(a, b Change) int { return a.At.Compare(b.At) })
	return out
}

// sameChange is how far apart what was noted and what was found, or two ways of finding, can lie and still be one change [s]:
// who writes it down need not do so on the day. Common practice, no source.
const sameChange = 3 * 86400

// sameTime reports that two times can be those of one change.
func sameTime(a, b time.Time) bool { return a.Sub(b).Abs() < sameChange*time.Second }

// joinNoted adds the logged changes; one found within three days of a logged one of its kind is the
// same, and gives it its time where only the day was noted.
func (v *view) joinNoted(found []Change) []Change {
	out := append([]Change(nil), v.noted...)
	for _, f := range found {
		i := slices.IndexFunc(out, func(n Change) bool { return n.Logged && n.Kind == f.Kind && sameTime(n.At, f.At) })
		if i < 0 {
			out = append(out, f)
			continue
		}
		n := &out[i]
		if n.To.Sub(n.From) >= 24*time.Hour {
			n.At, n.From, n.To = f.At, f.From, f.To
		}
		if n.Unit == "" {
			n.Before, n.After, n.Unit = f.Before, f.After, f.Unit
		}
	}
	return out
}

// confidence turns a step's size over noise, past the score asked for, into 0.5 to 0.99.
func confidence(score, asked float64) float64 {
	return min(0.99, 1-0.5*math.Exp(-(score-asked)/5))
}

// renewalsByLevel finds filter changes of filters never pulsed: lasting, sudden falls of the reduced
// dP. Blocks are a day of running, or a hundredth of a shorter record.
func (v *view) renewalsByLevel(ps []point) []Change {
	z := make([]float64, len(ps))
	running := 0.0
	for i := range ps {
		z[i] = ps[i].z
		running += ps[i].run
	}
	if len(ps) < 10 {
		return nil
	}
	q := dailyFall
	q.block = max(1, min(int(math.Round(24/max(running/float64(len(ps)), 1e-9))), len(ps)/100))
	q.span = 7
	var out []Change
	for _, st := range q.find(z) {
		before, after := math.Exp(st.before), math.Exp(st.after)
		c := v.changeAt(FilterChange, ps[st.from].t, ps[st.to].t)
		c.Before, c.After, c.Unit, c.Confidence = before, after, "Pa", confidence(st.score, q.score)
		c.Why = fmt.Sprintf("the dP, carried to one flow and density, fell from %s to %s from one reading to the next and stayed there",
			pressureText(before), pressureText(after))
		out = append(out, c)
	}
	return out
}

// changeAt is a change between two rows [unix s].
func (v *view) changeAt(kind string, from, to int64) Change {
	z := v.h.zone()
	return Change{Kind: kind, At: unixTime(to).In(z), From: unixTime(from).In(z), To: unixTime(to).In(z)}
}

func pressureText(pa float64) string { return unit.Pressure(pa).In(unit.US) }

// movedTogether reports that the log of q moved, at day i, by at least as much as size in its sense.
func movedTogether(days []Day, i int, q Quantity, size float64) bool {
	d := movedAt(days, i, q)
	return d*size > 0 && math.Abs(d) >= math.Abs(size)
}

// movedAt is how far the log of q moved at day i: the five days from it on against those before. NaN unknown.
func movedAt(days []Day, i int, q Quantity) float64 {
	side := func(a, b int) float64 {
		var v []float64
		for _, d := range days[max(0, a):min(len(days), b)] {
			v = append(v, d.Value[q])
		}
		return math.Log(medianOf(v))
	}
	return side(i, i+5) - side(i-5, i)
}

// stepsOf looks for steps in the log of a quantity's daily values.
func stepsOf(days []Day, q Quantity, search stepSearch) []step {
	z := make([]float64, len(days))
	for i := range days {
		z[i] = math.Log(days[i].Value[q]) // not above zero: NaN, passed over
	}
	return search.find(z)
}
