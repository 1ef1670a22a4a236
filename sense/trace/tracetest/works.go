package tracetest

import (
	"math"
	"math/rand/v2"
)

// The family "works" is a header on a works' air line: St-Venant orifices, a regulator with droop, backlash
// and lag behind a line that sags when others draw, a controller that jitters, pauses and leaves steps out,
// and valves that fail in more ways than the other families know. It shares no code with them. All
// laws are from memory.

// worksPlan is one machine of the family with its schedule.
type worksPlan struct {
	rng      *rand.Rand
	n        int
	order    []int // numbers in firing order
	first    int   // position of the first turn after the trace begins
	interval float64
	turn     []worksTurn
	begin    float64 // of the trace, by the time of the turns [s]
	end      float64
	set      float64 // [Pa gauge]
	volume   float64 // [m3]
	full     float64 // a sound valve's mass flow over volume and pressure, wide open and choked [1/s]
	on       float64 // [s]
	rise     float64 // [s]
	fall     float64 // [s]
	exponent float64 // of the air in the header
	air      worksAir
	valve    []worksValve
	marks    string
	told     bool // the collector file tells volume and valve flow
	tags     []string
}

// worksTurn is one command of the controller.
type worksTurn struct {
	at      float64
	valve   int
	skipped bool // the controller passes it over
	paused  bool // a pause comes before it
}

// worksValve is what one valve does.
type worksValve struct {
	kind   string
	state  State
	flow   float64 // share of a sound one
	on     float64 // share of the on-time
	rise   float64 // of its own [s]
	chop   float64 // 1/s at which the pilot chatters; 0 = not
	again  float64 // s until it opens once more; 0 = not
	misses float64 // share of turns without an opening
	with   int     // valve that opens at the same command; -1 = none
	bleed  float64 // share of a sound valve left open while it sticks
	hold   float64 // s it sticks after a turn; 0 = for good
	from   float64 // time from which it stands open; NaN = by turns
	moves  bool    // its turns still show once it is open
	stick  int     // the firing after which it sticks, counted in the trace
}

func generateWorks(seed uint64, rng *rand.Rand, o Options) Case {
	p := &worksPlan{rng: rng, n: o.Valves}
	if p.n == 0 {
		p.n = []int{2, 3, 4, 5, 6, 6, 7, 8, 8, 10, 12, 15, 18, 24}[rng.IntN(14)]
	}
	p.machine()
	p.timetable()
	p.marks = []string{"none", "none", "none", "all", "all", "all", "late", "some", "some", "fired"}[rng.IntN(10)]
	p.air.draw(p)
	if !o.NoFault {
		p.faults()
	}
	p.decidable()
	opened := p.openings()
	clean := p.run(opened)
	c := Case{Seed: seed, Family: "works", SNR: o.SNR, Valves: p.n, Set: p.set, OnTime: p.on, Order: p.order}
	c.Interval = p.interval * (1 + 0.008*rng.NormFloat64())
	c.Volume, c.ValveC, c.SupplyFlow = math.NaN(), math.NaN(), math.NaN()
	if p.told {
		c.Volume = p.volume * (1 + 0.04*rng.NormFloat64())
		c.ValveC = p.full * p.volume / (1.185 * 287.05 * 293.15) * (1 + 0.1*rng.NormFloat64())
	}
	if (p.n > 3 || p.marks != "none") && rng.Float64() < 0.08 {
		c.Interval = math.NaN()
		p.tag("interval-untold")
	}
	p.instrument(&c, clean)
	p.tell(&c)
	c.Tags = p.tags
	return c
}

func (p *worksPlan) tag(s string) { p.tags = append(p.tags, s) }

func (p *worksPlan) in(lo, hi float64) float64 { return lo + (hi-lo)*p.rng.Float64() }

func (p *worksPlan) chance(share float64) bool { return p.rng.Float64() < share }

// machine chooses tank and sound valves.
func (p *worksPlan) machine() {
	p.set = p.in(45, 95) * psi
	p.volume = math.Exp(p.in(math.Log(0.01), math.Log(0.12)))
	p.on = p.in(0.06, 0.2)
	p.rise = p.in(0.008, 0.025)
	p.fall = p.in(0.02, 0.07)
	p.exponent = p.in(1.05, 1.35)
	share := p.in(0.12, 0.45)
	if p.chance(0.1) {
		share = p.in(0.06, 0.12)
	}
	p.full = -math.Log(1-share*p.set/(p.set+101325)) / p.exponent / p.profileArea(worksValve{on: 1})
	p.told = p.chance(0.6)
	p.valve = make([]worksValve, p.n)
	for v := range p.valve {
		p.valve[v] = worksValve{kind: "ok", state: OK, flow: 1 + 0.035*p.clip(), on: 1 + 0.02*p.clip(), with: -1, from: math.NaN()}
	}
}

