package sketch

import (
	"math"
	"math/rand/v2"

	"dustwright/sense"
)

// run takes a machine through its days.
type run struct {
	m       *machine
	f       fault
	tale    story
	clock   clock
	weather *weather
	shifts  *shifts
	out     *record
	r       *rand.Rand

	cloth    *cloth
	tank     *tank
	after    float64 // dP of the after-filter at design flow
	x        float64 // flow as a share of design flow
	atDesign float64 // the filters' dP at design flow
	damper   float64 // loss at design flow
	faulty   float64 // the loss a fault has set it to, 0 for none
	kg       float64 // in the bin
	taken    float64 // out of it since the last row
	gauge    float64 // what the sensing lines bring
	low      float64
	high     float64
	cleaning bool
	left     int     // downtime pulses still due
	next     float64 // time of the next pulse at the earliest
	turn     int
	since    float64 // time of the numbered row's last pulse
	puff     float64 // time of any pulse
	emptied  int     // day of the last look into the bin
	begun    bool
	retrims  int
	drifted  float64
}

// all runs every step.
func (s *run) all() {
	m := s.m
	s.cloth = newCloth(m)
	s.tank = &tank{m: m, p: m.set, rest: m.set, low: m.set, refillSpeed: 1}
	s.after, s.x, s.low, s.high = m.after*(1+0.4*s.r.Float64()), 1, m.low, m.high
	s.damper = m.damperLoss(m.trimmed, m.trimAt, m.after)
	s.kg = m.bin * m.bulk * 0.5 * s.r.Float64()
	s.since, s.puff, s.emptied = -1e9, -1e9, -1
	e0 := s.f.effect(0, 0.5)
	s.atDesign = s.cloth.dp(&e0)
	sag, stiff, warm := 0.0, 1.0, 0.0
	for i := range s.clock.steps {
		day := s.clock.days(i)
		temperature, humidity, baro := s.weather.at(s.clock, i)
		e := s.f.effect(day, humidity)
		s.events(day, &e)
		sag += -sag*s.clock.step/5400 + 0.01*math.Sqrt(s.clock.step/3600)*s.r.NormFloat64()
		s.compressor(i, sag, &e)
		if temperature != warm {
			warm, stiff = temperature, math.Pow((273+temperature)/293, 0.7)
		}
		air := air{density: 293 / (273 + temperature) * baro, stiff: stiff}
		s.step(i, &e, air)
		if i%s.clock.every == s.clock.every-1 {
			s.keep(i, &e, air)
			s.out.set(sense.Temperature, 273.15+temperature)
			s.out.set(sense.Humidity, humidity)
			s.out.set(sense.Barometer, 101325*baro*m.density/1.2)
		}
	}
}

// air is what the weather does: density as a share of the site's, viscosity as a share of that at 20 degC.
type air struct{ density, stiff float64 }

// events are what people do.
func (s *run) events(day float64, e *effect) {
	m := s.m
	if !s.begun && day >= s.tale.from {
		s.begun = true
		if s.tale.change {
			s.cloth.renew()
		}
		if s.tale.low > 0 {
			s.low, s.high = s.tale.low, s.tale.high
		}
		if s.tale.empty {
			s.empty()
		}
	}
	if s.retrims < len(s.tale.again) && day >= s.tale.again[s.retrims] {
		s.retrims++
		s.damper = m.damperLoss(s.tale.trim, s.cloth.residual()+0.6*m.cake, s.after)
	}
	s.faulty = 0
	if e.flowTo > 0 {
		s.faulty = m.damperLoss(e.flowTo, m.middle(), s.after)
	}
	if d := int(day); d != s.emptied && s.shifts.on[min(int(day*86400/s.clock.step), s.clock.steps-1)] {
		s.emptied = d
		if s.kg > m.emptyAt*m.bin*m.bulk && e.full == 0 {
			s.empty()
		}
	}
	if e.full > 0 { // nobody comes
		s.kg = max(s.kg, m.bin*m.bulk*(0.78+0.22*min(1, 2*e.full)))
	}
}

