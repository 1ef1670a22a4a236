package tracetest

import (
	"math"
	"sort"
)

// draw lays drawn pulses over the supply's line.
func (p *roughPlan) draw(step float64) []float64 {
	rng := p.rng
	p.back = []float64{0.4, 0.8, 1.2, 2, 3}[rng.IntN(5)] * math.Min(1, p.interval/8)
	form := []string{"exp-exp", "ramp-exp", "ramp-ramp", "two-speed", "cosine"}[rng.IntN(5)]
	scaled := rng.Float64() < 0.5  // pulses shrink with the level
	settle := between(rng, 0.4, 4) // s for a bleed to pull the level down
	p.tag("drawn-" + form)
	from := p.stuckFrom()
	size := p.fire(from)
	out := append([]float64(nil), p.base...)
	level := make([]float64, len(out)) // share of the line that bleeds leave
	for i := range level {
		level[i] = 1
	}
	for v, f := range p.valve {
		if f.stuck != "always" && f.stuck != "for-good" {
			continue
		}
		begin := -1e9
		if from[v] >= 0 {
			begin = p.at[from[v]] + 0.02
		}
		for i := range level {
			if since := float64(i)*step - begin; since > 0 {
				level[i] -= f.bleed * (1 - math.Exp(-since/settle))
			}
		}
	}
	for i := range out {
		out[i] *= level[i]
	}
	for j, t := range p.at {
		f := p.valve[p.of(j)]
		if !p.fires[j] {
			continue
		}
		hold := 0.0
		if f.stuck == "holds" {
			hold = p.interval * between(rng, 0.3, 0.9)
		}
		depth := p.drop * size[j] * f.short
		if i := int(t / step); scaled && i < len(level) {
			depth *= level[i]
		}
		d := dip{form: form, on: p.on * f.short, back: p.back, hold: hold, extra: f.bleed * p.set, settle: settle}
		d.add(out, t, step, depth)
		if p.again[j] > 0 {
			d.add(out, p.again[j], step, depth)
		}
	}
	for i := range out {
		out[i] = math.Max(out[i], 0)
	}
	return out
}

// dip is a drawn pulse.
type dip struct {
	form                          string
	on, back, hold, extra, settle float64
}

func (d dip) add(out []float64, t, step, depth float64) {
	for i := max(0, int(t/step)); i < len(out); i++ {
		x := float64(i)*step - t
		y := d.at(x)
		if d.hold > 0 { // stays down, falls further, then comes back
			y = 1
			if x < d.on {
				y = x / d.on
			} else if x > d.hold {
				y = d.at(x - d.hold + d.on)
			}
			open := math.Max(0, math.Min(x, d.hold)-d.on)
			y += d.extra / depth * (1 - math.Exp(-open/d.settle)) * d.at(math.Max(x, d.hold)-d.hold+d.on)
		}
		if x > d.hold+12*d.back+d.on {
			return
		}
		out[i] -= depth * y
	}
}

// at is the form of a dip whose deepest point is about 1.
func (d dip) at(x float64) float64 {
	switch {
	case x <= 0:
		return 0
	case d.form == "exp-exp":
		if x < d.on {
			return (1 - math.Exp(-3*x/d.on)) / (1 - math.Exp(-3))
		}
		return math.Exp(-(x - d.on) / d.back)
	case x < d.on && d.form == "cosine":
		return (1 - math.Cos(math.Pi*x/d.on)) / 2
	case x < d.on:
		return x / d.on
	case d.form == "ramp-ramp":
		return math.Max(0, 1-(x-d.on)/(2*d.back))
	case d.form == "two-speed":
		return 0.7*math.Exp(-(x-d.on)/(0.4*d.back)) + 0.3*math.Exp(-(x-d.on)/(2*d.back))
	case d.form == "cosine":
		u := math.Min(1, (x-d.on)/(3*d.back))
		return (1 + math.Cos(math.Pi*u)) / 2
	}
	return math.Exp(-(x - d.on) / d.back)
}

