package chalk

import "math"

// classes of pores, by how fast dust holds on to them.
const classes = 3

// seep is the conductance of a plugged pore over that of an open one.
const seep = 0.09

// cloth is one row of filters. Every figure is a share of all pores but for the masses.
type cloth struct {
	capacity float64 // dust that plugs all pores [kg]
	open     [classes]float64
	dead     [classes]float64 // plugged for good
	pile     float64          // dust on top of plugged pores [kg]
	lodged   float64          // dust in dead pores [kg]
}

// newCloth is new filters, of which a share is plugged for good already.
func newCloth(capacity, dead float64) cloth {
	c := cloth{capacity: capacity, lodged: capacity * dead}
	for j := range classes {
		c.dead[j], c.open[j] = dead, 1-dead
	}
	return c
}

// conductance of the row over that of new filters: open pores, and plugged ones through the pile on them.
func (c *cloth) conductance() float64 {
	var g float64
	through := seep / (1 + 0.5*c.pile/c.capacity)
	for j := range classes {
		g += c.open[j] + through*(1-c.open[j]-c.dead[j])
	}
	return max(g/classes, 0.002)
}

// plug lets dust come [kg]. It goes with the air: what goes through open pores plugs them, the rest piles up. Of the pores
// plugged a share is lost for good, the smaller the nearer the lost ones are to plateau, and creep on top of it.
func (c *cloth) plug(dust, plateau, creep float64) {
	stay := math.Exp(-dust / (c.capacity * c.conductance()))
	var plugged float64
	for j := range classes {
		p := c.open[j] * (1 - stay)
		lost := p * min(creep+0.12*max(0, 1-c.dead[j]/plateau), 1)
		c.open[j] -= p
		c.dead[j] += lost
		plugged += p / classes
		c.lodged += lost / classes * c.capacity
	}
	c.pile = max(0, c.pile+dust-plugged*c.capacity)
}

// jet frees pores by a pulse of a strength (1: as designed) against a hold (1: dry dust) and returns the dust that comes off [kg].
func (c *cloth) jet(strength, hold float64) float64 {
	var off float64
	for j := range classes {
		free := 1 - math.Exp(-math.Pow(strength/(hold*[classes]float64{0.7, 1.1, 2}[j]), 1.5))
		f := free * max(0, 1-c.open[j]-c.dead[j])
		c.open[j] += f
		off += f / classes * c.capacity
		if j == 0 {
			off += c.pile * free
			c.pile *= 1 - free
		}
	}
	return off
}

// shed lets dust fall that hangs loosely when the air stops [kg].
func (c *cloth) shed() float64 {
	off := 0.4 * c.pile
	c.pile -= off
	return off
}

// held is the dust on and in the row [kg].
func (c *cloth) held() float64 {
	m := c.pile + c.lodged
	for j := range classes {
		m += (1 - c.open[j] - c.dead[j]) / classes * c.capacity
	}
	return m
}
