package solve

import (
	"errors"
	"math"
	"testing"
)

func TestNewMonotoneRefuses(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name string
		x, y []float64
		want error
	}{
		{"one point", []float64{1}, []float64{1}, ErrTooFew},
		{"lengths differ", []float64{1, 2}, []float64{1}, ErrTooFew},
		{"equal abscissae", []float64{1, 1}, []float64{1, 2}, ErrNotRising},
		{"falling abscissae", []float64{1, 3, 2}, []float64{1, 2, 3}, ErrNotRising},
		{"NaN", []float64{1, nan}, []float64{1, 2}, ErrNotFinite},
		{"infinite", []float64{1, 2}, []float64{1, math.Inf(1)}, ErrNotFinite},
	} {
		if _, err := NewMonotone(c.x, c.y); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}

func TestMonotoneDoesNotAllocate(t *testing.T) {
	x := []float64{0, 1, 2, 4}
	m, err := NewMonotone(x, []float64{9, 8, 4, 0})
	if err != nil {
		t.Fatal(err)
	}
	x[1] = 100 // the curve keeps its own points
	sum := 0.0
	if n := testing.AllocsPerRun(100, func() { sum += m.At(1.5) + m.Slope(0.5) }); n != 0 {
		t.Errorf("%g allocations a call, want none", n)
	}
	if math.IsNaN(sum) {
		t.Error("the curve changed with the slice it was made from")
	}
}

func BenchmarkMonotoneAt(b *testing.B) {
	m, err := NewMonotone([]float64{0, 1, 2, 3, 4, 5, 6, 7}, []float64{9, 8, 7, 6, 4, 3, 1, 0})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		m.At(3.3)
	}
}