// vessels runs a receiver that a compressor loads between two pressures, and behind a restriction the
// header; the flows go with the difference of pressure or with its root.
func (p *roughPlan) vessels(step float64) []float64 {
	rng := p.rng
	root := rng.Float64() < 0.5
	regulated := rng.Float64() < 0.6
	big := between(rng, 8, 60) // receiver over header
	p.back = between(rng, 0.4, 2.5) * math.Min(1, p.interval/8)
	p.tag("vessels")
	from := p.stuckFrom()
	size := p.fire(from)
	rate := -math.Log(1-p.drop/p.set) / p.on // 1/s, wide open
	open := make([]float64, len(p.base))
	add := func(t, d, share float64) {
		for i := max(0, int(t/step)); i < len(open) && float64(i)*step < t+d; i++ {
			open[i] += share
		}
	}
	for j, t := range p.at {
		f := p.valve[p.of(j)]
		if p.fires[j] {
			add(t, p.on*f.short, size[j])
		}
		if p.again[j] > 0 {
			add(p.again[j], p.on*f.short, size[j])
		}
		if f.stuck == "holds" {
			add(t+p.on, p.interval*between(rng, 0.3, 0.9), between(rng, 0.1, 0.6))
		}
	}
	for v, f := range p.valve {
		if f.stuck == "always" || f.stuck == "for-good" {
			begin := 0.0
			if from[v] >= 0 {
				begin = p.at[from[v]] + p.on
			}
			// the bleed that costs the share of the level asked for
			add(begin, p.end+1, f.bleed/(1-f.bleed)/p.back/rate)
		}
	}
	receiver, header := p.set*1.25, p.set
	high, low := p.set*1.3, p.set*1.12
	if !regulated {
		high, low, receiver = p.set*1.04, p.set*0.97, p.set
	}
	loaded := false
	feed := 1.5 * p.drop / p.interval / big
	flow := func(up float64) float64 {
		d := up - header
		if d <= 0 {
			return 0
		}
		if root {
			return math.Sqrt(d*0.3*p.set) / p.back / 0.8
		}
		return d / p.back
	}
	out := make([]float64, len(open))
	settle := 0
	for _, f := range p.valve {
		if f.stuck == "always" {
			settle = int(40 / step)
		}
	}
	for i := -settle; i < len(open); i++ {
		k := max(i, 0)
		out[k] = header
		up := receiver
		if regulated {
			up = math.Min(receiver, p.base[k])
		}
		in := flow(up)
		header = math.Max(0, header+(in-open[k]*rate*header)*step)
		if receiver < low {
			loaded = true
		} else if receiver > high {
			loaded = false
		}
		receiver -= in / big * step
		if loaded {
			receiver += (feed + in/big) * step
		}
	}
	return out
}

// sample reads the pressure with the instrument of the family.
func (p *roughPlan) sample(c *Case, clean []float64, step float64) {
	rng := p.rng
	rate := []float64{20, 20, 30, 50, 60, 100, 100, 128, 250, 1000}[rng.IntN(10)]
	if p.end*rate > 300000 {
		rate = 100
	}
	sigma := p.drop * math.Sqrt(math.Min(1, (p.on+p.back/2)/2)) / math.Pow(10, c.SNR/20) // of the drop's rms over 2 s
	lag := []float64{0, 0, 0.01, 0.05, 0.15, 0.3}[rng.IntN(6)]
	bits := []float64{0, 0, 10 * psi / 100, 160 * psi / 4096, 160 * psi / 1024}[rng.IntN(5)]
	uneven, lost := 0.0, 0.0
	if rng.Float64() < 0.25 {
		uneven = 0.4
		p.tag("uneven-steps")
	}
	if rng.Float64() < 0.2 {
		lost = between(rng, 0.01, 0.1)
		p.tag("lost-rows")
	}
	hum := 0.0
	if rng.Float64() < 0.15 {
		hum = 0.7 * sigma
		p.tag("hum")
	}
	y := clean[0]
	done := 0
	for k := 0; ; k++ {
		t := (float64(k) + uneven*(rng.Float64()-0.5)) / rate
		i := int(math.Max(0, t) / step)
		if i >= len(clean) || t > p.end {
			break
		}
		for ; done < i; done++ {
			if lag > 0 {
				y += (clean[done] - y) * step / lag
			}
		}
		v := clean[i]
		if lag > 0 {
			v = y
		}
		v += sigma*rng.NormFloat64() + hum*math.Sin(2*math.Pi*t*7.3)
		if bits > 0 {
			v = math.Round(v/bits) * bits
		}
		if rng.Float64() < lost {
			continue
		}
		c.Time, c.Header = append(c.Time, t), append(c.Header, v)
	}
	marks := []string{"none", "none", "all", "all", "but-one", "fired"}[rng.IntN(6)]
	p.tag("marks-" + marks)
	if marks == "none" {
		return
	}
	left := rng.IntN(p.n)
	for j, t := range p.at {
		if v := p.of(j); marks == "all" || marks == "but-one" && v != left || marks == "fired" && p.fires[j] {
			if row := sort.SearchFloat64s(c.Time, t); row < len(c.Time) {
				c.Marks = append(c.Marks, Mark{Row: row, Valve: v + 1})
				c.Marked = true
			}
		}
	}
}
