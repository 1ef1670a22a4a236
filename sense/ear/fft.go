package ear

import "math"

// transform is the spectrum of real frames of n samples, a power of two: half as many complex numbers
// through Stockham's sorting transform of radix 4, then the halves taken apart. Source: C. Van Loan,
// Computational Frameworks for the Fast Fourier Transform (1992), 1.7 and 4.3, from memory; tested against another library.
type transform struct {
	n    int
	turn []complex128 // exp(-2πik/n)
	a, b []complex128 // room to work in
}

func newTransform(n int) *transform {
	t := &transform{n: n, turn: make([]complex128, n), a: make([]complex128, n/2), b: make([]complex128, n/2)}
	for k := range t.turn {
		s, c := math.Sincos(-2 * math.Pi * float64(k) / float64(n))
		t.turn[k] = complex(c, s)
	}
	return t
}

// power sets p to the power of the first bins of a frame under a window.
func (t *transform) power(p []float64, frame []float32, window []float64) {
	for i := range t.a {
		t.a[i] = complex(float64(frame[2*i])*window[2*i], float64(frame[2*i+1])*window[2*i+1])
	}
	z := t.complex()
	half := len(z)
	for k := range p {
		u, v := z[k%half], z[(half-k)%half]
		v = complex(real(v), -imag(v))
		w := t.turn[k]
		d := u - v
		d = complex(imag(d), -real(d)) // times -i
		x := u + v + complex(real(w)*real(d)-imag(w)*imag(d), real(w)*imag(d)+imag(w)*real(d))
		p[k] = 0.25 * (real(x)*real(x) + imag(x)*imag(x))
	}
}

// complex transforms a, which it uses up, and returns the result.
func (t *transform) complex() []complex128 {
	x, y := t.a, t.b
	n, stride := len(x), 1
	for ; n >= 4; n, stride = n/4, stride*4 {
		quarter, step := n/4, t.n/n
		for p := range quarter {
			w1, w2, w3 := t.turn[p*step], t.turn[2*p*step], t.turn[3*p*step]
			at := stride * p
			a, b := x[at:at+stride], x[at+stride*quarter:][:stride]
			c, d := x[at+2*stride*quarter:][:stride], x[at+3*stride*quarter:][:stride]
			to := y[4*at:][:4*stride]
			for q := range a {
				apc, amc, bpd, bmd := a[q]+c[q], a[q]-c[q], b[q]+d[q], b[q]-d[q]
				bmd = complex(-imag(bmd), real(bmd)) // times i
				to[q] = apc + bpd
				to[q+stride] = times(w1, amc-bmd)
				to[q+2*stride] = times(w2, apc-bpd)
				to[q+3*stride] = times(w3, amc+bmd)
			}
		}
		x, y = y, x
	}
	if n == 2 {
		for q := range stride {
			a, b := x[q], x[q+stride]
			y[q], y[q+stride] = a+b, a-b
		}
		x = y
	}
	return x
}

// times is a product without the care for infinities that the built-in one takes.
func times(a, b complex128) complex128 {
	return complex(real(a)*real(b)-imag(a)*imag(b), real(a)*imag(b)+imag(a)*real(b))
}