func (s *run) empty() {
	s.taken += s.kg
	s.kg = 0.02 * s.m.bin * s.m.bulk
}

// compressor sets where the header settles.
func (s *run) compressor(i int, sag float64, e *effect) {
	s.tank.rest = s.m.set * e.supply * (1 - math.Abs(sag)) * (1 - e.bleed)
	s.tank.refillSpeed = e.refill
	if s.m.airOff && !s.shifts.on[i] && s.left == 0 && float64(i)*s.clock.step > s.next+1800 {
		s.tank.rest = 0
	}
}

// step moves the machine on by one step.
func (s *run) step(i int, e *effect, a air) {
	m, t, dt := s.m, float64(i)*s.clock.step, s.clock.step
	on := s.shifts.on[i]
	was := i > 0 && s.shifts.on[i-1]
	if on {
		s.flow(e, a)
		s.cloth.hours += dt / 3600
		s.after += m.afterCreep * (1 + 14*e.leak) * dt / 3600 * sign(m.after)
		s.cloth.collect(m.dust * float64(s.shifts.dust[i]) * e.dust * s.x * m.flow * dt / m.load)
		s.atDesign = s.cloth.dp(e)
		s.left = 0
	} else {
		s.x = 0
		if was && m.downtime > 0 && !e.idle {
			s.left = m.downtime * m.rows
			s.next = max(s.next, t+20)
		}
	}
	s.read(e, a, dt)
	s.clean(t, e, a)
	s.tank.until(t + dt)
}

// flow finds where fan and system meet, by Newton's method from where they met before.
func (s *run) flow(e *effect, a air) {
	m, x := s.m, max(s.x, 0.3)
	damper := s.damper
	if s.faulty > 0 {
		damper = s.faulty
	}
	open := 1 / math.Sqrt(m.inlet*e.inlet)
	open += e.hole / math.Sqrt(m.inlet)
	square := (1/(open*open) + damper) * a.density
	for range 6 {
		v := math.Pow(x, m.exponent-1)
		f := a.density*e.pressure*(m.shutOff*e.speed*e.speed+m.bend*e.speed*x-m.fall*x*x) - square*x*x - s.atDesign*a.stiff*v*x - s.after*x
		slope := a.density*e.pressure*(m.bend*e.speed-2*m.fall*x) - 2*square*x - m.exponent*s.atDesign*a.stiff*v - s.after
		if slope > -1 {
			slope = -1e3
		}
		step := f / slope
		x = min(max(x-step, 0.02), 2)
		if math.Abs(step) < 1e-4 {
			break
		}
	}
	s.x = x
}

// dp is the true dP across the filters.
func (s *run) dp(a air) float64 { return s.atDesign * a.stiff * math.Pow(s.x, s.m.exponent) }

// read lets the sensing lines follow.
func (s *run) read(e *effect, a air, dt float64) {
	to := s.dp(a)
	if e.lag > 0 {
		s.gauge += (to - s.gauge) * (1 - math.Exp(-dt/e.lag))
		return
	}
	s.gauge = to
}

// sensed is the dP that the controller goes by.
func (s *run) sensed(e *effect, a air) float64 {
	if s.m.ownGauge {
		return s.dp(a)
	}
	return s.gauge*e.scale + e.offset
}

// clean fires what is due in the step that begins at t.
func (s *run) clean(t float64, e *effect, a air) {
	m, to := s.m, t+s.clock.step
	on := s.x > 0
	if m.mode == "on-demand" && on {
		switch dp := s.sensed(e, a); {
		case e.idle || dp <= s.low:
			s.cleaning = false
		case dp >= s.high && !s.cleaning:
			s.cleaning, s.next = true, max(s.next, t+s.r.Float64()*s.clock.step)
		}
	} else {
		s.cleaning = on && !e.idle
	}
	s.next = max(s.next, t-m.interval)
	for s.next < to && (s.cleaning || s.left > 0) && !e.idle {
		if !on {
			s.left--
		}
		s.fire(max(s.next, t), e)
		s.next = max(s.next, t) + m.interval
		if m.mode == "on-demand" && on {
			s.read(e, a, 0.3*m.interval)
			s.cleaning = s.sensed(e, a) > s.low
		}
	}
}

