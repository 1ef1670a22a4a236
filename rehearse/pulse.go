package rehearse

import (
	"math"

	"dustwright/header"
	"dustwright/unit"
)

// air is the header as a run uses it: one tank, a valve each row, and what pulses did before. A pulse depends only on the
// tank, the valve and the header's state, and machines at rest start every cleaning from the same state, so outcomes
// are kept: the same arguments give the same numbers, kept or not.
type pulseAir struct {
	tank   header.Tank
	valves []header.Valve // as they are, faults included
	wait   float64        // interval [s]

	state header.State // at time since
	since float64
	last  header.Pulse // the last pulse, for the header's course after it
	began float64      // its command
	rest  header.State // equilibrium

	kept map[pulseKey]*pulseResult
	from *pulseResult // the last pulse's, while the header is as it left it
}

type pulseKey struct {
	valve int // the first valve that is as this one
	state header.State
}

type pulseResult struct {
	pulse header.Pulse
	end   header.State
	next  *pulseResult // what came of pulsing valve `valve` from end, the last time
	valve int
}

// mostKept bounds the memory; a run that needs more (a header that never comes to rest under changing faults) forgets.
const mostKept = 4096

func newPulseAir(ph *Physics, rows int, interval float64) *pulseAir {
	a := &pulseAir{tank: ph.Tank, wait: interval, kept: make(map[pulseKey]*pulseResult, 64), began: math.Inf(-1)}
	for range rows {
		a.valves = append(a.valves, ph.Valve)
	}
	a.rest = a.tank.Equilibrium()
	a.state = a.rest
	return a
}

// changed forgets the outcomes so far, after a change of tank, supply or valves.
func (a *pulseAir) changed(tank header.Tank) {
	a.tank = tank
	a.rest = tank.Equilibrium()
	clear(a.kept)
	a.from = nil
}

// fire pulses valve v (0 is the first) at t and returns the pulse; the air that supply and leak moved since the last
// pulse's wait was over comes back beside it.
func (a *pulseAir) fire(v int, t float64) (p header.Pulse, supplied, leaked float64) {
	supplied, leaked = a.idle(t)
	res := a.outcome(a.alike(v))
	a.last, a.began = res.pulse, t
	a.state, a.since, a.from = res.end, t+a.wait, res
	return res.pulse, supplied, leaked
}

// outcome is what comes of pulsing a valve from the header's present state.
func (a *pulseAir) outcome(valve int) *pulseResult {
	if a.from != nil && a.from.next != nil && a.from.valve == valve {
		return a.from.next
	}
	key := pulseKey{valve, a.state}
	res, ok := a.kept[key]
	if !ok {
		if len(a.kept) >= mostKept {
			clear(a.kept)
		}
		v := header.Valve{}
		if valve >= 0 {
			v = a.valves[valve]
		}
		res = &pulseResult{}
		res.pulse, res.end = a.tank.Pulse(a.state, v, unit.Seconds(a.wait))
		a.kept[key] = res
	}
	if a.from != nil {
		a.from.next, a.from.valve = res, valve
	}
	return res
}

// alike returns the first valve that does what valve v does; -1 for any valve that doesn't open.
func (a *pulseAir) alike(v int) int {
	if a.valves[v].C == 0 {
		return -1
	}
	for i := range v {
		if a.valves[i] == a.valves[v] {
			return i
		}
	}
	return v
}

// idle brings the header to t, from where the last pulse's wait ended; it does nothing while that wait lasts.
func (a *pulseAir) idle(t float64) (supplied, leaked float64) {
	dt := t - a.since
	if dt <= 0 {
		return 0, 0
	}
	a.from = nil
	const settled = 1200 // s: after that the header is at rest to the last digit that matters
	if dt > settled || a.state == a.rest {
		m0 := float64(a.state.P) / float64(a.state.T)
		m1 := float64(a.rest.P) / float64(a.rest.T)
		leaked = a.leak() * dt
		supplied = leaked + (m1-m0)*float64(a.tank.Volume)/unit.GasConstantDryAir
		a.state = a.rest
	} else {
		end, s, l := a.tank.Rest(a.state, unit.Seconds(dt))
		a.state, supplied, leaked = end, float64(s), float64(l)
	}
	a.since = t
	return supplied, leaked
}

// leak is the steady leak of the header at rest [kg/s].
func (a *pulseAir) leak() float64 {
	if a.tank.Leak == 0 {
		return 0
	}
	n := header.Nozzle{C: a.tank.Leak, B: 0.3}
	amb := a.tank.Ambient
	return float64(n.Flow(a.rest.P, a.rest.T, amb))
}

// gauge returns the header's gauge pressure at t without moving it: after a pulse the course is drawn through its
// low, its 95 % recovery and its end.
func (a *pulseAir) gauge(t float64) float64 {
	ambient := float64(a.tank.Ambient)
	dt := t - a.began
	if dt < 0 || dt >= a.wait || math.IsInf(a.began, -1) {
		if t >= a.since {
			return float64(a.rest.P) - ambient
		}
		return float64(a.state.P) - ambient
	}
	before, low, end, at := float64(a.last.Before), float64(a.last.Low), float64(a.last.End), float64(a.last.LowAfter)
	if dt <= at {
		return before + (low-before)*dt/max(at, 1e-3)
	}
	tau := (a.wait - at) / 2
	if r := float64(a.last.Recovery); r > 0 {
		tau = r / 3
	}
	f := -math.Expm1(-(dt-at)/tau) / -math.Expm1(-(a.wait-at)/tau)
	return low + (end-low)*f
}
