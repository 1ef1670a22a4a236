package roughtest

import "math"

// Make makes the recording of a seed. snr is the mean power of the good pulses while they are open, on average of their
// decibels, over that of the steady background, as it reaches the phone [dB]. What people and vehicles do comes on top.
func Make(seed uint64, snr float64) Clip {
	p := draw(seed)
	m := p.machine()
	p.tag("snr %g fs %d N %d every %.2f s", snr, p.rate, p.valves, p.interval)
	noise := p.fan()
	air := make([]float64, p.n)
	counts := p.fire(air, m)
	p.hiss(air, m)
	p.room(air)
	loud := math.Pow(10, snr/20)
	x := p.shop(loud)
	for i := range x {
		x[i] += noise[i] + loud*air[i]
	}
	p.phone(x, loud)
	c := Clip{Seed: seed, Rate: p.rate, Valves: p.valves, Interval: p.nominal, Truth: p.state, Counts: counts,
		Due: p.due, Offset: p.offset, Tags: p.tags, Samples: make([]float32, len(x))}
	for i, v := range x {
		c.Samples[i] = float32(math.Round(max(-1, min(1, v))*32767) / 32768)
	}
	return c
}

// usual is the rms of the machine's good pulse while open.
func (p *plan) usual(m machine) float64 {
	x := p.pulse(m, firing{gain: 1, open: m.open, rise: m.rise, burst: true}, 1)
	from := int(m.clickAt * float64(p.rate))
	return rms(x[from : from+int(m.open*float64(p.rate))])
}

// fire adds every turn's sound to air, a good pulse of a valve at offset 0 being of rms 1, and counts the openings.
func (p *plan) fire(air []float64, m machine) []int {
	unit := 1 / p.usual(m)
	counts := make([]int, p.valves)
	detune := make([]float64, p.valves)
	for i := range detune {
		detune[i] = math.Exp(0.04 * p.rng.NormFloat64())
		p.from[i] = i
		if len(p.due) > i+p.valves && p.chance(0.2) && p.form[i] == "stays" {
			p.from[i] += p.valves
		}
	}
	for k, t := range p.due {
		i := k % p.valves
		f := p.firing(k, m)
		times := []float64{t}
		if p.double[i] && f.burst && p.chance(0.8) {
			times = append(times, t+m.open+p.between(0.35, 0.9))
			p.tag("double %d at %.1f", i+1, t)
		}
		for n, at := range times {
			g := f
			g.gain *= math.Pow(10, (p.offset[i]+0.4*p.rng.NormFloat64()-1.5*float64(n))/20)
			sound := p.pulse(m, g, detune[i])
			begin := int(at * float64(p.rate))
			for s, v := range sound {
				if begin+s < len(air) {
					air[begin+s] += unit * v
				}
			}
			if f.burst {
				counts[i]++
			}
		}
	}
	return counts
}

// firing says how turn k goes.
func (p *plan) firing(k int, m machine) firing {
	i := k % p.valves
	a := p.amount[i]
	f := firing{gain: 1, open: m.open, rise: m.rise, click: true, burst: true}
	switch p.form[i] {
	case "low":
		f.gain = math.Pow(10, -(6+7*a)/20)
	case "short":
		f.open *= 0.25 + 0.2*a
	case "late":
		f.delay, f.rise, f.gain, f.open = 0.06+0.12*a, m.rise*3, math.Pow(10, -(5+4*a)/20), m.open*0.8
	case "silent":
		f.click, f.burst = false, false
	case "click":
		f.burst = false
	case "stays mute", "always":
		f.burst = p.form[i] == "stays mute" && k <= p.from[i]
	case "stays":
		if k > p.from[i] {
			f.gain = 0.7
		}
	}
	return f
}

