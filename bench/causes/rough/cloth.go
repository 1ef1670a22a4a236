package rough

import (
	"math"
	"math/rand/v2"
)

// cloth is one row of filters.
type cloth struct {
	area   float64 // [m2]
	medium float64 // drag when new [Pa s/m]
	seat   float64 // drag that no pulse takes away, when seasoned [Pa s/m]
	share  float64 // of the dust it gets beyond its share of the air
	grip   float64 // how well the pulse gets at it
	loose  float64 // [kg/m2]
	packed float64 // [kg/m2]
	held   float64 // in the depth of the medium [kg/m2]
	drag   float64 // [Pa s/m]
}

// Shares and thresholds of release. Common practice, no source.
const (
	heldShare   = 0.002 // of what arrives stays in the medium
	packedDrag  = 1.6   // of a packed layer, in units of a loose one
	looseStick  = 0.52  // pulse energy that takes off half of the loose layer
	packedStick = 1.02
	stickWidth  = 0.17
)

// weigh brings a row's drag up to date.
func (s *scene) weigh(c *cloth) {
	k := &s.knob
	c.drag = c.medium*k.medium + c.seat*k.seat*s.seated + s.plan.cake*k.resist*(packedDrag*c.packed+c.loose)
}

// season is the seat as a share of that of well-seasoned filters: it comes up over the first days of new filters
// and then creeps on in one of three shapes.
func (s *scene) season() float64 {
	x := s.worn / (90 * day)
	creep := s.plan.creep
	switch s.plan.shape {
	case "sqrt":
		creep *= math.Sqrt(x)
	case "late":
		creep *= max(0, x-0.45) * 2
	default:
		creep *= x
	}
	return (1 + creep) * (1 - 0.75*math.Exp(-s.worn/s.plan.seasoning))
}

// catch lets dust [kg] arrive on the rows during dt, packs what lies there under the dP, and returns what went
// through holes.
func (s *scene) catch(dust, dt float64) float64 {
	sum := 0.0
	for i := range s.rows {
		c := &s.rows[i]
		sum += c.share * c.area / c.drag
	}
	press := min(1, dt/s.plan.packing*s.air.dp/1000)
	through := 0.0
	for i := range s.rows {
		c := &s.rows[i]
		in := dust * c.share / c.drag / sum // per m2
		if i == s.trouble.number-1 && s.knob.hole > 0 {
			lost := in * s.knob.hole
			in -= lost
			through += lost * c.area
		}
		c.held += heldShare * in
		c.loose += in - heldShare*in
		move := c.loose * press
		c.loose, c.packed = c.loose-move, c.packed+move
		s.weigh(c)
	}
	return through
}

// shake lets a pulse of some energy act on row i and returns what falls to the bin [kg]; part of what comes off
// goes to the rows beside it while air moves.
func (s *scene) shake(i int, energy float64, r *rand.Rand) float64 {
	c := &s.rows[i]
	e := energy * c.grip * (1 + 0.07*r.NormFloat64())
	if !s.on {
		e *= 1.35
	}
	stick := s.knob.stick
	let := func(limit float64) float64 { return 1 / (1 + math.Exp(-(e-limit-stick)/stickWidth)) }
	off := c.loose * let(looseStick)
	deep := c.packed * let(packedStick)
	c.loose, c.packed = c.loose-off, c.packed-deep
	mass := (off + deep) * c.area
	s.weigh(c)
	if !s.on || len(s.rows) == 1 {
		return mass
	}
	back := mass * bounded(s.plan.back*(0.7+0.6*r.Float64())*s.knob.back, 0, 0.9)
	below := back * 0.65
	switch i {
	case 0:
		below = back
	case len(s.rows) - 1:
		below = 0
	}
	if i+1 < len(s.rows) {
		s.settleOn(i+1, below)
	}
	if i > 0 {
		s.settleOn(i-1, back-below)
	}
	return mass - back
}

// settleOn puts dust [kg] on a row.
func (s *scene) settleOn(i int, mass float64) {
	c := &s.rows[i]
	c.loose += mass / c.area
	s.weigh(c)
}

// cakes is the dust on all rows [kg].
func (s *scene) cakes() float64 {
	sum := 0.0
	for _, c := range s.rows {
		sum += c.area * (c.loose + c.packed + c.held)
	}
	return sum
}
