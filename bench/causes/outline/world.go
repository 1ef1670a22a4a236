package outline

import (
	"math"
	"math/rand/v2"
)

// knobs is all that troubles and stories turn; neutral leaves the machine as it was built.
type knobs struct {
	open                                         float64 // damper position
	damper, stack, hoods, trunk, gates           float64 // times the resistance
	leakJoint, leakHatch, leakClean              float64 // flow in design flows at 1000 Pa
	speed, wheel, torque, windage, hold          float64
	dust, settles, cake, release, back, tack     float64
	given                                        [mostRows]float64 // drag [Pa s/m]
	valve                                        [mostRows]float64 // times the air of a pulse
	hole                                         [mostRows]float64 // outlet dust beside that of sound filters
	low, high                                    float64           // set points
	mute, skip, slow                             float64           // no pulses (>0.5), share left out, times the interval
	set, supply, bleed, stick                    float64           // header: times pressure and refill; 1/s all the time, and after its pulse
	sticky                                       int               // the valve that sticks
	bridge, full                                 bool              // hopper bridged; bin not emptied
	lineTau, lineGain, lineStatic, plugged, held float64           // sensing lines
	notice                                       float64
}

func (w *world) neutral() knobs {
	m := w.m
	k := knobs{open: m.duct.open, damper: 1, stack: 1, hoods: 1, trunk: 1, gates: 1, speed: 1, wheel: 1, torque: 1, windage: 1, hold: 1,
		dust: 1, settles: 1, cake: 1, release: 1, low: m.control.low, high: m.control.high, slow: 1, set: 1, supply: 1, lineGain: 1, notice: m.bin.notice}
	for i := range k.valve {
		k.valve[i] = 1
	}
	return k
}

// state is all of a machine that time moves; a copy of it is a snapshot.
type state struct {
	t, since  float64 // since the log began, and since the fan started or stopped [s]
	running   bool
	wind      wind
	drag      float64
	row       [mostRows]row
	tack      float64 // how damp the cake is
	wet       float64 // what pulses of wet air left
	speed     float64
	cleanLeak float64
	afterGain float64
	puff      float64
	bin, hung float64

	header, receiver float64
	pumping          bool
	stuckFor         float64 // seconds a sticking valve still blows

	cleaning bool
	next     int     // place in the order
	left     int     // pulses of this bout still to come
	wait     float64 // until the next pulse may come
	line     float64 // dP in the sensing lines
	trapped  float64
	pulled   float64 // last suction of the clean side with the fan on
	blocked  bool
	renewed  bool
	ill      bool    // the trouble began
	ran      float64 // seconds before it, and of these cleaning
	cleaned  float64
	busy     float64 // share of the last day or so of them
	slot     int
	checked  int // day on which the bin was looked at
}

// world is one machine in its surroundings.
type world struct {
	m      *machine
	s      state
	pcg    rand.PCG
	chance *rand.Rand
	cal    *calendar // nil: full production without end
	turn   func(w *world, k *knobs)
	fixed  bool // the airflow is held at design, to set the machine up
	rho    float64
	mu     float64 // over that of the reference
	rh     float64
	cake   float64 // its drag per kg/m2 now
	comes  float64 // dust in the air [kg/m3]
	low    float64 // lowest header pressure since somebody asked
	fired  []uint8 // valves fired since somebody asked
	peak   float64 // highest outlet dust since somebody asked
	look   *look   // what a probe watches
	now    knobs   // as they stood in the last step
}

func newWorld(m *machine, seed uint64) *world {
	w := &world{m: m, rho: 1.2, mu: 1, rh: 0.5}
	w.pcg = *rand.NewPCG(seed, 77)
	w.chance = rand.New(&w.pcg)
	s := &w.s
	for i := range m.rows {
		s.row[i].dose = m.aged
		s.row[i].media = m.seasoned(m.aged)
		for j := range s.row[i].cake {
			s.row[i].cake[j] = 150 * m.area * float64(m.rows) / m.design / m.media.cake
		}
	}
	s.speed, s.header, s.drag, s.checked = 1, m.tank.set, m.media.clean, -1
	s.wind = wind{fan: 1, filters: 1, hoods: 1, dp: 500, tap: -500}
	w.low = s.header
	return w
}

// clone is a world that goes on by itself from here.
func (w *world) clone() *world {
	c := *w
	c.chance = rand.New(&c.pcg)
	c.fired, c.look = nil, nil
	return &c
}

// solve finds flow and pressures as they are now.
func (w *world) solve(k *knobs) {
	w.resist(k)
	w.settle(k)
}

// settle does so where only some rows changed, and tells the sensing lines.
func (w *world) settle(k *knobs) {
	if w.fixed {
		v := &w.s.wind
		v.fan, v.filters, v.hoods = 1, 1, 1
		v.dp = w.s.drag*w.m.design/(w.m.area*float64(w.m.rows)) + w.m.media.inertial
		return
	}
	w.blow(k)
}

