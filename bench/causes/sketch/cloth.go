package sketch

import "math"

// cloth is the filters as two compartments: the odd row, which a fault may befall, and all the
// others, mixed.
type cloth struct {
	m     *machine
	w     [2]float64 // cake, in loads on the whole cloth's scale
	share [2]float64 // of the cloth
	hours float64    // run since they were new
	r     [2]float64 // dP each would have alone at design flow
}

func newCloth(m *machine) *cloth {
	c := &cloth{m: m, share: [2]float64{1 / float64(m.rows), 1 - 1/float64(m.rows)}}
	if !m.fresh {
		c.hours = 10 * m.settle
		c.w = [2]float64{0.4, 0.4}
	}
	return c
}

// renew puts new filters in.
func (c *cloth) renew() { c.hours, c.w = 0, [2]float64{} }

// residual is the dP that no cleaning takes off, at design flow.
func (c *cloth) residual() float64 {
	m := c.m
	return m.clean + (m.seasoned-m.clean)*(1-math.Exp(-c.hours/m.settle)) + m.ageing*c.hours
}

// dp works out the filters' dP at design flow from what lies on them.
func (c *cloth) dp(e *effect) float64 {
	base := c.residual() * e.residual
	var conductance float64
	for k, w := range c.w {
		cake := c.m.cake * e.cake * (c.m.quick*(1-math.Exp(-w/0.1)) + (1-c.m.quick)*math.Pow(w, c.m.power))
		c.r[k] = base + cake
		conductance += c.share[k] / c.r[k]
	}
	return 1 / conductance
}

// collect lets dust settle where the air goes, in loads; dp must have been worked out.
func (c *cloth) collect(loads float64) {
	sum := c.share[0]/c.r[0] + c.share[1]/c.r[1]
	for k := range c.w {
		c.w[k] += loads / c.r[k] / sum
	}
}

// pulse takes a share of one row's cake off and returns what falls into the bin, in loads of the
// whole cloth.
func (c *cloth) pulse(odd bool, bite, back float64) float64 {
	k, off := 1, 0.0
	if odd {
		k, off = 0, c.w[0]*bite
	} else {
		off = c.w[1] * bite / float64(c.m.rows-1)
	}
	c.w[k] -= off
	fallen := off * c.share[k]
	c.collect(back * fallen)
	return (1 - back) * fallen
}

// tank is the header.
type tank struct {
	m           *machine
	p           float64 // [Pa]
	rest        float64 // where it settles
	low         float64 // lowest since the last row
	at          float64 // time of p [s]
	refillSpeed float64
}

// until lets the header fill up to a time.
func (h *tank) until(t float64) {
	dt := t - h.at
	h.at = t
	if dt <= 0 {
		return
	}
	dt *= h.refillSpeed
	switch {
	case h.p > h.rest:
		h.p = h.rest + (h.p-h.rest)*math.Exp(-dt/20)
	case h.m.linear:
		h.p = min(h.rest, h.p+h.m.set*h.m.drop/h.m.recover*dt)
	default:
		h.p = h.rest - (h.rest-h.p)*math.Exp(-3*dt/h.m.recover)
	}
	h.low = min(h.low, h.p)
}

// open takes a pulse out of it and returns the pressure it came with; share 1 is a sound valve.
func (h *tank) open(share float64) float64 {
	p := h.p
	h.p *= 1 - h.m.drop*share
	h.low = min(h.low, h.p)
	return p
}
