package roughtest

import "math"

// fan is the steady background, rms 1: broadband noise of random colour and tones of blades and motor.
func (p *plan) fan() []float64 {
	x := make([]float64, p.n)
	corner, tilt := 150*math.Pow(20, p.rng.Float64()), p.between(0, 0.9)
	hump := resonance(p.between(200, 2500), p.between(0.7, 3), p.rate)
	humpShare := p.between(0, 1)
	alpha := 1 - math.Exp(-2*math.Pi*corner/float64(p.rate))
	low, slow := 0.0, 0.0
	swing := p.between(0, 0.15)
	for i := range x {
		w := p.rng.NormFloat64()
		low += alpha * (w - low)
		_, band, _ := hump.step(w)
		if i%256 == 0 {
			slow += -slow*256/(2*float64(p.rate)) + math.Sqrt(256/float64(p.rate))*p.rng.NormFloat64()
		}
		x[i] = (low/math.Sqrt(alpha) + (1-tilt)*0.7*w + humpShare*band) * math.Exp(swing*slow)
	}
	scale(x, 1/rms(x))
	blade, share := p.between(70, 380), p.between(0, 0.9)
	phase, wobble := 0.0, p.between(0.05, 0.4)
	var tones [6]float64
	for h := range tones {
		tones[h] = p.rng.ExpFloat64() / float64(h+1)
	}
	for i := range x {
		t := float64(i) / float64(p.rate)
		phase += 2 * math.Pi * blade * (1 + 0.004*math.Sin(2*math.Pi*wobble*t)) / float64(p.rate)
		s := 0.0
		for h, a := range tones {
			s += a * math.Sin(float64(h+1)*phase)
		}
		x[i] += share * s
	}
	if p.chance(0.25) {
		p.compressor(x)
	}
	if p.chance(0.2) {
		p.step(x)
	}
	scale(x, 1/rms(x))
	return x
}

// compressor runs for part of the recording: hum, its harmonics and suction noise.
func (p *plan) compressor(x []float64) {
	p.tag("compressor")
	on := p.between(0, 0.8)
	off := on + p.between(0.15, 0.6)
	hum, level := p.between(24, 60), p.between(0.2, 0.7)
	suction := resonance(p.between(90, 400), 1.5, p.rate)
	gain := 0.0
	for i := range x {
		share, t := float64(i)/float64(len(x)), float64(i)/float64(p.rate)
		to := 0.0
		if share > on && share < off {
			to = level
		}
		gain += (to - gain) / (0.4 * float64(p.rate))
		_, band, _ := suction.step(p.rng.NormFloat64() * 6)
		x[i] += gain * (band + math.Sin(2*math.Pi*hum*t) + 0.5*math.Sin(4*math.Pi*hum*t+1) + 0.3*math.Sin(10*math.Pi*hum*t))
	}
}

// step changes the level for good at some moment: a door, a hand over the phone.
func (p *plan) step(x []float64) {
	db, at := p.between(-4, 4), p.between(0.2, 0.8)
	p.tag("step %.1f dB at %.2f", db, at)
	gain, to := 1.0, math.Pow(10, db/20)
	for i := int(at * float64(len(x))); i < len(x); i++ {
		gain += (to - gain) / (0.15 * float64(p.rate))
		x[i] *= gain
	}
}

// shop is what people and vehicles do; loud is the rms of a pulse.
func (p *plan) shop(loud float64) []float64 {
	x := make([]float64, p.n)
	if p.chance(0.25) {
		p.hammer(x, loud)
	}
	if p.chance(0.25) {
		p.talk(x, loud*math.Pow(10, p.between(-16, -2)/20))
	}
	if p.chance(0.12) {
		p.radio(x, loud*math.Pow(10, p.between(-20, -8)/20))
	}
	if p.chance(0.15) {
		p.beeps(x, loud*math.Pow(10, p.between(-14, 0)/20))
	}
	if p.chance(0.1) {
		p.blowgun(x, loud*math.Pow(10, p.between(-10, 0)/20))
	}
	return x
}

