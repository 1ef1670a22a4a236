package main

import (
	"math"

	"dustwright/sense"
	"dustwright/solve"
)

// naiveErrors are mean relative errors of forecasts that know nothing of filters.
type naiveErrors struct {
	count               int
	stays, line4, line8 float64
}

// naive forecasts every week of every life, from its fourth week on, by the last week's level and by
// straight lines through the last four and eight weeks.
func naive(lives []sense.Life, ahead int) naiveErrors {
	var e naiveErrors
	for _, l := range lives {
		w := weekly(l)
		for now := 4; now+ahead <= len(w); now++ {
			truth := w[now+ahead-1]
			e.count++
			e.stays += math.Abs(w[now-1]/truth - 1)
			e.line4 += math.Abs(extend(w[now-4:now], ahead)/truth - 1)
			e.line8 += math.Abs(extend(w[max(0, now-8):now], ahead)/truth - 1)
		}
	}
	n := float64(max(1, e.count))
	e.stays, e.line4, e.line8 = e.stays/n, e.line4/n, e.line8/n
	return e
}

// weekly is the median of each seven days of running in a life; a last part of a week is left out.
func weekly(l sense.Life) []float64 {
	var out []float64
	for i := 0; i+7 <= len(l.Points); i += 7 {
		var v []float64
		for _, p := range l.Points[i : i+7] {
			v = append(v, p.DP)
		}
		out = append(out, solve.Median(v))
	}
	return out
}

// extend carries the least-squares line through evenly spaced values on by some steps.
func extend(y []float64, ahead int) float64 {
	x := make([]float64, len(y))
	for i := range x {
		x[i] = float64(i)
	}
	l, err := solve.WeightedLine(x, y, nil)
	if err != nil {
		return y[len(y)-1]
	}
	return l.At(float64(len(y) - 1 + ahead))
}
