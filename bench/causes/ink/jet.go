package ink

import "math"

// tank is the header and the shop's air before it.
type tank struct {
	p, at     float64 // gauge pressure [Pa] at a time [s]
	low       float64 // lowest since somebody last looked
	area      float64 // pressure by time [Pa s]
	line      float64 // gauge pressure in the shop's line
	lineAt    float64
	loaded    bool    // the compressor
	demand    float64 // of the shop, a share of what the compressor gives
	off       bool    // the shop's air is shut
	lastFrom  float64 // what the last pulse began at
	lastUntil float64 // and ended at
}

// shopAir brings the line to a time: the compressor loads and unloads between two pressures, and where more is drawn than it
// gives the line sinks to what the last ones leave.
func (m *machine) shopAir(t float64) {
	h, p := &m.tank, m.p
	dt := t - h.lineAt
	h.lineAt = t
	if h.off {
		h.line *= math.Exp(-dt / (2 * hour))
		return
	}
	gives := m.e.compressor
	up, down := p.receiver*(gives-h.demand), p.receiver*h.demand
	if up <= 0 { // starved: drawn down to where less is drawn
		rest := p.loads * max(0.25, 1-2.2*(h.demand-gives))
		h.line = rest + (h.line-rest)*math.Exp(-dt*p.receiver/p.loads*0.3)
		h.loaded = true
		return
	}
	width := p.unloads - p.loads
	if cycle := width/up + width/down; dt > 3*cycle {
		dt = math.Mod(dt, cycle)
	}
	for range 12 {
		if h.loaded {
			if need := (p.unloads - h.line) / up; need <= dt {
				h.line, dt, h.loaded = p.unloads, dt-max(0, need), false
				continue
			}
			h.line += up * dt
			return
		}
		if need := (h.line - p.loads) / down; need <= dt {
			h.line, dt, h.loaded = min(h.line, p.loads), dt-max(0, need), true
			continue
		}
		h.line -= down * dt
		return
	}
}

// fill brings the header to a time. The regulator opens the more the further the header is below its set pressure, up to
// what it can pass; what leaks goes with the absolute pressure (choked).
func (m *machine) fill(t float64) {
	h, p := &m.tank, m.p
	dt := t - h.at
	h.at = t
	if dt <= 0 {
		return
	}
	m.shopAir(t)
	goal := min(p.set*m.e.set, 0.97*h.line)
	leak := p.seep + m.e.bleed*p.feed/(p.set+p.ambient)
	feed := p.feed * m.e.feed * min(1.1, max(0.1, (h.line+p.ambient)/(p.loads+p.ambient)))
	if m.e.feed < 1 && h.p < goal { // a plugged inlet: what passes falls as the header nears the line
		feed *= 0.3 + 0.7*math.Sqrt(max(0, 1-h.p/max(goal, 1)))
	}
	knee := goal - feed*p.lag // below it the regulator is wide open
	short := feed/leak - p.ambient
	for range 3 {
		if dt <= 0 {
			break
		}
		if h.p < knee || h.p <= knee && short < knee {
			dt = h.run(short, leak, knee, dt)
			continue
		}
		open := 0.0
		if h.p-goal < 0.05*bar {
			open = 1 / p.lag
		}
		dt = h.run((open*goal-leak*p.ambient)/(open+leak), open+leak, knee, dt)
	}
	h.p = max(0, h.p)
	h.low = min(h.low, h.p)
}

// run lets the pressure go towards rest at a rate [1/s] for a time, but not across the knee, and returns the time left.
func (h *tank) run(rest, rate, knee, dt float64) float64 {
	if need := math.Log((h.p-rest)/(knee-rest)) / rate; need > 1e-9 && need < dt && (h.p-knee)*(rest-knee) < 0 {
		h.area += rest*need + (h.p-knee)/rate
		h.p = knee
		if rest > knee {
			h.p += 1e-6
		}
		return dt - need
	}
	was := h.p
	h.p = rest + (h.p-rest)*math.Exp(-rate*dt)
	h.area += rest*dt + (was-h.p)/rate
	return 0
}

// blow opens a valve: the header falls by a share of its absolute pressure. It returns how hard the jet is, 1 being usual.
func (m *machine) blow(row int, t float64) float64 {
	m.fill(t)
	h, p, open := &m.tank, m.p, m.e.valve[row]
	h.lastFrom = h.p
	jet := max(0, h.p-0.4*bar) / (p.set - 0.4*bar) * open
	h.p = max(0, (h.p+p.ambient)*(1-p.drop*open)-p.ambient)
	h.lastUntil = h.p
	h.low = min(h.low, h.p)
	return jet
}
