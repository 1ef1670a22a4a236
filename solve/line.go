package solve

import (
	"fmt"
	"math"
)

// Line is a least-squares line y = Intercept + Slope x with what is needed to say how well it is known.
type Line struct {
	Intercept, Slope           float64
	SigmaIntercept, SigmaSlope float64 // standard errors; NaN with fewer than three points
	ResidualSD                 float64 // standard deviation of a point of weight 1; NaN with fewer than three points
	N                          int     // points used

	meanX, sumW, sxx float64
}

// WeightedLine fits a line to points with weights (1/variance up to a common factor); nil weights count alike. Points with NaN or
// a weight that is not positive are left out. ErrTooFew: fewer than two points left; ErrSingular: all at one x.
// Source: the normal equations about the weighted means, any text on regression. Check values: NIST StRD Norris,
// testdata/nist_norris_data.csv.
func WeightedLine(x, y, weight []float64) (Line, error) {
	weigh := func(i int) float64 {
		if weight == nil {
			return 1
		}
		return weight[i]
	}
	use := func(i int) bool { return !math.IsNaN(x[i]) && !math.IsNaN(y[i]) && weigh(i) > 0 }
	var l Line
	var meanY float64
	for i := range x {
		if use(i) {
			w := weigh(i)
			l.N++
			l.sumW += w
			l.meanX += (x[i] - l.meanX) * w / l.sumW
			meanY += (y[i] - meanY) * w / l.sumW
		}
	}
	if l.N < 2 {
		return Line{}, fmt.Errorf("%w: %d points, a line needs two", ErrTooFew, l.N)
	}
	var sxy float64
	for i := range x {
		if use(i) {
			dx := x[i] - l.meanX
			l.sxx += weigh(i) * dx * dx
			sxy += weigh(i) * dx * (y[i] - meanY)
		}
	}
	if l.sxx <= 0 {
		return Line{}, fmt.Errorf("%w: all %d points stand at x = %g", ErrSingular, l.N, l.meanX)
	}
	l.Slope = sxy / l.sxx
	l.Intercept = meanY - l.Slope*l.meanX
	var rss float64
	for i := range x {
		if use(i) {
			r := (y[i] - meanY) - l.Slope*(x[i]-l.meanX)
			rss += weigh(i) * r * r
		}
	}
	l.ResidualSD = math.NaN()
	if l.N > 2 {
		l.ResidualSD = math.Sqrt(rss / float64(l.N-2))
	}
	l.SigmaSlope = l.ResidualSD / math.Sqrt(l.sxx)
	l.SigmaIntercept = l.ResidualSD * math.Sqrt(1/l.sumW+l.meanX*l.meanX/l.sxx)
	return l, nil
}

// At returns the line's value at x.
func (l Line) At(x float64) float64 { return l.Intercept + l.Slope*x }

// Sigma returns the standard error of the line at x, and that of a new point of weight 1 there.
func (l Line) Sigma(x float64) (line, point float64) {
	d := x - l.meanX
	v := 1/l.sumW + d*d/l.sxx
	return l.ResidualSD * math.Sqrt(v), l.ResidualSD * math.Sqrt(1+v)
}
