package draft

import (
	"math"

	"dustwright/sense"
)

// setup is all that decides a run but the trouble.
type setup struct {
	plant   *plant
	story   *story
	works   []stint
	sky     *weather
	habits  *habits
	rows    int
	step    float64 // [s]
	first   int64   // unix time of the start [s]
	age     float64 // dust passed before the log [kg/m2]
	begun   float64 // share of the seasoning done before the log
	binAt   float64 // fill at the start
	telling bool    // the damper's place is measured, else it is what somebody once typed
}

// record is a run: what was there in each row to be read.
type record struct {
	col    [sense.NumChannels][]float64
	pulses []sense.Firing
	when   []float64 // of each pulse [s]
}

// machine is a run's state.
type machine struct {
	*setup
	t       *trouble
	h       hurt
	net     network
	w       wind
	dust    filters
	air     compressor
	now     float64
	at      int // stint
	clean   cleaning
	dirty   float64 // pressure in the sensing lines [Pa]
	pure    float64
	gauge   float64 // what the controller's gauge shows [Pa]
	puff    float64
	days    float64 // days of usual work behind the after-filter
	low     float64
	last    [sense.NumChannels]float64
	sum     [sense.NumChannels]float64
	fired   int
	mass    float64
	flagged bool
	renewed bool
	out     record
}

// cleaning is the controller's state.
type cleaning struct {
	on     bool
	next   float64 // time of the next pulse
	place  int     // in the order
	left   int     // pulses of clean-down to come
	before bool    // the fan ran
}

// run lets the machine work to the end of the log.
func (s *setup) run(t *trouble) *record {
	p := s.plant
	m := &machine{setup: s, t: t, h: sound(), net: network{plant: p, speed: 1, strength: 1, density: 1, damper: p.trim, duct: 1, after: p.after},
		dust: filters{rows: make([]row, p.rows), g: make([]float64, p.rows), bin: s.binAt * p.bin},
		air:  compressor{receiver: p.air.off, header: p.air.set, far: p.air.set}}
	for i := range m.dust.rows {
		m.dust.rows[i] = row{loose: 0.5 * s.begun * (p.control.high - p.control.low) * p.area * float64(p.rows) / p.flow / p.cake,
			held: s.begun, passed: s.age}
	}
	for ch := range m.out.col {
		m.out.col[ch] = make([]float64, s.rows)
	}
	for i := range s.rows {
		m.begin()
		for end := float64(i+1) * s.step; m.now < end; {
			for m.works[m.at].to <= m.now {
				m.at++
			}
			m.control()
			dt := min(end, m.works[m.at].to) - m.now
			if m.works[m.at].fan {
				dt = min(dt, 90)
			}
			pulsing := m.clean.on || m.clean.left > 0
			if pulsing {
				dt = min(dt, max(m.clean.next-m.now, 0.5))
				if m.habits.far > 0 {
					dt = min(dt, max(m.habits.far/2, 2))
				}
			}
			m.advance(dt)
			if pulsing && m.now >= m.clean.next-1e-6 {
				m.fire(i)
			}
		}
		m.write(i)
	}
	return &m.out
}

// begin brings a row's trouble and story up to date.
func (m *machine) begin() {
	m.h = m.t.now(m.now)
	m.sum = [sense.NumChannels]float64{}
	m.fired, m.low, m.mass, m.flagged = 0, m.air.far, math.NaN(), false
	for i := range m.dust.rows {
		w := &m.dust.rows[i]
		w.blinded = m.h.blinded * (1 - 0.15*math.Sin(float64(3*i)))
		w.hole = 0
		if i == m.h.row {
			w.hole = m.h.hole * m.plant.flow / float64(m.plant.rows) / math.Sqrt(800)
		}
	}
	st := m.story
	if (st.during("new filters", m.now) || st.during("new filters and trim", m.now)) && !m.renewed && !m.works[m.at].fan {
		m.renewed = true
		for i := range m.dust.rows {
			m.dust.rows[i] = row{}
		}
	}
	level := m.dust.bin / m.plant.bin
	switch {
	case m.h.keepsDust:
		m.dust.bin = max(m.dust.bin, (0.76+0.25*m.t.severity)*m.plant.bin)
	case level > m.plant.emptyAt && math.Mod(m.now, 86400) > 30000 && math.Mod(m.now, 86400) < 50000 || level > 0.66:
		m.mass = m.dust.bin * 0.97
		m.dust.taken += m.mass
		m.dust.bin -= m.mass
	}
}

