package sketchtest

import "math"

// shape gives one pulse of a length [s], with what share of its treble.
type shape func(length, treble float64) []float64

// draw draws a sound by its name.
func (p *plan) draw(name string) shape {
	switch name {
	case "bang":
		return p.bang()
	case "burst":
		return p.burst()
	case "thump":
		return p.thump()
	case "whistle":
		return p.whistle()
	default:
		return p.cough()
	}
}

// dim takes treble away above 1 kHz.
func (p *plan) dim(x []float64, treble float64) {
	if treble >= 1 {
		return
	}
	low := append([]float64(nil), x...)
	p.filter(low, lowPass, 1000, 0.7)
	for i := range x {
		x[i] = treble*x[i] + (1-treble)*low[i]
	}
}

// bang is a click, then noise that decays exponentially.
func (p *plan) bang() shape {
	lo, hi := p.in(60, 300), p.in(3000, 7500)
	return func(length, treble float64) []float64 {
		x := p.white(int(3 * length * p.rate))
		p.band(x, lo, hi)
		for i := range x {
			t := float64(i) / p.rate
			x[i] *= math.Exp(-2.5 * t / length)
			if t < 0.004 {
				x[i] += 1.5 * (1 - t/0.004)
			}
		}
		p.dim(x, treble)
		return x
	}
}

// burst is noise in a band, on and off with raised-cosine edges.
func (p *plan) burst() shape {
	lo, hi := p.in(200, 2000), p.in(3500, 7500)
	edge := p.in(0.005, 0.02)
	return func(length, treble float64) []float64 {
		x := p.white(int(length * p.rate))
		p.band(x, lo, hi)
		for i := range x {
			t := math.Min(float64(i), float64(len(x)-i)) / p.rate
			if t < edge {
				x[i] *= 0.5 - 0.5*math.Cos(math.Pi*t/edge)
			}
		}
		p.dim(x, treble)
		return x
	}
}

// thump is a low sine that falls in pitch, with a little noise.
func (p *plan) thump() shape {
	top, end := p.in(90, 200), p.in(40, 80)
	grit := p.in(0.1, 0.5)
	return func(length, treble float64) []float64 {
		x := p.white(int(2.5 * length * p.rate))
		p.band(x, 100, p.in(600, 1500))
		phase := 0.0
		for i := range x {
			t := float64(i) / p.rate
			phase += 2 * math.Pi * (end + (top-end)*math.Exp(-t/0.06)) / p.rate
			x[i] = math.Exp(-2*t/length) * (math.Sin(phase) + grit*treble*x[i])
		}
		return x
	}
}

// whistle is a sweep with an overtone and some breath.
func (p *plan) whistle() shape {
	from, to := p.in(1200, 4000), p.in(600, 3000)
	breath := p.in(0.1, 0.6)
	return func(length, treble float64) []float64 {
		x := p.white(int(1.3 * length * p.rate))
		p.band(x, 500, 6000)
		phase := 0.0
		for i := range x {
			t := float64(i) / p.rate
			phase += 2 * math.Pi * (from + (to-from)*math.Min(1, t/length)) / p.rate
			e := math.Min(1, t/0.01)
			if t > length {
				e *= 1 - (t-length)/(0.3*length)
			}
			x[i] = e * (math.Sin(phase) + 0.4*treble*math.Sin(2*phase) + breath*treble*x[i])
		}
		return x
	}
}

// cough is two overlapping bursts, the second lower and longer.
func (p *plan) cough() shape {
	gap := p.in(0.02, 0.06)
	hi, lo := p.in(2500, 6000), p.in(500, 1500)
	return func(length, treble float64) []float64 {
		x, y := p.white(int(2.5*length*p.rate)), p.white(int(2.5*length*p.rate))
		p.band(x, 500, hi)
		p.band(y, 80, lo)
		for i := range x {
			t := float64(i) / p.rate
			v := treble * math.Exp(-6*t/length) * x[i]
			if t > gap {
				v += (1 - math.Exp(-(t-gap)/0.01)) * math.Exp(-2.5*(t-gap)/length) * y[i]
			}
			x[i] = v
		}
		return x
	}
}

// white is white noise of rms 1.
func (p *plan) white(n int) []float64 {
	x := make([]float64, max(0, n))
	for i := range x {
		x[i] = p.NormFloat64()
	}
	return x
}

// Kinds of second order filter.
const (
	lowPass = iota
	highPass
	peak
)

// filter runs a second order filter in place. Source: the bilinear transform of the analogue prototypes, from memory.
func (p *plan) filter(x []float64, kind int, hz, q float64) {
	w := 2 * math.Pi * math.Min(hz, 0.45*p.rate) / p.rate
	c, a := math.Cos(w), math.Sin(w)/(2*q)
	var b0, b1, b2 float64
	switch kind {
	case lowPass:
		b0, b1, b2 = (1-c)/2, 1-c, (1-c)/2
	case highPass:
		b0, b1, b2 = (1+c)/2, -1-c, (1+c)/2
	default:
		b0, b1, b2 = a, 0, -a
	}
	k := 1 / (1 + a)
	var x1, x2, y1, y2 float64
	for i, v := range x {
		y := k * (b0*v + b1*x1 + b2*x2 + 2*c*y1 - (1-a)*y2)
		x2, x1, y2, y1 = x1, v, y1, y
		x[i] = y
	}
}

// band leaves what lies between two frequencies, at rms 1 for white noise.
func (p *plan) band(x []float64, lo, hi float64) {
	p.filter(x, highPass, lo, 0.7)
	p.filter(x, lowPass, hi, 0.7)
	width := math.Min(hi, 0.45*p.rate) - lo
	scale := math.Sqrt(0.5 * p.rate / width)
	for i := range x {
		x[i] *= scale
	}
}

// root is the root mean square.
func root(x []float64) float64 {
	sum := 1e-30
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(max(1, len(x))))
}
