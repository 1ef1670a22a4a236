package carve

import (
	"math"
	"math/rand/v2"

	"dustwright/judge"
	"dustwright/sense"
)

// run is a machine as it goes through its rows.
type run struct {
	p     *plant
	air   *air
	cloth cloth
	head  header
	f     *trouble // no cause where nothing is wrong
	story *story
	crew  *crew
	r     *rand.Rand // what is left to chance from pulse to pulse
	mean  bool       // the logger keeps averages over a row, else what is there at its end

	t        float64 // end of the row [s]
	rho      float64
	flow, dp float64
	low      float64 // set points as they are now [Pa]
	high     float64
	cleaning bool
	due      float64 // until the next pulse [s]
	next     int     // row that is pulsed next
	left     int     // pulses of a cleaning that does not ask for the dP
	wasOn    bool
	felt     float64 // what the plugged line passes on [Pa]
	sum      float64 // dP over time in this row [Pa s]
	puff     float64 // emission of this row's pulses
	used     float64 // share of the filters' life
	wet      float64 // humidity as the cake has it
	bin, hop float64 // dust in the bin; how full the hopper above it stands, 0 to 1 [kg, 1]
	fell     float64 // in this row [kg]
	loaded   float64 // drag the after-filter has gained [Pa s/m3]

	log *log
}

// log is what the row loop writes: true values by channel.
type log struct {
	col    [sense.NumChannels][]float64
	pulses []sense.Firing
}

// newRun sets a machine up as it stands before its first row.
func newRun(p *plant, f *trouble, s *story, c crew, seed uint64) *run {
	m := &run{p: p, air: newAir(p), story: s, crew: &c, r: rand.New(rand.NewPCG(seed, 77)), low: p.low, high: p.high, used: p.age, log: &log{}, f: &trouble{}}
	r := rand.New(rand.NewPCG(seed, 78))
	m.cloth = cloth{p: p, rows: make([]row, p.rows), other: 1}
	if f != nil {
		*m.f = *f
	}
	for i := range m.cloth.rows {
		w := &m.cloth.rows[i]
		w.seen = p.age * p.life * p.load * p.velo * between(r, 0.85, 1.1)
		w.stuck = w.seen * p.blind * p.k2
	}
	m.cloth.refresh(600)
	mid := p.low + 0.4*(p.high-p.low)
	if p.mode == "on-demand" && p.age > 0 {
		for i := range m.cloth.rows {
			w := &m.cloth.rows[i]
			w.cake = max(0, mid/p.velo-w.drag) / m.cloth.k2 * between(r, 0.7, 1.2)
		}
	} else if p.mode != "on-demand" {
		mid = m.cloth.resist*p.flow + 60
	}
	m.air.cloth = mid / p.flow
	m.loaded = m.air.after * p.age * between(r, 0.2, 1.2)
	m.air.after += m.loaded
	m.air.settle(p.flow, 1.2)
	m.dp, m.wet = mid, 0.5
	m.felt = mid
	m.head = header{p: p, now: p.set}
	m.bin = between(r, 0, 0.5) * p.bin * p.heap
	if f != nil && f.cause == judge.BinOverfull && f.from == 0 {
		m.hop = 1
	}
	return m
}

// step goes through one row.
func (m *run) step(i int, w moment) {
	m.t += w.span
	p, f := m.p, m.f
	f.move(m.air, m.t)
	m.rho = w.baro / 287 / w.temp
	f.shift(m.air, m.t, m.rho)
	m.air.gates = w.open
	m.compressor(w)
	m.head.begin()
	m.damp(w)
	m.sum, m.puff, m.fell = 0, 0, 0
	before := len(m.log.pulses)
	m.crew.look(m, w)
	if w.on {
		m.filter(i, w)
	} else {
		m.rest(i, w)
	}
	m.wasOn = w.on
	m.drum(w)
	m.write(w, len(m.log.pulses)-before)
	if w.on {
		m.used += w.span * w.work / p.life
	}
}

// compressor feeds the header.
func (m *run) compressor(w moment) {
	droop, slow := 0.0, 1.0
	if l := m.f.of(judge.HeaderPressureLow, m.t); l > 0 {
		switch {
		case m.f.kind < 0.45: // the regulator has sunk, or the line brings less
			droop = 0.1 + 0.45*l
		case m.f.kind < 0.75: // a clogged dryer or a throttled cock
			slow, droop = 1.8+(3+4*m.f.much)*l, 0.05*l
		default: // others take the air while they work
			if hash(m.f.patchwork, uint64(m.t/5400)) < 0.45+0.4*m.f.much {
				droop = 0.18 + 0.45*l
			}
		}
	}
	m.head.feed(w.line, droop, slow, m.f.bleed(m.t))
}

