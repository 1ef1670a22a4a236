package fold

import (
	"fmt"
	"math"

	"dustwright/sense"
)

// sim is a machine while it runs.
type sim struct {
	m     *mill
	cal   *calendar
	tale  *tale
	fault *fault
	rec   *recorder

	k       knobs
	air     path
	row     [mostRows]row
	x, q    float64 // pressure difference across the filters [Pa]; flow [m3/s]
	dirty   float64 // gauge pressure before and behind the filters, as the sensing lines have it [Pa]
	clean   float64
	speed   float64 // of the fan, over its own
	open    float64 // damper by its pointer
	running bool
	load    float64
	gates   uint16
	since   float64 // when the fan was last switched [s]
	stood   float64 // how long it had stood before [s]
	warm    float64 // of the air [K]
	humid   float64
	baro    float64

	press, low float64 // header now and at its lowest in this row [Pa]
	tail       [mostRows]float64
	shots      int64
	brain      brain

	clog    float64 // what the after-filter has taken, as drag over its first
	wet     float64 // 0 dry to 1
	binKg   float64
	hopKg   float64
	made    float64 // dust made [kg]
	puff    float64 // of the leak detector
	skipped float64 // when an emptying was first left out [s]
	took    float64 // out of the bin in this row [kg]
	hour    float64 // last hour looked at by whoever empties the bin

	carryLate float64 // what the bin gives back at the end
	busy, ran float64 // time in which it cleaned and in which the fan ran [s]
	moved     float64 // air it moved [m3]
	did       [8]bool // events of the tale that are over
	refitted  bool    // by the trouble
}

// newSim is a machine at rest with its filters in use for a while.
func newSim(r *run) *sim {
	s := newBench(r.m)
	s.cal, s.tale, s.fault, s.rec = r.cal, r.tale, r.fault, r.rec
	m := r.m
	w := (m.timer.high - m.timer.low) / m.flow * m.area * float64(m.rows) / m.cloth.k2
	for i := range m.rows {
		s.row[i] = row{fresh: 0.4, thin: 0.1 * w, thick: w * (0.4 + 0.5*dice(m.seed, 41, int64(i))), passed: m.used * (0.97 + 0.06*dice(m.seed, 42, int64(i))), since: -1e6}
	}
	s.binKg = m.bin.full * (0.1 + 0.4*dice(m.seed, 43, 0))
	if r.fault != nil && r.fault.fromStart && r.fault.way.cause == "bin-overfull" {
		s.skipped, s.hopKg = 1e-9, m.bin.hopper
		if r.fault.way.bin {
			s.binKg = m.bin.full
		}
	}
	s.press, s.low = m.hdr.set, m.hdr.set
	s.since, s.hour = -warmUp, -1e9
	s.clog = m.clog
	return s
}

// newBench is a machine with what it takes to reckon single points.
func newBench(m *mill) *sim {
	s := &sim{m: m, k: still(), speed: m.speed, open: m.open, x: 500, running: true, load: 1}
	s.warm, s.humid, s.baro = m.sky.indoor+m.sky.heat, 0.4, m.sky.baro
	s.weigh()
	return s
}

// weigh brings what the air meets up to date.
func (s *sim) weigh() {
	m, k := s.m, &s.k
	a := &s.air
	a.dense = s.baro / 101325 * 293.15 / s.warm
	a.sticky = math.Pow(s.warm/293.15, 0.7)
	shut := clamp(k.shut, 0, 0.9)
	for b, share := range m.branches {
		if s.gates>>b&1 == 1 {
			shut += share * 0.8 * (1 - shut)
		}
	}
	a.duct = m.duct * k.duct * (1 - 0.85*shut)
	a.leak = m.duct * (m.leak + k.leak)
	a.bend = m.bend
	open := s.pointer()
	blade := open*(1-k.slipMix) + k.slipTo*k.slipMix
	a.tail = m.outlet + m.damper.loss(blade)
	a.after = m.after * (1 + s.clog)
	a.speed = s.speed * k.speed
	a.head, a.slip = k.head, k.slip
}

// pointer is the damper position that is seen.
func (s *sim) pointer() float64 { return s.open*(1-s.k.setMix) + s.k.setTo*s.k.setMix }

