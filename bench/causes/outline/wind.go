package outline

import "math"

const (
	inch       = 249.08891 // in. w.g. [Pa]
	psi        = 6894.757
	atmosphere = 101325.0
	minute     = 60.0
	hour       = 3600.0
	day        = 86400.0
)

// loss is the damper's k at an opening, in Pa at design flow.
func (d *duct) loss(open float64) float64 {
	switch d.damper {
	case equalPercent:
		return d.wide * math.Pow(d.span, 2*(1-open))
	case linearGate:
		return d.wide / (open * open)
	}
	return d.wide
}

// opening is the other way round: where the damper loses k.
func (d *duct) opening(k float64) float64 {
	k = max(k, d.wide)
	switch d.damper {
	case equalPercent:
		return max(0.02, 1-math.Log(k/d.wide)/(2*math.Log(d.span)))
	case linearGate:
		return max(0.02, math.Sqrt(d.wide/k))
	}
	return 1
}

// wind is the state of the air, in design flows and Pa.
type wind struct {
	fan, filters, hoods float64 // flow at the fan, through the filters, into the hoods
	dp, after, tap      float64 // over filters and after-filter, static at the inlet (negative)
	suction             float64 // in the clean plenum
	shaft               float64 // W
}

// blow finds where fan and resistances meet: with lin Q + sq Q^2 for all losses the fan's quadratic leaves
// a quadratic to solve. A leak at the filters' clean side enters by the share it had a step before.
func (w *world) blow(k *knobs) {
	m, s := w.m, &w.s
	ratio := w.rho / 1.2
	hoods, trunk := m.duct.hoods*k.hoods*k.gates, m.duct.main*k.trunk
	var q, tap float64 // the filters' flow over the hoods', k of the tap over the filters' flow squared
	inlet := 0.0
	if k.leakJoint > 0 {
		q = 1 + k.leakJoint*math.Sqrt(hoods/1000)
		inlet = hoods/(q*q) + trunk
		tap = inlet
	} else {
		q = 1 + k.leakHatch*math.Sqrt((hoods+trunk)/1000)
		inlet = (hoods + trunk) / (q * q)
		tap = inlet
	}
	lin, sq := s.drag*m.design/(m.area*float64(m.rows))*w.mu, m.media.inertial*ratio
	inertial := sq
	sq += inlet * ratio
	through := 1 - s.cleanLeak // share of the fan's flow that went through the filters
	afterLin, afterSq := 0.0, 0.0
	if m.after.fitted {
		afterLin, afterSq = (m.after.lin+s.afterGain)*w.mu, m.after.sq*ratio
	}
	n := s.speed * k.speed
	wheel := k.wheel * ratio
	a := wheel*m.fan.shut*m.fan.fall + sq*through*through + afterSq + (m.duct.stack*k.stack+m.duct.loss(k.open)*k.damper)*ratio
	b := lin*through + afterLin - wheel*m.fan.shut*m.fan.rise*n
	c := -wheel * m.fan.shut * n * n
	Q := max(0.02, (-b+math.Sqrt(max(0, b*b-4*a*c)))/(2*a))
	v := &s.wind
	v.fan, v.filters = Q, Q*through
	v.hoods = v.filters / q
	v.dp = lin*v.filters + inertial*v.filters*v.filters
	v.after = afterLin*Q + afterSq*Q*Q
	v.tap = -tap * ratio * v.filters * v.filters
	v.suction = v.dp - v.tap
	if k.leakClean > 0 {
		s.cleanLeak += 0.5 * (min(0.8, k.leakClean*math.Sqrt(v.suction/1000)/Q) - s.cleanLeak)
	} else {
		s.cleanLeak = 0
	}
	x := Q / max(n, 0.1)
	v.shaft = max(0.1, m.fan.w0*k.windage+m.fan.w1*x+m.fan.w2*x*x) * m.fan.shaft * n * n * n * ratio * k.torque
}

// amps is the motor's current at a shaft power.
func (f *fan) amps(shaft float64) float64 {
	active := shaft / f.eff / (math.Sqrt(3) * f.volts)
	return math.Hypot(active, f.idle)
}

// follow moves a frequency drive's speed towards the suction it holds.
func (w *world) follow(k *knobs, dt float64) {
	f := &w.m.fan
	if !f.drive {
		w.s.speed = f.speed
		return
	}
	want := w.m.hold * k.hold
	err := math.Sqrt(want/max(-w.s.wind.tap, 1)) - 1
	w.s.speed = min(1.12, max(0.5, w.s.speed*(1+err*(1-math.Exp(-dt/120)))))
}
