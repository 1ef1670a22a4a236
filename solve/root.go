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
	z := zero{a: point{a, fa}, b: point{b, fb}}
	z.c, z.d, z.e = z.a, b-a, b-a
	for range maxRootSteps {
		z.order()
		near := 2*epsilon*math.Abs(z.b.x) + tol/2
		half := (z.c.x - z.b.x) / 2
		if math.Abs(half) <= near || z.b.f == 0 {
			return z.b.x, nil
		}
		z.plan(half, near)
		z.a = z.b
		if math.Abs(z.d) > near {
			z.b.x += z.d
		} else {
			z.b.x += math.Copysign(near, half)
		}
		if z.b.f = f(z.b.x); math.IsNaN(z.b.f) {
			return math.NaN(), fmt.Errorf("%w: f(%g) = NaN", ErrNotFinite, z.b.x)
		}
	}
	return math.NaN(), fmt.Errorf("%w: root between %g and %g", ErrNotConverged, lo, hi)
}

const epsilon = 0x1p-52

type point struct{ x, f float64 }

// zero is the state of the search, in Brent's letters: b is the best point, c the one that brackets it, a the one
// before b; d is the step to take, e the one before it.
type zero struct {
	a, b, c point
	d, e    float64
}

// order makes c bracket b and b the better of the two.
func (z *zero) order() {
	if (z.b.f > 0) == (z.c.f > 0) {
		z.c = z.a
		z.d = z.b.x - z.a.x
		z.e = z.d
	}
	if math.Abs(z.c.f) < math.Abs(z.b.f) {
		z.a, z.b, z.c = z.b, z.c, z.b
	}
}

// plan sets the next step: inverse quadratic or secant where that is safe and shrinks fast enough, else bisection.
func (z *zero) plan(half, near float64) {
	before := z.e
	z.e = z.d
	infinite := math.IsInf(z.a.f, 0) || math.IsInf(z.c.f, 0)
	if math.Abs(before) < near || math.Abs(z.a.f) <= math.Abs(z.b.f) || infinite {
		z.d, z.e = half, half
		return
	}
	s := z.b.f / z.a.f
	p, q := 2*half*s, 1-s
	if z.a.x != z.c.x {
		r, t := z.b.f/z.c.f, z.a.f/z.c.f
		p = s * (2*half*t*(t-r) - (z.b.x-z.a.x)*(r-1))
		q = (t - 1) * (r - 1) * (s - 1)
	}
	if p > 0 {
		q = -q
	} else {
		p = -p
	}
	if 2*p >= math.Min(3*half*q-math.Abs(near*q), math.Abs(before*q)) {
		z.d, z.e = half, half
		return
	}
	z.d = p / q
}