// turn brings weather, story and trouble up to date.
func (s *sim) turn(t float64) {
	s.k = still()
	s.k.lift = s.m.bin.lift
	s.tale.turn(s, t)
	if s.fault != nil {
		s.fault.turn(s, t)
	}
	w := &s.m.sky
	s.warm, s.humid, s.baro = w.air(s.m.seed, t, &s.k, s.load*b2f(s.running))
	inflow := s.air.leak / (s.air.leak + s.air.duct)
	s.warm -= 0.6 * w.heat * inflow * b2f(s.running)
	// water in the cake: from humid air, from pulse air (see shoot), from dew at the start of a cold machine
	want := s.k.wetAir / (1 + math.Exp(-(s.humid-0.62)/0.06))
	if s.running && s.k.dew > 0 {
		want = math.Max(want, s.k.dew*math.Min(1, s.stood/28800)*math.Exp(-(t-s.since)/14400))
	}
	dry := 60 / (3 * 3600.0)
	if want > s.wet {
		dry = 60 / 900.0
	}
	if s.running || want > s.wet {
		s.wet += (want - s.wet) * dry
	}
	s.weigh()
	s.empty(t)
}

// b2f is 1 for true.
func b2f(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// play runs the machine from before the log to its end, row by row.
func (s *sim) play() error {
	t, look := -warmUp, -warmUp
	end := s.cal.end
	s.rec.begin(t)
	for t < end {
		if t >= look {
			s.turn(t)
			look = t + 60
			if !s.running {
				look = t + 300
			}
		}
		if s.cal.due(t) {
			s.switchTo(s.cal.step(), t)
			s.turn(t)
		}
		next := math.Min(math.Min(s.rec.rowEnd, s.cal.nextAt()), math.Min(look, end))
		if s.brain.on {
			next = math.Min(next, math.Max(s.brain.next, t+0.05))
		}
		for i := range s.m.rows {
			if s.tail[i] > t {
				next = math.Min(next, s.tail[i])
			}
		}
		dt := math.Max(next-t, 1e-3)
		s.pass(t, dt)
		t += dt
		if i := s.tick(t); i >= 0 {
			s.shoot(i, t)
		}
		if t >= s.rec.rowEnd-1e-6 {
			s.rec.row(s, t)
		}
		if math.IsNaN(s.x) || math.IsNaN(s.press) || math.IsInf(s.q, 0) {
			return fmt.Errorf("the machine left its bounds at %.0f s", t)
		}
	}
	s.carryLate = s.carry()
	return nil
}

// switchTo takes what production does next.
func (s *sim) switchTo(g seg, t float64) {
	if g.run != s.running {
		s.stood = t - s.since
		s.since = t
		if !g.run {
			s.slough()
		}
		if !g.run && s.m.timer.downtime+s.k.moreDowntime > 0 && !s.k.noDowntime {
			s.brain.rounds = (s.m.timer.downtime + s.k.moreDowntime) * s.m.rows
			s.brain.next = t + 45
		} else {
			s.brain.rounds = 0
			s.brain.on = false
		}
	}
	s.running, s.load, s.gates = g.run, g.load, g.gates
}

// pass lets a time go by in which nothing is switched.
func (s *sim) pass(t, dt float64) {
	head := s.refill(t, dt)
	if s.running {
		s.settle()
		s.dust(dt)
		s.regulate(dt)
		s.ran += dt
		s.busy += dt * b2f(s.brain.on)
		s.moved += s.q * dt
		suck, _ := s.air.suction(s.q)
		s.follow(-suck, -suck-s.x, dt)
	} else {
		s.x = math.Max(s.x, 50)
		s.q = 0
		s.follow(0, 0, dt)
	}
	fade := math.Exp(-dt / s.m.leaks.fade)
	mean := s.puff * s.m.leaks.fade * (1 - fade) / dt
	s.puff *= fade
	base := s.emits(t)
	if s.running {
		s.clog += s.m.clogs * base / s.m.leaks.base * (s.q / s.m.flow) * dt * (1 + 0.3*mean)
	}
	s.rec.add(s, span{dt: dt, header: head, emission: base + mean})
}

// follow lets the sensing lines and the controller's reading follow the pressures.
func (s *sim) follow(dirty, clean, dt float64) {
	lag := func(v *float64, want, span float64) {
		if span <= 0 {
			*v = want
			return
		}
		*v += (want - *v) * (1 - math.Exp(-dt/span))
	}
	lag(&s.dirty, dirty, s.k.lagDirty)
	lag(&s.clean, clean, s.k.lagClean)
	see := dirty - clean
	if !s.m.timer.own {
		see = s.gauge()
	}
	lag(&s.brain.seen, see*s.m.timerGain, s.m.timer.damping)
}

// regulate lets an automatic hold what it is set to.
func (s *sim) regulate(dt float64) {
	m := s.m
	g := 0.8 * (1 - math.Exp(-dt/50))
	suck, _ := s.air.suction(s.q)
	switch m.holds {
	case holdsFlow:
		s.speed = clamp(s.speed*(1+g*(m.flow*s.k.goal-s.q)/m.flow), 0.45, m.fastest)
	case holdsSuction:
		want := m.suck * s.k.goal * s.k.goal
		s.speed = clamp(s.speed*(1+g*0.5*(want-suck)/want), 0.45, m.fastest)
	case holdsDamper:
		if e := (m.flow*s.k.goal - s.q) / m.flow; math.Abs(e) > 0.012 {
			s.open = clamp(s.open*(1+g*e), 0.08, 1)
		}
	default:
		return
	}
	s.weigh()
}

// shoot pulses a row.
func (s *sim) shoot(i int, t float64) {
	strength := s.fire(i, t)
	s.rec.fired(i, t, s.k.unseen[i])
	if strength <= 0 {
		return
	}
	if s.k.pulseWater > 0 {
		s.wet = math.Min(s.k.pulseWater, s.wet+0.012*s.k.pulseWater)
	}
	before := s.row[i].since
	kg := s.knock(i, strength, t)
	if s.running {
		typical := s.m.leaks.typical
		e := math.Min(4, kg/typical)
		rest := clamp((t-before)/300, 0.2, 1)
		s.puff += s.m.leaks.puff * (0.3*strength + 0.7*e) * (1 + 9*s.k.hole[i]*rest)
		s.rec.peak(s.emits(t) + s.puff)
	}
}

// emits is what the leak detector sees beside the puffs.
func (s *sim) emits(t float64) float64 {
	if !s.running {
		return 0.03 * s.m.leaks.base
	}
	l := &s.m.leaks
	sum := 0.75 + 0.25*s.load
	for i := range s.m.rows {
		r := &s.row[i]
		if h := s.k.hole[i]; h > 0 {
			sum += 5 * h * (0.45 + 1.6*math.Exp(-(t-r.since)/l.seal)) * (0.4 + 0.6*s.load)
		}
		if r.passed < s.m.cloth.ripe { // new media let more through
			sum += 1.2 * (1 - r.passed/s.m.cloth.ripe) / float64(s.m.rows)
		}
	}
	return l.base * sum * math.Sqrt(math.Max(0, s.q/s.m.flow)) * (1 + 0.8*s.carry())
}

// see fills in what every channel would show at this moment if instruments were perfect.
func (s *sim) see(v *[sense.NumChannels]float64) {
	m := s.m
	v[sense.DP] = s.gauge()
	v[sense.Header] = s.press
	v[sense.Running] = b2f(s.running)
	v[sense.Cleaning] = b2f(s.brain.on)
	v[sense.Temperature], v[sense.Humidity], v[sense.Barometer] = s.warm, s.humid, s.baro
	v[sense.BinLevel] = math.Min(1.05, s.fill())
	v[sense.Damper] = s.pointer()
	if m.holds == holdsFlow || m.holds == holdsSuction {
		v[sense.Damper] = 1
	}
	v[sense.Flow], v[sense.FlowIndex], v[sense.InletSP], v[sense.AfterfilterDP] = 0, 0, 0, 0
	v[sense.FanPower], v[sense.FanCurrent] = 0, 0
	if !s.running {
		return
	}
	v[sense.Flow] = s.q
	v[sense.FlowIndex] = 100 * s.q / m.flow
	suck, _ := s.air.suction(s.q)
	v[sense.InletSP] = -suck
	v[sense.AfterfilterDP] = s.air.after * s.air.sticky * s.q
	p := m.fan.takes(s.q*(1+s.k.slip), s.air.speed, s.air.dense) * s.k.wheel
	v[sense.FanPower] = p/m.motor.eff + 0.02*m.motor.rated
	v[sense.FanCurrent] = math.Hypot(m.motor.idle, m.motor.per*p)
}
