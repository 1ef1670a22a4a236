// Package sketchtest makes recordings of cleaning cycles the way a person would sketch them who has
// never seen package eartest: shaped noise, sines and sweeps under simple envelopes, with the truth beside
// them. It shares no code with eartest or with the detector. How a pulse sounds, and that a valve that
// does not shut hisses on, is common practice, no published source.
package sketchtest

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

// Shapes are the sounds a pulse can have.
var Shapes = []string{"bang", "burst", "thump", "whistle", "cough"}

// Options say what kind of recording to make.
type Options struct {
	SNR   float64 // mean power of a good pulse while it lasts over that of the background [dB]
	Shape string  // one of Shapes; empty: drawn
}

// Case is a recording with its truth. Valves are counted from 0, beginning with the first one due.
type Case struct {
	Seed     uint64
	Samples  []float32 // -1 to 1, one channel
	Rate     int       // samples a second
	Valves   int
	Interval float64   // what the controller is set to [s]
	Truth    []string  // state of each valve
	Counts   []int     // openings of each valve that sound; of a valve that stands open, only those with a burst
	At       []float64 // when pulses were due [s]
	Tags     []string  // what was drawn
}

// plan is a recording being made.
type plan struct {
	*rand.Rand
	c     *Case
	rate  float64
	n     int
	shape shape
	open  float64 // length of a good pulse [s]
	full  float64 // rms of a good pulse
	hiss  int     // how a stuck valve goes on, see stuck
	twice []bool
}

// tag notes what was drawn.
func (p *plan) tag(format string, args ...any) {
	p.c.Tags = append(p.c.Tags, fmt.Sprintf(format, args...))
}

// in draws a number from a range.
func (p *plan) in(lo, hi float64) float64 { return lo + (hi-lo)*p.Float64() }

// odds is true in a share of the draws.
func (p *plan) odds(share float64) bool { return p.Float64() < share }

// Generate makes the recording of a seed.
func Generate(seed uint64, o Options) Case {
	c := Case{Seed: seed}
	p := &plan{Rand: rand.New(rand.NewPCG(seed, 0x5ce7c4)), c: &c}
	c.Rate = []int{16000, 22050, 44100, 48000}[p.IntN(4)]
	p.rate = float64(c.Rate)
	p.cycle()
	p.states()
	if o.Shape == "" {
		o.Shape = Shapes[p.IntN(len(Shapes))]
	}
	p.tag("%s", o.Shape)
	p.shape = p.draw(o.Shape)
	p.open = p.in(0.06, 0.35)
	pulses := p.pulses()
	if p.odds(0.5) {
		p.echo(pulses)
	}
	background := p.background()
	level := p.full * math.Pow(10, -o.SNR/20)
	if p.odds(0.4) {
		p.tag("in-band")
		level /= p.inBand(background)
	} else {
		level /= root(background)
	}
	if p.odds(0.3) {
		p.speech(background)
	}
	for i := range pulses {
		pulses[i] += level * background[i]
	}
	if p.odds(0.25) {
		p.knocks(pulses)
	}
	p.recorder(pulses)
	return c
}

// cycle draws the valves, the interval and when pulses are due.
func (p *plan) cycle() {
	c := p.c
	c.Valves = 3 + p.IntN(10)
	c.Interval = math.Round(p.in(3, 12))
	for float64(c.Valves)*c.Interval > 70 {
		c.Valves--
	}
	due := c.Valves
	for float64(due)*c.Interval < 70 && p.odds(0.65) {
		due += 1 + p.IntN(c.Valves)
	}
	step := c.Interval * p.in(0.95, 1.05)
	drift := p.in(-0.03, 0.03)
	at := p.in(0.4, c.Interval)
	if p.odds(0.15) {
		p.tag("begins late")
		at += p.in(0, c.Interval)
	}
	for k := range due {
		c.At = append(c.At, at)
		at += step*(1+drift*float64(k)/float64(due)) + p.in(-0.04, 0.04)
	}
	end := c.At[due-1] + p.in(0.8, c.Interval)
	if p.odds(0.15) {
		p.tag("ends late")
		end += p.in(0, c.Interval)
	}
	p.n = int(end * p.rate)
}

