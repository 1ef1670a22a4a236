package etch

import (
	"math"
	"math/rand/v2"
	"sort"
)

// event is something people do to the machine.
type event struct {
	at float64 // [s]
	do func(*bench, *state)
}

// tell draws what happens without anything being wrong; most healthy machines have such a story, and some others.
func tell(b *bench, well bool, r *rand.Rand) {
	b.rounds(r)
	if !well && r.Float64() < 0.65 || well && r.Float64() < 0.15 {
		b.story = "quiet"
		sort.SliceStable(b.events, func(i, j int) bool { return b.events[i].at < b.events[j].at })
		return
	}
	when := b.end * span(r, 0.25, 0.96)
	switch r.IntN(14) {
	case 0:
		b.story = "heavy week"
		b.scale(b.hours.busy, when, when+span(r, 4, 10)*day, span(r, 1.25, 1.7))
	case 1:
		b.story = "less work"
		b.scale(b.hours.busy, when, when+span(r, 5, 30)*day, span(r, 0.3, 0.7))
	case 2:
		b.story = "new filters"
		b.events = append(b.events, event{when, func(b *bench, s *state) { s.renew(b) }})
	case 3:
		b.story = "set points"
		low, width := b.low*span(r, 0.95, 1.3), span(r, 110, 520)
		b.events = append(b.events, event{when, func(_ *bench, s *state) { s.low, s.high = low, low+width }})
	case 4:
		b.story = "damper trimmed"
		b.events = append(b.events, event{when, func(b *bench, s *state) { s.damper = b.opening(s.filters) }})
	case 5:
		b.story = "wet weather"
		to := when + span(r, 3, 9)*day
		b.weather(b.hours.damp, when, to, span(r, 0.15, 0.35))
		sticky, lifts := span(r, 1.03, 1.15), span(r, 0.88, 0.97)
		b.events = append(b.events, event{when, func(_ *bench, s *state) { s.sticky, s.lifts = sticky, lifts }},
			event{to, func(_ *bench, s *state) { s.sticky, s.lifts = 1, 1 }})
	case 6:
		b.story = "heat or frost"
		b.weather(b.hours.temp, when, when+span(r, 4, 14)*day, pick(r, -1.0, 1)*span(r, 6, 13))
	case 7:
		b.story = "drift"
	case 8:
		b.story = "gaps"
	case 9:
		b.story = "short hours"
		b.cut(when, min(when+21*day, b.end-2*day), 12, 24)
	case 10:
		b.story = "shutdown"
		stop := min(when, b.end-9*day)
		b.hours.cut(stop, stop+span(r, 3, 8)*day)
	case 11:
		b.story = "shared compressor"
		b.weather(b.hours.demand, when, b.end, span(r, 0.15e5, 0.6e5))
	case 12:
		b.story = "header set"
		set := b.set * span(r, 0.9, 1.08)
		set = min(set, b.plant-0.5e5)
		b.events = append(b.events, event{when, func(_ *bench, s *state) { s.set = set }})
	default:
		b.story = "another product"
		sticky := decades(r, 0.75, 1.35)
		b.events = append(b.events, event{when, func(_ *bench, s *state) { s.sticky = sticky }})
	}
	sort.SliceStable(b.events, func(i, j int) bool { return b.events[i].at < b.events[j].at })
}

// rounds are the damper's trims that belong to a well-kept machine: several after new filters, else one a month or two.
func (b *bench) rounds(r *rand.Rand) {
	trim := func(_ *bench, s *state) {
		if now := b.opening(s.filters); math.Abs(now-s.damper) > 0.03 && s.running {
			s.damper += (now - s.damper) * 0.8
		}
	}
	if b.fresh {
		b.trim = b.opening(b.media * b.flow / b.face() * 1.2)
		for _, d := range []float64{0.4, 2.4, 9.4, 23.4} {
			b.events = append(b.events, event{(d + 0.1*r.Float64()) * day, trim})
		}
	}
	if r.Float64() < 0.4 {
		for t := span(r, 5, 50) * day; t < b.end-4*day; t += span(r, 25, 60) * day {
			b.events = append(b.events, event{t, trim})
		}
	}
}

// scale multiplies a stretch of the surroundings.
func (b *bench) scale(of []float64, from, to, by float64) {
	for i := b.hours.at(from); i < b.hours.at(to); i++ {
		of[i] *= by
	}
}

// weather adds to a stretch of the surroundings, coming and going over a day; humidity stays below saturation.
func (b *bench) weather(of []float64, from, to, by float64) {
	for i := b.hours.at(from); i < b.hours.at(to); i++ {
		t := float64(i) * slot
		of[i] += by * min(1, (t-from)/day, (to-t)/day)
		if of[i] > 0.9 && by < 1 && by > 0 {
			of[i] = min(of[i], 0.97)
		}
	}
}

// cut takes a part of each day out of the running hours.
func (b *bench) cut(from, to, first, last float64) {
	for d := math.Floor(from / day); d*day < to; d++ {
		b.hours.cut(d*day+first*3600, d*day+last*3600)
	}
}
