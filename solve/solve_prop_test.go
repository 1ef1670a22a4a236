package solve

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// The curve passes its points, stays between neighbours, and falls where the table falls.
func TestMonotoneStaysBetween(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 12).Draw(t, "points")
		x, y := make([]float64, n), make([]float64, n)
		at := rapid.Float64Range(-100, 100).Draw(t, "start")
		for i := range x {
			x[i] = at
			at += rapid.Float64Range(0.001, 50).Draw(t, "gap")
			y[i] = rapid.Float64Range(-1000, 1000).Draw(t, "value")
		}
		m, err := NewMonotone(x, y)
		if err != nil {
			t.Fatal(err)
		}
		i := rapid.IntRange(0, n-2).Draw(t, "interval")
		lo, hi := math.Min(y[i], y[i+1]), math.Max(y[i], y[i+1])
		sign, before := y[i+1]-y[i], y[i]
		for k := range 33 {
			q := x[i] + (x[i+1]-x[i])*float64(k)/32
			v := m.At(min(q, x[i+1]))
			if v < lo-1e-9 || v > hi+1e-9 {
				t.Fatalf("at %g: %g, outside %g to %g", q, v, lo, hi)
			}
			if (v-before)*sign < -1e-6*math.Abs(sign) {
				t.Fatalf("at %g: turns from %g to %g", q, before, v)
			}
			before = v
		}
		if m.At(x[i]) != y[i] || m.At(x[n-1]) != y[n-1] {
			t.Fatalf("misses its points: %g for %g", m.At(x[i]), y[i])
		}
		lo, hi = m.Domain()
		for _, out := range []float64{lo - 1, hi + 1, math.NaN()} {
			if !math.IsNaN(m.At(out)) || !math.IsNaN(m.Slope(out)) {
				t.Fatalf("a value outside the table at %g", out)
			}
		}
	})
}

// Any bracketed continuous function: the answer lies inside and the sign changes around it.
func TestRootSignChanges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(-50, 50).Draw(t, "root")
		k := rapid.Float64Range(0.01, 5).Draw(t, "bend")
		f := func(x float64) float64 { return math.Sinh(k*(x-a)/10) + (x-a)*(x-a)*(x-a) }
		x, err := Root(f, -60, 70, 1e-10)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(x-a) > 1e-5 || f(x-1e-8-1e-9*math.Abs(x)) > f(x+1e-8+1e-9*math.Abs(x)) {
			t.Errorf("root %.12g, want %.12g", x, a)
		}
	})
}

func TestTheilSenFollowsTheData(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(4, 40).Draw(t, "points")
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i] = float64(i) + rapid.Float64Range(0, 0.5).Draw(t, "x")
			y[i] = rapid.Float64Range(-10, 10).Draw(t, "y")
		}
		a := rapid.Float64Range(-3, 3).Draw(t, "added slope")
		tilted := make([]float64, n)
		for i := range x {
			tilted[i] = y[i] + a*x[i]
		}
		one, err1 := TheilSen(x, y)
		two, err2 := TheilSen(x, tilted)
		if err := errors.Join(err1, err2); err != nil {
			t.Fatal(err)
		}
		if math.Abs(two.Slope-one.Slope-a) > 1e-9*(1+math.Abs(two.Slope)) {
			t.Errorf("slope %g becomes %g when %g is added", one.Slope, two.Slope, a)
		}
		if !(one.Low <= one.Slope && one.Slope <= one.High) {
			t.Errorf("slope %g outside its interval %g to %g", one.Slope, one.Low, one.High)
		}
	})
}

func TestQuantileIsMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(-1e9, 1e9), 1, 50).Draw(t, "values")
		slices.Sort(v)
		p := rapid.Float64Range(0, 1).Draw(t, "p")
		q := rapid.Float64Range(p, 1).Draw(t, "q")
		if a, b := Quantile(v, p), Quantile(v, q); a > b || a < v[0] || b > v[len(v)-1] {
			t.Errorf("quantiles %g and %g of p %g and %g", a, b, p, q)
		}
	})
}

// Integrating a stiffening spring there and back again returns to the start.
func TestDormandPrinceReverses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.Float64Range(0.2, 4).Draw(t, "frequency")
		y0 := []float64{rapid.Float64Range(-3, 3).Draw(t, "place"), rapid.Float64Range(-3, 3).Draw(t, "speed")}
		f := func(t float64, y, dy []float64) { dy[0], dy[1] = y[1], -w*w*y[0]-y[0]*y[0]*y[0] }
		opts := ODE{RelTol: 1e-10, AbsTol: 1e-12}
		there, err := DormandPrince(f, y0, 0, 5, opts)
		if err != nil {
			t.Fatal(err)
		}
		back, err := DormandPrince(f, there.Y, 5, 0, opts)
		if err != nil {
			t.Fatal(err)
		}
		for i := range y0 {
			if math.Abs(back.Y[i]-y0[i]) > 1e-6 {
				t.Errorf("component %d comes back as %g, was %g", i, back.Y[i], y0[i])
			}
		}
	})
}
