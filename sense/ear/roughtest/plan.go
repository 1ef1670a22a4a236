// Package roughtest makes recordings of cleaning cycles from what happens in the machine and in the phone: a tank whose
// pressure falls with every pulse and is refilled, a diaphragm valve with its pilot, a jet, a blowpipe that rings, cake that
// falls, a room, a fan, the shop around, and a phone that meddles. It shares no code with the detector or with
// packages eartest and sketchtest. How the parts sound is common practice, no published source.
package roughtest

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// The states of a valve, spelt as the detector spells them.
const (
	OK    = "ok"
	Weak  = "weak"
	Dead  = "dead"
	Stuck = "stuck-open"
)

// Clip is a recording with its truth. Valves are counted from 0, beginning with the first one due.
type Clip struct {
	Seed     uint64
	Samples  []float32 // -1 to 1, one channel
	Rate     int       // samples a second
	Valves   int
	Interval float64   // what the controller is said to be set to [s]; NaN where nobody knows
	Truth    []string  // state of each valve
	Counts   []int     // openings of each valve that sound
	Due      []float64 // when each turn was due [s]; turn i is of valve i modulo Valves
	Offset   []float64 // of each valve by its place and make [dB]
	Tags     []string  // what was drawn
}

// plan is a machine, what ails it and when its turns are.
type plan struct {
	rng      *rand.Rand
	rate     int
	n        int // samples
	valves   int
	interval float64
	nominal  float64
	due      []float64
	state    []string
	form     []string  // of the fault
	amount   []float64 // of the fault, its meaning by its form
	offset   []float64 // [dB]
	double   []bool
	from     []int // turn from which a stuck valve stands open
	tags     []string
}

func (p *plan) tag(format string, args ...any) { p.tags = append(p.tags, fmt.Sprintf(format, args...)) }

// between draws evenly.
func (p *plan) between(low, high float64) float64 { return low + (high-low)*p.rng.Float64() }

func (p *plan) chance(share float64) bool { return p.rng.Float64() < share }

// one draws one of some words.
func (p *plan) one(words ...string) string { return words[p.rng.IntN(len(words))] }

const longest = 100 // of a recording, where the machine allows it [s]

// draw draws a machine.
func draw(seed uint64) *plan {
	p := &plan{rng: rand.New(rand.NewPCG(seed, 0x70756666))}
	p.rate = []int{16000, 22050, 32000, 44100, 48000}[p.rng.IntN(5)]
	p.valves = int(math.Round(4 * math.Pow(6, p.rng.Float64())))
	cycles := p.between(1.1, 3.2)
	p.interval = 3 * math.Pow(10, p.rng.Float64())
	p.interval = max(3, min(p.interval, longest/(float64(p.valves)*cycles)))
	if float64(p.valves)*cycles*p.interval > longest {
		cycles = max(1.05, longest/(float64(p.valves)*p.interval))
	}
	p.nominal = p.interval * p.between(0.97, 1.03)
	if p.chance(0.3) {
		p.nominal = math.NaN()
	}
	p.faults()
	p.turns(int(math.Ceil(cycles * float64(p.valves))))
	p.row()
	return p
}

// faults draws what ails which valve.
func (p *plan) faults() {
	p.state, p.form = make([]string, p.valves), make([]string, p.valves)
	p.amount, p.double, p.from = make([]float64, p.valves), make([]bool, p.valves), make([]int, p.valves)
	for i := range p.state {
		p.state[i] = OK
		p.double[i] = p.chance(0.02)
	}
	kinds := []string{Weak, Dead, Stuck}
	first, stuck := p.rng.IntN(3), 0
	for k, i := range p.rng.Perm(p.valves)[:1+p.rng.IntN(max(1, p.valves/3))] {
		kind := kinds[(first+k)%3]
		if kind == Stuck {
			if stuck++; stuck > 2 {
				continue
			}
		}
		p.state[i], p.double[i] = kind, false
		switch kind {
		case Weak:
			p.form[i] = p.one("low", "low", "short", "late")
		case Dead:
			p.form[i] = p.one("silent", "click")
		case Stuck:
			p.form[i] = p.one("stays", "stays", "stays mute", "slow", "slow", "always")
			if p.form[i] == "always" && stuck > 1 {
				p.form[i] = "slow"
			}
		}
		p.amount[i] = p.rng.Float64()
		if p.form[i] != "" {
			p.tag("%d %s %.2f", i+1, p.form[i], p.amount[i])
		}
	}
}

// turns draws when the valves are due.
func (p *plan) turns(turns int) {
	drift, jitter := 0.0, p.between(0.002, 0.03)
	if p.chance(0.3) {
		drift = p.between(-0.03, 0.03)
		p.tag("drift %.3f", drift)
	}
	pauseAt, every := -1, false
	if p.chance(0.2) && turns > p.valves {
		pauseAt, every = p.rng.IntN(p.valves), p.chance(0.6)
		// Next to a pause nobody can tell a dead valve from none.
		for _, i := range []int{pauseAt, (pauseAt + 1) % p.valves} {
			if p.state[i] == Dead || p.form[i] == "always" {
				p.state[i], p.form[i] = OK, ""
			}
		}
		p.tag("pause after %d, every cycle %v", pauseAt+1, every)
	}
	pause := (float64(p.rng.IntN(3)) + p.between(0.4, 0.6)) * p.interval
	t := p.between(0.3, 0.95) * p.interval
	for k := range turns {
		p.due = append(p.due, max(0.1, t+jitter*p.rng.NormFloat64()))
		t += p.interval * (1 + drift*float64(k)/float64(turns))
		if k%p.valves == pauseAt && k+1 < turns && (every || k < p.valves) {
			t += pause
		}
	}
	p.n = int((p.due[turns-1] + min(0.9*p.interval, p.between(1.2, 4))) * float64(p.rate))
}

// row draws how loud each valve is by its place: the phone lies somewhere along the row.
func (p *plan) row() {
	p.offset = make([]float64, p.valves)
	at, span, scatter := p.between(-0.2, 1.2), p.between(0, 20)*p.rng.Float64(), p.between(0.2, 1)
	mean := 0.0
	start := p.rng.IntN(p.valves) // the valve at the end of the row; the recording begins anywhere
	if p.chance(0.5) {
		start = 0
	}
	for i := range p.offset {
		x := float64((i+start)%p.valves) / float64(max(1, p.valves-1))
		p.offset[i] = -span*math.Log2(1+math.Abs(x-at))/math.Log2(1+max(at, 1-at)) + scatter*p.rng.NormFloat64()
		mean += p.offset[i] / float64(p.valves)
	}
	for i := range p.offset {
		p.offset[i] -= mean
	}
	p.tag("row %.0f dB from %d", span, start)
}
