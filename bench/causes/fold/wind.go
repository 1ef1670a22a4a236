package fold

import "math"

// blower is the fan: its pressure is a cubic of the flow over that of its middle, at speed ratio 1 and 1.2 kg/m3.
type blower struct {
	middle     float64 // flow at x = 1 [m3/s]
	head       float64 // pressure at no flow [Pa]
	a1, a2, a3 float64
	power      float64 // at the shaft, at the top of its course [W]
	idle       float64 // share of power at no flow
	peak       float64 // x of the greatest power; 0 for one that rises straight
}

// shape fits the cubic to its slope at no flow, its value at x = 1 and the x at which it gives no pressure.
func (b *blower) shape(slope, one, end float64) {
	b.a1 = slope
	p, q := one-1-slope, (-1-slope*end)/(end*end)
	b.a3 = (q - p) / (end - 1)
	b.a2 = p - b.a3
}

// gives is the pressure at a flow and its slope.
func (b *blower) gives(q, speed, dense float64) (p, slope float64) {
	x := q / (b.middle * speed)
	scale := b.head * speed * speed * dense
	p = scale * (1 + x*(b.a1+x*(b.a2+x*b.a3)))
	slope = scale / (b.middle * speed) * (b.a1 + x*(2*b.a2+3*b.a3*x))
	return p, slope
}

// takes is the shaft power at a flow [W].
func (b *blower) takes(q, speed, dense float64) float64 {
	x := q / (b.middle * speed)
	w := b.idle + (1-b.idle)*math.Min(x, 2)
	if b.peak > 0 {
		d := (math.Min(x, 2*b.peak) - b.peak) / b.peak
		w = b.idle + (1-b.idle)*(1-d*d)
	}
	return b.power * w * speed * speed * speed * dense
}

// path is all the air passes but the filters, as it stands at one moment.
type path struct {
	duct   float64 // conductance of hoods and ducts [m3/s at 1 Pa]
	leak   float64 // the same of openings before the filters
	bend   float64 // exponent of the ducts' loss
	tail   float64 // outlet, stack and damper: loss per flow squared
	after  float64 // after-filter: loss per flow
	speed  float64 // of the fan over its own
	head   float64 // share of the fan's pressure that is left
	slip   float64 // air that goes round in the fan, as a share
	dense  float64 // density over 1.2
	sticky float64 // viscosity over that at 20 degC
}

// suction is what hoods and ducts take at a flow, and its slope.
func (p *path) suction(q float64) (s, slope float64) {
	if q <= 0 {
		return 0, 0
	}
	s = p.dense * math.Pow(q/(p.duct+p.leak), p.bend)
	return s, p.bend * s / q
}

// hoods is the part of a flow that comes through the hoods.
func (p *path) hoods(q float64) float64 { return q * p.duct / (p.duct + p.leak) }

// spare is what the fan has left for filters at a flow, and its slope.
func (p *path) spare(b *blower, q float64) (left, slope float64) {
	f, df := b.gives(q*(1+p.slip), p.speed, p.dense)
	s, ds := p.suction(q)
	left = f*p.head - s - p.dense*p.tail*q*q - p.sticky*p.after*q
	slope = df*p.head*(1+p.slip) - ds - 2*p.dense*p.tail*q - p.sticky*p.after
	return left, slope
}

// blades is a damper: its free area grows with a power of its opening and never closes quite.
type blades struct {
	open  float64 // loss per flow squared when fully open
	tight float64 // free share when shut
	power float64
}

// loss is the damper's loss per flow squared at an opening.
func (d *blades) loss(open float64) float64 {
	free := d.tight + (1-d.tight)*math.Pow(clamp(open, 0, 1), d.power)
	r := 1/free - 0.55
	return d.open * (r * r / (0.45 * 0.45))
}

// opening is the position that has a loss; 1 where it cannot be so low.
func (d *blades) opening(loss float64) float64 {
	if loss <= d.open {
		return 1
	}
	free := 1 / (0.55 + 0.45*math.Sqrt(loss/d.open))
	return clamp(math.Pow(math.Max(0, (free-d.tight)/(1-d.tight)), 1/d.power), 0.02, 1)
}