// states draws what ails the valves: at least half of them are good.
func (p *plan) states() {
	c := p.c
	c.Truth, c.Counts, p.twice = make([]string, c.Valves), make([]int, c.Valves), make([]bool, c.Valves)
	for i := range c.Truth {
		c.Truth[i] = OK
	}
	bad := []string{Weak, Dead, Stuck, Weak, Dead}
	if p.odds(0.5) {
		bad = []string{Stuck, Dead, Weak, Dead, Weak}
	}
	for k, i := range p.Perm(c.Valves)[:min(c.Valves/2, p.IntN(5))] {
		c.Truth[i] = bad[k]
	}
	if p.odds(0.2) {
		i := p.IntN(c.Valves)
		p.twice[i] = c.Truth[i] == OK
		p.tag("double %d", i+1)
	}
	p.hiss = []int{0, 0, 1, 1, 1, 2, 2, 2, 3}[p.IntN(9)]
}

// pulses writes what the valves do.
func (p *plan) pulses() []float64 {
	c := p.c
	out := make([]float64, p.n)
	good := p.shape(p.open, 1)
	p.full = root(good[:min(len(good), int(p.open*p.rate))])
	strength, length, treble := make([]float64, c.Valves), make([]float64, c.Valves), make([]float64, c.Valves)
	for i, s := range c.Truth {
		strength[i], length[i], treble[i] = p.in(0.88, 1.14), 1, 1
		if s == Weak {
			strength[i] = p.in(0.2, 0.58)
			if p.odds(0.4) {
				length[i] = p.in(0.4, 0.9)
			}
			if p.odds(0.3) {
				treble[i] = p.in(0.3, 0.8)
			}
		}
	}
	for k, at := range c.At {
		i := k % c.Valves
		switch c.Truth[i] {
		case Dead:
			continue
		case Stuck:
			if !p.stuck(out, k) {
				continue
			}
		}
		p.lay(out, at, strength[i]*p.in(0.95, 1.05), length[i], treble[i])
		c.Counts[i]++
		if p.twice[i] {
			p.lay(out, at+p.open+p.in(0.2, 0.7), strength[i]*p.in(0.8, 1), length[i], 1)
			c.Counts[i]++
		}
	}
	return out
}

// lay adds one pulse.
func (p *plan) lay(out []float64, at, strength, length, treble float64) {
	from := int(at * p.rate)
	for i, v := range p.shape(p.open*length, treble) {
		if from+i < len(out) {
			out[from+i] += strength * v
		}
	}
}

// stuck writes the hiss of a valve that does not shut, from when it is due the k-th time, and says
// whether it bursts then: it does each time (hiss 0 and 1), the first time (2), or never, having stood open
// since before the recording (3).
func (p *plan) stuck(out []float64, k int) bool {
	c := p.c
	first := k < c.Valves
	from, to := int(c.At[k]*p.rate), len(out)
	if p.hiss == 3 {
		from = 0
	}
	switch {
	case p.hiss == 0 && k+1 < len(c.At): // dies down until the next
		to = int(c.At[k+1] * p.rate)
	case p.hiss > 0 && !first: // goes on since the first time
		return p.hiss == 1
	}
	noise := p.white(to - from)
	p.band(noise, p.in(300, 1500), p.in(4000, 9000))
	p.tag("hiss %d", p.hiss)
	scale := p.full * p.in(0.25, 0.7) / root(noise)
	for i, v := range noise {
		up := math.Min(1, float64(i)/p.rate/0.05)
		if p.hiss == 0 {
			up *= 1 - 0.5*float64(i)/float64(len(noise))
		}
		out[from+i] += scale * up * v
	}
	return p.hiss != 3
}
