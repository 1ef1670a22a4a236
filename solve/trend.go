package solve

import (
	"fmt"
	"math"
	"slices"
)

// Trend is a straight line through the middle of scattered points that outliers don't move.
type Trend struct {
	Slope     float64
	Intercept float64 // median(y) - Slope*median(x)
	Low, High float64 // 95 % interval of the slope; infinite where too few points bound it
	N         int     // points used
}

// At returns the line's value at x.
func (t Trend) At(x float64) float64 { return t.Intercept + t.Slope*x }

// maxExactPairs bounds the pairs TheilSen looks at; above it every point is paired with evenly spaced others.
const maxExactPairs = 500_000

// TheilSen fits the median of the slopes of all pairs of points. Points with NaN are left out; ErrTooFew is returned when
// fewer than two different x remain. The interval is Gilbert's, from the variance of Kendall's S with ties in y. Of more
// than about a thousand points a fixed, evenly spread subset of 500,000 pairs is used, so that time stays bounded and
// the result repeats.
// Source: EPA Unified Guidance 530/R-09-007, section 17.3.3; R. O. Gilbert (1987), section 16.5. Check values:
// testdata/trend_epa_ug_17_7_theil_sen.csv.
func TheilSen(x, y []float64) (Trend, error) {
	x, y = paired(x, y)
	slopes := pairSlopes(x, y)
	if len(slopes) == 0 {
		return Trend{}, fmt.Errorf("%w: %d points, two with different abscissae are needed", ErrTooFew, len(x))
	}
	t := Trend{Slope: PickQuantile(slopes, 0.5), N: len(x)}
	t.Intercept = Median(y) - t.Slope*Median(x)
	all := float64(len(x)) * float64(len(x)-1) / 2
	half := 1.959963984540054 * math.Sqrt(kendallVariance(y)) / 2 * float64(len(slopes)) / all
	mid := float64(len(slopes)) / 2
	t.Low, t.High = ranked(slopes, mid-half), ranked(slopes, mid+half+1)
	return t, nil
}

// ranked returns the value of a fractional rank counted from 1, interpolated; infinite outside the ranks. It puts v in another
// order.
func ranked(v []float64, rank float64) float64 {
	switch n := float64(len(v)); {
	case rank < 1:
		return math.Inf(-1)
	case rank > n:
		return math.Inf(1)
	case n == 1:
		return v[0]
	default:
		return PickQuantile(v, (rank-1)/(n-1))
	}
}

// pairSlopes returns the slopes of the pairs with different x.
func pairSlopes(x, y []float64) []float64 {
	n := len(x)
	stride := 1 + n*(n-1)/2/maxExactPairs
	slopes := make([]float64, 0, n*(n-1)/2/stride+n)
	for i := range x {
		for j := i + 1 + i%stride; j < n; j += stride {
			if dx := x[j] - x[i]; dx != 0 {
				slopes = append(slopes, (y[j]-y[i])/dx)
			}
		}
	}
	return slopes
}

// paired leaves out the points in which either number is NaN.
func paired(x, y []float64) (px, py []float64) {
	n := min(len(x), len(y))
	px, py = make([]float64, 0, n), make([]float64, 0, n)
	for i := range n {
		if !math.IsNaN(x[i]) && !math.IsNaN(y[i]) {
			px, py = append(px, x[i]), append(py, y[i])
		}
	}
	return px, py
}

// kendallVariance is the variance of S without a trend: (n(n-1)(2n+5) - sum over ties t(t-1)(2t+5)) / 18.
func kendallVariance(y []float64) float64 {
	term := func(n float64) float64 { return n * (n - 1) * (2*n + 5) }
	sorted := slices.Clone(y)
	slices.Sort(sorted)
	v := term(float64(len(y)))
	for i := 0; i < len(sorted); {
		j := i
		for j < len(sorted) && sorted[j] == sorted[i] {
			j++
		}
		v -= term(float64(j - i))
		i = j
	}
	return v / 18
}
