package etch

import (
	"math"
	"math/rand/v2"

	"dustwright/collector"
)

// state is the machine at one time; a copy of it runs on by itself.
type state struct {
	t          float64           // [s]
	cake, drag [mostRows]float64 // [kg/m2], drag without cake [Pa s/m]
	after      float64           // drag of the after-filter [Pa s/m3]
	damper     float64           // opening
	sticky     float64           // factor of the cake's resistance that a story sets
	lifts      float64           // the same of what a pulse takes off

	running             bool
	q, hood, filters    float64 // flow [m3/s], of the hoods, and loss of cloth and cake [Pa]
	dp, tap, cabinet    float64 // across the filters; pressure at the inlet and in the cabinet [Pa]
	shaft               float64 // [W]
	dirty, clean, gauge float64 // pressures in the sensing lines, and what a gauge on them shows [Pa]

	low, high, set float64
	cleaning       bool
	skip           bool    // this cleaning does not happen
	retry          float64 // when the contact that fails is tried again [s]
	next, last     float64 // next pulse and end of the last cleaning [s]
	turn           int     // place in the firing order
	left           int     // pulses still due after the fan stopped
	press, lowest  float64 // header [Pa gauge]
	open           float64 // for how long the valve that closes late stays open [s]

	held     float64 // dust in the bin [kg]
	level    float64 // fill that the probe sees
	made     float64 // dust that came in since the start [kg]
	through  float64 // dust that passed the filters [kg]
	puff     float64 // leak detector's reading above the steady one
	taken    float64 // dust taken away since the last row [kg]
	emission float64
	emSum    float64
	steps    int
	fired    []uint8

	flip, event int
	row         float64 // time of the next row
	checked     float64 // when trouble and fill are looked at again
	now         harm
	coin        rand.PCG
}

func newState(b *bench) *state {
	s := &state{after: b.after, damper: b.trim, sticky: 1, lifts: 1, low: b.low, high: b.high, set: b.set, press: b.set - 0.2*b.droop,
		row: b.every, now: unharmed()}
	s.coin.Seed(b.seed, 17)
	for i := range b.rows {
		s.drag[i] = b.media
		if !b.fresh {
			s.drag[i] = b.plateau * (0.93 + 0.14*s.chance())
			s.cake[i] = (b.low + (b.high-b.low)*0.4*s.chance() - b.plateau*b.flow/b.face()) * b.face() / b.flow / b.k2
			s.cake[i] = max(0, s.cake[i])
		}
	}
	if !b.fresh {
		s.after += s.after * 1.1 * s.chance()
	}
	s.held = b.bin * b.bulk * 0.4 * s.chance()
	s.lowest = s.press
	return s
}

func (b *bench) face() float64 { return b.area * float64(b.rows) }

// chance is the state's own luck, the same for a copy.
func (s *state) chance() float64 { return float64(s.coin.Uint64()>>11) / (1 << 53) }

// solve finds the flow at which fan and system meet: with cloth in proportion to the flow and the rest to its square
// that is a quadratic.
func (s *state) solve(b *bench, h harm, density float64) {
	var g float64
	k2 := b.k2 * h.k2 * s.sticky
	for i := range b.rows {
		g += b.area / (s.drag[i] + h.blind*b.plateau + k2*s.cake[i])
	}
	pass := 1 + h.leak
	up := b.inlet*h.duct/(pass*pass) + b.cabinet
	if h.hatch {
		up = (b.inlet*h.duct + b.cabinet) / (pass * pass)
	}
	choke := b.open * math.Exp(-b.law*math.Log(s.place(h)))
	top := density * b.head * h.head
	a2 := density*(up+b.venturi+choke) + 1.1*top/(b.most*b.most)
	a1 := 1/g + s.after - 0.1*top*h.speed/b.most
	s.q = (math.Sqrt(a1*a1+4*a2*top*h.speed*h.speed) - a1) / (2 * a2)
	s.hood = s.q / pass
	s.filters = s.q / g
	s.dp = s.filters + density*b.venturi*s.q*s.q
	s.tap = -density * b.inlet * h.duct * s.hood * s.hood
	s.cabinet = -density * up * s.q * s.q
	x := s.q / b.most / h.speed
	s.shaft = density * b.shaft * power(x) * h.speed * h.speed * h.speed * h.torque
}

// place is where the damper's blade stands.
func (s *state) place(h harm) float64 {
	if h.damper > 1 {
		return s.damper + (1-s.damper)*(h.damper-1)
	}
	return s.damper * h.damper
}

