package solve

import (
	"fmt"
	"math"
)

// NoBracket is the error of Root when f has the same sign at both ends; it carries the values there so that the caller
// can say why there is no answer. It matches ErrNoBracket.
type NoBracket struct {
	Lo, Hi, FLo, FHi float64
}

// Error states both ends.
func (e *NoBracket) Error() string {
	return fmt.Sprintf("%v: f(%g) = %g, f(%g) = %g", ErrNoBracket, e.Lo, e.FLo, e.Hi, e.FHi)
}

// Unwrap returns ErrNoBracket.
func (e *NoBracket) Unwrap() error { return ErrNoBracket }

// maxRootSteps is far above what bisection alone needs to halve any float64 interval down to neighbours.
const maxRootSteps = 2200

// Root finds x between lo and hi with f(x) = 0, to within tol in x (plus the spacing of float64 there). f must be continuous and
// have opposite signs at lo and hi, which may come in either order; zero at an end is a root. It returns a *NoBracket
// (ErrNoBracket) when the signs are equal and ErrNotFinite when lo, hi, or a value of f is NaN (infinite values of f count by their
// sign). It does not allocate when it succeeds.
// Source: R. P. Brent, Algorithms for Minimization without Derivatives (1973), chapter 4, procedure zero.
func Root(f func(float64) float64, lo, hi, tol float64) (float64, error) {
	a, b := lo, hi
	if math.IsNaN(a-a) || math.IsNaN(b-b) || !(tol >= 0) {
		return math.NaN(), fmt.Errorf("%w: root between %g and %g within %g", ErrNotFinite, lo, hi, tol)
	}
	fa, fb := f(a), f(b)
	switch {
	case math.IsNaN(fa) || math.IsNaN(fb):
		return math.NaN(), fmt.Errorf("%w: f(%g) = %g, f(%g) = %g", ErrNotFinite, lo, fa, hi, fb)
	case fa == 0:
		return a, nil
	case fb == 0:
		return b, nil
	case (fa > 0) == (fb > 0):
		return math.NaN(), &NoBracket{Lo: lo, Hi: hi, FLo: fa, FHi: fb}
	}
	c, fc := a, fa
	d := b - a
	e := d
	for range maxRootSteps {
		if (fb > 0) == (fc > 0) {
			c, fc = a, fa
			d = b - a
			e = d
		}
		if math.Abs(fc) < math.Abs(fb) {
			a, b, c = b, c, b
			fa, fb, fc = fb, fc, fb
		}
		near := 2*epsilon*math.Abs(b) + tol/2
		half := (c - b) / 2
		if math.Abs(half) <= near || fb == 0 {
			return b, nil
		}
		d, e = brentStep(point{a, fa}, point{b, fb}, point{c, fc}, near, d, e)
		a, fa = b, fb
		if math.Abs(d) > near {
			b += d
		} else {
			b += math.Copysign(near, half)
		}
		if fb = f(b); math.IsNaN(fb) {
			return math.NaN(), fmt.Errorf("%w: f(%g) = NaN", ErrNotFinite, b)
		}
	}
	return math.NaN(), fmt.Errorf("%w: root between %g and %g", ErrNotConverged, lo, hi)
}

const epsilon = 0x1p-52

type point struct{ x, f float64 }

// brentStep returns the next step from b and the one before: inverse quadratic or secant where that is safe, else
// bisection.
func brentStep(a, b, c point, near, d, e float64) (step, previous float64) {
	half := (c.x - b.x) / 2
	if math.Abs(e) < near || math.Abs(a.f) <= math.Abs(b.f) || math.IsInf(a.f, 0) || math.IsInf(c.f, 0) {
		return half, half
	}
	var p, q float64
	s := b.f / a.f
	if a.x == c.x {
		p, q = 2*half*s, 1-s
	} else {
		q, r := a.f/c.f, b.f/c.f
		p = s * (2*half*q*(q-r) - (b.x-a.x)*(r-1))
		return accept(p, (q-1)*(r-1)*(s-1), half, near, d, e)
	}
	return accept(p, q, half, near, d, e)
}

// accept takes the interpolated step p/q if it stays inside and shrinks fast enough.
func accept(p, q, half, near, d, e float64) (step, previous float64) {
	if p > 0 {
		q = -q
	} else {
		p = -p
	}
	if 2*p < math.Min(3*half*q-math.Abs(near*q), math.Abs(e*q)) {
		return p / q, d
	}
	return half, half
}
