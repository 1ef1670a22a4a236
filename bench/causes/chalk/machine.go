package chalk

import (
	"math"

	"dustwright/collector"
)

const (
	passes   = 5e-4 // share of the dust that whole filters let through
	brimming = 0.8  // level of the bin above which dust is carried back up
	settles  = 12.0 // time in which a puff at the leak detector fades [s]
)

// machine is the state of a collector.
type machine struct {
	d         *design
	k         knobs
	cloths    []cloth
	share     []float64 // of the flow, by row
	b         bottle
	w         wind
	lines     [2]float64 // pressure at the gauge's end of the line, dirty and clean side [Pa]
	puff      float64    // at the leak detector
	bin       float64    // dust in it [kg]
	caught    float64    // dust in the after-filter [kg]
	grows     float64    // dust that doubles its resistance [kg]
	pending   float64    // time for which dust has yet to be laid on [s]
	life      int        // of filters
	running   bool
	cleaning  bool
	turn      int     // of the firing order
	left      int     // pulses of the downtime cleaning
	due       float64 // time of the next pulse [s]
	skips     float64 // pulses let be, so far
	hangUntil float64 // time until which a valve hangs open [s]
}

func newMachine(d *design, k knobs) *machine {
	m := &machine{d: d, k: k, share: make([]float64, d.rows), bin: 0.2 * d.bin,
		b: bottle{p: d.set + atmosphere, fill: d.fill, droop: d.droop, lowest: math.Inf(1)}}
	m.fit(d.dead)
	month := d.loading * d.flow * d.works * hour * 22
	m.grows = passes * month * d.after * d.flow / 62
	m.caught = 0.2 * m.grows
	return m
}

// fit puts filters in.
func (m *machine) fit(dead float64) {
	m.cloths = m.cloths[:0]
	for range m.d.rows {
		m.cloths = append(m.cloths, newCloth(m.d.capacity, dead))
	}
}

// blows solves the air's way anew.
func (m *machine) blows() {
	var sum float64
	for i := range m.cloths {
		m.share[i] = m.cloths[i].conductance()
		sum += m.share[i]
	}
	for i := range m.share {
		m.share[i] /= sum
	}
	m.w = wind{}
	if !m.running {
		return
	}
	d, k := m.d, &m.k
	ducts := d.ducts(k.gates) * k.main
	warm := (273.15 + k.temp + 6) / 293.15
	m.w = d.fan.wind(way{ducts: ducts, leak: k.leak * ducts, filters: sum * d.media / math.Pow(warm, 0.7),
		after: d.after * min(4, 1+m.caught/m.grows), damper: d.damper(k.damper), speed: k.speed, foul: k.foul,
		density: math.Exp(-d.altitude/8400) / warm})
}

// level of the bin, as it is.
func (m *machine) level() float64 { return min(1.5, m.bin/m.d.bin+m.k.extra) }

// seen is what the gauge is shown at the ends of its lines [Pa].
func (m *machine) seen() float64 {
	dp := m.lines[0]*(1-m.k.crack[0]) - m.lines[1]*(1-m.k.crack[1])
	if m.k.crossed {
		return -dp
	}
	return dp
}

// passTime lets everything go on that goes on by itself.
func (m *machine) passTime(t, dt float64) {
	bleed := 0.0
	if m.k.bleed > 0 && (m.k.always || t < m.hangUntil) {
		bleed = m.k.bleed * m.d.fill / (m.d.set + atmosphere)
	}
	// A regulator gives a little more when the line has less, until the line itself is what is left.
	gauge := m.d.set * min(m.k.setting+0.04*(1.3-m.k.line), m.k.line)
	m.b.rest(dt, gauge+atmosphere, m.k.supply, bleed)
	m.puff *= math.Exp(-dt / settles)
	for i, p := range [2]float64{m.w.inlet, m.w.inlet - m.w.dp} {
		m.lines[i] += (p - m.lines[i]) * (1 - math.Exp(-dt/m.k.lag[i]))
	}
	if m.running {
		m.pending += dt
	}
}

// layDust brings the dust of the time that has passed.
func (m *machine) layDust() {
	d, k := m.d, &m.k
	dust := k.load * d.loading * d.flow * m.pending * math.Sqrt(min(1, m.w.hoods/d.flow)) // weak hoods catch less
	m.pending = 0
	for i := range m.cloths {
		part := dust * m.share[i]
		m.cloths[i].plug(part*(1-k.hole[i])*k.clog, k.plateau, k.creep)
		m.caught += part * (passes + k.hole[i])
	}
	if over := m.level() - brimming; over > 0 {
		m.carryUp(dust * 0.8 * over)
	}
}

// carryUp lays dust of a brimming bin on the lowest rows; row 1 is the top.
func (m *machine) carryUp(dust float64) {
	low := max(1, m.d.rows/3)
	for i := m.d.rows - low; i < m.d.rows; i++ {
		m.cloths[i].plug(dust/float64(low), m.k.plateau, m.k.creep)
	}
}

// control decides whether the controller cleans.
func (m *machine) control(t float64, was bool) {
	before := m.cleaning
	seen := m.seen()
	switch {
	case m.k.dark:
		m.cleaning, m.left = false, 0
	case !m.running:
		if was {
			m.left = m.d.cycles * m.d.rows
		}
		m.cleaning = m.left > 0
	case m.d.mode != collector.OnDemand || m.k.push || seen >= m.k.high:
		m.cleaning, m.left = true, 0
	case seen <= m.k.low || !was:
		m.cleaning, m.left = false, 0
	}
	if m.cleaning && !before {
		m.due = max(t, m.due)
	}
}

// fire gives the next row in turn its pulse and returns its valve, from 1; 0 where the controller lets it be.
func (m *machine) fire(t float64) int {
	m.due = t + m.d.pace
	m.left = max(0, m.left-1)
	row := m.d.order[m.turn]
	m.turn = (m.turn + 1) % m.d.rows
	if m.skips += m.k.idle; m.skips >= 1 {
		m.skips--
		return 0
	}
	if open := m.k.valve[row]; open > 0 {
		mean := m.b.blow(m.d.decay * open)
		strength := max(0, mean-atmosphere) / m.d.set * open
		m.settle(row, m.cloths[row].jet(strength, m.k.hold))
		if m.running {
			m.puff += strength * (1 + 200*m.k.hole[row])
		}
	}
	m.hangUntil = max(m.hangUntil, t+m.k.hang[row])
	return row + 1
}

// settle lets dust that came off a row fall: part of it comes back to the row and its neighbours while the fan runs.
func (m *machine) settle(row int, dust float64) {
	back := m.d.back * dust
	if !m.running {
		back *= 0.1
	}
	fallen := dust - back
	for i, part := range [3]float64{0.25, 0.5, 0.25} {
		at := row + i - 1
		if at < 0 || at >= m.d.rows {
			fallen += part * back
			continue
		}
		m.cloths[at].plug(part*back, m.k.plateau, m.k.creep)
	}
	if over := m.level() - brimming; over > 0 && m.running {
		carried := fallen * min(1.2*over, 0.8)
		m.carryUp(carried)
		fallen -= carried
	}
	m.bin += fallen
}

// emission at the leak detector, in its own unit: clean air, dust through holes, and what is left of the last puffs.
func (m *machine) emission() float64 {
	e := 0.1 + m.puff
	if !m.running {
		return e
	}
	e += 0.5 * m.k.load * m.w.flow / m.d.flow
	for i, h := range m.k.hole[:m.d.rows] {
		e += 25 * m.k.load * h * m.share[i] * float64(m.d.rows)
	}
	return e
}