// hiss adds what valves let through that do not shut.
func (p *plan) hiss(air []float64, m machine) {
	tank := p.tank(m)
	for i, form := range p.form {
		if p.state[i] != Stuck {
			continue
		}
		level := math.Pow(10, (p.offset[i]-4-9*p.amount[i])/20)
		j, unit := p.jet(m, math.Exp(0.05*p.rng.NormFloat64())), 0.0
		gain, last := 0.0, p.between(0.2, 0.6)*p.interval
		k := -1
		started := form == "always"
		sound := make([]float64, len(air))
		for s := range air {
			t := float64(s) / float64(p.rate)
			if k+1 < len(p.due) && t >= p.due[k+1]+m.clickAt+m.open {
				if k++; k%p.valves == i && k >= p.from[i] {
					started = true
					if form == "slow" {
						gain = level
					}
				}
			}
			switch {
			case form == "slow":
				gain -= gain / (last * float64(p.rate))
			case started:
				gain += (level - gain) / (0.02 * float64(p.rate))
			}
			v := j.step(p.rng.NormFloat64())
			unit += v * v
			sound[s] = gain * tank[s/64] * v
		}
		unit = math.Sqrt(float64(len(air)) / unit)
		for s, v := range sound {
			air[s] += unit * v
		}
	}
}

// tank is the pressure the valves are fed with, 1 when full, every 64 samples: every pulse that opens takes some of it.
func (p *plan) tank(m machine) []float64 {
	out := make([]float64, p.n/64+1)
	level, k := 1.0, 0
	for i := range out {
		t := float64(i) * 64 / float64(p.rate)
		if k < len(p.due) && t > p.due[k]+m.clickAt {
			if p.firing(k, m).burst {
				level *= 1 - m.drop
			}
			k++
		}
		level += (1 - level) * 64 / (m.refill * float64(p.rate))
		out[i] = level
	}
	return out
}

// phone does to a recording what a phone does.
func (p *plan) phone(x []float64, loud float64) {
	if p.chance(0.6) {
		cut := resonance(p.between(60, 220), 0.7, p.rate)
		for i, v := range x {
			_, _, x[i] = cut.step(v)
		}
	}
	if p.chance(0.25) {
		p.gain(x)
	}
	if loud > 2 && p.chance(0.1) {
		p.gate(x, loud)
	}
	if p.chance(0.25) {
		dull := resonance(p.between(3500, 9000), 0.7, p.rate)
		p.tag("dull")
		for pass := 0; pass < 2; pass++ {
			for i, v := range x {
				x[i], _, _ = dull.step(v)
			}
		}
	}
	peak := 0.0
	for _, v := range x {
		peak = max(peak, math.Abs(v))
	}
	ceiling := p.between(0.1, 0.95)
	if p.chance(0.2) {
		ceiling = p.between(1.3, 4)
		p.tag("clipped %.1f", ceiling)
	}
	scale(x, ceiling/peak)
	if p.chance(0.12) {
		p.tag("drops")
		for t := p.between(0, 10); t < float64(p.n)/float64(p.rate); t += 2 + p.rng.ExpFloat64()*12 {
			at := int(t * float64(p.rate))
			clear(x[at:min(p.n, at+int(p.between(0.02, 0.15)*float64(p.rate)))])
		}
	}
}

// gain is an automatic gain: quick down, slow up.
func (p *plan) gain(x []float64) {
	down, up, depth := p.between(0.01, 0.06), p.between(0.4, 3), p.between(4, 12)
	p.tag("agc %.1f s %.0f dB", up, depth)
	level := rms(x)
	heard, floor := level, math.Pow(10, -depth/20)
	for i, v := range x {
		if a := math.Abs(v) * 1.25; a > heard {
			heard += (a - heard) / (down * float64(p.rate))
		} else {
			heard += (a - heard) / (up * float64(p.rate))
		}
		x[i] = v * max(floor, min(1, level/heard))
	}
}

// gate turns down what is quiet.
func (p *plan) gate(x []float64, loud float64) {
	p.tag("gate")
	closed := math.Pow(10, -p.between(5, 14)/20)
	threshold, hold := 1+0.25*(loud-1), p.between(0.15, 0.5)
	heard, gain, left := 0.0, closed, 0.0
	for i, v := range x {
		heard += (math.Abs(v) - heard) / (0.005 * float64(p.rate))
		if heard > threshold {
			left = hold
		}
		left -= 1 / float64(p.rate)
		to := closed
		if left > 0 {
			to = 1
		}
		gain += (to - gain) / (0.01 * float64(p.rate))
		x[i] = v * gain
	}
}
