package main

import (
	"math"

	"dustwright/life"
)

// never is what a naive fit says where it never reaches the limit: ten times the age.
const never = 10

// lineLeft is the remaining life by a least-squares line through the last half of the record.
func lineLeft(ps []life.Point, limit, now float64) float64 {
	var x, y []float64
	for _, p := range ps {
		if p.Hours >= now/2 {
			x = append(x, p.Hours)
			y = append(y, float64(p.DP))
		}
	}
	a, b := fit(x, y)
	return reach(a, b, limit, now)
}

// fit returns intercept and slope of the least-squares line.
func fit(x, y []float64) (a, b float64) {
	var sx, sy, sxx, sxy float64
	n := float64(len(x))
	for i := range x {
		sx += x[i]
		sy += y[i]
	}
	for i := range x {
		d := x[i] - sx/n
		sxx += d * d
		sxy += d * y[i]
	}
	if sxx == 0 {
		return sy / n, 0
	}
	b = sxy / sxx
	return sy/n - b*sx/n, b
}

// reach is how long after now the line is at the limit.
func reach(a, b, limit, now float64) float64 {
	if !(b > 0) {
		return never * now
	}
	return math.Min(math.Max((limit-a)/b-now, 0), never*now)
}