// load settles the dust of a step on the rows, each by its air.
func (s *state) load(b *bench, busy, dt float64) {
	capture := math.Sqrt(min(1.1, s.hood/b.flow))
	m := b.loading * b.flow * busy * s.now.dust * capture
	s.made += m * dt
	if back := s.carried(b); back > 0 && s.held > 0 { // the heap is stirred up
		lifted := min(s.held, 1.2*back*m*dt)
		s.held -= lifted
		m += lifted / dt
	}
	k2 := b.k2 * s.now.k2 * s.sticky
	var sum float64
	var to [mostRows]float64
	for i := range b.rows {
		to[i] = b.share[i] / (s.drag[i] + s.now.blind*b.plateau + k2*s.cake[i])
		sum += to[i]
	}
	out := s.emits(b, m)
	pass := b.pores * b.loading * out * s.q * dt
	for i := range b.rows {
		d := (m*dt - pass) * to[i] / sum / b.area
		s.cake[i] += d
		s.drag[i] += d * (max(0, b.plateau-s.drag[i])/b.seasoning + b.creep)
	}
	s.through += pass
	if b.fitted {
		s.after += b.afterRise * pass
	}
	s.emission = out - s.puff
}

// puffs is the part of the leak detector's reading that pulses bring, on average over a step, and lets it die away.
func (s *state) puffs(dt float64) float64 {
	const tau = 25 // [s]
	left := math.Exp(-dt / tau)
	mean := s.puff * tau / dt * (1 - left)
	s.puff *= left
	return mean
}

// emits is the leak detector's reading: 1 is what sound filters let through at the usual load.
func (s *state) emits(b *bench, m float64) float64 {
	return (0.3+0.7*m/(b.loading*b.flow))*(1+s.now.hole) + s.puff
}

// carried is the share of the falling dust that comes back from a bin too full.
func (s *state) carried(b *bench) float64 {
	return s.now.carry * min(1, max(0, (s.fill(b)-0.85)/0.15))
}

// fill is how high the dust stands in the bin; a bridge over the outlet fills the room above.
func (s *state) fill(b *bench) float64 {
	f := s.held / b.bulk / b.bin
	return f + max(0, 1.02-f)*s.now.full
}

// pulse fires a valve: air from the header, cake from the row, some of it onto itself and its neighbours.
func (s *state) pulse(b *bench, v int) {
	i := v - 1
	s.fired = append(s.fired, uint8(v))
	open := 1.0
	if v == b.way.number {
		if s.now.miss > 0 && s.chance() < s.now.miss {
			return
		}
		open -= s.now.weak
		if s.now.after > 0 {
			s.open = s.now.after
		}
	}
	before := s.press
	s.press = (before+atm)*math.Exp(-atm*b.valve*open*b.onTime/b.volume) - atm
	s.press = max(0, s.press)
	s.lowest = min(s.lowest, s.press)
	j := open * before / b.set
	e := b.lift * s.now.lift * s.lifts * (1 + b.knee) * j * j / (j*j + b.knee)
	if s.running {
		e *= 1 - b.onLine*min(1.6, s.q/b.flow)
	}
	off := min(0.9, e) * s.cake[i]
	s.cake[i] -= off
	back := b.fallback
	if !s.running {
		back *= 0.3
	}
	back += (0.95 - back) * s.carried(b)
	s.held += off * (1 - back) * b.area
	below, above := min(i+1, b.rows-1), max(i-1, 0)
	s.cake[i] += 0.45 * back * off
	s.cake[below] += 0.35 * back * off
	s.cake[above] += 0.2 * back * off
	if s.running {
		s.puff += 1.2 * j
		if v == b.way.number {
			s.puff += 3 * s.now.hole * j
		}
	}
}

// refill runs the header for a while, the first of it with the valve that closes late still open.
func (s *state) refill(b *bench, dt float64) {
	bleed := s.now.bleed
	if s.now.after > 0 {
		late := min(dt, s.open)
		s.open -= late
		dt -= late
		s.feed(b, bleed, late)
		bleed = 0
	}
	s.feed(b, bleed, dt)
	s.lowest = min(s.lowest, s.press)
}