// hammer adds bouts of blows on sheet metal.
func (p *plan) hammer(x []float64, loud float64) {
	p.tag("hammer")
	var modes [4]pole2
	for k := range modes {
		modes[k] = resonance(p.between(200, 4500), p.between(10, 50), p.rate)
	}
	strike := loud * math.Pow(10, p.between(-4, 8)/20)
	for t := p.between(0, 15); t < float64(p.n)/float64(p.rate); t += p.between(5, 25) {
		pace := p.between(0.3, 1)
		for range 3 + p.rng.IntN(10) {
			t += pace * p.between(0.85, 1.15)
			at, blow := int(t*float64(p.rate)), strike*math.Exp(0.3*p.rng.NormFloat64())
			for i := at; i < min(p.n, at+p.rate/4); i++ {
				in := 0.0
				if i < at+int(0.001*float64(p.rate)) {
					in = 3 * blow * p.rng.NormFloat64()
				}
				for k := range modes {
					_, band, _ := modes[k].step(in)
					x[i] += band
				}
			}
		}
	}
}

// talk adds phrases of syllables: a buzz and breath through two moving formants.
func (p *plan) talk(x []float64, level float64) {
	p.tag("talk")
	pitch, phase := p.between(90, 230), 0.0
	for t := p.between(0, 5); t < float64(p.n)/float64(p.rate); t += p.between(0.5, 9) {
		for range 3 + p.rng.IntN(14) {
			length := p.between(0.08, 0.3)
			f1, f2 := resonance(p.between(300, 850), 6, p.rate), resonance(p.between(900, 2500), 8, p.rate)
			breath := 0.1
			if p.chance(0.25) {
				breath = 1
			}
			tone := pitch * p.between(0.85, 1.2)
			at, n := int(t*float64(p.rate)), int(length*float64(p.rate))
			for i := range n {
				if at+i >= p.n {
					return
				}
				phase += tone / float64(p.rate)
				buzz := (math.Mod(phase, 1) - 0.5) * 2 * (1 - breath)
				in := buzz + breath*p.rng.NormFloat64()
				_, a, _ := f1.step(in)
				_, b, _ := f2.step(in)
				x[at+i] += level * 1.5 * (a + 0.7*b) * math.Sin(math.Pi*float64(i)/float64(n))
			}
			t += length + p.between(0, 0.08)
		}
	}
}

// radio adds music from a small loudspeaker far off.
func (p *plan) radio(x []float64, level float64) {
	p.tag("radio")
	beat := p.between(0.4, 0.65)
	speaker := resonance(900, 0.7, p.rate)
	root, chord := p.between(110, 220), [3]float64{1, 1.26, 1.5}
	shift := 1.0
	for i := range x {
		t := float64(i) / float64(p.rate)
		if i%int(4*beat*float64(p.rate)) == 0 {
			shift = math.Pow(2, float64(p.rng.IntN(8))/12)
		}
		into := math.Mod(t, beat)
		s := 1.5 * math.Exp(-into/0.03) * p.rng.NormFloat64()
		for _, c := range chord {
			v := math.Mod(root*shift*c*t, 1) - 0.5
			s += v * math.Exp(-into/0.4)
		}
		_, band, _ := speaker.step(s)
		x[i] += level * 1.5 * band
	}
}

// beeps adds a vehicle that backs up.
func (p *plan) beeps(x []float64, level float64) {
	p.tag("beeps")
	tone, every := p.between(900, 2900), p.between(0.6, 1.2)
	for t := p.between(0, 25); t < float64(p.n)/float64(p.rate); t += p.between(12, 50) {
		for range 4 + p.rng.IntN(12) {
			at := int(t * float64(p.rate))
			for i := at; i < min(p.n, at+int(every/2*float64(p.rate))); i++ {
				x[i] += 1.4 * level * math.Sin(2*math.Pi*tone*float64(i)/float64(p.rate))
			}
			t += every
		}
	}
}

// blowgun adds somebody who blows off a bench with compressed air, now and then.
func (p *plan) blowgun(x []float64, level float64) {
	p.tag("blowgun")
	tip := resonance(p.between(2500, 6000), 0.8, p.rate)
	for t := p.between(2, 30); t < float64(p.n)/float64(p.rate); t += p.between(8, 40) {
		at, n := int(t*float64(p.rate)), int(p.between(0.3, 1.5)*float64(p.rate))
		gain := 0.0
		for i := at; i < min(p.n, at+n+p.rate/10); i++ {
			to := 0.0
			if i < at+n {
				to = level
			}
			gain += (to - gain) / (0.02 * float64(p.rate))
			_, band, _ := tip.step(p.rng.NormFloat64())
			x[i] += gain * 1.5 * band
		}
	}
}

func rms(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(max(1, len(x))))
}

func scale(x []float64, by float64) {
	for i := range x {
		x[i] *= by
	}
}
