package fold

import (
	"math"
	"math/rand/v2"
	"strings"

	"dustwright/sense"
)

// event is something that happens without anything being wrong.
type event struct {
	kind     string
	from, to float64 // [s since the start]
	amount   float64 // -1 to 1, or as the kind has it
	channel  sense.Channel
}

// tale is what happens on a machine without anything being wrong.
type tale struct{ events []event }

// kinds of events, with how many more times the one is likely than the other.
var kinds = map[string]int{"heavy weeks": 3, "new filters": 3, "set points moved": 2, "damper trimmed": 3, "weather": 3, "drift": 3, "gap": 1,
	"more shifts": 2, "other dust": 3, "gate": 2, "lazy emptying": 2, "compressor work": 2, "clock": 1, "instrument swapped": 2,
	"downtime cleaning": 2, "header set": 2, "belts": 1, "probe cleaned": 1, "light weeks": 2, "interval": 1}

// kindList is kinds in a fixed order, each as often as it counts.
var kindList = func() []string {
	var names, out []string
	for k := range kinds {
		names = append(names, k)
	}
	for i := range names { // few: sort by hand of straight insertion
		for j := i; j > 0 && names[j] < names[j-1]; j-- {
			names[j], names[j-1] = names[j-1], names[j]
		}
	}
	for _, k := range names {
		for range kinds[k] {
			out = append(out, k)
		}
	}
	return out
}()

// drawTale draws the story of a trial; a troubled machine has one less often.
func drawTale(g *rand.Rand, r *run, troubled bool) *tale {
	t := &tale{}
	p := shareStorySound
	if troubled {
		p = shareStoryTroubled
	}
	if !happens(g, p) {
		return t
	}
	n := 1
	if happens(g, 0.2) {
		n = 2
	}
	for range n {
		e := event{kind: kindList[g.IntN(len(kindList))], amount: between(g, -1, 1)}
		if e.kind == "new filters" && troubled {
			e.kind = "other dust"
		}
		if e.kind == "damper trimmed" && (troubled || r.m.holds != byHand) {
			e.kind = "weather"
		}
		if t.of(e.kind) != nil {
			continue
		}
		before := scaled(g, 0.7, 0.8*r.days) // days before the end
		e.from = (r.days - before) * day
		e.to = e.from + scaled(g, 3, 20)*day
		e.channel = pickOne(g, sense.Flow, sense.FanCurrent, sense.FanPower, sense.InletSP, sense.DP, sense.Header, sense.Emission, sense.AfterfilterDP)
		t.events = append(t.events, e)
	}
	return t
}

// of finds an event by its kind; nil where there is none.
func (t *tale) of(kind string) *event {
	for i := range t.events {
		if t.events[i].kind == kind {
			return &t.events[i]
		}
	}
	return nil
}

// name says what happened.
func (t *tale) name() string {
	var out []string
	for _, e := range t.events {
		out = append(out, e.kind)
	}
	return strings.Join(out, " and ")
}

// turn lets the story work on a machine.
func (t *tale) turn(s *sim, now float64) {
	for i := range t.events {
		e := &t.events[i]
		if now < e.from {
			continue
		}
		during := now < e.to
		first := !s.did[i]
		s.did[i] = true
		k, a, size := &s.k, e.amount, math.Abs(e.amount)
		switch e.kind {
		case "heavy weeks":
			if during {
				k.load *= 1.15 + 0.3*size
			}
		case "light weeks":
			if during {
				k.load *= 0.85 - 0.4*size
			}
		case "new filters":
			if first {
				s.refit(true)
			}
		case "set points moved":
			k.high *= 1 + 0.22*a
			k.lower *= 1 + 0.13*a
		case "damper trimmed":
			if first {
				s.trim(1 + 0.03*a)
			}
		case "weather":
			if during {
				k.hot += 7 * a
				k.humid += 0.12 * size
				k.bares *= 1 - 0.06*size
			}
		case "other dust":
			k.k2 *= 1 + 0.3*a
			k.bares *= 1 - 0.08*a
			k.load *= 1 - 0.12*a
		case "gate":
			k.shut += 0.5 * size * s.m.branches[0]
			k.load *= 1 - 0.3*size*s.m.branches[0]
		case "lazy emptying":
			k.emptyAt *= 0.6 + 0.65*dice(s.m.seed, 71, int64(math.Floor(now/(2*day))))
		case "compressor work":
			if now < e.from+day*(0.2+size) {
				k.lineDip += (0.3 + size) * 1e5
				k.supply *= 0.8
			}
		case "downtime cleaning":
			k.moreDowntime += 1 + int(3*size)
		case "header set":
			k.set *= 1 + 0.04 + 0.09*a // more often up than down
		case "belts":
			k.speed *= 1 + 0.02*size
		case "interval":
			k.pace *= 1 + 0.35*a
		}
	}
}

// trim sets the damper by hand so that a share of design flow passes.
func (s *sim) trim(share float64) {
	if s.m.holds != byHand {
		return
	}
	left, _ := s.air.spare(&s.m.fan, s.m.flow*share)
	loss := (left-s.x)/(s.air.dense*s.m.flow*s.m.flow*share*share) + s.m.damper.loss(s.pointer())
	s.open = clamp(to(s.m.damper.opening(loss), 0.01), 0.05, 1)
	s.weigh()
}

// refit puts new filters in; a careful crew trims the damper for them.
func (s *sim) refit(careful bool) {
	for i := range s.m.rows {
		s.row[i] = row{fresh: 0.4, since: s.row[i].since}
	}
	s.clog *= 0.98
	s.x = s.m.cloth.media * s.m.flow / (s.m.area * float64(s.m.rows)) * 1.3
	if careful {
		s.trim(1)
	}
}