// clip is a standard normal number kept within two.
func (p *worksPlan) clip() float64 { return math.Max(-2, math.Min(2, p.rng.NormFloat64())) }

// timetable lays out the turns with jitter, pauses and steps left out, and where the trace begins.
func (p *worksPlan) timetable() {
	rng := p.rng
	p.order = make([]int, p.n)
	for i := range p.order {
		p.order[i] = i + 1
	}
	if p.chance(0.3) {
		p.order = rng.Perm(p.n)
		for i := range p.order {
			p.order[i]++
		}
		p.tag("order")
	}
	p.interval = []float64{4, 5, 6, 8, 8, 10, 10, 10, 12, 15, 20, 30}[rng.IntN(12)]
	turns := p.n + rng.IntN(5*p.n+1)
	longest := 600.0
	if p.chance(0.03) {
		turns, longest = 100000, 3600
		p.tag("hour")
	}
	turns = max(min(turns, int(longest/p.interval)), p.n)
	jitter := []float64{0.001, 0.003, 0.01, 0.04}[rng.IntN(4)]
	slower := 0.0
	if p.chance(0.1) {
		slower = p.in(-0.06, 0.06) / float64(turns)
		p.tag("interval-drifts")
	}
	pause := ""
	if turns > 2*p.n && p.chance(0.15) {
		pause = []string{"cycle", "anywhere"}[rng.IntN(2)]
		p.tag("pauses-" + pause)
	}
	skip := -1
	if turns >= 5*p.n && p.chance(0.15) {
		skip = 1 + rng.IntN(turns-2)
		p.tag("step-skipped")
	}
	const lead = 4 // turns before the trace
	p.first = rng.IntN(p.n)
	t := 2.0
	for j := -lead; j < turns; j++ {
		pos := ((p.first+j)%p.n + p.n) % p.n
		w := worksTurn{valve: p.order[pos] - 1, skipped: j == skip}
		if j > 0 && (pause == "cycle" && pos == 0 || pause == "anywhere" && p.chance(0.8/float64(p.n))) {
			t += p.in(3, 15) * p.interval
			w.paused = true
		}
		w.at = t + jitter*p.interval*(2*rng.Float64()-1)
		p.turn = append(p.turn, w)
		t += p.interval * (1 + slower*float64(j))
	}
	p.begin = p.turn[lead].at - p.in(0.05, 0.97)*p.interval
	p.begin = math.Min(p.begin, p.turn[lead].at-0.4)
	p.end = p.turn[len(p.turn)-1].at + math.Max(0.6, p.in(0.1, 0.95))*p.interval
}

// inTrace lists a valve's turns within the trace.
func (p *worksPlan) inTrace(v int) []int {
	var out []int
	for j, w := range p.turn {
		if w.valve == v && w.at >= p.begin && !w.skipped {
			out = append(out, j)
		}
	}
	return out
}

// tell fills the truth in the detector's numbering.
func (p *worksPlan) tell(c *Case) {
	c.Truth, c.Counts, c.Due = make([]State, p.n), make([]int, p.n), make([]int, p.n)
	place := make([]int, p.n)
	for i, v := range p.order {
		place[v-1] = i
	}
	number := func(v int) int {
		if c.Marked {
			return v
		}
		return p.order[(place[v]-p.first+p.n)%p.n] - 1
	}
	for v, f := range p.valve {
		c.Truth[number(v)] = f.state
	}
	for _, w := range p.turn {
		if w.at < p.begin {
			continue
		}
		v := number(w.valve)
		if !w.skipped {
			c.Due[v]++
		}
		c.DueAt, c.DueValve = append(c.DueAt, w.at-p.begin), append(c.DueValve, v+1)
	}
	for v, f := range p.valve {
		for _, j := range p.inTrace(v) {
			if p.fires(v, j) {
				c.Counts[number(v)]++
				if f.again > 0 {
					c.Counts[number(v)]++
				}
			}
		}
	}
}
