package rough

import (
	"math"
	"math/rand/v2"
)

// scene is a machine at work.
type scene struct {
	plan    *plan
	cal     *calendar
	r       *rand.Rand
	quiet   bool
	trouble trouble
	tale    tale
	book    *book // nil: nobody writes

	t, worn, speed float64
	seated         float64 // seat as a share of the seasoned one
	weighed        float64 // worn when that was worked out
	on             bool
	rows           []cloth
	shop           []machine
	air            air
	seg            int
	knob           knob
	sky            sky
	after          float64 // drag [Pa/(m3/s)]
	ctl            control
	fired          []float64
	header, lowest float64
	looked         float64 // when somebody saw to the bin last [s]
	was, lost      float64 // the damper's opening and loss, as worked out last
	phase, sag     float64
	shown          float64 // dP at the logged gauge [Pa]
	frozen         float64
	spike, outlet  float64 // puffs at pulses; what the emission monitor sees
	told, topped   bool    // the tale's one deed is done; the bin filled up for bin-overfull
	busy, ran      float64 // time cleaning and running, for settle [s]

	in, bin, gone, taken, thrown, put float64 // dust: arrived, in the bin, passed, emptied, with old filters, put in the bin by the trouble [kg]
}

func newScene(p *plan, c *calendar, r *rand.Rand, quiet bool) *scene {
	s := &scene{plan: p, cal: c, r: r, quiet: quiet, rows: append([]cloth(nil), p.rows...), shop: make([]machine, len(p.hoods)),
		fired: make([]float64, len(p.rows)), header: p.set, lowest: p.set, speed: p.speed, after: p.after * between(r, 1, 1.5), frozen: math.NaN()}
	s.trouble, s.tale = trouble{cause: none, onset: math.Inf(1)}, tale{kind: quietTale}
	s.knob = newKnob()
	s.sky = c.at(-before)
	s.worn = between(r, 10, 60) * day
	if quiet {
		s.worn = 40 * day
	}
	for i := range s.shop {
		s.shop[i].gate = p.gates != "auto"
	}
	for i := range s.fired {
		s.fired[i] = -1e9
	}
	s.bin = p.bin * p.bulk * between(r, 0.1, 0.4)
	s.put = s.bin
	s.seated = s.season()
	for i := range s.rows {
		s.weigh(&s.rows[i])
	}
	return s
}

// settle runs the machine before the log until its cake is what it will be; where it would clean most of the time
// somebody sets it otherwise. A trouble that was there from the first reading, and a tale that began as early, are at work in the end.
func (s *scene) settle(f trouble, e tale) {
	s.tale = tale{kind: quietTale}
	if e.kind == "branch added" {
		s.tale = e
	}
	for range 9 {
		s.busy, s.ran = 0, 0
		s.play(-before, -3*day)
		if s.plan.timed() {
			continue
		}
		if s.busy < 0.25*s.ran {
			break
		}
		s.plan.low *= 1.05
		s.plan.high *= 1.04
		s.plan.cake *= 0.85
		s.plan.back *= 0.85
		if s.plan.high < s.plan.low+150 {
			s.plan.high = s.plan.low + 150
		}
	}
	s.trouble = f
	s.play(-3*day, 0)
}

// play lets time go from a to b.
func (s *scene) play(a, b float64) {
	s.t, s.looked = a, a
	for _, w := range s.cal.runs {
		if w[1] <= s.t || w[0] >= b {
			continue
		}
		s.still(min(w[0], b))
		s.on = true
		s.look()
		s.work(min(w[1], b))
		if w[1] >= b {
			return // in the midst of a run
		}
		s.on = false
		s.ctl.left = s.plan.downtime * len(s.rows)
	}
	s.still(b)
}

// look is what people do as the fan comes on and as shifts change: see to the bin. Now and then they come late,
// but never so late that it is full.
func (s *scene) look() {
	s.looked = s.t
	level := s.bin / (s.plan.bin * s.plan.bulk)
	if s.quiet && level > 0.6 || !s.quiet && level > s.plan.empties && s.r.Float64() < 0.8 || level > 0.85 || s.tale.kind == "bin emptied" && s.due() {
		s.empty()
	}
}

// due reports once that the tale's time has come.
func (s *scene) due() bool {
	if s.told || s.t < s.tale.at || s.book == nil {
		return false
	}
	s.told = true
	return true
}

func (s *scene) empty() {
	if s.knob.full || s.trouble.cause == "bin-overfull" && s.t > s.trouble.onset {
		return
	}
	s.taken += s.bin
	if s.book != nil {
		s.book.mass += s.bin
	}
	s.bin = 0
}

