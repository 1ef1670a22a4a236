package slate

import (
	"math"

	"dustwright/collector"
	"dustwright/solve"
)

// phase is a stretch of the record in which nothing is switched: filtering up to a set point, some pulses, or standing.
// What it begins and ends with is known; the log draws a shape between.
type phase struct {
	from, to         float64 // [s]
	dp0, dp1         float64 // as the gauge has it [Pa]
	flow0, flow1     float64
	running, cleaned bool
}

// pulse is one valve's, with the header's pressure before and after.
type pulse struct {
	at            float64
	valve         int
	before, after float64
}

// balance is the state carried from hour to hour, and what it leaves: the phases, which cover the whole record, the pulses,
// and a figure an hour of what changes slowly.
type balance struct {
	p             *plant
	number        int // valve or row in trouble
	t             float64
	dust, share   []float64 // on each row [kg/m2]; of each row's velocity in the mean one
	passed        float64   // dust since the filters were new [kg/m2]
	flow, dp      float64   // as they are [-], [Pa]
	reading       float64   // of the gauge [Pa]
	header, since float64   // pressure after the last pulse, and when that was
	next, fired   int       // valve that is next; pulses since this cleaning began
	due           float64   // when it may fire
	cleaning      bool
	bin, after    float64

	phases              []phase
	pulses              []pulse
	bins, emptied, afts []float64 // [kg], [kg], [Pa at design flow]
}

// reckon works out the sheet.
func reckon(p *plant, sheet []hour, number int) *balance {
	b := &balance{p: p, number: number, dust: make([]float64, p.rows), share: make([]float64, p.rows), passed: p.passed, flow: 1, header: p.set, after: p.after}
	for i := range sheet {
		h := &sheet[i]
		if h.renewed {
			clear(b.dust)
			b.passed = 0
		}
		start, stop := float64(i)*hourSec, float64(i+1)*hourSec
		b.rest(h, start+h.from)
		for end := start + h.to; b.t < end; {
			if b.cleaning || p.mode != collector.OnDemand {
				b.clean(h, end)
			} else {
				b.filter(h, end)
			}
		}
		if h.from < h.to && (h.to < hourSec || i+1 == len(sheet) || sheet[i+1].to == 0) {
			if b.cleaning = false; p.downtime > 0 && !h.mute {
				b.downtime(h)
			}
		}
		b.rest(h, stop)
		gone := 0.0
		if b.bin > p.emptyAt*p.binVolume*p.bulk && h.heap == 0 && h.from < h.to {
			gone, b.bin = b.bin, 0
		}
		b.after += p.afterGrowth * (h.to - h.from) * (1 + 40*h.hole)
		b.bins, b.emptied, b.afts = append(b.bins, b.bin), append(b.emptied, gone), append(b.afts, b.after)
	}
	return b
}

// system is what the square of the flow takes at standard air.
func (p *plant) system(h *hour) float64 {
	hoods := 1 + h.inleak
	return p.duct*h.duct/(hoods*hoods) + p.damper*(p.open/h.open)*(p.open/h.open)
}

// flowAt is the flow the fan leaves when the filters take dp, from the quadratic; 0 where the fan can't.
func (p *plant) flowAt(h *hour, dp, after float64) float64 {
	a := h.density * (p.fan[2] - p.system(h))
	b := h.density*p.fan[1]*h.speed - after
	c := h.density*p.fan[0]*h.speed*h.speed - dp
	if c <= 0 {
		return 0
	}
	return (-b - math.Sqrt(b*b-4*a*c)) / (2 * a)
}

// flowThrough is the flow through filters of a resistance: dp = resistance x^speedExp.
func (p *plant) flowThrough(h *hour, resistance, after float64) float64 {
	return root(4, func(x float64) float64 { return p.flowAt(h, resistance*math.Pow(x, p.speedExp), after) - x })
}

// root is that of a falling function that is positive at 0 and negative at most.
func root(most float64, f func(float64) float64) float64 {
	x, err := solve.Root(f, 0, most, 1e-5*most)
	if err != nil {
		panic("slate: " + err.Error())
	}
	return x
}

// resistance is that of all rows side by side, with so much more dust brought by the flow as it is shared now.
func (b *balance) resistance(h *hour, more float64) float64 {
	sum := 0.0
	for i := range b.dust {
		sum += b.eases(h, i, more)
	}
	return math.Pow(sum/float64(b.p.rows), -b.p.speedExp)
}

// eases is the flow through a row at 1 Pa, in shares of its design flow.
func (b *balance) eases(h *hour, i int, more float64) float64 {
	p := b.p
	clean := p.media + p.stays*h.clogged*-math.Expm1(-b.passed/p.season)*(1+p.ageing*b.passed)
	cake := p.cake * h.cake * math.Pow((b.dust[i]+more*b.share[i])/p.layer, p.dustExp)
	return math.Pow(clean*p.uneven[i]+cake, -1/p.speedExp)
}

// meet finds flow and dP as they are, and how the rows share the flow.
func (b *balance) meet(h *hour) {
	r := b.resistance(h, 0)
	b.flow = b.p.flowThrough(h, r, b.after)
	b.dp = r * math.Pow(b.flow, b.p.speedExp)
	for i := range b.share {
		b.share[i] = b.eases(h, i, 0) * math.Pow(r, 1/b.p.speedExp)
	}
}

