package solve

import (
	"errors"
	"math"
	"testing"
)

// Closed forms: exponential decay, the harmonic oscillator, the logistic curve and the free fall.
func TestDormandPrinceClosedForms(t *testing.T) {
	cases := []struct {
		name   string
		f      Derivative
		y0     []float64
		t0, t1 float64
		exact  func(t float64) []float64
	}{
		{"decay", func(_ float64, y, dy []float64) { dy[0] = -2 * y[0] }, []float64{3}, 0, 4,
			func(t float64) []float64 { return []float64{3 * math.Exp(-2*t)} }},
		{"oscillator", func(_ float64, y, dy []float64) { dy[0], dy[1] = y[1], -y[0] }, []float64{1, 0}, 0, 20,
			func(t float64) []float64 { return []float64{math.Cos(t), -math.Sin(t)} }},
		{"logistic", func(_ float64, y, dy []float64) { dy[0] = y[0] * (1 - y[0]) }, []float64{0.1}, 0, 8,
			func(t float64) []float64 { return []float64{1 / (1 + 9*math.Exp(-t))} }},
		{"backward in time", func(t float64, _, dy []float64) { dy[0] = math.Cos(t) }, []float64{math.Sin(3)}, 3, -2,
			func(t float64) []float64 { return []float64{math.Sin(t)} }},
		{"nothing moves", func(_ float64, _, dy []float64) { dy[0] = 0 }, []float64{7}, 0, 5,
			func(float64) []float64 { return []float64{7} }},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			p, err := DormandPrince(c.f, c.y0, c.t0, c.t1, ODE{RelTol: 1e-9, AbsTol: 1e-11})
			if err != nil {
				t.Fatal(err)
			}
			if p.T != c.t1 {
				t.Errorf("ended at %g, want %g", p.T, c.t1)
			}
			y := make([]float64, len(c.y0))
			for i := range 101 {
				at := c.t0 + (c.t1-c.t0)*float64(i)/100
				if !p.At(at, y) {
					t.Fatalf("t = %g is not on the path", at)
				}
				for j, want := range c.exact(at) {
					if math.Abs(y[j]-want) > 1e-7 {
						t.Errorf("t = %g component %d: %.10g, want %.10g within 1e-7", at, j, y[j], want)
					}
				}
			}
		})
	}
}

// The order of the method: halving the step divides the error by about 2^5.
func TestDormandPrinceOrder(t *testing.T) {
	f := func(t float64, y, dy []float64) { dy[0] = y[0] * math.Cos(t) }
	wrong := func(h float64) float64 {
		p, err := DormandPrince(f, []float64{1}, 0, 8, ODE{RelTol: 1, AbsTol: 1, FirstStep: h, MaxStep: h})
		if err != nil {
			t.Fatal(err)
		}
		return math.Abs(p.Y[0] - math.Exp(math.Sin(8)))
	}
	order := math.Log2(wrong(0.25) / wrong(0.125))
	if order < 4.5 || order > 6.5 {
		t.Errorf("observed order %.2f, want about 5", order)
	}
}

// A ball dropped from 10 m: it passes 5 m and lands at sqrt(2 h / g).
func TestDormandPrinceEvents(t *testing.T) {
	const g = 9.80665
	fall := func(_ float64, y, dy []float64) { dy[0], dy[1] = y[1], -g }
	above := func(h float64) func(float64, []float64) float64 {
		return func(_ float64, y []float64) float64 { return y[0] - h }
	}
	p, err := DormandPrince(fall, []float64{10, 0}, 0, 100, ODE{Events: []Event{
		{Value: above(0), Fall: true, Stop: true},
		{Value: above(5), Fall: true},
		{Value: above(2), Rise: true},
	}})
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Hits) != 2 || p.Hits[0].Event != 1 || p.Hits[1].Event != 0 {
		t.Fatalf("crossings %+v, want 5 m then the ground", p.Hits)
	}
	for i, h := range []float64{5, 10} {
		if want := math.Sqrt(2 * h / g); math.Abs(p.Hits[i].T-want) > 1e-9 {
			t.Errorf("fall of %g m takes %.12g s, want %.12g", h, p.Hits[i].T, want)
		}
	}
	if p.T != p.Hits[1].T || math.Abs(p.Y[0]) > 1e-9 {
		t.Errorf("path ends at %g, height %g", p.T, p.Y[0])
	}
	if p.At(p.T+1, make([]float64, 2)) {
		t.Error("a time after the stop is not on the path")
	}
}

func TestDormandPrinceRefuses(t *testing.T) {
	cases := []struct {
		name string
		f    Derivative
		y0   float64
		opts ODE
		want error
	}{
		{"NaN at the start", func(_ float64, _, dy []float64) { dy[0] = math.NaN() }, 1, ODE{}, ErrNotFinite},
		{"NaN state", func(_ float64, _, dy []float64) { dy[0] = 0 }, math.NaN(), ODE{}, ErrNotFinite},
		{"blows up at t = 1", func(_ float64, y, dy []float64) { dy[0] = y[0] * y[0] }, 1, ODE{}, nil},
		{"steps run out", func(t float64, _, dy []float64) { dy[0] = math.Sin(1000 * t) }, 1, ODE{MaxSteps: 10}, ErrNotConverged},
		{"NaN on the way", func(t float64, _, dy []float64) { dy[0] = math.Sqrt(1 - t) }, 1, ODE{}, ErrNotFinite},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := DormandPrince(c.f, []float64{c.y0}, 0, 2, c.opts)
			if err == nil || (c.want != nil && !errors.Is(err, c.want)) {
				t.Errorf("error %v, want %v", err, c.want)
			}
		})
	}
}

func BenchmarkDormandPrince(b *testing.B) {
	f := func(_ float64, y, dy []float64) { dy[0], dy[1] = y[1], -y[0] }
	for b.Loop() {
		if _, err := DormandPrince(f, []float64{1, 0}, 0, 20, ODE{}); err != nil {
			b.Fatal(err)
		}
	}
}
