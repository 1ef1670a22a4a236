// Package tracetest makes header-pressure traces of cleaning cycles whose truth is known, for the
// tests and the score board of the valve check. It shares no code with the detector: it has its own
// constants, its own tank and its own instruments, and four families of machine that do not agree
// with one another: "tank" integrates mass and energy of a receiver with ISO 6358 valves, a regulator
// and warm walls; "sketch" only draws what a person with a pencil would draw; "rough" lays pulses of
// other shapes over a wandering line or runs two vessels behind a compressor that loads and unloads;
// "works" is a header on a line that others draw from, behind a regulator with backlash, with valves,
// controllers and sensors that fail in more ways. A detector that leans on one family's equations fails
// on the others.
package tracetest

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
)

// State is the truth about one valve, in the words the detector must use.
type State string

// The four states.
const (
	OK    State = "ok"
	Weak  State = "weak"
	Dead  State = "dead"
	Stuck State = "stuck-open"
)

const psi = 6894.757293 // Pa

// Mark is a row at which the trace says that a valve fired.
type Mark struct{ Row, Valve int }

// Case is one trace with what a collector file would say of the machine and the truth.
type Case struct {
	Seed   uint64
	Family string // "tank", "sketch", "rough" or "works"
	SNR    float64
	Tags   []string // what is special: supply, faults, instruments

	// What the collector file says; the machine differs from it a little, as machines do.
	Valves                           int
	Order                            []int   // firing order; nil = 1, 2, 3 ...
	Interval, Volume, ValveC, OnTime float64 // s, m3, m3/(s Pa), s
	Set, SupplyFlow                  float64 // Pa gauge, m3/s free air
	Time, Header                     []float64
	Marks                            []Mark
	Marked                           bool // some mark tells the numbering
	Truth                            []State
	Counts                           []int     // openings of each valve within the trace
	Due                              []int     // times each valve was due within the trace
	DueAt                            []float64 // when a valve was due, by the trace's clock [s]
	DueValve                         []int     // which, in the numbering of Truth
}

// Options narrow what Generate may choose; the zero value lets it choose everything.
type Options struct {
	SNR     float64 // dB; NaN or 0 with AnySNR set lets the seed choose -6 to 30
	AnySNR  bool
	Family  string // "" lets the seed choose tank or sketch
	Valves  int    // 0 lets the seed choose 2 to 24
	NoFault bool
}

// plan is the machine and the schedule before any pressure is computed.
type plan struct {
	rng      *rand.Rand
	n        int
	interval float64
	end      float64
	start    float64 // what the recorder's clock says at the first row [s]
	due      []due
	valve    []fault
	supply   supply
	set      float64
	volume   float64
	c, b     float64
	on       float64
	rise     float64
	fall     float64
	share    float64 // aimed drop as a share of the gauge pressure
	tags     []string
}

// due is one command of the controller.
type due struct {
	at    float64
	valve int
}

// Generate makes the case of that seed; the same seed and options give the same case, bit for bit.
func Generate(seed uint64, o Options) Case {
	rng := rand.New(rand.NewPCG(seed, 0x9e3779b97f4a7c15))
	if o.AnySNR {
		o.SNR = -6 + 36*rng.Float64()
	}
	if o.Family == "" {
		o.Family = []string{"tank", "sketch"}[rng.IntN(2)]
	}
	switch o.Family {
	case "rough":
		return generateRough(seed, rng, o)
	case "works":
		return generateWorks(seed, rng, o)
	}
	p := newPlan(rng, o)
	var clean []float64
	var events []opening
	const step = 0.002
	if o.Family == "tank" {
		clean, events = p.runTank(step)
	} else {
		clean, events = p.runSketch(step)
	}
	c := Case{Seed: seed, Family: o.Family, SNR: o.SNR, Valves: p.n, Set: p.set}
	c.Interval = p.interval
	c.Volume = p.volume * (1 + 0.03*rng.NormFloat64())
	c.ValveC = p.c * (1 + 0.10*rng.NormFloat64())
	c.OnTime = p.on
	c.SupplyFlow = p.supply.free(p.set)
	p.measure(&c, clean, step)
	p.tell(&c, events)
	c.Tags = p.tags
	return c
}

func between(rng *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }

func (p *plan) tag(s string) { p.tags = append(p.tags, s) }

