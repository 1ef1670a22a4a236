package tracetest

import (
	"math"
	"math/rand/v2"
)

// The family "rough" shares nothing with the other two but the case it fills: pulses of a few drawn shapes
// laid over a base line that wanders, or two vessels with a compressor that loads and unloads. What a
// stuck valve does is drawn in several ways too.

// roughPlan is a machine of the family.
type roughPlan struct {
	rng      *rand.Rand
	n        int
	order    []int // numbers in firing order
	first    int   // position of the first turn in the trace
	interval float64
	at       []float64 // when each turn is due [s]
	end      float64
	set      float64 // [Pa gauge]
	drop     float64 // of a sound pulse from set [Pa]
	on       float64 // [s]
	back     float64 // [s]
	valve    []roughValve
	fires    []bool    // by turn
	again    []float64 // when a turn's valve opens a second time; 0 = not
	base     []float64 // what the supply holds, by step [Pa]
	tags     []string
}

// roughValve is how one valve behaves.
type roughValve struct {
	state State
	size  float64 // of its drop, share
	short float64 // of the on-time, share
	again float64 // s to a second opening
	stuck string  // always, for-good, holds
	bleed float64 // share of the set pressure it costs
	moves float64 // share of a drop that its turns still show once it is open
}

func generateRough(seed uint64, rng *rand.Rand, o Options) Case {
	p := &roughPlan{rng: rng, n: o.Valves}
	if p.n == 0 {
		p.n = []int{2, 3, 4, 5, 6, 6, 7, 8, 8, 9, 10, 12, 14, 20}[rng.IntN(14)]
	}
	p.set = []float64{50, 60, 60, 60, 70, 87}[rng.IntN(6)] * psi
	p.drop = p.set * between(rng, 0.1, 0.45)
	p.on = between(rng, 0.07, 0.25)
	p.lay()
	p.spoil(o.NoFault)
	const step = 0.002
	p.supplyLine(step)
	var clean []float64
	if rng.Float64() < 0.6 {
		clean = p.draw(step)
	} else {
		clean = p.vessels(step)
	}
	c := Case{Seed: seed, Family: "rough", SNR: o.SNR, Valves: p.n, Set: p.set, OnTime: p.on, Interval: p.interval}
	c.Volume, c.ValveC, c.SupplyFlow = math.NaN(), math.NaN(), math.NaN()
	p.sample(&c, clean, step)
	p.tell(&c)
	c.Tags = p.tags
	return c
}

func (p *roughPlan) tag(s string) { p.tags = append(p.tags, s) }

// lay chooses order, start and times.
func (p *roughPlan) lay() {
	rng := p.rng
	p.order = make([]int, p.n)
	for i := range p.order {
		p.order[i] = i + 1
	}
	if rng.Float64() < 0.4 {
		p.order = rng.Perm(p.n)
		for i := range p.order {
			p.order[i]++
		}
		p.tag("order")
	}
	p.first = rng.IntN(p.n)
	p.interval = []float64{4, 5, 6, 8, 10, 10, 10, 10, 12, 15, 20, 30}[rng.IntN(12)]
	turns := p.n*(1+rng.IntN(5)) + rng.IntN(p.n+1)
	for float64(turns)*p.interval > 700 && turns > p.n+1 {
		turns--
	}
	uneven := 0.003
	if rng.Float64() < 0.25 {
		uneven = between(rng, 0.01, 0.05)
		p.tag("uneven")
	}
	t := between(rng, 0.4, 1) * p.interval
	for range turns {
		p.at = append(p.at, t+uneven*p.interval*(2*rng.Float64()-1))
		t += p.interval
	}
	p.end = t - between(rng, 0, 0.6)*p.interval
}

// spoil gives faults to valves: none, one or two.
func (p *roughPlan) spoil(none bool) {
	rng := p.rng
	p.valve = make([]roughValve, p.n)
	for v := range p.valve {
		p.valve[v] = roughValve{state: OK, size: 1 + 0.04*(2*rng.Float64()-1), short: 1}
	}
	if none {
		return
	}
	faults := 1 + rng.IntN(2)
	if rng.Float64() < 0.1 {
		faults = 0
	}
	if p.n < 4 {
		faults = min(faults, 1)
	}
	stuck := false
	for _, v := range rng.Perm(p.n)[:faults] {
		f := &p.valve[v]
		kind := rng.IntN(8)
		if stuck && kind >= 4 && kind < 7 {
			kind = 0
		}
		f.moves = 1
		switch kind {
		case 0, 1:
			f.state, f.size = Dead, 0
			p.tag("dead")
		case 2:
			f.state, f.size = Weak, between(rng, 0.2, 0.65)
			p.tag("weak-little")
		case 3:
			f.state, f.short = Weak, between(rng, 0.25, 0.6)
			p.tag("weak-short")
		case 4:
			f.state, f.stuck, f.bleed, f.moves = Stuck, "always", between(rng, 0.15, 0.6), []float64{0, 0, 0.2}[rng.IntN(3)]
			p.tag("stuck-always")
		case 5:
			f.state, f.stuck, f.bleed, f.moves = Stuck, "for-good", between(rng, 0.12, 0.8), []float64{0, 0.3, 1}[rng.IntN(3)]
			p.tag("stuck-for-good")
		case 6:
			f.state, f.stuck, f.bleed = Stuck, "holds", between(rng, 0.12, 0.5)
			p.tag("stuck-holds")
		case 7:
			f.again = between(rng, 0.4, math.Min(3, 0.4*p.interval))
			p.tag("double")
		}
		stuck = stuck || f.state == Stuck
	}
	for _, f := range p.valve { // which of two silent valves is the open one no pressure can show
		if f.stuck != "always" {
			continue
		}
		for v := range p.valve {
			if s := p.valve[v].state; s == Dead || s == Weak {
				p.valve[v] = roughValve{state: OK, size: 1, short: 1, moves: 1}
			}
		}
	}
}

