package tracetest

import (
	"math"
	"sort"
)

// instrument reads the pressure with a sensor and a recorder that have faults of their own.
func (p *worksPlan) instrument(c *Case, clean []float64) {
	rng := p.rng
	rate := []float64{20, 20, 20, 25, 33.3, 50, 50, 100, 100, 200, 400, 1000}[rng.IntN(12)]
	for (p.end-p.begin)*rate > 400000 {
		rate /= 2
	}
	lag := []float64{0.003, 0.01, 0.03, 0.1, 0.2}[rng.IntN(5)]
	sigma := p.pulseRMS(clean) / math.Pow(10, c.SNR/20)
	step := []float64{0, 0, 10e5 / 4096, 16e5 / 4096, 10e5 / 1024, 10e5 / 256}[rng.IntN(6)]
	hum := 0.0
	if p.chance(0.15) {
		hum = 0.5 * sigma
		p.tag("hum")
	}
	wander, creep := 0.0, 0.0
	if p.chance(0.2) {
		creep = 0.002 * p.set
		p.tag("zero-drifts")
	}
	clock := 1 + 0.001*p.clip()
	phase, y := 6.28*rng.Float64(), clean[0]
	done := 0
	for k := 0; ; k++ {
		t := float64(k) / rate
		i := int((p.begin + t) / worksStep)
		if i >= len(clean)-1 {
			break
		}
		for ; done < i; done++ {
			y += (clean[done] - y) * worksStep / (lag + worksStep)
		}
		wander += -wander/rate/60 + creep*math.Sqrt(1/rate)*rng.NormFloat64()
		v := y + wander + sigma*rng.NormFloat64() + hum*math.Sin(2*math.Pi*49.8*t+phase)
		if step > 0 {
			v = math.Round(v/step) * step
		}
		c.Time, c.Header = append(c.Time, math.Round(t*clock*1e4)/1e4), append(c.Header, v)
	}
	p.harm(c, rate)
	p.write(c, clock)
}

// pulseRMS is the root mean square of a sound pulse in the two seconds after it, by the definition of the other families.
func (p *worksPlan) pulseRMS(clean []float64) float64 {
	depth := p.set * 0.02
	sum, n := 0.0, 0
	for j, w := range p.turn {
		f := p.valve[w.valve]
		if f.kind != "ok" || w.at < p.begin || !p.fires(w.valve, j) {
			continue
		}
		i0 := int(w.at / worksStep)
		for i := i0; i < i0+int(2/worksStep) && i < len(clean); i++ {
			d := clean[i] - clean[i0]
			sum, n = sum+d*d, n+1
		}
	}
	if n == 0 {
		return 3 * depth
	}
	return math.Max(depth, math.Sqrt(sum/float64(n)))
}

// harm adds spikes, readings that hang, cells without a number and rows that are lost.
func (p *worksPlan) harm(c *Case, rate float64) {
	rng := p.rng
	if p.chance(0.12) {
		p.tag("spikes")
		for i := range c.Header {
			if p.chance(0.1 / rate) {
				c.Header[i] = p.in(0, 10e5)
			}
		}
	}
	if p.chance(0.1) {
		p.tag("hangs")
		for range 1 + rng.IntN(3) {
			at := rng.IntN(len(c.Header))
			for i := at; i < len(c.Header) && i < at+int(p.in(0.1, 0.6)*rate); i++ {
				c.Header[i] = c.Header[at]
			}
		}
	}
	if p.chance(0.1) {
		p.tag("empty")
		for i := range c.Header {
			if p.chance(0.02) {
				c.Header[i] = math.NaN()
			}
		}
	}
	if p.chance(0.1) {
		p.tag("rows-lost")
		at, n := rng.IntN(len(c.Header)), int(p.in(0.2, 2)*rate)
		to := min(at+n, len(c.Header))
		c.Time, c.Header = append(c.Time[:at], c.Time[to:]...), append(c.Header[:at], c.Header[to:]...)
	}
}

// write puts the marks in that the case's kind of marks has.
func (p *worksPlan) write(c *Case, clock float64) {
	p.tag("marks-" + p.marks)
	late := 0.0
	if p.marks == "late" {
		late = p.in(0.05, 0.3)
	}
	for j, w := range p.turn {
		if p.marks == "none" || w.at < p.begin || w.skipped || p.marks == "some" && p.chance(0.4) || p.marks == "fired" && !p.fires(w.valve, j) {
			continue
		}
		at := (w.at - p.begin + late + 0.01*p.rng.Float64()) * clock
		if row := sort.SearchFloat64s(c.Time, at); row < len(c.Time) {
			c.Marks = append(c.Marks, Mark{Row: row, Valve: w.valve + 1})
			c.Marked = true
		}
	}
}