// rate is the dust that comes in [kg/m2 s]. Hoods with less air catch less, though not in proportion.
func (b *balance) rate(h *hour) float64 {
	return b.p.flux() * max(0, h.feed) * math.Pow(b.flow/(1+h.inleak), 0.6)
}

// load brings in dust up to a time.
func (b *balance) load(h *hour, until float64) {
	more := b.rate(h) * (until - b.t)
	for i := range b.dust {
		b.dust[i] += more * b.share[i]
	}
	b.passed += more
	b.t = until
}

// book closes a phase that began at a time with a reading and a flow, and takes the next reading.
func (b *balance) book(h *hour, from phase) {
	arrives := h.gain*b.dp + h.offset
	if h.choke > 0 {
		arrives += (b.reading - arrives) * math.Exp(-(b.t-from.from)/h.choke)
	}
	b.reading = arrives
	from.to, from.dp1, from.flow1 = b.t, b.reading, b.flow
	if !from.running {
		from.flow0, from.flow1 = 0, 0
		if h.choke == 0 {
			from.dp0 = b.reading
		}
	}
	b.phases = append(b.phases, from)
}

// begin opens a phase.
func (b *balance) begin(h *hour, running, cleaned bool) phase {
	if running {
		b.meet(h)
		if h.choke == 0 {
			b.reading = h.gain*b.dp + h.offset
		}
	}
	return phase{from: b.t, dp0: b.reading, flow0: b.flow, running: running, cleaned: cleaned}
}

// rest lets the machine stand until a time.
func (b *balance) rest(h *hour, until float64) {
	if b.t >= until {
		return
	}
	from := b.begin(h, false, false)
	b.t, b.dp = until, 0
	b.book(h, from)
}

// filter runs without pulses until the reading is at the high set point, or until end. A gauge that lags is looked at every
// five minutes.
func (b *balance) filter(h *hour, end float64) {
	from := b.begin(h, true, false)
	until := end
	if h.choke > 0 {
		until = min(end, b.t+300)
	} else if target := (h.high - h.offset) / h.gain; h.gain > 0.02 && !h.mute {
		until = b.t + (end-b.t)*b.shareUntil(h, target, b.rate(h)*(end-b.t))
	}
	b.load(h, until)
	b.meet(h)
	b.book(h, from)
	if b.reading >= h.high-1 && !h.mute {
		b.cleaning, b.fired = true, 0
	}
}

// shareUntil is the share of some dust to come that brings the dP to a target, at most 1.
func (b *balance) shareUntil(h *hour, target, dust float64) float64 {
	x := b.p.flowAt(h, target, b.after)
	want := target / math.Pow(x, b.p.speedExp)
	switch {
	case x <= 0 || b.resistance(h, dust) <= want:
		return 1
	case b.resistance(h, 0) >= want:
		return 0
	}
	return root(1, func(share float64) float64 { return want - b.resistance(h, share*dust) })
}

// clean fires valves one interval apart. The first laps of a cleaning are looked at pulse by pulse, later ones lap by lap.
func (b *balance) clean(h *hour, end float64) {
	many := 1
	if b.p.mode != collector.OnDemand || b.fired > 2*b.p.rows {
		many = min(b.p.rows, 1+int(900/b.p.interval))
	}
	from := b.begin(h, true, !h.mute)
	for range many {
		b.load(h, min(end, max(b.t, b.due)))
		if b.t >= end {
			break
		}
		if b.due = b.t + b.p.interval; !h.mute {
			b.fire(h, 1)
		}
	}
	b.meet(h)
	b.book(h, from)
	b.cleaning = b.reading > h.low && !h.mute
}

// downtime cleans after the fan has stopped, when pulses do more.
func (b *balance) downtime(h *hour) {
	from := b.begin(h, false, true)
	b.dp = 0
	for range min(b.p.downtime*b.p.rows, int(1500/b.p.interval)) {
		b.fire(h, 1.35)
		b.t += b.p.interval
	}
	b.book(h, from)
}

// recovered is the header's pressure some time after it stood at p: a first-order recovery, held back by the supply.
func (p *plant) recovered(h *hour, low, after float64) float64 {
	rest := h.set * (1 - h.bleed)
	return min(rest+(low-rest)*math.Exp(-after/p.recovery), low+p.supply*h.supply*after)
}

// fire pulses the next valve; better is how much more a pulse does than on a filtering row.
func (b *balance) fire(h *hour, better float64) {
	p, i := b.p, b.next
	b.next, b.fired = (i+1)%p.rows, b.fired+1
	lift := p.uneven[p.rows-1-i]
	if i+1 == b.number {
		lift *= h.lift
	}
	before := p.recovered(h, b.header, b.t-b.since)
	b.header, b.since = before-p.take*lift*(before+atmosphere), b.t
	b.pulses = append(b.pulses, pulse{b.t, i + 1, before, b.header})
	off := b.dust[i] * min(0.97, better*h.shed*lift*p.effect(before))
	b.dust[i] -= off
	carried := off * h.back
	for j := range b.dust {
		b.dust[j] += carried / float64(p.rows)
	}
	off -= carried
	if i+1 < p.rows {
		b.dust[i+1] += off * p.fallsBack
		off *= 1 - p.fallsBack
	}
	b.bin += off * p.area / float64(p.rows)
}
