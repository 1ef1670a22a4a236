package quill

import (
	"math"
	"math/rand/v2"

	"dustwright/sense"
)

// machine is a rig at work.
type machine struct {
	*rig
	k               knobs
	luck            *rand.Rand // of dust and pulses
	working         bool       // the fan is on
	speed, air      float64    // of the fan [share], density [kg/m3]
	open            float64    // damper
	cloth           []row
	share           []float64 // of a row in the flow
	safety          float64   // after-filter [Pa s/m3], 0 none
	stream          stream
	busy, rain      float64 // production, and humidity by the weather: 1 as usual
	inAir           float64 // dust on its way to the filters [kg]
	wet             float64 // cake: 0 dry, 1 at saturation, above with free water
	level, taken    float64 // bin [share], taken from it in this row of the log [kg]
	puff, passed    float64 // dust behind the filters after a pulse [of the usual], and in all since the last row [usual x s]
	header, lowest  float64 // now, and since the last row of the log [Pa gauge]
	bottle, drain   float64 // receiver [Pa gauge], taken from it [Pa m3]
	hung, weep      float64 // how long a valve will still hang open [s], small leaks of the header [m3/s]
	others          float64 // share of the compressor's air the plant takes
	loaded, night   bool    // the compressor brings air, and is off when nobody works
	gauge, damp     float64 // what the controller's dP gauge shows [Pa], its time constant [s]
	rough           float64 // turbulence at the tap of the static pressure [share]
	cleaning        bool    // now
	cleaned, mute   bool    // since the last row of the log; the controller's output is dead
	next, left      int     // place in the order, pulses of the downtime cleaning still to come
	wait, deafUntil float64 // to the next pulse [s], until when the controller's output stays as it is [s]
	fired           []uint8 // since the last row of the log
	spans           []span  // hours still to come
	pace            float64 // length of the last step [s]
}

// newMachine is a rig with new filters that stands still.
func newMachine(g *rig) *machine {
	return &machine{rig: g, air: g.density, cloth: make([]row, g.rows), share: make([]float64, g.rows), safety: g.after, busy: 1, rain: 1, pace: 2}
}

// start sets a machine up: how old its filters are, where the damper stands, what the compressor serves.
func (m *machine) start(r *rand.Rand, days float64) {
	for i := range m.cloth {
		m.cloth[i].slow = m.grown(days) * vary(r, 1, 0.05)
		m.cloth[i].fast = 0.3 * (m.high - m.low) / m.cake * m.area * float64(m.rows) / m.flow * r.Float64() * min(1, days)
	}
	m.safety *= 1 + 0.25*min(days, 120)/30*r.Float64()
	m.trim(m.flow * vary(r, 1.03, 0.03))
	m.header, m.bottle, m.lowest = m.set, m.load, m.set
	m.weep, m.others, m.night = 0.01*m.feed*r.Float64(), between(r, 0.15, 0.45), r.Float64() < 0.3
	m.damp, m.rough, m.level = between(r, 1, 5), between(r, 0.005, 0.03), 0.5*r.Float64()
}

// advance runs the machine for a step [s] from a time on.
func (m *machine) advance(w *hall, t, h float64) {
	target, inertia := either(m.working, 1-m.k.slip, 0), either(m.working, 6.0, 25)
	m.speed = target + (m.speed-target)*math.Exp(-h/inertia)
	m.stream = m.flows()
	m.dirty(w, t, h)
	m.soak(now(w.wetness, t), h)
	m.fill(h)
	m.compress(h)
	m.read(h)
}

