package sketchtest

import "math"

// background is the fan: noise with a slope, and hum with its harmonics.
func (p *plan) background() []float64 {
	x := p.white(p.n)
	switch p.IntN(4) {
	case 0: // white
	case 1:
		p.pink(x)
	case 2:
		p.filter(x, lowPass, p.in(300, 1500), 0.5)
	default:
		rough := append([]float64(nil), x...)
		p.filter(rough, peak, p.in(150, 900), 0.8)
		for i := range x {
			x[i] = 0.15*x[i] + 2*rough[i]
		}
	}
	hum := []float64{50, 60, 100, 120, p.in(80, 400)}[p.IntN(5)]
	loud := p.in(0, 0.8) * root(x)
	beat := p.in(0.1, 1)
	for h := 1; h <= 8; h++ {
		g, w, phase := loud/float64(h)*p.in(0.3, 1), 2*math.Pi*hum*float64(h)/p.rate, p.in(0, 6)
		// A resonator at its pole makes the sine without a call for each sample.
		y0, y1 := g*math.Sin(phase), g*math.Sin(phase+w)
		two := 2 * math.Cos(w)
		for i := range x {
			x[i] += y0
			y0, y1 = y1, two*y1-y0
		}
	}
	if p.odds(0.4) {
		p.tag("sways")
		depth := p.in(0.05, 0.25)
		for i := range x {
			x[i] *= 1 + depth*math.Sin(2*math.Pi*beat*float64(i)/p.rate)
		}
	}
	return x
}

// pink makes white noise fall by 3 dB an octave. Source: a well-known set of six leaky sums, from memory.
func (p *plan) pink(x []float64) {
	var b [6]float64
	pole := [6]float64{0.99886, 0.99332, 0.96900, 0.86650, 0.55000, -0.7616}
	gain := [6]float64{0.0555179, 0.0750759, 0.1538520, 0.3104856, 0.5329522, -0.0168980}
	for i, w := range x {
		sum := 0.5362 * w
		for k := range b {
			b[k] = pole[k]*b[k] + gain[k]*w
			sum += b[k]
		}
		x[i] = sum
	}
}

// inBand is the rms of the background where a good pulse has its power.
func (p *plan) inBand(background []float64) float64 {
	pulse := p.shape(p.open, 1)
	best, at := 0.0, 0.0
	bands := []float64{60, 180, 540, 1600, 4800}
	for _, hz := range bands {
		y := append([]float64(nil), pulse...)
		p.filter(y, peak, hz, 0.7)
		if r := root(y); r > best {
			best, at = r, hz
		}
	}
	y := append([]float64(nil), background[:min(len(background), int(10*p.rate))]...)
	p.filter(y, peak, at, 0.7)
	return math.Max(root(y)*root(pulse)/best, 0.1*root(background))
}

// echo adds a few reflections and a tail of decaying noise, sparse so that it costs little.
func (p *plan) echo(x []float64) {
	p.tag("echo")
	long := p.in(0.1, 0.7)
	share := p.in(0.1, 0.5)
	dry := append([]float64(nil), x...)
	for range 40 {
		d := p.Float64() * long
		g := share * p.NormFloat64() * math.Exp(-3*d/long) * 0.5
		off := int((0.005 + d) * p.rate)
		for i := off; i < len(x); i++ {
			x[i] += g * dry[i-off]
		}
	}
}

// speech adds words: a buzz through two resonances, at the level of the background or a little above.
func (p *plan) speech(x []float64) {
	p.tag("talk")
	y := make([]float64, len(x))
	for at := p.in(0, 3); int(at*p.rate) < len(y); {
		words := 1 + p.IntN(6)
		for range words {
			pitch, long := p.in(90, 220), p.in(0.12, 0.35)
			n := int(long * p.rate)
			from, phase := int(at*p.rate), 0.0
			for i := 0; i < n && from+i < len(y); i++ {
				phase += pitch / p.rate
				if phase > 1 {
					phase--
				}
				y[from+i] += (phase - 0.5) * math.Sin(math.Pi*float64(i)/float64(n))
			}
			at += long + p.in(0.02, 0.1)
		}
		at += p.in(0.4, 3)
	}
	z := append([]float64(nil), y...)
	p.filter(y, peak, p.in(350, 800), 3)
	p.filter(z, peak, p.in(1000, 2400), 4)
	for i := range y {
		y[i] += 0.5 * z[i]
	}
	scale := root(x) / root(y) * p.in(0.3, 1.5)
	for i := range x {
		x[i] += scale * y[i]
	}
}

// knocks adds hammering: single blows and a series or two.
func (p *plan) knocks(x []float64) {
	p.tag("hammer")
	for range 1 + p.IntN(3) {
		at := p.in(0, float64(p.n)/p.rate)
		gap := p.in(0.4, 1.1)
		for range 1 + p.IntN(7) {
			p.knock(x, at, p.full*p.in(0.4, 2))
			at += gap * p.in(0.9, 1.1)
		}
	}
}

func (p *plan) knock(x []float64, at, level float64) {
	ring, long := p.in(300, 3000), p.in(0.01, 0.04)
	from := int(at * p.rate)
	for i := 0; i < int(5*long*p.rate) && from+i < len(x); i++ {
		t := float64(i) / p.rate
		x[from+i] += level * math.Exp(-t/long) * (math.Sin(2*math.Pi*ring*t) + 0.3*p.NormFloat64())
	}
}

// recorder turns the gain by itself, clips and scales.
func (p *plan) recorder(x []float64) {
	if p.odds(0.25) {
		p.tag("agc")
		p.levels(x)
	}
	top := 1e-9
	for _, v := range x {
		top = math.Max(top, math.Abs(v))
	}
	gain := p.in(0.05, 0.95) / top
	if p.odds(0.2) {
		p.tag("clipped")
		gain = p.in(1.3, 3) / top
	}
	p.c.Samples = make([]float32, len(x))
	for i, v := range x {
		p.c.Samples[i] = float32(math.Round(math.Max(-1, math.Min(1, gain*v))*32767) / 32768)
	}
}

// levels is an automatic gain that works on the rms of blocks, fast down and slow up.
func (p *plan) levels(x []float64) {
	block := int(0.02 * p.rate)
	slow := p.in(0.005, 0.05)
	effect := p.in(0.2, 0.7)
	mean := root(x[:min(len(x), 25*block)])
	gain := math.Pow(mean, -effect)
	for from := 0; from < len(x); from += block {
		part := x[from:min(from+block, len(x))]
		now := root(part)
		if now > mean {
			mean += 0.5 * (now - mean)
		} else {
			mean += slow * (now - mean)
		}
		next := math.Pow(mean, -effect)
		for i := range part {
			part[i] *= gain + (next-gain)*float64(i)/float64(block)
		}
		gain = next
	}
}