func newPlan(rng *rand.Rand, o Options) *plan {
	p := &plan{rng: rng}
	p.n = o.Valves
	if p.n == 0 {
		p.n = []int{2, 3, 4, 5, 6, 6, 6, 8, 8, 10, 12, 16, 24}[rng.IntN(13)]
	}
	p.interval = []float64{6, 8, 10, 10, 10, 10, 12, 15, 20}[rng.IntN(9)]
	p.set = between(rng, 45, 90) * psi
	if rng.Float64() < 0.5 {
		p.set = 60 * psi
	}
	p.on = between(rng, 0.08, 0.2)
	p.b = between(rng, 0.2, 0.45)
	p.rise = between(rng, 0.005, 0.025)
	p.fall = between(rng, 0.015, 0.06)
	p.share = between(rng, 0.15, 0.5)
	if rng.Float64() < 0.12 {
		p.share = between(rng, 0.06, 0.15)
	}
	p.chooseSupply()
	p.schedule()
	p.chooseFaults(o.NoFault)
	p.volume = between(rng, 0.012, 0.08)
	p.c = p.conductanceFor(p.share)
	return p
}

// conductanceFor solves for the valve that takes the aimed share of the gauge pressure in one pulse
// (choked, isothermal: p falls by exp(-t/tau)).
func (p *plan) conductanceFor(share float64) float64 {
	abs := p.set + 101325
	ratio := (abs - share*p.set) / abs
	t := p.on + 0.01 + 0.5*(p.fall-p.rise)
	tau := -t / math.Log(ratio)
	return p.volume / (1.185 * 287.05 * 293.15 * tau)
}

// schedule lays out when each valve is due: an interval that drifts and jitters, a first valve and a
// first moment nobody told, pauses between cycles in some cases.
func (p *plan) schedule() {
	rng := p.rng
	cycles := 1 + rng.IntN(10)
	for float64(cycles*p.n)*p.interval > 900 && cycles > 1 {
		cycles--
	}
	slots := cycles*p.n + rng.IntN(p.n)
	if p.supply.kind == "none" {
		slots = p.n
		if p.n < 4 {
			slots = 2 * p.n
		}
		p.share = math.Min(p.share, 0.6/float64(slots))
	}
	true0 := p.interval * (1 + 0.01*rng.NormFloat64())
	if rng.Float64() < 0.15 {
		true0 = p.interval * between(rng, 0.88, 1.12)
		p.tag("interval-off")
	}
	drift := 0.0
	if rng.Float64() < 0.2 {
		drift = between(rng, -0.05, 0.05) / float64(slots)
		p.tag("interval-drifts")
	}
	pause, first := 0.0, rng.IntN(p.n)
	if rng.Float64() < 0.12 && slots > p.n {
		pause = between(rng, 1.4, 5) * p.interval
		p.tag("pauses")
	}
	t := between(rng, 0.06, 0.98) * true0
	t = math.Max(t, 0.5)
	for k := 0; k < slots; k++ {
		v := (first + k) % p.n
		if v == 0 && k > 0 && pause > 0 {
			t += pause
		}
		p.due = append(p.due, due{at: t + 0.004*rng.NormFloat64(), valve: v})
		t += true0 * (1 + drift*float64(k))
	}
	p.end = t - true0*between(rng, 0.05, 0.5)
}

// tell fills the truth in the numbering the detector has to use: by the marks where there are any,
// otherwise by the order of slots in the trace.
func (p *plan) tell(c *Case, events []opening) {
	c.Truth = make([]State, p.n)
	c.Counts = make([]int, p.n)
	c.Due = make([]int, p.n)
	shift := p.due[0].valve
	if c.Marked {
		shift = 0
	}
	number := func(valve int) int { return ((valve-shift)%p.n + p.n) % p.n }
	for v := range p.n {
		c.Truth[number(v)] = p.valve[v].state()
	}
	for _, d := range p.due {
		c.Due[number(d.valve)]++
		c.DueAt = append(c.DueAt, p.start+d.at)
		c.DueValve = append(c.DueValve, number(d.valve)+1)
	}
	for _, e := range events {
		if e.moves {
			c.Counts[number(e.valve)]++
		}
	}
}

// CSV writes the case as a trace file: psi, and pulse marks where the case has any.
func (c Case) CSV() string {
	var b strings.Builder
	b.WriteString("time_s,header[psi]")
	if len(c.Marks) > 0 {
		b.WriteString(",pulse")
	}
	b.WriteByte('\n')
	k := 0
	for i, t := range c.Time {
		b.WriteString(strconv.FormatFloat(t, 'f', 4, 64))
		b.WriteByte(',')
		if !math.IsNaN(c.Header[i]) {
			b.WriteString(strconv.FormatFloat(c.Header[i]/psi, 'f', 3, 64))
		}
		if len(c.Marks) > 0 {
			b.WriteByte(',')
			for ; k < len(c.Marks) && c.Marks[k].Row == i; k++ {
				fmt.Fprint(&b, c.Marks[k].Valve)
			}
		}
		b.WriteByte('\n')
	}
	return b.String()
}