// feed runs the header with a bleed over the supply: regulator in its band or wide open, and what leaks.
func (s *state) feed(b *bench, bleed, dt float64) {
	rate := atm / b.volume
	fall := b.hours.demand[b.hours.at(s.t)]
	set := s.set*s.now.set + b.unsteady*(fall-0.2e5)
	source := b.plant - fall - s.now.pull
	leak := (0.004 + bleed) * b.supply / (b.set + atm)
	scale := b.supply * s.now.line / math.Sqrt((b.plant-b.set)*(b.plant+b.set+2*atm))
	for dt > 0 {
		wide := scale * math.Sqrt(max(0, (source-s.press)*(source+s.press+2*atm)))
		band := set - b.droop
		if s.press < band || wide == 0 || s.press >= set {
			if s.press >= set {
				wide = 0
			}
			h := min(dt, 2)
			rise := rate * (wide - leak*(s.press+atm))
			if wide > 0 && rise > 0 && s.press+rise*h > band {
				h = min(h, (band-s.press)/rise)
				s.press = band
			} else {
				s.press = max(0, s.press+rise*h)
			}
			if wide == 0 || math.Abs(rise) < 1 { // nothing quick happens any more
				s.press = max(0, s.press+rise*(dt-h))
				break
			}
			dt -= max(h, 0.05)
			continue
		}
		a := wide/b.droop + leak
		rest := (wide*set/b.droop - leak*atm) / a
		s.press = rest + (s.press-rest)*math.Exp(-a*rate*dt)
		break
	}
}

// control decides on cleaning and fires what is due within the step.
func (s *state) control(b *bench, dt float64) {
	was := s.cleaning
	switch {
	case !s.running:
		s.cleaning = s.left > 0
	case b.mode != onDemand:
		s.cleaning = true
	case !s.cleaning:
		s.cleaning = s.gauge >= s.high || b.forced > 0 && s.t-s.last > b.forced
		s.left = 0
		if s.cleaning && s.gauge < s.high {
			s.left = b.rows
		}
	case s.gauge <= s.low && s.left <= 0 && (!b.whole || s.turn == 0):
		s.cleaning = false
	}
	if s.cleaning && !was {
		s.next = s.t
		s.retry = s.t
	}
	if s.cleaning && s.t >= s.retry { // whether the contact closes this time
		s.skip = s.now.silent > 0 && s.chance() < s.now.silent
		s.retry = s.t + 5400
	}
	for at := s.t; s.cleaning; {
		if s.next >= s.t+dt {
			s.refill(b, s.t+dt-at)
			break
		}
		s.refill(b, s.next-at)
		at = s.next
		s.next += b.gap
		v := b.order[s.turn]
		s.turn = (s.turn + 1) % b.rows
		s.left = max(0, s.left-1)
		if !s.skip || s.now.silent == 0 {
			s.pulse(b, v)
		}
		if !s.running && s.left == 0 {
			s.cleaning = false
			s.refill(b, s.t+dt-at)
		}
	}
	if !s.cleaning {
		if was {
			s.last = s.t
		} else {
			s.refill(b, dt)
		}
	}
}

// flagged is what the controller says about cleaning.
func (s *state) flagged() bool { return s.cleaning && (!s.skip || s.now.mute) }

// sense moves the pressures in the lines to the gauge on.
func (s *state) sense(dt float64) {
	d, c := s.cabinet, s.cabinet-s.dp
	if !s.running {
		d, c = 0, 0
	}
	follow := func(p *float64, to, tau float64) {
		if tau == 0 {
			*p = to
			return
		}
		*p += (to - *p) * (1 - math.Exp(-dt/tau))
	}
	follow(&s.dirty, d, s.now.dirty)
	follow(&s.clean, c, s.now.clean)
	s.gauge = (1-s.now.loose)*s.dirty - (1-s.now.loose)*(1-s.now.crack)*s.clean
	if s.now.crossed {
		s.gauge = -s.gauge
	}
}

// visit is what people do to the bin once in a while: they empty it, unless it is what is wrong.
func (s *state) visit(b *bench) {
	if f := s.held / b.bulk / b.bin; f > b.emptyAt && s.now.full == 0 && s.running && math.Mod(s.t, day) < 9*3600 {
		part := s.held * (0.9 + 0.1*s.chance())
		s.held -= part
		s.taken += part
	}
}

// renew puts new filters in and closes the damper down for them.
func (s *state) renew(b *bench) {
	for i := range b.rows {
		s.held += s.cake[i] * b.area
		s.cake[i], s.drag[i] = 0, b.media
	}
	s.damper = b.opening(b.media * b.flow / b.face() * 1.3)
}

func downtime(b *bench) int {
	if b.mode == collector.None {
		return 0
	}
	return b.down * b.rows
}
