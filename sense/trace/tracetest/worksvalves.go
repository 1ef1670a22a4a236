package tracetest

import "math"

// profile is how far a valve is open, share of a sound one, t s after the command.
func (p *worksPlan) profile(f worksValve, t float64) float64 {
	const delay = 0.008
	t -= delay
	on, rise := p.on*f.on, p.rise+f.rise
	up := math.Max(0, math.Min(1, t/rise))
	if t > on {
		up = math.Max(0, math.Min(1, on/rise)-(t-on)/p.fall)
	}
	if f.chop > 0 && t < on && math.Mod(t*f.chop, 1) > 0.5 {
		up *= 0.1
	}
	return up
}

// profileArea is the length of a full opening that lets as much through [s].
func (p *worksPlan) profileArea(f worksValve) float64 {
	sum := 0.0
	for t := 0.0; t < 1.5; t += worksStep / 2 {
		sum += p.profile(f, t) * worksStep / 2
	}
	return sum
}

// faults spoils none to three valves; one at most sticks.
func (p *worksPlan) faults() {
	count := []int{0, 1, 1, 1, 2, 2, 3}[p.rng.IntN(7)]
	count = min(count, max(1, p.n/3))
	stuck := false
	for _, v := range p.rng.Perm(p.n)[:count] {
		kind := p.rng.IntN(20)
		switch {
		case kind < 4:
			p.valve[v].kind, p.valve[v].state, p.valve[v].flow = "dead", Dead, 0
		case kind < 9:
			p.weaken(v)
		case kind < 17:
			if !stuck {
				stuck = p.stick(v)
			}
		case kind < 19:
			p.valve[v].kind, p.valve[v].again = "double", p.in(0.5, math.Min(3, 0.4*p.interval))
		default:
			if w := p.rng.IntN(p.n); w != v && p.valve[w].kind == "ok" && p.n > 3 {
				p.valve[v].kind, p.valve[v].state, p.valve[v].flow = "dead", Dead, 0
				p.valve[w].kind, p.valve[w].with = "two-at-once", v
			}
		}
	}
	for _, f := range p.valve {
		if f.kind != "ok" {
			p.tag(f.kind)
		}
	}
}

// weaken makes a valve take clearly less than a sound one.
func (p *worksPlan) weaken(v int) {
	for range 100 {
		f := worksValve{state: Weak, flow: 1, on: 1, with: -1, from: math.NaN()}
		switch p.rng.IntN(5) {
		case 0, 1:
			f.kind, f.flow = "weak-flow", p.in(0.2, 0.62)
		case 2:
			f.kind, f.on = "weak-short", p.in(0.2, 0.6)
		case 3:
			f.kind, f.rise = "weak-slow", p.on*p.in(0.6, 2)
		case 4:
			f.kind, f.chop = "weak-chatter", p.in(20, 40)
		}
		if len(p.inTrace(v)) >= 4 && p.chance(0.12) {
			f = worksValve{state: Weak, kind: "weak-misses", flow: 1, on: 1, with: -1, from: math.NaN(), misses: p.in(0.4, 0.7)}
			p.valve[v] = f
			return
		}
		if share := f.flow * p.profileArea(f) / p.profileArea(worksValve{on: 1}); share > 0.18 && share < 0.63 {
			p.valve[v] = f
			return
		}
	}
}

// stick lets a valve stand open in one of several ways; false where no way would show.
func (p *worksPlan) stick(v int) bool {
	loss := p.in(0.1, 0.85)
	if p.chance(0.3) {
		loss = p.in(0.07, 0.2)
	}
	bleed := p.bleedFor(loss)
	if bleed > 1 {
		bleed = p.in(0.5, 1)
		if bleed < p.bleedFor(0.08) {
			return false
		}
	}
	f, turns := p.valve[v], p.inTrace(v)
	f.state, f.bleed, f.moves = Stuck, bleed, p.chance(0.5)
	kind := p.rng.IntN(6)
	if len(turns) < 3 && kind == 5 {
		kind = 1
	}
	if len(turns) == 0 || kind != 0 && p.turn[turns[0]].at+math.Max(1.5, 0.3*p.interval) > p.end {
		return false
	}
	switch kind {
	case 0:
		f.kind, f.from = "stuck-before", math.Inf(-1)
		f.moves = f.moves && f.bleed > 0.25
	case 1, 2:
		f.kind, f.stick = "stuck-after", p.rng.IntN(1+(len(turns)-1)/2)
	case 3:
		f.kind, f.hold = "stuck-seconds", p.in(0.25, 0.95)*p.interval
	case 4:
		f.kind, f.hold = "stuck-spell", p.in(1.2, 3.5)*p.interval
		f.stick = p.rng.IntN(max(1, len(turns)-1))
	case 5:
		k := 1 + p.rng.IntN(len(turns)-2)
		f.kind, f.from = "stuck-sometime", p.turn[turns[k]].at+p.in(0.2, 0.9)*p.interval
		f.moves = false
	}
	f.moves = f.moves && f.bleed < 0.7
	p.valve[v] = f
	return true
}