// points are the set points as they are now.
func (m *machine) points() (low, high float64) {
	low, high = m.plant.control.low, m.plant.control.high
	if m.story.during("set points", m.now) {
		low, high = low*(1+m.story.value), high*(1+m.story.value)
	}
	return low, high
}

// control decides whether pulses are due.
func (m *machine) control() {
	c, k, fan := &m.plant.control, &m.clean, m.works[m.at].fan
	if k.before && !fan {
		m.dust.sag(m.plant)
	}
	if m.h.mute {
		k.on, k.left, k.before = false, 0, fan
		return
	}
	low, high := m.points()
	switch {
	case !fan:
		if k.before && c.down > 0 {
			k.left, k.next = c.down*m.plant.rows, m.now+c.wait
		}
		k.on = false
	case c.byTime:
		if !k.on {
			k.next = max(m.now, k.next)
		}
		k.on, k.left = true, 0
	case !k.on && m.gauge >= high:
		k.on, k.left, k.next = true, 0, max(m.now, k.next)
	case k.on && m.gauge <= low:
		k.on = false
	}
	if fan {
		k.left = 0
	}
	k.before = fan
}

// fire opens the next valve.
func (m *machine) fire(row int) {
	p := m.plant
	i := p.control.order[m.clean.place%p.rows]
	m.clean.place++
	m.clean.next = m.now + p.control.every
	if m.clean.left > 0 {
		m.clean.left--
	}
	open := 1.0
	if i == m.h.valve {
		open = m.h.open
	}
	jetless := m.air.header
	jet, low := m.air.pulse(&p.air, open)
	if m.habits.far == 0 { // between two looks at the header it has come back a little
		m.low = min(m.low, low+m.habits.late*(jetless-low))
	}
	back, grip := p.back, p.grip*m.h.grip*m.recipe().sticky
	if m.works[m.at].fan {
		grip *= 1 + 0.25*m.w.dp/1000
	} else {
		back *= 0.4
	}
	if m.dust.bin > p.bin {
		back = 0.9
	}
	off := m.dust.blow(p, i, jet/grip, back)
	usual := (p.control.high - p.control.low) * p.area * float64(p.rows) / p.flow / p.cake
	m.puff += p.seep * p.haze * min(off/usual, 3)
	if i == m.h.row && open > 0 {
		m.puff += 2000 * p.haze * m.h.hole / float64(p.rows)
	}
	m.fired++
	m.out.pulses = append(m.out.pulses, sense.Firing{Row: int32(row), Valve: uint8(i + 1)})
	m.out.when = append(m.out.when, m.now)
}

// recipe is what is being made; between stints of work its grip is the usual one.
func (m *machine) recipe() recipe {
	c := m.works[m.at].recipe
	if c.gate == 0 {
		return recipe{sticky: 1, gate: 1}
	}
	return c
}

// write puts the row away: averages of some channels, the last value of others.
func (m *machine) write(i int) {
	for ch := range m.last {
		if m.habits.mean[ch] {
			m.out.col[ch][i] = m.sum[ch] / m.step
		} else {
			m.out.col[ch][i] = m.last[ch]
		}
	}
	o := &m.out.col
	o[sense.Pulse][i] = float64(m.fired)
	o[sense.BinMass][i] = m.mass
	o[sense.HeaderLow][i] = min(m.low, o[sense.Header][i])
	if m.habits.once {
		o[sense.HeaderLow][i] = o[sense.Header][i]
	}
	if m.habits.latch && m.flagged {
		o[sense.Cleaning][i] = 1
	}
}
