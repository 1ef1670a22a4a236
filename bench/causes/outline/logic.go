package outline

import "math"

// first sets where a bout begins.
func (w *world) first() {
	if w.m.control.fromOne {
		w.s.next = 0
	}
}

// sees is the dP that the controller goes by.
func (w *world) sees(k *knobs) float64 {
	if w.m.control.shared {
		return w.s.line
	}
	return w.s.wind.dp * w.m.control.own
}

// control fires what is due within the step.
func (w *world) control(k *knobs, dt float64) {
	s, c := &w.s, &w.m.control
	if s.running {
		switch c.logic {
		case timer, always:
			s.cleaning, s.left = true, math.MaxInt32
		default:
			if !s.cleaning && w.sees(k) >= k.high {
				s.cleaning, s.left = true, math.MaxInt32
				s.wait = max(s.wait, min(dt, c.interval)*w.chance.Float64()) // it came up within the step
				if c.logic == somePasses {
					s.left = c.passes * w.m.rows
				}
				w.first()
			}
		}
	}
	left := dt
	for s.cleaning && s.wait <= left {
		w.refill(k, s.wait)
		s.puff *= math.Exp(-s.wait / 20)
		left -= s.wait
		s.wait = c.interval * c.pace * k.slow
		v := c.order[s.next]
		s.next = (s.next + 1) % w.m.rows
		s.left--
		if k.mute < 0.5 && (k.skip == 0 || w.chance.Float64() > k.skip) {
			w.fire(k, v)
			if s.running && c.logic.demand() {
				w.join()
				w.settle(k)
				w.sense(k, 0.5)
			}
		}
		if s.left <= 0 || c.logic == untilLow && s.running && w.sees(k) < k.low {
			s.cleaning = false
		}
	}
	s.wait = max(0, s.wait-left)
	w.refill(k, left)
}
