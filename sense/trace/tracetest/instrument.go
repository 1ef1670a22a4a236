package tracetest

import (
	"math"
	"sort"
)

// measure puts the clean pressure through a transmitter and a recorder.
func (p *plan) measure(c *Case, clean []float64, step float64) {
	rng := p.rng
	rate := []float64{20, 20, 25, 40, 50, 50, 100, 100, 200, 500, 1000}[rng.IntN(11)]
	for p.end*rate > 400000 {
		rate /= 2
	}
	lag := between(rng, 0.001, 0.03)
	if rng.Float64() < 0.12 {
		lag = between(rng, 0.05, 0.2)
		p.tag("sensor-lag")
	}
	sensed := make([]float64, len(clean))
	y := clean[0]
	for i, v := range clean {
		y += (v - y) * math.Min(1, step/lag)
		sensed[i] = y
	}
	sigma := p.rms(clean, step) / math.Pow(10, c.SNR/20)
	if rng.Float64() < 0.3 {
		p.start = between(rng, 0, 5000)
	}
	p.record(c, sensed, rate, step, sigma)
	p.spoil(c, rate)
	p.mark(c)
}

// record takes readings of the sensed pressure with noise, jitter and steps.
func (p *plan) record(c *Case, sensed []float64, rate, step, sigma float64) {
	rng := p.rng
	jitter := rng.Float64() < 0.2
	quant := 0.0
	if rng.Float64() < 0.3 {
		quant = between(rng, 0.02, 0.4) * psi
		p.tag("quantised")
	}
	ar := rng.Float64() < 0.15
	if ar {
		p.tag("coloured-noise")
	}
	var colour float64
	for k := 0; ; k++ {
		t := float64(k) / rate
		if jitter {
			t += 0.2 / rate * (rng.Float64() - 0.5)
		}
		i := int(math.Max(t, 0) / step)
		if i >= len(sensed)-1 {
			break
		}
		white := rng.NormFloat64()
		if ar {
			a := math.Exp(-1 / (rate * 0.04))
			colour = a*colour + math.Sqrt(1-a*a)*rng.NormFloat64()
			white = 0.8*white + 0.6*colour
		}
		v := sensed[i] + sigma*white
		if quant > 0 {
			v = math.Round(v/quant) * quant
		}
		c.Time = append(c.Time, p.start+t)
		c.Header = append(c.Header, v)
	}
}

// rms is the root mean square of what healthy pulses take out of the header in the two seconds
// after each opening: the "drop rms" that the signal-to-noise ratio is counted from.
func (p *plan) rms(clean []float64, step float64) float64 {
	base := p.share * p.set
	var sum float64
	var n int
	for _, d := range p.due {
		if p.valve[d.valve].kind != "ok" || d.at < 0.5 {
			continue
		}
		ref := clean[int((d.at-0.02)/step)]
		s, k := 0.0, 0
		for i := int(d.at / step); i < len(clean) && float64(i)*step < d.at+2; i++ {
			s += (clean[i] - ref) * (clean[i] - ref)
			k++
		}
		if k > 0 {
			sum += s / float64(k)
			n++
		}
	}
	if n == 0 {
		return 0.5 * base
	}
	return math.Max(math.Sqrt(sum/float64(n)), 0.2*base)
}

// spoil adds what recorders do: spikes, cells without a reading, missing stretches.
func (p *plan) spoil(c *Case, rate float64) {
	rng := p.rng
	if rng.Float64() < 0.15 {
		p.tag("spikes")
		for i := range c.Header {
			if rng.Float64() < 0.15/rate {
				c.Header[i] += (rng.Float64() - 0.5) * 2 * p.set
			}
		}
	}
	if rng.Float64() < 0.12 {
		p.tag("empty-cells")
		for i := range c.Header {
			if rng.Float64() < 0.03 {
				c.Header[i] = math.NaN()
			}
		}
	}
	if rng.Float64() < 0.08 {
		p.tag("gap")
		at := rng.IntN(len(c.Header))
		for i := at; i < len(c.Header) && i < at+int(between(rng, 0.3, 1.5)*rate); i++ {
			c.Header[i] = math.NaN()
		}
	}
}

// mark writes the controller's marks: none, all commands, only what really fired, or some.
func (p *plan) mark(c *Case) {
	rng := p.rng
	kind := []string{"none", "none", "none", "commanded", "commanded", "fired", "some"}[rng.IntN(7)]
	p.tag("marks-" + kind)
	if kind == "none" {
		return
	}
	late := between(rng, -0.05, 0.05)
	for _, d := range p.due {
		if kind == "some" && rng.Float64() < 0.5 || kind == "fired" && p.valve[d.valve].kind == "dead" {
			continue
		}
		row := sort.SearchFloat64s(c.Time, p.start+d.at+late)
		if row < len(c.Time) {
			c.Marks = append(c.Marks, Mark{Row: row, Valve: d.valve + 1})
			c.Marked = true
		}
	}
}
