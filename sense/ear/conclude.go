package ear

import (
	"math"
)

// What separates the states: set on made recordings of three voices (eartest) and scored on two others.
const (
	hearRatio  = 0.05 // of the group's energy, at least, for a pulse to be heard
	hearSpread = 4.0  // and above what noise alone gives, in its spread
	hearShare  = 0.30 // strength above that between pulses, as a share of a usual pulse's
)

// conclude measures every place of the row and says what each valve does.
func (s *sound) conclude(r *row, spec Spec) (*Result, error) {
	strength := s.strength(s.weights(r))
	if strength == nil {
		return nil, unusable("no pulses stand out of the noise; %s", closer)
	}
	list, g := s.gather(r, strength)
	heard := 0
	for i := range list {
		b := &list[i]
		b.heard = g.hears(b)
		if b.heard {
			heard++
		}
	}
	if err := s.doubtful(r, list, g, heard); err != nil {
		return nil, err
	}
	s.doubles(list, strength, r, &g)
	s.hisses(list, r.interval)
	s.opens(list, &g)
	first, last := due(list, spec.Valves, float64(s.frames)*s.step, s.step, r.interval)
	res := &Result{}
	res.fill(s, list[first:last+1], r, &g, spec)
	return res, nil
}

// hears says whether a place sounds: loud enough, and with an onset; a lesser onset will do where it is
// as loud and long as the others, since the noise before it may be another valve's hiss.
func (g *group) hears(b *burst) bool {
	onset := (b.strength - g.weak) / (g.usual - g.weak + 1e-9)
	over := (b.ratio - g.floor) / math.Max(g.noise, 1e-6)
	return b.ratio > hearRatio && over > hearSpread && onset > hearShare ||
		b.ratio > 0.35 && over > 6 && onset > 0 && b.length > 0.4
}

const closer = "lay the phone closer to the collector, away from the fan, and record at least one whole cycle while it cleans"

// doubtful refuses what is no row of pulses.
func (s *sound) doubtful(r *row, list []burst, g group, heard int) error {
	switch {
	case heard < 2 || float64(heard) < 0.3*float64(len(list)):
		return unusable("no regular row of pulses stands out of the noise; %s", closer)
	case r.rival > rivalLimit:
		return unusable("other sounds come as often and as loud as the pulses would, as in music or steady hammering; record again when it is quieter, closer to the collector")
	}
	return nil
}

// rivalLimit is how much of the row's reward a row between its places may get.
const rivalLimit = 0.8

// doubles looks for a second burst like the group's soon after each one heard.
func (s *sound) doubles(list []burst, strength []float64, r *row, g *group) {
	for i := range list {
		b := &list[i]
		if !b.heard {
			continue
		}
		until := b.frame + int(math.Min(0.45*r.interval, 2)/s.step)
		best := 0
		for f := b.frame + max(14, g.n/2+6); f < min(until, s.frames-g.n); f++ {
			if strength[f] > g.weak+0.5*(g.usual-g.weak) && (best == 0 || strength[f] > strength[best]) {
				best = f
			}
		}
		if best == 0 {
			continue
		}
		again := s.take(best, g.n)
		again.noise = b.noise
		for k := range bands {
			again.energy[k] = float64(g.n+2*margin) * (s.mean(k, best-margin, best+g.n+margin) - b.noise[k])
		}
		s.compare(&again, g)
		if again.level > b.level-5 && again.ratio > g.floor+5*g.noise && again.length > 0.5 {
			b.double = best
		}
	}
}

// due returns the first and the last place of the row at which a pulse was really due. Cleaning may
// begin after the recording and end before it: a silent place at an end counts only where its valve is
// not heard anywhere else.
func due(list []burst, valves int, seconds, step, interval float64) (first, last int) {
	last = len(list) - 1
	for first < last && !list[first].heard {
		first++
	}
	for last > first && !list[last].heard {
		last--
	}
	if valves == 0 {
		return first, last
	}
	before, after := first, len(list)-1-last // silent places to either side
	front := float64(list[first].frame) * step
	back := seconds - float64(list[last].frame)*step
	for last-first+1 < valves && before+after > 0 {
		if before > 0 && (front >= back || after == 0) {
			first, before, front = first-1, before-1, front-interval
		} else {
			last, after, back = last+1, after-1, back-interval
		}
	}
	elsewhere := func(i int) bool {
		for k := first; k <= last; k++ {
			if (k-i)%valves == 0 && list[k].heard {
				return true
			}
		}
		return false
	}
	for before > 0 && last-first+1 >= valves && !elsewhere(first-1) {
		first, before = first-1, before-1
	}
	for after > 0 && last-first+1 >= valves && !elsewhere(last+1) {
		last, after = last+1, after-1
	}
	return first, last
}
