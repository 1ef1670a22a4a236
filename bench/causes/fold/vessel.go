package fold

import "math"

const ambient = 1e5 // around the header [Pa]

// header is the tank with its valves: between events its pressure follows one of two straight laws, which are
// solved in closed form.
type header struct {
	volume   float64 // [m3]
	set      float64 // regulator, gauge [Pa]
	valve    float64 // sonic conductance of a pulse valve [m3/(s Pa)]
	on       float64 // how long a pilot is energised [s]
	interval float64 // from pulse to pulse [s]
	clock    float64 // real interval over that
	supply   float64 // what the line brings into an empty header [m3/s at 1e5 Pa]
	droop    float64 // over which the regulator closes [Pa]
	line     float64 // pressure before the regulator, gauge [Pa]
	swing    float64 // of the compressor between load and unload [Pa]
	period   float64 // of that [s]
	demand   float64 // what other users pull the line down by, at times [Pa]
	weep     float64 // time in which fittings empty it [s]
	nightOff bool    // the compressor stands while production does
	trim     [mostRows]float64
}

// lineAt is the pressure before the regulator.
func (h *header) lineAt(seed uint64, t float64, busy bool) float64 {
	saw := math.Abs(math.Mod(t/h.period, 1)*2 - 1)
	p := h.line + h.swing*(saw-0.5)
	if busy {
		p -= h.demand * clamp(0.5+wander(seed, 21, t, 1500), 0, 2)
	}
	return p
}

// bleed is the rate at which the header empties through what does not shut [1/s].
func (s *sim) bleed(t float64) float64 {
	per := s.m.hdr.valve * ambient / s.m.hdr.volume
	b := s.k.headerLeak
	for i := range s.m.rows {
		b += s.k.bleeds[i]
		if t < s.tail[i] {
			b += s.k.lateBleed
		}
	}
	return b*per + 1/s.m.hdr.weep
}

// refill moves the header on by a time [s]; it returns the mean pressure meanwhile.
func (s *sim) refill(t, dt float64) float64 {
	if dt <= 0 {
		return s.press
	}
	h := &s.m.hdr
	line := h.lineAt(s.m.seed, t, s.running) - s.k.lineDip
	if h.nightOff && !s.running && t-s.since > 1800 {
		line = 0
	}
	set := math.Max(0, math.Min(h.set*s.k.set, line-3000))
	fill := h.supply * s.k.supply * math.Max(0.05, (line+ambient)/(h.line+ambient)) * ambient / h.volume
	b := s.bleed(t)
	p, sum, left := s.press, 0.0, dt
	for range 5 {
		if left <= 0 {
			break
		}
		var end, rate float64
		edge := math.NaN()
		switch {
		case p > set: // the regulator is shut
			end, rate, edge = 0, b, set
		case p < set-h.droop-1:
			rate, edge = b, set-h.droop
			if b < 1e-7 {
				b = 1e-7
				rate = b
			}
			end = fill / b
		default:
			g := fill / h.droop
			rate = g + b
			end = g * set / rate
			if end < set-h.droop {
				edge = set - h.droop - 2
			}
		}
		span, hits := left, false
		if !math.IsNaN(edge) && rate > 0 && (end-edge)*(edge-p) > 0 {
			if reach := math.Log((end-p)/(end-edge)) / rate; reach < left {
				span, hits = reach, true
			}
		}
		next := end + (p-end)*math.Exp(-rate*span)
		if hits {
			next = edge
		}
		sum += 0.5 * (p + next) * span
		left -= span
		p = next
	}
	s.press = math.Max(0, p)
	s.low = math.Min(s.low, s.press)
	return (sum + p*math.Max(0, left)) / dt
}

// fire lets a valve open; it returns how strong the pulse was, 1 being as built.
func (s *sim) fire(i int, t float64) float64 {
	h := &s.m.hdr
	s.shots++
	if dice(s.m.seed, 31, s.shots) < s.k.misses[i] {
		return 0
	}
	if s.k.late[i] > 0 {
		s.tail[i] = t + h.on + s.k.late[i]
	}
	open := h.trim[i] * s.k.opens[i]
	long := math.Max(0.02, h.on*s.k.lasts[i])
	fall := long * open * h.valve * ambient * 1.25 / h.volume
	before := s.press
	after := math.Max(0, (before+ambient)*math.Exp(-fall)-ambient)
	s.press = after
	s.low = math.Min(s.low, after)
	good := h.set - 0.5*((h.set+ambient)*(1-math.Exp(-h.on*h.valve*ambient*1.25/h.volume)))
	reach := (0.5*(before+after) + s.k.bleeds[i]*0.1*before) / good
	return reach * math.Pow(open, 0.9) * math.Pow(math.Min(1.3, long/h.on), 0.7) * s.k.tube[i]
}
