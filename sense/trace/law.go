package trace

import (
	"math"

	"dustwright/header"
	"dustwright/unit"
)

// law says how the drop of one and the same opening depends on the pressure it starts from.
type law int

const (
	lawTank  law = iota // blowdown of a tank through an ISO 6358 valve
	lawShare            // a constant share of the gauge pressure
	lawFixed            // the same drop whatever the pressure
)

// scaling gives the drop of the group's usual opening at any starting pressure, over that at ref.
type scaling struct {
	law     law
	ref     float64 // gauge pressure [Pa]
	usual   float64 // drop at ref [Pa]
	x       float64 // impulse of the usual opening
	ambient float64 // [Pa abs]
}

func newScaling(l law, ref, usual, ambient float64) scaling {
	c := scaling{law: l, ref: ref, usual: math.Max(usual, 1), ambient: ambient}
	if l == lawTank {
		c.x = impulse(ref, usual, ambient)
	}
	return c
}

// at is the drop at gauge pressure before over the drop at ref.
func (c scaling) at(before float64) float64 {
	before = math.Max(before, 0)
	switch c.law {
	case lawShare:
		return before / c.ref
	case lawFixed:
		return math.Min(1, before/c.usual)
	}
	return blowdown(before, c.x, c.ambient) / c.usual
}

// blowdown is the drop [Pa] of a tank at gauge pressure p after an opening of impulse x (time over the
// tank's time constant). Isothermal, critical ratio 0.3: the shape of the law matters here, not its size.
func blowdown(p, x, ambient float64) float64 {
	const steps = 24
	q := p
	for range steps {
		q -= x / steps * outflow(q, ambient)
	}
	return p - math.Max(q, 0)
}

// outflow is the rate of fall per time constant at gauge pressure p [Pa]: ISO 6358 with the critical ratio of
// most valves.
func outflow(p, ambient float64) float64 {
	if p <= 0 {
		return 0
	}
	n := header.Nozzle{C: 1 / unit.AnrDensity, B: 0.3}
	return float64(n.Flow(unit.AbsPressure(p+ambient), 293.15, unit.AbsPressure(ambient)))
}

// impulse is the opening that takes drop [Pa] out of a tank at gauge pressure p; at most 20.
func impulse(p, drop, ambient float64) float64 {
	lo, hi := 0.0, 20.0
	for range 40 {
		mid := (lo + hi) / 2
		if blowdown(p, mid, ambient) < drop {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}