// work runs the fan until a time.
func (s *scene) work(until float64) {
	for s.t < until {
		dt := min(45, until-s.t)
		if s.ctl.cleans {
			dt = min(dt, max(s.ctl.next-s.t, 0.2))
		}
		if s.book != nil {
			dt = min(dt, max(s.book.next-s.t, 0.2))
		}
		s.step(dt)
		if s.t > s.looked+8*hour {
			s.look()
		}
	}
}

// still lets the fan stand until a time; the filters are cleaned once more before.
func (s *scene) still(until float64) {
	s.air = air{}
	for s.t < until {
		dt := 300.0
		if s.ctl.left > 0 {
			dt = s.plan.interval
		}
		if s.book != nil {
			dt = min(dt, max(s.book.next-s.t, 0.2))
		}
		s.step(min(dt, until-s.t))
	}
}

// step brings everything forward by dt.
func (s *scene) step(dt float64) {
	s.t += dt
	s.sky = s.cal.at(s.t)
	if math.Abs(s.worn-s.weighed) > 900 {
		s.seated, s.weighed = s.season(), s.worn
	}
	s.knob = newKnob()
	s.knob.stick = 0.05 * max(0, s.sky.humidity-0.8) / 0.2
	s.trouble.turn(s)
	s.tale.turn(s)
	if s.on {
		s.worn += dt
		s.ran += dt
		if s.ctl.cleans {
			s.busy += dt
		}
		dust := s.produce()
		s.breathe()
		s.dusty(dust*dt, dt)
		s.after += s.plan.afterCreep * dt / day * min(1, s.after)
		if s.plan.drive > 0 {
			s.speed = bounded(s.speed+0.05*(1-s.air.suction/s.plan.inlet)*min(1, dt/60), 0.6*s.plan.speed, 1)
		}
	} else {
		s.air = air{}
	}
	s.refill(dt)
	s.spike /= 1 + dt/25
	s.gauge(dt)
	s.decide()
	if s.ctl.cleans && s.t >= s.ctl.next-1e-6 {
		s.pulse()
	}
	if s.tale.kind == "new filters" && s.due() {
		s.renew()
	}
	if s.book != nil {
		s.book.note(s, dt)
	}
}

// dusty takes in what came with the air: part drops, part is whirled up again from a full bin, and some passes.
func (s *scene) dusty(dust, dt float64) {
	s.in += dust
	drop := dust * s.plan.settle * s.knob.settle
	s.bin += drop
	on := dust - drop
	if s.knob.full {
		if size := s.plan.bin * s.plan.bulk; !s.topped && s.bin < 0.93*size {
			s.put += 0.93*size - s.bin
			s.bin = 0.93 * size
		}
		s.topped = true
		lift := min(s.bin, 1.8*s.trouble.level(s.t)*dust)
		s.bin, on = s.bin-lift, on+lift
	}
	out := s.catch(on, dt)
	s.gone += out
	s.outlet = out / dt / max(s.air.flow, 0.1) / s.plan.loading
	if s.after > 0 { // what passed lies on the after-filter
		s.after += s.plan.after * 30 * out / (s.plan.loading * s.plan.flow * day)
	}
}

// gauge is the logged gauge with its two lines.
func (s *scene) gauge(dt float64) {
	dp := s.air.dp
	k := &s.knob
	if k.line == "" {
		s.frozen = math.NaN()
	} else if math.IsNaN(s.frozen) {
		s.frozen = s.shown
	}
	switch k.line {
	case "slow":
		s.frozen += (dp - s.frozen) * min(1, dt/(120+k.deep*k.deep*5*hour))
		dp = s.frozen
	case "frozen":
		dp = (1-k.deep)*dp*0.5 + (0.5+0.5*k.deep)*s.frozen
	case "shut in": // the air caught in the line goes with the temperature, and leaks slowly
		s.frozen += (dp - s.frozen) * min(1, dt/(hour+k.deep*60*hour))
		dp = s.frozen + k.deep*25*(s.sky.temperature-s.cal.at(s.trouble.onset).temperature)
	case "off": // both lines breathe the room
		dp *= 1 - k.deep
	case "low side off": // the dirty side's suction is held against the room
		dp = (1-k.deep)*dp - k.deep*s.air.suction
	case "crossed":
		dp = -dp
	case "cracked":
		dp *= 1 - 0.9*k.deep
	}
	s.shown = dp
}
