package tracetest

import "math"

// iso is the mass flow through an ISO 6358 restriction [kg/s].
func iso(c, b, up, down, temp float64) float64 {
	if up <= down {
		return 0
	}
	q := c * up * 1.185 * math.Sqrt(293.15/temp)
	r := down / up
	if r > b {
		z := (r - b) / (1 - b)
		q *= math.Sqrt(math.Max(0, 1-z*z))
	}
	return q
}

// runTank integrates mass and energy of the receiver. It returns gauge pressure on a fixed step.
func (p *plan) runTank(step float64) ([]float64, []opening) {
	const r, gamma, t0, atm = 287.05, 1.4, 293.15, 101325.0
	events := p.openings()
	open := p.openShare(events, step)
	wall := 2.0 * math.Pow(p.volume/0.02, 2.0/3)
	cs := p.supply.c * p.c
	abs := p.level(0) + atm
	temp := t0
	m := abs * p.volume / (r * t0)
	choked := iso(p.c, p.b, p.set+atm, atm, t0)
	reg := p.level(0)
	qs := 0.0
	settle := 0
	for _, e := range events {
		if e.at < 0 {
			settle = int(60 / step)
		}
	}
	out := make([]float64, len(open))
	for i := -settle; i < len(open); i++ {
		k := max(i, 0)
		t := float64(i) * step
		if i >= 0 {
			out[i] = abs - atm
		}
		aim := p.level(math.Max(t, 0)) - p.supply.droop*p.set*qs/(0.1*choked)
		reg += (aim - reg) * math.Min(1, step/p.supply.lag)
		qs = iso(cs, 0.3, reg+atm, abs, t0)
		qv := iso(p.c*open[k], p.b, abs, atm, temp)
		dm := (qs - qv) * step
		heat := wall * (t0 - temp) / 717.6
		e := m*temp + (gamma*(qs*t0-qv*temp)+heat)*step
		m += dm
		temp = e / m
		abs = math.Max(m*r*temp/p.volume, atm)
	}
	p.supply.free_ = iso(cs, 0.3, p.set+atm, 0, t0) / 1.188
	return out, events
}

// runSketch draws the trace without physics: a pulse takes a share or a fixed drop, the level comes
// back exponentially or along a ramp, a valve that stays open drags the level down.
func (p *plan) runSketch(step float64) ([]float64, []opening) {
	rng := p.rng
	events := p.openings()
	open := p.openShare(events, step)
	power := []float64{0, 1}[rng.IntN(2)]
	ramp := rng.Float64() < 0.35
	back := between(rng, 0.25, 1.3) // s to come back
	switch p.supply.kind {
	case "poor":
		back = between(rng, 3, 9)
	case "none":
		back = math.Inf(1)
	case "slow-regulator":
		back = between(rng, 1, 2.5)
	}
	if ramp {
		back = math.Max(back, 2.5)
		p.tag("ramp")
	}
	full := p.share * p.set / (p.on + 0.01 + 0.5*(p.fall-p.rise))
	level := p.level(0)
	settle := 0
	for _, e := range events {
		if e.at < 0 {
			settle = int(60 / step)
		}
	}
	out := make([]float64, len(open))
	for i := -settle; i < len(open); i++ {
		k := max(i, 0)
		t := math.Max(0, float64(i)*step)
		if i >= 0 {
			out[i] = level
		}
		aim := p.level(t)
		rate := 0.0
		if ramp && aim > level {
			rate = math.Min(p.share*p.set/back, (aim-level)/(2*step))
		} else if !math.IsInf(back, 1) {
			rate = (aim - level) / back
		}
		x := level / p.set
		down := full * open[k] * math.Pow(math.Max(x, 0), power)
		if x < 0.15 { // near empty the flow dies away whatever the law
			down *= x / 0.15
		}
		level = math.Max(0, level+(rate-down)*step)
	}
	p.supply.free_ = math.NaN()
	return out, events
}