// calm is the air with the fan off.
func (w *world) calm() { w.s.wind = wind{} }

// step goes on for dt seconds; nothing starts or stops within it but pulses.
func (w *world) step(dt float64) {
	s := &w.s
	w.now = w.neutral()
	k := &w.now
	on := w.around(k)
	if on != s.running {
		w.switched(on)
	}
	s.since += dt
	if w.turn != nil {
		w.turn(w, k)
	}
	w.moisture(k, dt)
	if on {
		w.follow(k, dt)
		w.solve(k)
		w.lay(k, dt)
		s.pulled = s.wind.suction
	} else {
		w.calm()
	}
	w.sense(k, dt)
	w.control(k, dt)
	w.outlet(k, dt)
	if w.look != nil {
		w.look.watch(w)
	}
	if s.running && !s.ill {
		s.ran += dt
		s.cleaned += flag(s.cleaning) * dt
		s.busy += (flag(s.cleaning) - s.busy) * dt / day
	}
	s.t += dt
}

// around takes calendar and weather, and tells whether the fan runs.
func (w *world) around(k *knobs) bool {
	if w.cal == nil {
		w.comes = 0.85 * w.m.dust.load
		return true
	}
	c := w.cal
	for w.s.slot+1 < len(c.slots) && c.slots[w.s.slot+1].at <= w.s.t {
		w.s.slot++
	}
	now := c.slots[w.s.slot]
	air := c.weather(w.s.t)
	gas := air.temp
	if now.fan {
		gas += w.m.process
	}
	w.rh = air.rh
	w.rho = (air.baro - 0.378*air.rh*steam(air.temp)) / (287.05 * gas)
	w.mu = math.Pow(gas/293.15, 0.7)
	kind := w.m.dust.kinds[now.kind]
	w.comes = w.m.dust.load * now.load * kind.load * c.mood(w.s.t)
	k.cake *= kind.cake
	k.gates *= now.gates
	w.empty(k)
	return now.fan
}

// steam is the saturation pressure of water (Magnus form, from memory) [Pa].
func steam(kelvin float64) float64 {
	c := kelvin - 273.15
	return 611.2 * math.Exp(17.62*c/(243.12+c))
}

// empty is somebody's morning look at the bin.
func (w *world) empty(k *knobs) {
	s := &w.s
	today := int((s.t - 8*hour) / day)
	if today <= s.checked {
		return
	}
	s.checked = today
	if !k.full && !w.cal.off[today%len(w.cal.off)] && s.bin > k.notice*w.m.bin.volume*w.m.dust.bulk {
		s.bin = 0.02 * s.bin
	}
}

// switched is the fan starting or stopping.
func (w *world) switched(on bool) {
	s := &w.s
	s.running, s.since = on, 0
	c := &w.m.control
	s.cleaning = false
	if !on && c.down > 0 {
		s.cleaning, s.left, s.wait = true, c.down*w.m.rows, 20
		w.first()
	}
	if on {
		s.wind = wind{fan: 1, filters: 1, hoods: 1, dp: 400, tap: -500}
	}
}

// moisture lets the cake take up damp and dry again, within an hour or so.
func (w *world) moisture(k *knobs, dt float64) {
	s := &w.s
	want := k.tack + s.wet
	if w.rh > 0.75 {
		want += 0.5 * (w.rh - 0.75)
	}
	s.tack += (want - s.tack) * (1 - math.Exp(-dt/3000))
}

// sense is what stands in the dP's sensing lines.
func (w *world) sense(k *knobs, dt float64) {
	s := &w.s
	see := s.wind.dp*k.lineGain + k.lineStatic*s.wind.tap
	switch {
	case k.plugged > 0: // the clean side's line holds what it held
		if !s.blocked {
			s.blocked, s.trapped = true, s.pulled
		}
		s.trapped += k.held * dt
		see = s.trapped + s.wind.tap
	case k.lineTau > 0:
		s.line += (see - s.line + k.held*k.lineTau) * (1 - math.Exp(-dt/k.lineTau))
		return
	}
	s.line = see
}

// outlet is what gets past the filters, as shares of a sound one's, and what it does to the after-filter.
func (w *world) outlet(k *knobs, dt float64) {
	s := &w.s
	s.puff *= math.Exp(-dt / 20)
	if s.running && w.m.after.fitted {
		s.afterGain += w.m.after.gain * w.past(k) * s.wind.fan * dt / (30 * day)
	}
}

// past is the outlet's dust now.
func (w *world) past(k *knobs) float64 {
	s := &w.s
	if !s.running {
		return s.puff * 0.2
	}
	hole := 0.0
	for _, h := range k.hole {
		hole += h
	}
	dust := w.comes / w.m.dust.load
	return (0.3+0.7*dust)*(1+30/(10+s.row[0].dose)) + hole*(0.2+0.8*dust) + s.puff
}