// dirty brings dust to the filters: steady, and in bursts of the machines served.
func (m *machine) dirty(w *hall, t, h float64) {
	usual := m.loading * m.flow // [kg/s]
	pace := either(m.working, w.pace(t)*m.busy*(1+m.k.dusty), 0)
	each := float64(m.served) * m.bursts / 3600
	m.inAir += usual * pace * m.steady * h
	for wait := m.luck.ExpFloat64(); wait < each*pace*h; wait += m.luck.ExpFloat64() {
		m.inAir += usual * (1 - m.steady) / each * vary(m.luck, 0.88, 0.6)
	}
	come := m.inAir * (1 - math.Exp(-h/m.burst))
	m.inAir -= come
	faded := m.puff * (1 - math.Exp(-h/8)) // of the dust behind the filters after a pulse
	m.puff, m.passed = m.puff-faded, m.passed+8*faded
	if m.stream.fan <= 0.02*m.flow {
		return
	}
	come *= math.Sqrt(min(1, m.stream.hoods/m.flow)) // what the hoods no longer catch stays in the hall
	come += 1.2 * m.spill() * usual * h              // the stream picks it up from a heap
	perDay := m.loading * m.flow * m.hours.hours * 3600 / m.area / float64(m.rows)
	for i := range m.cloth {
		m.catch(&m.cloth[i], come*m.share[i]/m.area, perDay)
		m.cloth[i].bare *= math.Exp(-h / 120)
	}
	bare := m.cloth[max(0, m.k.valve-1)].bare
	leak := m.k.hole * (0.3 + 0.7*bare) * math.Sqrt(m.stream.filters/1000)
	through := come / usual * (1 + leak)
	m.safety += m.after * (through + 0.5*h) * 0.25 / (m.hours.hours * 3600 * 30)
	m.passed += through
}

// spill is the share of falling dust that a heap close under the rows sends back up.
func (m *machine) spill() float64 { return min(0.9, max(0, (max(m.level, m.k.heap)-0.8)/0.3)) }

// soak lets the cake take up moisture in a few hours and give it off in more, slower with the fan off.
func (m *machine) soak(humid, h float64) {
	to := max(0, min(1, (m.rain*humid+m.vapour+m.k.steam-0.5)/0.5)) + m.k.water
	hours := either(to > m.wet, 3.0, 9) * either(m.working, 1.0, 2)
	m.wet = to + (m.wet-to)*math.Exp(-h/3600/hours)
}

// read moves the dP gauge on. Its two lines are a divider where the clean side's takes in air from the hall.
func (m *machine) read(h float64) {
	dp := (m.stream.filters - m.k.crack*(m.stream.filters+m.stream.inlet)) * either(m.k.cross, -1.0, 1)
	m.gauge = dp + (m.gauge-dp)*math.Exp(-h/(m.damp+m.k.line))
}

// clean is the controller: it looks after each step and fires at most one valve.
func (m *machine) clean(t, h float64) {
	m.wait -= h
	switch {
	case m.left > 0:
		m.cleaning = !m.working && m.speed < 0.2
	case !m.working:
		m.cleaning = false
	case m.mode != "on-demand", m.gauge >= m.high*(1+m.k.late), m.stream.filters > 1.8*m.high: // somebody presses the button
		m.cleaning = true
	case m.gauge <= m.low:
		m.cleaning = false
	}
	m.cleaned = m.cleaned || m.cleaning
	if !m.cleaning || m.wait > 0.01 {
		return
	}
	m.wait = m.interval * either(m.mode == "on-demand", 1, 1+6*m.k.late)
	m.left = max(0, m.left-1)
	if t >= m.deafUntil { // an output that comes and goes
		m.deafUntil = t + 3600*between(m.luck, 1, 8)
		m.mute = m.luck.Float64() < m.k.deaf
	}
	if m.mute || m.k.deaf == 1 {
		return
	}
	v := m.order[m.next]
	m.next = (m.next + 1) % m.rows
	m.fired = append(m.fired, uint8(v+1))
	m.strike(v, m.pulse(v))
}