// damp follows the moisture of the cake, which lags behind the air's by hours.
func (m *run) damp(w moment) {
	m.wet += (w.wet - m.wet) * (1 - math.Exp(-w.span/20000))
	m.cloth.stick = 0.55 * m.p.hygro * max(0, m.wet-0.62) / 0.38
	if l := m.f.of(judge.CakeDamp, m.t); l > 0 {
		m.cloth.stick += 0.15 + (0.55+0.3*m.f.much)*l
	}
	m.cloth.stick = min(0.93, m.cloth.stick)
	m.cloth.plug = 0
	if l := m.f.of(judge.FiltersBlinded, m.t); l > 0 {
		m.cloth.plug = 0.12 + (0.6+0.8*m.f.much)*l
	}
	m.cloth.other = 1
	if m.story.name == "other product" && m.t > m.story.from {
		m.cloth.other = 0.65 + 1.6*m.story.much
	}
}

// balance finds flow and dP anew.
func (m *run) balance() {
	m.air.cloth = m.cloth.resist
	m.flow = m.air.total(m.rho)
	m.dp = m.flow * m.cloth.resist
}

// filter is a row with the fan on: dust comes, and the controller cleans.
func (m *run) filter(i int, w moment) {
	p := m.p
	if !m.wasOn {
		m.left = 0
	}
	m.cloth.refresh(m.dp)
	m.balance()
	start, seen := m.dp, m.see(m.dp)
	_, caught := m.air.suck(m.flow, m.rho)
	dust := p.load * p.flow * w.work * math.Pow(caught/p.flow, 0.6) * w.span
	if l := m.f.of(judge.DustLoadHeavy, m.t); l > 0 {
		dust *= 1.2 + (1.2+m.f.much)*l
	}
	m.cloth.load(dust)
	m.cloth.refresh(m.dp)
	m.balance()
	m.lag(w)
	from := m.start(seen, w.span)
	m.sum = from * (start + m.dp) / 2
	m.head.wait(from)
	m.pulses(i, from, w.span)
	if m.p.after > 0 {
		grow := 60*w.work + 40*m.f.of(judge.FilterLeak, m.t)*(1+9*m.f.much)*w.work // [Pa a month at design flow]
		m.loaded += grow / p.flow * w.span / (30 * day)
		if m.loaded > 1.9*p.after/p.flow {
			m.loaded = 0
		}
		m.air.after = p.after/p.flow + m.loaded
	}
}

// start is the time in the row at which cleaning begins or goes on; the whole row if it doesn't.
func (m *run) start(seen, span float64) float64 {
	silent := m.f.silent(m.t)
	switch {
	case silent:
		m.cleaning, m.due = false, 0
		return span
	case m.p.mode != "on-demand" || m.left > 0:
		m.cleaning = true
		return 0
	case m.cleaning:
		return 0
	}
	at, now := m.high+m.f.late(m.t), m.see(m.dp)
	if now < at {
		return span
	}
	m.cleaning, m.due = true, 0
	if seen >= at {
		return 0
	}
	return span * (at - seen) / (now - seen)
}

// pulses fires valve after valve from a time in the row to its end, as long as cleaning goes on.
func (m *run) pulses(i int, from, span float64) {
	p, used := m.p, from
	for m.cleaning && used+m.due <= span {
		m.head.wait(m.due)
		m.sum += m.dp * m.due
		used += m.due
		m.fire(i, false)
		m.balance()
		m.due = p.every * (1 + 0.01*m.r.NormFloat64()) // no clock of a controller keeps step with the logger's
		if m.left > 0 {
			m.left--
			m.cleaning = m.left > 0
		} else if p.mode == "on-demand" {
			m.cleaning = m.see(m.dp) > m.low
		}
	}
	m.head.wait(span - used)
	m.sum += m.dp * (span - used)
	m.due = max(0, m.due-(span-used))
	if p.mode != "on-demand" {
		m.cleaning = !m.f.silent(m.t)
	}
}

// fire pulses the row whose turn it is.
func (m *run) fire(i int, still bool) {
	p, v := m.p, m.next
	m.next = (m.next + 1) % p.rows
	share := m.f.valve(v+1, m.t, m.r)
	push := m.head.fire(share)
	if m.f.number == v+1 {
		push = min(push, 1) * (1 - 0.4*m.f.of(judge.ValveStuckOpen, m.t)) // what comes late no longer shakes the cake
	}
	loose, back := p.loose*(1+0.22*m.r.NormFloat64()), p.back
	if m.hop > 0 {
		back += m.hop * (0.15 + 0.5*m.f.of(judge.BinOverfull, m.t))
	}
	if still {
		loose, back = loose*1.25, back*0.3
	}
	m.fell += m.cloth.clean(v, push, loose, min(0.85, back))
	puff := 0.3 * math.Exp(-m.cloth.rows[v].seen/p.settle)
	if m.f.number == v+1 {
		puff += m.f.of(judge.FilterLeak, m.t) * (2 + 10*m.f.much)
	}
	if !still {
		m.puff += (0.4 + puff) * push
	}
	m.log.pulses = append(m.log.pulses, sense.Firing{Row: int32(i), Valve: uint8(v + 1)})
}

