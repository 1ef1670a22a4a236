package tracetest

import "math"

// supply is what fills the header.
type supply struct {
	kind   string
	c      float64 // share of the valve's conductance
	droop  float64 // Pa per unit of (supply flow over choked valve flow)
	lag    float64 // s, a slow regulator
	swing  float64 // share of the set pressure, compressor loading and unloading
	period float64 // s
	step   float64 // share of the set pressure, once, at stepAt
	stepAt float64 // share of the trace
	trend  float64 // share of the set pressure over the trace
	free_  float64
}

func (s supply) free(set float64) float64 { return s.free_ }

func (p *plan) chooseSupply() {
	rng := p.rng
	s := supply{kind: "good", c: between(rng, 0.05, 0.15), lag: 0.02}
	switch r := rng.Float64(); {
	case r < 0.22:
		s.kind, s.c = "poor", between(rng, 0.006, 0.025)
	case r < 0.27:
		s.kind, s.c = "none", 0
	case r < 0.37:
		s.kind, s.droop = "droop", between(rng, 0.1, 0.35)
	case r < 0.47:
		s.kind, s.lag = "slow-regulator", between(rng, 0.3, 2)
	}
	switch r := rng.Float64(); {
	case r < 0.12:
		s.swing, s.period = between(rng, 0.02, 0.08), between(rng, 15, 120)
		p.tag("compressor-swing")
	case r < 0.20:
		s.step, s.stepAt = between(rng, -0.2, 0.15), between(rng, 0.2, 0.8)
		p.tag("level-step")
	case r < 0.28:
		s.trend = between(rng, -0.12, 0.12)
		p.tag("trend")
	}
	p.supply = s
	p.tag("supply-" + s.kind)
}

// level is the pressure the supply is aiming at [Pa gauge].
func (p *plan) level(t float64) float64 {
	s := p.supply
	k := 1 + s.trend*t/p.end
	if s.period > 0 {
		phase := math.Mod(t/s.period, 1)
		saw := 2*phase/0.6 - 1
		if phase > 0.6 {
			saw = 1 - 2*(phase-0.6)/0.4
		}
		k += s.swing * saw
	}
	if s.step != 0 && t > s.stepAt*p.end {
		k += s.step * (1 - math.Exp(-(t-s.stepAt*p.end)/1.5))
	}
	return p.set * k
}

// fault is how one valve behaves.
type fault struct {
	kind     string
	c        float64 // share of full conductance when open
	on       float64 // share of the on-time
	rise     float64 // s added to the rise
	bleed    float64 // share left open by a stuck valve
	hold     float64 // s that a late-closing stuck valve stays open; 0 for good
	stickAt  int     // the firing after which it sticks
	jammed   bool
	gap      float64 // s to a second opening; 0 for none
	gapShare float64
	miss     float64
}

func (f fault) state() State {
	switch f.kind {
	case "dead":
		return Dead
	case "weak-conductance", "weak-short", "weak-slow":
		return Weak
	case "stuck-for-good", "stuck-holds", "stuck-always":
		return Stuck
	}
	return OK
}

func (p *plan) chooseFaults(none bool) {
	rng := p.rng
	p.valve = make([]fault, p.n)
	for v := range p.valve {
		p.valve[v] = fault{kind: "ok", c: 1 + 0.03*rng.NormFloat64(), on: 1 + 0.02*rng.NormFloat64()}
	}
	if none || rng.Float64() < 0.12 {
		p.tag("no-fault")
		return
	}
	count := 1 + rng.IntN(3)
	if p.n <= 3 {
		count = 1
	} else if p.n <= 5 && count > 2 {
		count = 2
	}
	stuck := false
	for range count {
		v := rng.IntN(p.n)
		if p.valve[v].kind != "ok" {
			continue
		}
		r := rng.Float64()
		if r >= 0.56 && r < 0.86 && (stuck || p.supply.kind == "none") {
			r = 0.1
		}
		p.spoilValve(v, r)
		stuck = stuck || p.valve[v].state() == Stuck
		p.tag(p.valve[v].kind)
	}
	p.keepDecidable(stuck)
}

