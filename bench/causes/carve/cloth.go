package carve

import (
	"math"
)

// row is one row of filters.
type row struct {
	cake  float64 // [kg/m2]
	seen  float64 // dust that came to it, in all [kg/m2]
	stuck float64 // drag of what never leaves [Pa s/m]
	drag  float64 // [Pa s/m]
}

// cloth is all rows, and the air between them.
type cloth struct {
	p      *plant
	rows   []row
	plug   float64 // drag of a blinded medium, over its own seasoned one
	stick  float64 // how far moisture binds the cake, 0 to 1
	k2     float64 // specific resistance of the cake as it lies [1/s]
	resist float64 // of all rows together [Pa s/m3]
	air    float64 // dust knocked off that is still afloat [kg]
	other  float64 // product's resistance over the usual one
}

// fresh puts new filters in.
func (c *cloth) fresh() {
	for i := range c.rows {
		c.rows[i] = row{}
	}
}

// refresh works out the drags anew at a dP across the filters.
func (c *cloth) refresh(dp float64) {
	p := c.p
	c.k2 = p.k2 * c.other * math.Pow(min(4, max(0.3, dp/600)), p.comp) * (1 + 0.8*c.stick)
	g := 0.0
	for i := range c.rows {
		c.one(&c.rows[i])
		g += p.area / c.rows[i].drag
	}
	c.resist = 1 / g
}

// one works out a row's drag.
func (c *cloth) one(r *row) {
	own := c.p.clean / c.p.velo * (1 + c.p.season*(1-math.Exp(-r.seen/c.p.settle)))
	r.drag = own*(1+c.plug) + r.stuck + c.k2*r.cake
}

// load brings dust to the rows, each its share by the air it takes [kg]; a share stays for good.
func (c *cloth) load(dust float64) {
	p := c.p
	dust += c.air
	c.air = 0
	blind := p.blind * (1 + 5*c.stick)
	for i := range c.rows {
		r := &c.rows[i]
		w := dust * c.resist / r.drag // over the area: share of the flow is area/drag over the sum
		r.cake += w * (1 - blind)
		r.stuck += w * blind * p.k2
		r.seen += w
	}
}

// held is the cake on all rows [kg].
func (c *cloth) held() float64 {
	sum := 0.0
	for _, r := range c.rows {
		sum += r.cake
	}
	return sum * c.p.area
}

// clean pushes a row. What comes off falls, but for a share that the air brings back: half of it to
// the row below, the rest to all with the next dust. It returns what falls into the bin [kg].
func (c *cloth) clean(i int, push, loose, back float64) float64 {
	r := &c.rows[i]
	share := loose * (1 - math.Exp(-1.6*push)) / (1 - math.Exp(-1.6)) * (1 - 0.8*c.stick)
	off := r.cake * min(0.97, max(0, share))
	before := c.p.area / r.drag
	r.cake -= off
	c.one(r)
	g := 1/c.resist - before + c.p.area/r.drag
	down := 0.0
	if i+1 < len(c.rows) {
		n := &c.rows[i+1]
		down = off * back / 2
		g -= c.p.area / n.drag
		n.cake += down
		c.one(n)
		g += c.p.area / n.drag
	}
	c.resist = 1 / g
	c.air += (off*back - down) * c.p.area
	return off * (1 - back) * c.p.area
}