// decidable takes back what no pressure can tell: which of two silent valves stands open, a silent turn
// beside a pause where no mark tells.
func (p *worksPlan) decidable() {
	for _, f := range p.valve {
		if f.kind == "stuck-before" || f.kind == "stuck-sometime" {
			for v := range p.valve {
				if g := &p.valve[v]; g.state == Dead || g.state == Weak || g.with >= 0 {
					*g = worksValve{kind: "ok", state: OK, flow: 1, on: 1, with: -1, from: math.NaN()}
				}
			}
		}
	}
	for v := range p.valve {
		fired, turns := 0, p.inTrace(v)
		for _, j := range turns {
			if p.fires(v, j) {
				fired++
			}
		}
		if f := &p.valve[v]; f.misses > 0 && (fired == 0 || fired > len(turns)*3/4) {
			f.state, f.misses = OK, 0
		}
	}
	if p.marks == "all" || p.marks == "late" {
		return
	}
	late := 0.0
	for j := range p.turn {
		w := &p.turn[j]
		if w.paused {
			before := p.valve[p.turn[j-1].valve]
			if f := p.valve[w.valve]; f.state != OK || before.state != OK {
				w.paused = false
				late += math.Max(0, w.at-late-p.turn[j-1].at-p.interval)
			}
		}
		w.at -= late
	}
	p.end -= late
}

// fires tells whether a valve moves at a turn of its own.
func (p *worksPlan) fires(v, j int) bool {
	f := p.valve[v]
	if f.flow <= 0 || p.turn[j].skipped {
		return false
	}
	if f.misses > 0 {
		return math.Mod(float64(j/p.n)*0.618034+f.misses, 1) > f.misses
	}
	return f.moves || !(p.turn[j].at > f.openFrom(p, v))
}

// openFrom is when a valve begins to stand open for good [s]; infinity where it never does.
func (f worksValve) openFrom(p *worksPlan, v int) float64 {
	switch {
	case f.kind == "stuck-after":
		return p.turn[p.inTrace(v)[f.stick]].at + p.on/2
	case f.state == Stuck && !math.IsNaN(f.from):
		return f.from
	}
	return math.Inf(1)
}

// openings is how far all valves together are open over time, share of one sound valve.
func (p *worksPlan) openings() []float64 {
	total := make([]float64, int(p.end/worksStep)+1)
	for v, f := range p.valve {
		mine := make([]float64, 0)
		put := func(t float64, g worksValve) {
			if len(mine) == 0 {
				mine = make([]float64, len(total))
			}
			size := g.flow * (1 + 0.015*p.clip())
			for i := max(0, int(t/worksStep)); i < len(mine) && float64(i)*worksStep < t+1.5; i++ {
				mine[i] = math.Max(mine[i], size*p.profile(g, float64(i)*worksStep-t))
			}
		}
		floor := func(from, to float64) {
			if len(mine) == 0 {
				mine = make([]float64, len(total))
			}
			for i := max(0, int(math.Max(from, 0)/worksStep)); i < len(mine) && float64(i)*worksStep < to; i++ {
				mine[i] = math.Max(mine[i], f.bleed)
			}
		}
		for j, w := range p.turn {
			if w.valve != v || !p.fires(v, j) {
				continue
			}
			put(w.at, f)
			if f.again > 0 {
				put(w.at+f.again, f)
			}
			if f.with >= 0 {
				g := p.valve[f.with]
				g.flow = p.in(0.8, 1)
				late := make([]float64, len(mine))
				copy(late, mine)
				put(w.at, g)
				for i := range mine {
					if mine[i] != late[i] {
						mine[i] += late[i]
					}
				}
			}
			if f.kind == "stuck-seconds" {
				floor(w.at+p.on/2, w.at+f.hold)
			}
		}
		if f.kind == "stuck-spell" {
			at := p.turn[p.inTrace(v)[f.stick]].at
			floor(at+p.on/2, at+f.hold)
		}
		if from := f.openFrom(p, v); !math.IsInf(from, 1) {
			floor(from, math.Inf(1))
		}
		for i, y := range mine {
			total[i] += y
		}
	}
	return total
}
