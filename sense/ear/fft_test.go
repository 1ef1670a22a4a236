package ear

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
)

func TestTransformAgreesWithAnotherLibrary(t *testing.T) {
	for _, n := range []int{256, 512, 1024, 2048} {
		r := rand.New(rand.NewPCG(uint64(n), 1))
		frame, window, seq := make([]float32, n), hann(n), make([]float64, n)
		for i := range frame {
			frame[i] = float32(r.NormFloat64())
			seq[i] = float64(frame[i]) * window[i]
		}
		want := fourier.NewFFT(n).Coefficients(nil, seq)
		got := make([]float64, n/2+1)
		newTransform(n).power(got, frame, window)
		for k, c := range want {
			if p := real(c)*real(c) + imag(c)*imag(c); math.Abs(got[k]-p) > 1e-9*(1+p) {
				t.Fatalf("%d points, bin %d: power %g, want %g", n, k, got[k], p)
			}
		}
	}
}

func BenchmarkTransform1024(b *testing.B) {
	frame, window, p := make([]float32, 1024), hann(1024), make([]float64, 300)
	for i := range frame {
		frame[i] = float32(math.Sin(float64(i * i)))
	}
	t := newTransform(1024)
	for b.Loop() {
		t.power(p, frame, window)
	}
}