// rest is a row with the fan off: the controller may clean, and some cake falls when it stops.
func (m *run) rest(i int, w moment) {
	if m.wasOn {
		m.left = max(m.left, m.p.downtime*m.p.rows)
		m.due = m.p.every
		for k := range m.cloth.rows {
			fall := 0.06 * m.cloth.rows[k].cake
			m.cloth.rows[k].cake -= fall
			m.fell += fall * m.p.area
		}
	}
	m.cleaning = false
	used := 0.0
	if m.f.silent(m.t) {
		m.left = 0
	}
	for m.left > 0 && used+m.due <= w.span {
		m.head.wait(m.due)
		used += m.due
		m.due = m.p.every
		m.fire(i, true)
		m.left--
		m.cleaning = m.left > 0
	}
	m.due = max(0, m.due-(w.span-used))
	m.head.wait(w.span - used)
	m.cloth.refresh(m.dp)
	m.flow = 0
	m.felt += (0 - m.felt) * m.pass(w.span)
}

// see is the dP as the controller's gauge has it.
func (m *run) see(dp float64) float64 {
	if m.f.lag(m.t) > 0 && m.crew.shared {
		return m.felt
	}
	if !m.crew.shared {
		return dp
	}
	s, _ := m.air.suck(m.flow, m.rho)
	return m.f.reading(m.t, dp, s)
}

// pass is the share of a change that a plugged line passes on in a time.
func (m *run) pass(span float64) float64 {
	tau := m.f.lag(m.t)
	if tau == 0 {
		return 1
	}
	return 1 - math.Exp(-span/tau)
}

// lag lets a plugged line follow.
func (m *run) lag(w moment) { m.felt += (m.dp - m.felt) * m.pass(w.span) }

// drum fills the bin, and people empty it.
func (m *run) drum(w moment) {
	full := m.p.bin * m.p.heap
	m.bin += m.fell
	l := m.f.of(judge.BinOverfull, m.t)
	if l > 0 {
		m.bin = max(m.bin, 0.93*full)
		m.hop = min(1, m.hop+m.fell/(0.12*full))
		if m.f.kind > 0.6 { // dust bridges above, and the bin stays as it was
			m.bin = 0.4 * full
		}
	}
	m.bin = min(m.bin, 1.02*full)
	taken := math.NaN()
	hour := math.Mod(m.t, day) / 3600
	at := m.crew.empties
	if m.story.name == "late drum" && m.story.in(m.t) {
		at = 0.95
	}
	if l == 0 && m.bin > at*full && (hour > 7 && hour < 15 || m.bin > 0.9*full) && w.on {
		taken = m.bin
		m.bin = 0
	}
	m.put(sense.BinMass, taken)
}

func (m *run) put(ch sense.Channel, v float64) { m.log.col[ch] = append(m.log.col[ch], v) }

// write puts the row down.
func (m *run) write(w moment, pulses int) {
	p := m.p
	suction, amps, watts := 0.0, 0.0, 0.0
	dp, real := 0.0, 0.0
	if w.on {
		suction, _ = m.air.suck(m.flow, m.rho)
		watts, amps = m.air.power(m.flow, m.rho)
		if real = m.dp; m.mean {
			real = m.sum / w.span
		}
		dp = m.f.reading(m.t, real, suction)
	}
	if m.f.lag(m.t) > 0 {
		dp = m.felt
		if m.f.kind < 0.3 { // trapped air follows the temperature
			dp += 3 * (w.temp - 293)
		}
	}
	m.put(sense.DP, dp)
	if p.after > 0 {
		m.put(sense.AfterfilterDP, m.flow*m.air.after)
	}
	m.put(sense.Flow, m.flow)
	held := m.head.now
	if m.mean {
		held = m.head.sum / max(1, m.head.time)
	}
	m.put(sense.Header, held)
	m.put(sense.HeaderLow, m.head.lowest)
	m.put(sense.FanCurrent, amps)
	m.put(sense.FanPower, watts)
	m.put(sense.InletSP, -suction)
	shown := m.air.open
	if m.f.target > 0 && m.f.kind < 0.3 {
		shown = m.f.wasOpen // the blade slipped on its shaft
	}
	m.put(sense.Damper, shown)
	m.put(sense.Running, b2f(w.on))
	m.put(sense.Cleaning, b2f(m.cleaning || pulses > 0))
	m.put(sense.Pulse, float64(pulses))
	m.put(sense.Temperature, w.temp)
	m.put(sense.Humidity, min(0.99, w.wet+0.12*m.f.of(judge.CakeDamp, m.t)*b2f(m.f.kind < 0.4)))
	m.put(sense.Barometer, w.baro)
	leak := 0.0
	if w.on {
		leak = 0.6 + m.f.of(judge.FilterLeak, m.t)*(1+5*m.f.much)*math.Sqrt(real/600)*(0.15+w.work)
	}
	m.put(sense.Emission, leak+m.puff*min(1, 8/w.span))
	m.put(sense.BinLevel, min(1, m.bin/(p.bin*p.heap)))
}

func b2f(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