// spoilValve gives valve v the fault that r, from 0 to 1, stands for.
func (p *plan) spoilValve(v int, r float64) {
	rng, f := p.rng, &p.valve[v]
	switch {
	case r < 0.26:
		f.kind = "dead"
	case r < 0.40:
		f.kind, f.c = "weak-conductance", between(rng, 0.2, 0.62)
	case r < 0.50:
		f.kind, f.on = "weak-short", between(rng, 0.25, 0.55)
	case r < 0.56:
		f.kind, f.rise = "weak-slow", p.on*between(rng, 0.9, 1.3)
	case r < 0.66:
		f.kind, f.bleed = "stuck-for-good", between(rng, 0.08, 1)
		f.stickAt = rng.IntN(1 + p.timesDue(v)/2)
	case r < 0.76:
		f.kind, f.bleed, f.hold = "stuck-holds", between(rng, 0.1, 1), p.interval*between(rng, 0.2, 0.98)
	case r < 0.86:
		f.kind, f.bleed = "stuck-always", between(rng, 0.05, 0.5)
		if f.jammed = rng.Float64() < 0.6; !f.jammed {
			f.bleed = between(rng, 0.3, 0.7)
		}
	case r < 0.95:
		f.kind, f.gap, f.gapShare = "double", between(rng, 0.35, 2.5), between(rng, 0.7, 1)
	default:
		f.kind, f.miss = "misses", between(rng, 0.05, 0.15)
	}
}

// keepDecidable takes back what no pressure could show: a header that bleeds from the start needs a
// supply that keeps some pressure in it, and its other valves must be sound, or nobody can say which of
// the valves that do not move is the open one.
func (p *plan) keepDecidable(stuck bool) {
	if p.supply.kind == "poor" && stuck {
		p.supply.c *= 2
	}
	for v, f := range p.valve {
		if f.kind != "stuck-always" {
			continue
		}
		p.supply.c = math.Max(p.supply.c, 0.05)
		if p.supply.kind == "poor" {
			p.supply.kind = "good"
		}
		for o := range p.valve {
			if s := p.valve[o].state(); o != v && (s == Dead || s == Weak) {
				p.valve[o] = fault{kind: "ok", c: 1, on: 1}
			}
		}
	}
}

func (p *plan) timesDue(v int) int {
	n := 0
	for _, d := range p.due {
		if d.valve == v {
			n++
		}
	}
	return n
}

// opening is one movement of one valve; share of full conductance over time.
type opening struct {
	valve                   int
	at, full, closing, shut float64
	c                       float64
	moves                   bool
}

// openings turns commands and faults into movements and standing bleeds.
func (p *plan) openings() []opening {
	rng := p.rng
	var out []opening
	fired := make([]int, p.n)
	loose := make([]bool, p.n)
	for v, f := range p.valve {
		if f.kind == "stuck-always" {
			out = append(out, opening{valve: v, at: -1e3, full: -1e3, closing: math.Inf(1), shut: math.Inf(1), c: f.bleed})
			loose[v] = true
		}
	}
	for _, d := range p.due {
		f := p.valve[d.valve]
		fired[d.valve]++
		if f.kind == "dead" || f.kind == "stuck-always" && f.jammed || rng.Float64() < f.miss {
			continue
		}
		c := f.c * (1 + 0.015*rng.NormFloat64())
		if loose[d.valve] {
			c = math.Max(0, c-f.bleed)
		}
		if c < 0.02 {
			continue
		}
		at := d.at + 0.01
		on := p.on * f.on
		o := opening{valve: d.valve, at: at, full: at + p.rise + f.rise, closing: at + on + 0.01, c: c, moves: true}
		o.shut = o.closing + p.fall
		switch {
		case f.kind == "stuck-for-good" && fired[d.valve]-1 >= f.stickAt && !loose[d.valve]:
			out = append(out, opening{valve: d.valve, at: o.closing, full: o.closing, closing: math.Inf(1), shut: math.Inf(1), c: f.bleed})
			loose[d.valve] = true
		case f.kind == "stuck-holds":
			out = append(out, opening{valve: d.valve, at: o.closing, full: o.closing, closing: o.closing + f.hold, shut: o.closing + f.hold + 0.05, c: f.bleed})
		}
		out = append(out, o)
		if f.gap > 0 && rng.Float64() < f.gapShare {
			o.at, o.full, o.closing, o.shut = o.at+f.gap, o.full+f.gap, o.closing+f.gap, o.shut+f.gap
			out = append(out, o)
		}
	}
	return out
}

// share is how far a movement opens its valve at time t.
func (o opening) share(t float64) float64 {
	switch {
	case t < o.at || t >= o.shut:
		return 0
	case t < o.full:
		return o.c * (t - o.at) / (o.full - o.at)
	case t < o.closing:
		return o.c
	}
	top := o.c
	if o.closing < o.full {
		top *= (o.closing - o.at) / (o.full - o.at)
	}
	return top * (o.shut - t) / (o.shut - o.closing)
}

// openShare gives the total opening at each step.
func (p *plan) openShare(events []opening, step float64) []float64 {
	n := int(p.end/step) + 1
	out := make([]float64, n)
	for _, e := range events {
		lo := max(0, int(e.at/step))
		hi := n
		if e.shut < p.end {
			hi = min(n, int(e.shut/step)+2)
		}
		for i := lo; i < hi; i++ {
			out[i] += e.share(float64(i) * step)
		}
	}
	return out
}
