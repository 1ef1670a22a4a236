package wash

import (
	"dustwright/bench/causes/made"
	"dustwright/sense"
)

// deed is something somebody does, or that comes about, without anything being wrong.
type deed struct {
	at float64
	do func(*machine)
}

// tale is what befell a plant without anything being wrong with it.
type tale struct {
	name  string
	deeds []deed
	write func(w *scribe) // what it does to the record
}

// newTale draws a tale between two times, mostly near the end, where it can be mistaken for trouble.
func newTale(d made.Dice, p *plant, s *sheet, from, end float64) tale {
	at := end - d.Spread(0.6, 0.6*(end-from)/day)*day
	if d.Chance(0.45) {
		return machineTale(d, p, s, at, end)
	}
	if d.Chance(0.5) {
		return workTale(d, s, at, end)
	}
	return recordTale(d, p, at, end)
}

// once is a tale of one deed.
func once(name string, at float64, do func(*machine)) tale {
	return tale{name: name, deeds: []deed{{at, do}}}
}

// machineTale is something done to the machine.
func machineTale(d made.Dice, p *plant, s *sheet, at, end float64) tale {
	switch d.IntN(9) {
	case 0, 1:
		return newFilters(d, p, s.pause(at, end))
	case 2:
		by, wide := d.Between(-0.6, 0.6)*inWater, d.Between(0.8, 1.3)
		return once("set points", at, func(m *machine) {
			gap := (m.high - m.low) * wide
			m.low = max(p.low*0.92, m.low+by)
			m.high = min(m.low+max(gap, 0.5*inWater), 1.2*p.high)
		})
	case 3:
		by := d.Between(-0.05, 0.05)
		return once("re-trim", s.pause(at, end), func(m *machine) { m.open, m.hold = min(1, m.open+by), m.hold*(1+by) })
	case 4:
		by := made.OneOf(d, 0.75, 0.8, 1.25, 1.5)
		return once("pulse time", at, func(m *machine) { m.onTime *= by })
	case 5:
		by := made.OneOf(d, 0.6, 0.75, 1.5, 2)
		return once("interval", at, func(m *machine) { m.interval = max(4, m.interval*by) })
	case 6:
		by := d.Between(0.03, 0.12)
		return once("another compressor", at, func(m *machine) { m.shopBy = 1 + by })
	case 7:
		return once("after-filter changed", s.pause(at, end), func(m *machine) { m.clog = 1 })
	}
	by := d.Between(1.01, 1.03)
	return once("new belts", s.pause(at, end), func(m *machine) { m.belt *= by })
}

// newFilters is a change in a pause of the fan: the damper is closed down, and opened again when they have settled in.
func newFilters(d made.Dice, p *plant, at float64) tale {
	shut, back := made.OneOf(d, 0, 0.03, 0.06, 0.1), at+d.Between(2, 9)*day
	t := once("new filters", at, func(m *machine) {
		m.bank = newBank(p, 0)
		for i := range m.bank.rows {
			m.bank.rows[i].cake = [strips]float64{}
		}
		m.bank.measure(p)
		m.open = max(0.12, m.open-shut)
	})
	t.deeds = append(t.deeds, deed{back, func(m *machine) { m.open = min(1, m.open+shut) }})
	return t
}

// workTale is something about the work or the weather.
func workTale(d made.Dice, s *sheet, at, end float64) tale {
	long := d.Between(2, 9) * day
	switch d.IntN(7) {
	case 0, 1:
		s.work(at, at+long, d.Between(1.15, 1.6))
		return tale{name: "heavy week"}
	case 2:
		thick, fines := d.Between(0.7, 1.35), d.Between(0.85, 1.2)
		return once("another job", at, func(m *machine) { m.thick, m.fines = thick, fines })
	case 3:
		s.stop(at-2*day, min(at+long*1.3, end-d.Between(0.8, 6)*day))
		return tale{name: "shutdown"}
	case 4:
		s.shiftAir(at, at+long, 0, d.Between(2, 6))
		return tale{name: "damp weather"}
	case 5:
		by := d.Between(-11, 11)
		s.shiftAir(at, at+long, by, min(0, by))
		return tale{name: "cold or hot spell"}
	}
	s.work(at, end, d.Between(0.4, 0.85))
	return tale{name: "less work"}
}

// recordTale is something about the record.
func recordTale(d made.Dice, p *plant, at, end float64) tale {
	switch d.IntN(7) {
	case 0:
		by := d.Between(-5, 5)
		return tale{name: "gauge slides", write: func(w *scribe) { w.kit[sense.DP].slides = by }}
	case 1:
		n := 1 + d.IntN(4)
		return tale{name: "gaps", write: func(w *scribe) {
			for range n {
				on := end - w.d.Spread(0.5, 20)*day
				w.gaps = append(w.gaps, span{on, min(on+w.d.Spread(0.1, 4)*day, end-0.3*day)})
			}
		}}
	case 2, 3:
		return tale{name: "gauge swapped", write: func(w *scribe) { w.swapped(at, p) }}
	case 4:
		by := d.Spread(0.3, 3)
		return tale{name: "logger replaced", write: func(w *scribe) {
			last := w.paces[len(w.paces)-1]
			w.paces = append(w.paces, pace{from: at, every: min(900, max(last.every, last.every*by)), burst: last.burst})
			w.swapped(at, p)
		}}
	case 5:
		by := made.OneOf(d, 3600.0, 420, 1860)
		return tale{name: "clock set", write: func(w *scribe) { w.jumps, w.jump = at, by }}
	}
	by := d.Between(-50, 50)
	return once("water in a line", at, func(m *machine) { m.slug = by })
}

// swapped gives the record another gauge from a time on.
func (w *scribe) swapped(at float64, p *plant) {
	other := *w.kit
	g := *w.kit[sense.DP]
	g.gain, g.off, g.step = 1+0.015*w.d.NormFloat64(), 8*w.d.NormFloat64(), made.OneOf(w.d, 0, 1, 5, 10.0)
	g.noise *= w.d.Between(0.5, 1.6)
	other[sense.DP] = &g
	w.late, w.swap = &other, at
}

// pause is when the fan next stands after a time; where it never does, that time.
func (s *sheet) pause(at, end float64) float64 {
	for _, r := range s.runs {
		if r.off > at && r.off < end-0.3*day {
			return r.off + 60
		}
	}
	return at
}

// work scales what is made for a time.
func (s *sheet) work(from, to, by float64) {
	for i := max(0, int(from/hour)); i < min(int(to/hour), len(s.hours)); i++ {
		for j := range 6 {
			s.hours[i].work[j] *= by
		}
	}
}

// shiftAir makes the air warmer and damper for a time [K].
func (s *sheet) shiftAir(from, to, warmer, damper float64) {
	for i := max(0, int(from/hour)); i < min(int(to/hour), len(s.hours)); i++ {
		l := &s.hours[i]
		l.temp, l.wall = l.temp+warmer, l.wall+warmer
		l.dew = min(l.dew+damper, l.temp-0.2)
	}
}

// stop shuts the plant for a time.
func (s *sheet) stop(from, to float64) {
	var runs []span
	for _, r := range s.runs {
		if r.off <= from || r.on >= to {
			runs = append(runs, r)
			continue
		}
		if r.on < from {
			runs = append(runs, span{r.on, from})
		}
		if r.off > to {
			runs = append(runs, span{to, r.off})
		}
	}
	s.runs = runs
	for i := max(0, int(from/hour)); i < min(int(to/hour), len(s.hours)); i++ {
		s.hours[i].work, s.hours[i].round = [6]float64{}, false
	}
}
