package draft

import "math"

// network is the way of the air at one moment.
type network struct {
	*plant
	speed    float64 // of the fan over nominal
	strength float64 // share of the fan's pressure that is left
	density  float64 // over 1.2 kg/m3
	damper   float64 // open, 0 to 1
	duct     float64 // resistance of the ducts over that of commissioning
	hole     float64 // conductance of openings before the filters [m3/s/sqrt(Pa)]
	filters  float64 // rows in parallel [Pa s/m3]
	after    float64 // [Pa s/m3]
}

// wind is the answer of a network: flows [m3/s] and pressures [Pa].
type wind struct {
	total, hoods       float64
	inlet, dp, afterDP float64 // inlet is suction, positive
	fan                float64
}

// solve finds where fan and system meet. Ducts and openings stand side by side, the rest in a row: all of it is
// quadratic in the flow, and has one positive root.
func (n *network) solve() wind {
	ducts := 1 / math.Sqrt(n.plant.duct*n.duct)
	both := ducts + n.hole
	inlet := 1 / (both * both)
	damper := n.damperK * math.Pow(n.trim/max(n.damper, 0.03), n.blades)
	square := n.density * (inlet + n.tube + n.stack + damper + n.fan.c*n.strength)
	line := n.filters + n.after - n.density*n.speed*n.strength*n.fan.b
	lift := n.density * n.speed * n.speed * n.strength * n.fan.a
	q := (math.Sqrt(line*line+4*square*lift) - line) / (2 * square)
	return wind{total: q, hoods: q * ducts / both, inlet: n.density * inlet * q * q, dp: n.filters*q + n.density*n.tube*q*q, afterDP: n.after * q,
		fan: n.density * n.strength * (n.speed*n.speed*n.fan.a + n.speed*n.fan.b*q - n.fan.c*q*q)}
}

// shaft is the power at the shaft at nominal density for a flow over design flow [W].
func (f fan) shaft(share, speed float64) float64 {
	x := share / speed
	return f.power * speed * speed * speed * (f.idle + (1-f.idle)*x*(1.3-0.3*x))
}

// current is what the motor takes for a power at the shaft [A].
func (f fan) current(shaft float64) float64 {
	load := shaft / 0.91 / (math.Sqrt(3) * f.volts * 0.86)
	idle := 0.28 * f.full
	return math.Sqrt(idle*idle + load*load)
}

// compressor is the state of the compressed air.
type compressor struct {
	receiver, header float64 // [Pa gauge]
	far              float64 // header as a damped transmitter has it
	loaded           bool
}

// pressure is what drives a step of the compressed air.
type pressure struct {
	set    float64 // regulator [Pa]
	fill   float64 // recovery time [s]
	bleed  float64 // time in which an open valve would empty the header [s], 0 none
	others float64 // fall of the receiver by other users [Pa/s]
	makes  float64 // rise of the receiver loaded [Pa/s]
	far    float64 // time constant of the transmitter [s], 0 none
}

// step lets the compressor and the regulator work for dt seconds.
func (c *compressor) step(a *supply, in pressure, dt float64) {
	target := min(in.set, c.receiver*0.97)
	rate := 1 / in.fill
	rest := target
	if in.bleed > 0 {
		rest = target * rate / (rate + 1/in.bleed)
		rate += 1 / in.bleed
	}
	before := c.header
	if before > target && in.bleed == 0 { // a regulator lets nothing back
		rest, rate = target, 1/(40*in.fill)
	}
	c.header = rest + (before-rest)*math.Exp(-dt*rate)
	if in.far > 0 {
		k := 1 / in.far
		if math.Abs(k-rate) < 0.02*rate {
			k *= 1.05
		}
		w := (before - rest) * k / (k - rate)
		c.far = rest + w*math.Exp(-dt*rate) + (c.far-rest-w)*math.Exp(-dt*k)
	} else {
		c.far = c.header
	}
	through := max(0, (target-(before+c.header)/2)/in.fill) * dt
	gain := in.makes
	if !c.loaded {
		gain = 0
	}
	c.receiver = max(0, c.receiver+(gain-in.others)*dt-a.pull*through)
	switch {
	case c.receiver >= a.off:
		c.receiver, c.loaded = a.off, false
	case c.receiver <= a.on:
		if !c.loaded && in.makes > in.others {
			c.receiver = max(c.receiver, a.on-3000)
		}
		c.loaded = true
	}
}

// pulse opens a valve by a share and returns the pressure behind the jet and the lowest of the header.
func (c *compressor) pulse(a *supply, open float64) (jet, low float64) {
	jet = c.header * math.Pow(open, 0.7)
	c.header *= math.Pow(1-a.drop, open)
	return jet, c.header
}