// strike shakes a row with a pulse so strong: part of its cake comes off with luck, and part of that comes back.
func (m *machine) strike(v int, strength float64) {
	grip := 0.93 * (1 - math.Exp(-m.sticky*m.wet-0.8*math.Pow(m.wet, 3)))
	hit := m.pull * strength * (1 - grip) * vary(m.luck, 1, 0.25)
	back := m.back
	if m.speed < 0.2 {
		back, hit = 0, 1.3*hit // nothing holds the cake on with the fan off
	}
	back += (1 - back) * m.spill()
	w := &m.cloth[v]
	off := w.fast * (1 - math.Exp(-hit))
	w.fast -= off
	w.bare = max(w.bare, min(1, strength))
	m.cloth[min(v+1, m.rows-1)].fast += off * back * 0.7 // most falls on the row below
	m.cloth[max(v-1, 0)].fast += off * back * 0.3
	m.level += off * (1 - back) * m.area / (m.bulk * m.bin)
	m.puff += strength * (1.5*vary(m.luck, 1, 0.3) + either(v+1 == m.k.valve, 2*m.k.hole, 0))
}

// empty takes the bin away when somebody gets round to it, asked once a row while they work.
func (m *machine) empty(h float64) {
	if !m.working || m.level < 0.55 || m.k.heap > 0 || m.luck.Float64() > (0.1+0.4*m.care)*h/3600*math.Exp(8*(m.level-0.55)) {
		return
	}
	m.taken, m.level = (m.level-0.02)*m.bin*m.bulk, 0.02
}

// row writes down what instruments without error would show, and begins the next row of the log, after h seconds.
func (m *machine) row(w *hall, t, h float64, turbulent *rand.Rand) (v [sense.NumChannels]float64) {
	m.empty(h)
	calm := m.damp / (m.damp + m.k.line) // a plugged line keeps the turbulence away too
	v[sense.DP] = m.gauge + 0.012*m.stream.filters*calm*turbulent.NormFloat64()
	v[sense.AfterfilterDP] = m.stream.after * (1 + 0.006*turbulent.NormFloat64())
	v[sense.Flow] = m.stream.fan * (1 + 0.012*turbulent.NormFloat64())
	v[sense.FlowIndex] = m.stream.fan / m.flow * 100 * (1 + 0.012*turbulent.NormFloat64())
	v[sense.InletSP] = -m.stream.inlet + m.rough*m.duct*m.stream.fan*m.stream.fan*turbulent.NormFloat64() // the tap is close to an elbow
	v[sense.Header], v[sense.HeaderLow] = m.header, m.lowest
	v[sense.FanPower], v[sense.FanCurrent] = m.electric()
	v[sense.Damper], v[sense.BinLevel] = either(m.k.slack, m.open, m.opening()), either(m.k.bridged, m.level, max(m.level, m.k.heap))
	v[sense.Running], v[sense.Cleaning] = either(m.working, 1.0, 0), either(m.cleaned, 1.0, 0)
	v[sense.BinMass] = either(m.taken > 0, m.taken, math.NaN())
	v[sense.Pulse] = float64(len(m.fired))
	v[sense.Temperature], v[sense.Barometer] = now(w.warmth, t)+m.heat*m.speed, now(w.weight, t)
	v[sense.Humidity] = min(1, m.rain*now(w.wetness, t)+(m.vapour+m.k.steam)*m.speed)
	v[sense.Emission] = m.passed / h
	m.taken, m.passed, m.lowest, m.cleaned = 0, 0, m.header, m.cleaning
	return v
}

// electric is the motor's power [W] and current [A]: what the work takes, and what magnetizes.
func (m *machine) electric() (power, amps float64) {
	shaft := m.power(m.stream.fan, m.speed) * m.air / m.density * (1 - 0.4*m.k.foul) / (1 - m.k.slip) // a belt that slips turns the rest to heat
	real := m.amps * m.factor * shaft / m.motor
	on := either(m.working, 1.0, 0)
	return on * (shaft/motorEfficiency + 0.02*m.motor), on * math.Hypot(real, m.amps*math.Sqrt(1-m.factor*m.factor))
}
