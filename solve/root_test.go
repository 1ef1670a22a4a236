package solve

import (
	"errors"
	"math"
	"testing"
)

func TestRoot(t *testing.T) {
	cases := []struct {
		name   string
		f      func(float64) float64
		lo, hi float64
		want   float64
	}{
		{"square root of two", func(x float64) float64 { return x*x - 2 }, 0, 2, math.Sqrt2},
		{"ends the other way round", func(x float64) float64 { return x*x - 2 }, 2, 0, math.Sqrt2},
		{"cosine equals x", func(x float64) float64 { return math.Cos(x) - x }, 0, 1, 0.7390851332151607}, // Dottie number
		{"root at an end", func(x float64) float64 { return x }, 0, 3, 0},
		{"flat then steep", func(x float64) float64 { return math.Pow(x, 9) - 1e-9 }, -1, 4, 0.1},
		{"a step", func(x float64) float64 { return math.Copysign(1, x-0.3) }, 0, 1, 0.3},
		{"infinite at one end", func(x float64) float64 { return math.Log(x) }, 0, 5, 1},
		{"huge scale", func(x float64) float64 { return x - 1e200 }, 0, 1e300, 1e200},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := Root(c.f, c.lo, c.hi, 1e-12)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(got-c.want) > 1e-11*(1+math.Abs(c.want)) {
				t.Errorf("root %.15g, want %.15g", got, c.want)
			}
		})
	}
}

func TestRootRefuses(t *testing.T) {
	up := func(x float64) float64 { return x + 10 }
	_, err := Root(up, 0, 1, 1e-9)
	var nb *NoBracket
	if !errors.Is(err, ErrNoBracket) || !errors.As(err, &nb) || nb.FLo != 10 || nb.FHi != 11 {
		t.Errorf("no sign change: %v", err)
	}
	for _, ends := range [][2]float64{{math.NaN(), 1}, {0, math.Inf(1)}} {
		if _, err := Root(up, ends[0], ends[1], 1e-9); !errors.Is(err, ErrNotFinite) {
			t.Errorf("ends %v: %v", ends, err)
		}
	}
	hole := func(x float64) float64 {
		if x > -1 && x < 1 {
			return math.NaN()
		}
		return x
	}
	if _, err := Root(hole, -2, 2, 1e-9); !errors.Is(err, ErrNotFinite) {
		t.Errorf("NaN inside: %v", err)
	}
}

func TestRootDoesNotAllocate(t *testing.T) {
	k := 2.0
	if n := testing.AllocsPerRun(100, func() {
		if _, err := Root(func(x float64) float64 { return x*x - k }, 0, 2, 1e-12); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%g allocations a call, want none", n)
	}
}

func BenchmarkRoot(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Root(func(x float64) float64 { return x*x*x - 7 }, 0, 7, 1e-9); err != nil {
			b.Fatal(err)
		}
	}
}
