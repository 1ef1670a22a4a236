package sketch

import "math/rand/v2"

// story is what happens to a machine without anything being wrong with it.
type story struct {
	name     string
	from, to float64 // days since the start
	heavier  float64 // dust, a factor
	warmer   float64 // [K]
	damper   float64 // humidity, added
	longer   float64 // shifts [h]
	shut     bool    // the plant stands
	gap      bool    // the logger stands
	change   bool    // new filters go in at from
	low      float64 // new set points from then on, 0 for none
	high     float64
	trim     float64   // the damper is set to this share of design flow at from, 0 for never
	drift    float64   // of the dP transmitter from then on [Pa a day]
	empty    bool      // the bin is emptied at from, whatever it holds
	again    []float64 // days at which the damper is set anew
}

// during reports whether the story's stretch is on.
func (s story) during(day float64) bool { return day >= s.from && day < s.to }

func drawStory(r *rand.Rand, m *machine, days float64, f fault) story {
	s := story{heavier: 1, from: 0.6 * days * r.Float64(), to: days + 1}
	kind := r.IntN(12)
	if f.cause == none {
		s.from = days * uniform(r, 0.35, 0.95)
	} else if kind == newFilters || kind == trim || kind == standing || kind == gap {
		kind = 11 // these would put right or hide what is wrong
	}
	switch kind {
	case 0:
		s.name, s.to, s.heavier = "heavy week", s.from+7, uniform(r, 1.3, 1.8)
	case newFilters:
		s.name, s.change, s.trim = "new filters", true, 1
		s.again = []float64{s.from + 0.1, s.from + 5, s.from + 15}
	case trim:
		s.name, s.trim = "damper trimmed", uniform(r, 0.98, 1.04)
		m.trimmed = pick(r, 0.93, 0.94, 1.06, 1.07)
		s.again = []float64{s.from}
	case standing:
		s.name, s.to, s.shut = "shutdown", s.from+7, true
	case gap:
		s.name, s.to, s.gap = "gap", s.from+uniform(r, 0.5, 5), true
	case 5:
		s.name = "set points"
		s.low = m.low + uniform(r, -0.1, 0.6)*in
		s.high = s.low + (m.high-m.low)*uniform(r, 0.7, 1.4)
	case 6:
		s.name, s.to, s.damper = "damp weather", s.from+uniform(r, 3, 7), uniform(r, 0.15, 0.35)
	case 7:
		s.name, s.to, s.warmer = "other weather", s.from+uniform(r, 5, 14), 12*r.NormFloat64()
	case 8:
		s.name, s.drift = "drift", 1.5*r.NormFloat64()
	case 9:
		s.name, s.longer = "longer shifts", uniform(r, 2, 6)
	case 10:
		s.name, s.empty = "bin emptied", true
	default:
		s.name = "quiet"
	}
	return s
}

// The stories that a fault must not meet.
const (
	newFilters = 1 + iota
	trim
	standing
	gap
)

// noStory lasts from beyond the end.
func noStory(days float64) story { return story{heavier: 1, from: 2 * days, to: 2 * days} }
