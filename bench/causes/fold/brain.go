package fold

import "dustwright/collector"

// timer is the cleaning controller as it is set.
type timer struct {
	mode      collector.Mode
	low, high float64
	order     []int
	whole     bool    // finishes the round it has begun
	least     int     // pulses at least in one cleaning
	downtime  int     // rounds after the fan stops
	backup    float64 // cleans after this time anyway [s]; 0 never
	own       bool    // has sensing lines of its own
	damping   float64 // of its reading [s]
}

// brain is where the controller stands.
type brain struct {
	on      bool
	next    float64 // when the next valve is due [s]
	at      int     // place in the order
	fired   int     // in this cleaning
	rounds  int     // pulses left of downtime cleaning
	seen    float64 // its reading [Pa]
	lastEnd float64
	above   int
}

// tick lets the controller look and act; it returns the row to pulse, or -1.
func (s *sim) tick(t float64) int {
	b, c := &s.brain, &s.m.timer
	if s.k.dead {
		b.on = false
		return -1
	}
	// its clock is not the logger's
	interval := s.m.hdr.interval * s.k.pace * (s.m.hdr.clock + 0.004*dice(s.m.seed, 33, s.shots))
	switch {
	case !s.running:
		if b.rounds <= 0 {
			b.on = false
			return -1
		}
		b.on = true
	case c.mode != collector.OnDemand:
		b.on = true
	case !b.on:
		if b.seen >= c.high*s.k.high+s.k.startUp {
			b.above++
		} else {
			b.above = 0
		}
		if s.k.abort > 0 && t-b.lastEnd < 900 {
			b.above = 0
		}
		late := c.backup > 0 && t-b.lastEnd > c.backup
		if b.above >= 2 || late {
			b.on, b.fired, b.next = true, 0, t+interval*dice(s.m.seed, 34, s.shots)
		}
	case b.fired >= c.least && (!c.whole || b.at == 0):
		if b.seen <= c.low*s.k.lower || s.k.abort > 0 && b.fired >= s.k.abort {
			b.on, b.lastEnd, b.above = false, t, 0
		}
	}
	if !b.on || t < b.next-1e-6 {
		return -1
	}
	i := c.order[b.at] - 1
	b.at = (b.at + 1) % len(c.order)
	b.fired++
	b.next = max(b.next, t-1) + interval
	if !s.running {
		b.rounds--
	}
	return i
}

// gauge is what a reading through the sensing lines shows now [Pa].
func (s *sim) gauge() float64 {
	v := s.dirty*(1-s.k.crackDirty) - s.clean*(1-s.k.crackClean)
	v *= 1 - s.k.even
	if s.k.crossed {
		v = -v
	}
	return v
}
