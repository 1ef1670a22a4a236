package eartest

import "math"

// noise fills x with white noise of rms 1 (uniform numbers).
func (m *maker) noise(x []float64) {
	k := math.Sqrt(12)
	for i := range x {
		x[i] = k * (m.r.Float64() - 0.5)
	}
}

// coloured fills x with noise of rms near 1 that falls by 3 dB an octave for every unit of colour.
func (m *maker) coloured(x []float64, colour float64) {
	m.noise(x)
	white := append([]float64(nil), x...)
	for i := range x {
		x[i] *= math.Max(0, 1-colour)
	}
	// A few first order low-passes side by side make any slope between white and brown.
	for _, hz := range []float64{60, 300, 1500, 6000} {
		y, a := 0.0, 1-math.Exp(-2*math.Pi*hz/m.rate)
		g := math.Min(1, colour) * math.Pow(3000/hz, colour/2)
		for i, v := range white {
			y += a * (v - y)
			x[i] += g * y
		}
	}
	scale := 1 / rms(x)
	for i := range x {
		x[i] *= scale
	}
}

// disturb adds the fan, hammering and talk.
func (m *maker) disturb(out []float64) {
	s, r := m.s, m.r
	noise := make([]float64, m.n)
	m.coloured(noise, s.Colour)
	m.tones(noise)
	scale := m.loud * db(-s.SNR) / rms(noise)
	grow := (db(s.Swell) - 1) / float64(m.n)
	for i := range noise {
		noise[i] *= scale * (1 + grow*float64(i))
	}
	seconds := float64(m.n) / m.rate
	if s.Hammer > 0 {
		for t := r.ExpFloat64() / s.Hammer; t < seconds; t += r.ExpFloat64() / s.Hammer {
			m.blow(noise, t, m.loud*(0.3+1.5*r.Float64()))
		}
	}
	if !math.IsInf(s.Talk, -1) {
		m.talk(noise, scale*db(s.Talk))
	}
	for i := range out {
		out[i] += noise[i]
	}
}

// tones adds the passing of the fan's blades, slowly wandering.
func (m *maker) tones(x []float64) {
	blade := 120 + 300*m.r.Float64()
	for h := 1; h <= m.s.Tones; h++ {
		g := 0.5 * m.r.Float64() / float64(h)
		w := 2 * math.Pi * blade * float64(h) / m.rate
		c, s, re, im := math.Cos(w), math.Sin(w), 1.0, 0.0
		for i := range x {
			re, im = re*c-im*s, re*s+im*c
			x[i] += g * re
		}
	}
}

// blow adds one hammer blow: a click that rings.
func (m *maker) blow(out []float64, at, level float64) {
	f := 600 + 3000*m.r.Float64()
	die := 0.006 + 0.02*m.r.Float64()
	for i := 0; i < int(6*die*m.rate); i++ {
		k := int(at*m.rate) + i
		if k >= len(out) {
			return
		}
		t := float64(i) / m.rate
		out[k] += 1.5 * level * math.Exp(-t/die) * (math.Sin(2*math.Pi*f*t) + m.r.Float64() - 0.5)
	}
}

// talk adds a voice: a wave table of harmonics at a wandering pitch, in syllables and phrases, with
// noise for the consonants.
func (m *maker) talk(out []float64, level float64) {
	const size = 1024
	var table [size]float64
	formant := 4 + 4*m.r.Float64()
	for i := range table {
		for h := 1.0; h <= 16; h++ {
			table[i] += math.Exp(-math.Pow((h-formant)/4, 2)) * math.Sin(2*math.Pi*h*float64(i)/size+h*h)
		}
	}
	t := 2 * m.r.Float64()
	for int(t*m.rate) < len(out) {
		phrase := t + 0.8 + 2*m.r.Float64()
		pitch := 100 + 100*m.r.Float64()
		for t < phrase {
			length, phase := 0.1+0.15*m.r.Float64(), 0.0
			hiss := m.r.Float64() < 0.2
			pitch *= 0.94 + 0.12*m.r.Float64()
			first, n := int(t*m.rate), int(length*m.rate)
			for i := 0; i < n && first+i < len(out); i++ {
				e := math.Sin(math.Pi * float64(i) / float64(n))
				phase += pitch / m.rate * size
				v := table[int(phase)%size]
				if hiss {
					v = 1.5 * (m.r.Float64() - 0.5)
				}
				out[first+i] += 0.7 * level * e * v
			}
			t += length + 0.03
		}
		t += 0.3 + 1.5*m.r.Float64()
	}
}
