package outline

import "math"

// refill brings air to the header for a time: no more than the supply brings, and ever slower near the
// pressure of the regulator, which follows the compressor's hysteresis a little. What bleeds away sets the
// level at which it stays.
func (w *world) refill(k *knobs, dt float64) {
	s, t := &w.s, &w.m.tank
	if dt <= 0 {
		return
	}
	if s.pumping {
		s.receiver += dt / (0.2 * t.period)
	} else {
		s.receiver -= dt / (0.3 * t.period)
	}
	if s.receiver > 1 {
		s.receiver, s.pumping = 1, false
	}
	if s.receiver < -1 {
		s.receiver, s.pumping = -1, true
	}
	want := t.set * k.set * (1 + t.swing*s.receiver)
	bleed := k.bleed
	if s.stuckFor > 0 {
		part := min(dt, s.stuckFor)
		bleed += k.stick
		s.stuckFor -= part
		if part < dt {
			w.flow(k, want, bleed, part)
			dt, bleed = dt-part, k.bleed
		}
	}
	w.flow(k, want, bleed, dt)
}

// flow moves the header's pressure for a time at which nothing else changes.
func (w *world) flow(k *knobs, want, bleed, dt float64) {
	s, t := &w.s, &w.m.tank
	lag, brings := t.lag/k.supply, t.brings*k.supply
	rest := (want/lag - bleed*atmosphere) / (1/lag + bleed)
	if bleed > 0 {
		rest = min(rest, brings/bleed-atmosphere)
		lag = 1 / (1/lag + bleed)
	}
	rest = max(0, rest)
	gap := rest - s.header
	net := brings - bleed*(s.header+atmosphere)
	if gap > 0 && net > 0 && gap > net*lag { // as much as the supply brings, until the gap is small
		quick := min(dt, (gap-net*lag)/net)
		s.header += net * quick
		gap = rest - s.header
		dt -= quick
	}
	if dt > 12*lag {
		s.header = rest
	} else {
		s.header += gap * (1 - math.Exp(-dt/lag))
	}
	w.low = min(w.low, s.header)
}

// fire opens a valve: the tank's air goes out by a polytropic law while it is open, and shakes the row.
func (w *world) fire(k *knobs, v int) {
	s, t := &w.s, &w.m.tank
	before := s.header
	opens := max(0, t.valve[v]*k.valve[v])
	s.header = max(0, (before+atmosphere)*math.Exp(-t.drop*opens)-atmosphere)
	w.low = min(w.low, s.header)
	w.fired = append(w.fired, uint8(v+1))
	if w.look != nil {
		w.look.pulse(before)
	}
	if k.stick > 0 && v == k.sticky {
		s.stuckFor = 60
	}
	if opens > 0.02 {
		p := before / t.set
		strength := p * math.Sqrt(math.Sqrt(p)) * math.Sqrt(opens*math.Sqrt(opens))
		w.shake(k, v, strength)
	}
	s.puff += 0.6 * opens * (1 + 40/(10+s.row[v].dose))
	s.puff += 2.5 * k.hole[v] * (0.3 + 0.7*opens)
	w.peak = max(w.peak, w.past(k))
}
