package roughtest

import "math"

// pole2 is a resonance or, with its low and high outputs, a filter of second order (state variable form).
type pole2 struct{ g, k, a, b float64 }

func resonance(hertz, q float64, rate int) pole2 {
	return pole2{g: math.Tan(math.Pi * min(hertz, 0.45*float64(rate)) / float64(rate)), k: 1 / q}
}

// step takes a sample and gives low, band and high.
func (f *pole2) step(x float64) (low, band, high float64) {
	high = (x - (f.g+f.k)*f.a - f.b) / (1 + f.g*(f.g+f.k))
	band = f.a + f.g*high
	low = f.b + f.g*band
	f.a, f.b = band+f.g*high, low+f.g*band
	return low, band, high
}

// machine is what all valves of a collector share in sound.
type machine struct {
	rise, open, shut float64 // of the diaphragm [s]
	decay            float64 // of the tank's pressure while open [s]
	peak, width      float64 // of the jet's noise [Hz], quality
	ring, ringQ      float64 // of the blowpipe [Hz]
	ringShare        float64
	thump, thumpFor  float64 // of the cartridge's shell [Hz], [s]
	thumpShare       float64
	click, clickAt   float64 // share; before the diaphragm lifts [s]
	puff             float64 // of air coming back out, share
	cake             float64 // grains, share
	drop             float64 // of the tank's pressure by a pulse, share
	refill           float64 // [s]
	bright           float64 // share of the air that is heard as plain hiss
}

func (p *plan) machine() machine {
	return machine{
		rise: p.between(0.004, 0.02), open: p.between(0.08, 0.2), shut: p.between(0.008, 0.04), decay: p.between(0.1, 0.5),
		peak: 500 * math.Pow(8, p.rng.Float64()), width: p.between(0.4, 1), ring: p.between(180, 700), ringQ: p.between(3, 12),
		ringShare: p.between(0, 1), thump: p.between(45, 160), thumpFor: p.between(0.03, 0.1), thumpShare: p.between(0, 2.5),
		click: p.between(0, 0.5), clickAt: p.between(0.01, 0.05), puff: p.between(0, 0.5), cake: p.between(0, 0.25),
		drop: p.between(0.1, 0.35), refill: p.between(0.6, 2.5), bright: p.between(0.1, 0.7),
	}
}

// jet is the noise of air leaving through one valve, without envelope.
type jet struct {
	body, pipe pole2
	m          machine
	last       float64
}

func (p *plan) jet(m machine, detune float64) *jet {
	return &jet{body: resonance(m.peak*detune, m.width, p.rate), pipe: resonance(m.ring*detune, m.ringQ, p.rate), m: m}
}

func (j *jet) step(white float64) float64 {
	low, band, _ := j.body.step(white)
	_, ring, _ := j.pipe.step(white)
	bright := white - j.last
	j.last = white
	return band + 0.4*low + j.m.ringShare*3*ring + 0.3*j.m.bright*bright
}

// firing is how one turn of one valve goes.
type firing struct {
	gain, open, delay, rise float64
	click, burst            bool
}

// pulse is the sound of a firing from its turn on, about 1 of rms while it lasts before gain.
func (p *plan) pulse(m machine, f firing, detune float64) []float64 {
	rate := float64(p.rate)
	out := make([]float64, int((0.1+m.clickAt+f.delay+f.open+1.2)*rate))
	if f.click {
		p.clicks(out, m, 0)
	}
	if !f.burst {
		return out
	}
	j := p.jet(m, detune)
	begin := int((m.clickAt + f.delay) * rate)
	lifted := 0.0
	tau := p.between(0.05, 0.15)
	for i := begin; i < len(out); i++ {
		t := float64(i-begin) / rate
		if t < f.open {
			lifted += (1 - lifted) / (f.rise * rate)
		} else {
			lifted -= lifted / (m.shut * rate)
		}
		air := lifted * math.Exp(-min(t, f.open)/m.decay)
		back := 0.0
		if t > f.open {
			back = m.puff * math.Exp(-(t-f.open)/tau) * (1 - math.Exp(-(t-f.open)/0.01))
		}
		body := j.step(p.rng.NormFloat64())
		out[i] += f.gain * (air*body + 0.5*back*j.body.b)
		out[i] += f.gain * m.thumpShare * math.Exp(-t/m.thumpFor) * (1 - math.Exp(-t/f.rise)) * math.Sin(2*math.Pi*m.thump*t)
	}
	p.grains(out[begin:], m, f)
	return out
}

// clicks adds the armature of the pilot and its little exhaust.
func (p *plan) clicks(out []float64, m machine, at int) {
	ring := resonance(p.between(1800, 4000), 8, p.rate)
	for i := at; i < min(len(out), at+int(0.04*float64(p.rate))); i++ {
		x := 0.05 * p.rng.NormFloat64()
		if i < at+3 {
			x += 20
		}
		_, band, _ := ring.step(x)
		out[i] += m.click * band
	}
}

// grains adds cake that falls into the hopper.
func (p *plan) grains(out []float64, m machine, f firing) {
	for range int(60 * m.cake) {
		at := int((f.open + p.rng.ExpFloat64()*0.25) * float64(p.rate))
		ring := resonance(p.between(800, 3500), 4, p.rate)
		size := 6 * m.cake * f.gain * p.rng.ExpFloat64()
		for i := at; i < min(len(out), at+p.rate/100); i++ {
			x := 0.0
			if i == at {
				x = size
			}
			_, band, _ := ring.step(x)
			out[i] += band
		}
	}
}

// room adds echo: a few early reflections at random and a tail of damped combs of random length.
func (p *plan) room(x []float64) {
	if p.chance(0.25) {
		p.tag("dry")
		return
	}
	last := 0.12 * math.Pow(10, p.rng.Float64())
	wet := p.between(0.1, 0.7)
	p.tag("echo %.2f s %.1f", last, wet)
	tail := make([]float64, len(x))
	for range 5 {
		line := make([]float64, int(p.between(0.017, 0.071)*float64(p.rate)))
		back := math.Pow(10, -3*float64(len(line))/float64(p.rate)/last)
		damped, k := 0.0, 0
		for i, v := range x {
			damped += 0.6 * (line[k] - damped)
			line[k] = v + back*damped
			tail[i] += damped * (1 - back)
			k = (k + 1) % len(line)
		}
	}
	type tap struct {
		at   int
		gain float64
	}
	var taps []tap
	for range 8 {
		at := p.between(0.003, 0.06)
		taps = append(taps, tap{int(at * float64(p.rate)), p.between(-0.5, 0.5) * math.Exp(-at/0.04)})
	}
	for i := len(x) - 1; i >= 0; i-- {
		sum := wet * 1.5 * tail[i]
		for _, t := range taps {
			if i >= t.at {
				sum += wet * t.gain * x[i-t.at]
			}
		}
		x[i] += sum
	}
}
