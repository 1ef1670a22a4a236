package carve

import "math"

// room is the pressure of the hall that valves blow into [Pa, absolute].
const room = 1e5

// header is the vessel of compressed air and what fills it.
type header struct {
	p      *plant
	now    float64 // [Pa]
	target float64 // that it fills up to [Pa]
	refill float64 // time constant [s]
	lowest float64 // since the last row [Pa]
	sum    float64 // of pressure over time in this row [Pa s]
	time   float64 // [s]
}

// feed sets what the supply brings: a regulator cannot give more than its line, and a valve that
// bleeds at choked flow holds the vessel where supply and loss are equal.
func (h *header) feed(line, droop, slow, bleed float64) {
	rest := min(h.p.set*(1-droop), line-0.15e5)
	h.target = max(0.05e5, (rest+room)/(1+bleed)-room)
	h.refill = h.p.refill * slow / (1 + bleed)
}

// wait lets it fill for a time.
func (h *header) wait(t float64) {
	if t <= 0 {
		return
	}
	k := math.Exp(-t / h.refill)
	lack := h.target - h.now
	h.sum += h.target*t - lack*h.refill*(1-k)
	h.time += t
	h.now = h.target - lack*k
	h.lowest = min(h.lowest, h.now)
}

// fire opens a valve that gives a share of its air, and returns the push on the row over that of a
// good valve out of a full header. Choked flow empties a vessel exponentially.
func (h *header) fire(share float64) float64 {
	push := h.now / h.p.set * share
	h.now = (h.now+room)*math.Exp(-share*h.p.open*h.p.sonic*room/h.p.volume) - room
	h.now = max(h.now, 0)
	h.lowest = min(h.lowest, h.now)
	return push
}

// begin starts a row.
func (h *header) begin() { h.lowest, h.sum, h.time = h.now, 0, 0 }