// fire opens the next valve in turn.
func (s *run) fire(t float64, e *effect) {
	m := s.m
	row := m.order[s.turn%m.rows]
	s.turn++
	s.tank.until(t)
	share, odd := 1.0, row == max(s.f.number, 1)
	if odd {
		share = e.valve
		if e.bleed > 0 {
			share = 0.05 // it is open already
		}
	}
	if e.mute {
		return
	}
	p := s.tank.open(share * (1 + 0.03*s.r.NormFloat64()))
	bite := m.bite * math.Pow(p/m.set, 1.4) * math.Pow(share, 1.3) * e.bite * (1 + 0.12*s.r.NormFloat64())
	if s.x == 0 {
		bite *= 1.3
	}
	s.kg += s.cloth.pulse(odd, min(max(bite, 0), 0.95), min(0.95, m.back+e.back)) * m.load
	s.kg = min(s.kg, 1.03*m.bin*m.bulk)
	s.atDesign = s.cloth.dp(e)
	if share > 0.02 {
		s.puff = t
		if odd {
			s.since = t
		}
	}
	s.out.fired(row)
}

// keep writes a row.
func (s *run) keep(i int, e *effect, a air) {
	m, o, x := s.m, s.out, s.x
	day := s.clock.days(i)
	if s.tale.gap && s.tale.during(day) {
		o.forget()
		s.tank.low = s.tank.p
		return
	}
	end := float64(i+1) * s.clock.step
	o.row(end)
	if s.tale.drift != 0 && day > s.tale.from {
		s.drifted = s.tale.drift * (day - s.tale.from)
	}
	on, speed := 0.0, e.speed
	if x > 0 {
		on = 1
	}
	o.set(sense.DP, s.gauge*e.scale+e.offset+s.drifted+e.flutter*4*s.r.NormFloat64()*on)
	if m.after > 0 {
		o.set(sense.AfterfilterDP, s.after*x)
	}
	o.set(sense.Flow, m.flow*x)
	o.set(sense.FlowIndex, 8*x*x*a.density)
	power := on * a.density * math.Pow(speed, 3) * m.shaftPower(x/speed) * (1 - 0.3*(1-e.pressure))
	o.set(sense.FanCurrent, on*m.current(power))
	o.set(sense.FanPower, power/efficiency)
	open := 1/math.Sqrt(m.inlet*e.inlet) + e.hole/math.Sqrt(m.inlet)
	o.set(sense.InletSP, -x*x*a.density/(open*open))
	damper := s.damper
	if s.faulty > 0 && !e.slipped {
		damper = s.faulty
	}
	o.set(sense.Damper, m.position(damper))
	o.set(sense.Header, s.tank.p)
	o.set(sense.HeaderLow, s.tank.low)
	s.tank.low = s.tank.p
	o.set(sense.Running, on)
	if s.cleaning || s.left > 0 {
		o.set(sense.Cleaning, 1)
	} else {
		o.set(sense.Cleaning, 0)
	}
	o.set(sense.Emission, s.emission(end, e))
	o.set(sense.BinLevel, min(1, s.kg/(m.bin*m.bulk)))
	if s.taken > 0 {
		o.set(sense.BinMass, s.taken)
		s.taken = 0
	}
}

// emission is what a leak detector in the clean air shows on the mean over the last minute or so: a
// puff after every pulse, more of it where the cake no longer covers a hole.
func (s *run) emission(t float64, e *effect) float64 {
	ago := func(at float64) float64 { return math.Exp(-(t - at) / 30) }
	return s.x * (1 + 1.5*ago(s.puff) + e.leak*(2+45*ago(s.since)) + 1.2*e.full)
}

func sign(v float64) float64 {
	if v > 0 {
		return 1
	}
	return 0
}
