package solve

import (
	"fmt"
	"math"
	"sort"
)

// Monotone is a smooth curve through points that never overshoots them: between two points it stays between their
// values, so a falling table gives a falling curve. It is read-only after NewMonotone and safe for
// concurrent use.
// Source: F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300, as PCHIP in common numerical libraries
// (three-point end slopes).
type Monotone struct {
	x, y, slope []float64
}

// NewMonotone fits the curve through (x[i], y[i]); x must rise strictly. Two points give a straight line. It copies
// its arguments. Errors: ErrTooFew (fewer than two points or lengths that differ), ErrNotRising, ErrNotFinite.
func NewMonotone(x, y []float64) (*Monotone, error) {
	if len(x) < 2 || len(x) != len(y) {
		return nil, fmt.Errorf("%w: %d abscissae and %d values, two of each at least", ErrTooFew, len(x), len(y))
	}
	for i := range x {
		if math.IsNaN(x[i]-x[i]) || math.IsNaN(y[i]-y[i]) {
			return nil, fmt.Errorf("%w: point %d is (%g, %g)", ErrNotFinite, i+1, x[i], y[i])
		}
		if i > 0 && x[i] <= x[i-1] {
			return nil, fmt.Errorf("%w: %g follows %g", ErrNotRising, x[i], x[i-1])
		}
	}
	m := &Monotone{x: append([]float64(nil), x...), y: append([]float64(nil), y...)}
	m.slope = pchipSlopes(m.x, m.y)
	return m, nil
}

// pchipSlopes gives the slope at every point: the weighted harmonic mean of the neighbours' where they agree in sign, else 0.
func pchipSlopes(x, y []float64) []float64 {
	n := len(x)
	h, delta := make([]float64, n-1), make([]float64, n-1)
	for i := range h {
		h[i] = x[i+1] - x[i]
		delta[i] = (y[i+1] - y[i]) / h[i]
	}
	s := make([]float64, n)
	if n == 2 {
		s[0], s[1] = delta[0], delta[0]
		return s
	}
	for i := 1; i < n-1; i++ {
		if delta[i-1]*delta[i] <= 0 {
			continue
		}
		w1, w2 := 2*h[i]+h[i-1], h[i]+2*h[i-1]
		s[i] = (w1 + w2) / (w1/delta[i-1] + w2/delta[i])
	}
	s[0] = endSlope(h[0], h[1], delta[0], delta[1])
	s[n-1] = endSlope(h[n-2], h[n-3], delta[n-2], delta[n-3])
	return s
}

// endSlope is the three-point slope at an end, limited so that the curve keeps its direction.
func endSlope(h0, h1, d0, d1 float64) float64 {
	s := ((2*h0+h1)*d0 - h0*d1) / (h0 + h1)
	switch {
	case s*d0 <= 0:
		return 0
	case d0*d1 <= 0 && math.Abs(s) > 3*math.Abs(d0):
		return 3 * d0
	}
	return s
}

// Domain returns the first and last abscissa.
func (m *Monotone) Domain() (lo, hi float64) { return m.x[0], m.x[len(m.x)-1] }

// At returns the curve's value at x, and NaN outside the domain or for NaN. It does not allocate.
func (m *Monotone) At(x float64) float64 {
	i, ok := m.interval(x)
	if !ok {
		return math.NaN()
	}
	h := m.x[i+1] - m.x[i]
	t := (x - m.x[i]) / h
	u := 1 - t
	return m.y[i]*u*u*(1+2*t) + m.y[i+1]*t*t*(3-2*t) + h*t*u*(m.slope[i]*u-m.slope[i+1]*t)
}

// Slope returns the curve's derivative at x, and NaN outside the domain or for NaN. It does not allocate.
func (m *Monotone) Slope(x float64) float64 {
	i, ok := m.interval(x)
	if !ok {
		return math.NaN()
	}
	h := m.x[i+1] - m.x[i]
	t := (x - m.x[i]) / h
	u := 1 - t
	return 6*t*u*(m.y[i+1]-m.y[i])/h + m.slope[i]*u*(1-3*t) + m.slope[i+1]*t*(3*t-2)
}

// interval finds i with x[i] <= x <= x[i+1].
func (m *Monotone) interval(x float64) (i int, ok bool) {
	n := len(m.x)
	if !(x >= m.x[0] && x <= m.x[n-1]) {
		return 0, false
	}
	i = sort.SearchFloat64s(m.x, x)
	if i > 0 {
		i--
	}
	return min(i, n-2), true
}
