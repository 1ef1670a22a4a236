package pastel

import (
	"math"

	"dustwright/collector"
	"dustwright/judge"
)

// runner carries machine, controller and log through the slots.
type runner struct {
	p       *plant
	m       *machine
	slots   []slot
	trouble trouble
	log     *historian
	noise   luck
	e       effects
	now     float64
	next    float64 // pulse [s]
	clean   bool    // the controller cleans
	ran     bool
	left    int // pulses left of a downtime cleaning
	valve   int // that fires next, from 0
	begun   int // valves fired since the cleaning began
	reading float64
	cleaned float64 // time spent cleaning with the fan on [s]
	on      float64 // time with the fan on [s]
	above   float64 // of it with the dP above the high set point [s]
}

// run integrates from a slot up to another, and logs from the lead's end on.
func (r *runner) run(from, to int) {
	const coarse = 120.0
	for i := from; i < to; i++ {
		s := &r.slots[i]
		r.begin(s)
		r.e = r.trouble.effects(r.now, r.p)
		until := float64(i+1) * slotTime
		for r.now < until-1e-9 {
			most := r.log.scan
			if !s.run && !r.clean {
				most = min(coarse, r.log.step)
			}
			to := min(until, r.now+most, r.log.due)
			if r.clean {
				to = min(to, max(r.next, r.now+0.05))
			}
			dt := to - r.now
			r.m.step(dt, s, &r.e)
			r.now = to
			r.look(dt, s)
			r.log.take(dt, r.values(dt, s))
			if r.now >= r.log.due-1e-9 {
				r.log.emit(r.now, s.gap)
			}
			r.control(s)
		}
	}
}

// copied is the runner as it stands.
func (r *runner) copied() *runner {
	o := *r
	o.m, o.log, o.noise = r.m.copied(), r.log.copied(), r.noise.copied()
	return &o
}

// begin does what happens at the beginning of a slot.
func (r *runner) begin(s *slot) {
	if s.renewed {
		r.m.renew()
	}
	if s.renewedAft {
		r.m.after = r.p.after
	}
	full := r.p.bin * r.p.bulk
	forgotten := r.trouble.cause == judge.BinOverfull && r.trouble.at(r.now) > 0
	if !forgotten && (s.taken || r.m.bin > r.p.emptyAt*full) || r.m.bin > full {
		away := 0.95 * r.m.bin
		r.m.bin -= away
		r.m.away += away
		r.log.mass += away
	}
}

// look reads the gauge, with the flutter of the air.
func (r *runner) look(dt float64, s *slot) {
	v := r.m.gauge(&r.e)
	if s.run {
		r.on += dt
		quiet := 2 / (1 + r.e.highLag + r.e.lowLag) // a plugged line is still
		v += r.log.flutter * quiet * r.noise.NormFloat64()
		if r.clean {
			r.cleaned += dt
		}
		if r.m.dp > r.p.high {
			r.above += dt
		}
	}
	r.reading = v
}

// control is the cleaning controller. It sees what its gauge reads.
func (r *runner) control(s *slot) {
	defer func() { r.ran = s.run }()
	switch {
	case r.e.mute:
		r.clean, r.left = false, 0
		return
	case !s.run:
		r.shutdown(s)
	case r.p.mode != collector.OnDemand:
		r.clean = true
	default:
		seen := r.log.inst[0].shows(r.reading)
		if !r.clean || !r.ran {
			r.clean, r.begun = seen >= s.high, 0
		} else if seen <= s.low && (!r.p.wholeRounds || r.begun%r.p.rows == 0) {
			r.clean = false
		}
	}
	if !r.clean {
		r.next = max(r.next, r.now)
		return
	}
	if r.next = max(r.next, r.now); r.now >= r.next-1e-9 {
		r.fire(s)
	}
}

// shutdown counts the cycles after a stop.
func (r *runner) shutdown(s *slot) {
	if r.ran {
		r.left = s.downtime * r.p.rows
	}
	r.clean = r.left > 0
}

func (r *runner) fire(s *slot) {
	stress := r.m.pulse(r.valve, s, &r.e)
	r.m.shed(r.valve, stress, s, &r.e)
	if s.run && stress > 0 {
		r.m.cloud += r.p.puff * stress
		if r.valve == r.e.row {
			r.m.cloud += 45 * r.e.hole
		}
	}
	r.log.pulses = append(r.log.pulses, r.valve+1)
	r.valve = (r.valve + 1) % r.p.rows
	r.begun++
	if r.next += r.p.interval; r.next <= r.now {
		r.next = r.now + r.p.interval
	}
	if !s.run {
		if r.left--; r.left <= 0 {
			r.clean = false
		}
	}
}

// load is the motor's: shaft power [W] and current [A].
func (r *runner) load(s *slot) (watts, amps float64) {
	if !s.run {
		return 0, 0
	}
	p, e := r.p, &r.e
	x := r.m.x / e.speed
	watts = p.shaft * s.density * e.load * math.Pow(e.speed, 3) * (p.idle + (1-p.idle)*math.Pow(x, 0.9))
	return watts, math.Hypot(p.amps(watts), p.magnet)
}