// supplyLine is the pressure the supply aims at over time.
func (p *roughPlan) supplyLine(step float64) {
	rng := p.rng
	p.base = make([]float64, int(p.end/step)+1)
	kind := []string{"steady", "steady", "steady", "saw-tooth", "wander", "slope", "jump"}[rng.IntN(7)]
	p.tag("supply-" + kind)
	size := between(rng, 0.02, 0.08)
	period, split := between(rng, 12, 150), between(rng, 0.1, 0.9)
	phase := rng.Float64()
	walk := 0.0
	jump := p.end * between(rng, 0.2, 0.8)
	if rng.IntN(2) == 0 {
		size = -size
	}
	for i := range p.base {
		t := float64(i) * step
		k := 1.0
		switch kind {
		case "saw-tooth":
			u := math.Mod(t/period+phase, 1)
			if u < split {
				k += math.Abs(size) * (u/split - 0.5)
			} else {
				k += math.Abs(size) * (0.5 - (u-split)/(1-split))
			}
		case "wander":
			walk += (-walk*step/40 + 0.3*size*math.Sqrt(2*step/40)*rng.NormFloat64())
			k += walk
		case "slope":
			k += size * t / p.end
		case "jump":
			if t > jump {
				k += size * (1 - math.Exp(-(t-jump)/0.7))
			}
		}
		p.base[i] = p.set * k
	}
}

// of is the valve of turn j.
func (p *roughPlan) of(j int) int { return p.order[(p.first+j)%p.n] - 1 }

// openFrom tells from which turn on a valve that sticks for good stands open; -1 = from the start.
func (p *roughPlan) openFrom(v int) int {
	if p.valve[v].stuck == "always" {
		return -1
	}
	var mine []int
	for j := range p.at {
		if p.of(j) == v {
			mine = append(mine, j)
		}
	}
	return mine[p.rng.IntN(1+(len(mine)-1)/2)]
}

// fire decides which turns show an opening and how large it is, share of a sound one.
func (p *roughPlan) fire(from []int) []float64 {
	p.fires, p.again = make([]bool, len(p.at)), make([]float64, len(p.at))
	size := make([]float64, len(p.at))
	for j := range p.at {
		v := p.of(j)
		f := p.valve[v]
		size[j] = f.size * (1 + 0.02*p.rng.NormFloat64())
		if f.stuck == "always" || f.stuck == "for-good" && j > from[v] {
			size[j] *= f.moves
		}
		p.fires[j] = size[j] > 0.01
		if f.again > 0 && p.rng.Float64() < 0.9 {
			p.again[j] = p.at[j] + f.again
		}
	}
	return size
}

// stuckFrom is openFrom for every stuck valve.
func (p *roughPlan) stuckFrom() []int {
	from := make([]int, p.n)
	for v, f := range p.valve {
		if f.stuck != "" && f.stuck != "holds" {
			from[v] = p.openFrom(v)
		}
	}
	return from
}

// tell fills the truth in the numbering of the detector: marks where there are any, else the first turn is
// the first of the order.
func (p *roughPlan) tell(c *Case) {
	c.Order = p.order
	c.Truth, c.Counts, c.Due = make([]State, p.n), make([]int, p.n), make([]int, p.n)
	number := func(v int) int { return v }
	if !c.Marked {
		position := make([]int, p.n)
		for i, v := range p.order {
			position[v-1] = i
		}
		number = func(v int) int { return p.order[((position[v]-p.first)%p.n+p.n)%p.n] - 1 }
	}
	for v := range p.valve {
		c.Truth[number(v)] = p.valve[v].state
	}
	for j, t := range p.at {
		v := number(p.of(j))
		c.Due[v]++
		c.DueAt, c.DueValve = append(c.DueAt, t), append(c.DueValve, v+1)
		if p.fires[j] {
			c.Counts[v]++
		}
		if p.again[j] > 0 {
			c.Counts[v]++
		}
	}
}
