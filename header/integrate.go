package header

import (
	"math"

	"dustwright/unit"
)

const (
	fastTolerance  = 2e-4 // relative, per step
	exactTolerance = 1e-8
	gaugeFloor     = 0.1 // errors count against the gauge pressure, but not below this share of the absolute
)

// body is a Tank with a Valve as plain numbers.
type body struct {
	volume, heat, wall, ambient float64
	supplyA, supplyB            float64 // C rho0 sqrt(T0/T) of the supply [kg/(s Pa)], b
	set, droop, most, supplyT   float64 // set is absolute [Pa]
	leakC                       float64
	valveC, valveB              float64
	open, full, closing, shut   float64 // times of the valve's corners after the command [s]
}

func (t Tank) body(v Valve) body {
	b := body{volume: float64(t.Volume), heat: t.WallHeat, wall: float64(t.Wall), ambient: float64(t.Ambient),
		supplyB: float64(t.Supply.B), droop: t.Supply.Droop, most: float64(t.Supply.Most), supplyT: float64(t.Supply.Temperature),
		leakC: float64(t.Leak), valveC: float64(v.C), valveB: float64(v.B)}
	if b.wall == 0 {
		b.wall = t0
	}
	if b.ambient == 0 {
		b.ambient = 101325
	}
	if b.supplyT == 0 {
		b.supplyT = t0
	}
	if !(b.most > 0) {
		b.most = math.Inf(1)
	}
	b.set = float64(t.Supply.Set) + b.ambient
	b.supplyA = float64(t.Supply.C) * rhoANR * math.Sqrt(t0/b.supplyT)
	if v.C > 0 && v.On > 0 {
		b.open = float64(v.OpenDelay)
		b.full = b.open + float64(v.Rise)
		b.closing = math.Max(float64(v.On+v.CloseDelay), b.open)
		b.shut = b.closing + float64(v.Fall)
		if b.closing < b.full { // a short command: it closes from where it got to
			b.shut = b.closing + float64(v.Fall)*(b.closing-b.open)/float64(v.Rise)
		}
	}
	return b
}

// opening returns the valve's opening share at a time after the command.
func (b *body) opening(t float64) float64 {
	if t <= b.open || t >= b.shut {
		return 0
	}
	top := 1.0
	if b.closing < b.full {
		top = (b.closing - b.open) / (b.full - b.open)
	}
	switch {
	case t < b.closing && t < b.full:
		return (t - b.open) / (b.full - b.open)
	case t < b.closing:
		return 1
	}
	return top * (b.shut - t) / (b.shut - b.closing)
}

// supply returns the mass flow into the header at pressure p. With the regulated pressure s - k q the
// flow equation is a quadratic in q on both sides of the critical ratio: no iteration.
func (b *body) supply(p float64) float64 {
	s, k, a, r := b.set, b.droop, b.supplyA, b.supplyB
	if p >= s || a == 0 {
		return 0
	}
	q := a * s / (1 + a*k) // choked
	if p > r*(s-k*q) {
		// q^2 (1-b)^2 = a^2 (s-p-kq)(s(1-2b)+p-k(1-2b)q)
		e, g := s-p, s*(1-2*r)+p
		h := k * (1 - 2*r)
		alpha, beta := (1-r)*(1-r)-a*a*k*h, a*a*(e*h+g*k)
		q = 2 * a * a * e * g / (beta + math.Sqrt(beta*beta+4*alpha*a*a*e*g))
	}
	return math.Min(q, b.most)
}

const leakB = 0.3 // critical ratio of a leak, a usual guess; from memory

// y is the integrated state: pressure, mass, and what has passed valve, leak and supply.
type y struct{ p, m, valve, leak, supply float64 }

func (b *body) rate(t float64, s *y) y {
	temp := s.p * b.volume / (s.m * gasConstant)
	in := b.supply(s.p)
	var valve float64
	if o := b.opening(t); o > 0 {
		valve = isoFlow(o*b.valveC, b.valveB, s.p, temp, b.ambient)
	}
	var leak float64
	if b.leakC > 0 {
		leak = isoFlow(b.leakC, leakB, s.p, temp, b.ambient)
	}
	out := valve + leak
	dp := (gamma*gasConstant*(in*b.supplyT-out*temp) + (gamma-1)*b.heat*(b.wall-temp)) / b.volume
	if math.IsInf(b.heat, 1) {
		dp = gasConstant * b.wall / b.volume * (in - out)
	}
	return y{dp, in - out, valve, leak, in}
}

func (s *y) plus(h float64, k *y) y {
	return y{s.p + h*k.p, s.m + h*k.m, s.valve + h*k.valve, s.leak + h*k.leak, s.supply + h*k.supply}
}

// balance finds the pressure and temperature at which supply and leak are equal and nothing changes.
func (b *body) balance() (p, temp float64) {
	if b.leakC == 0 {
		return b.set, b.warmed(0)
	}
	lo, hi := b.ambient, b.set
	for i := 0; i < 60; i++ {
		p = (lo + hi) / 2
		in := b.supply(p)
		if temp = b.warmed(in); in > isoFlow(b.leakC, leakB, p, temp, b.ambient) {
			lo = p
		} else {
			hi = p
		}
	}
	return p, temp
}

const cp = gamma * gasConstant / (gamma - 1) // of air [J/(kg K)]

// warmed returns the temperature the header keeps while a flow passes steadily: between supply and walls.
func (b *body) warmed(flow float64) float64 {
	if b.heat+flow == 0 || math.IsInf(b.heat, 1) {
		return b.wall
	}
	return (b.heat/cp*b.wall + flow*b.supplyT) / (b.heat/cp + flow)
}

// course follows the lowest point and the recovery while the integration runs.
type course struct {
	before, low, lowAt float64
	recovered          float64 // time at which 95 % was made good, NaN until then
}

// corner is a moment of the pressure's course: time, pressure and its rate of change.
type corner struct{ t, p, rate float64 }

func (c *course) note(a, z corner) {
	if a.rate < 0 && z.rate > 0 { // the lowest point lies between: that of the cubic through both ends
		if t, p := lowest(a, z); p < z.p {
			c.lower(t, p)
			return
		}
	}
	if z.p < c.low {
		c.lower(z.t, z.p)
		return
	}
	if target := c.before - 0.05*(c.before-c.low); math.IsNaN(c.recovered) && z.p >= target && z.p > a.p {
		c.recovered = a.t + (z.t-a.t)*math.Max(0, target-a.p)/(z.p-a.p)
	}
}

func (c *course) lower(t, p float64) {
	if p < c.low {
		c.low, c.lowAt, c.recovered = p, t, math.NaN()
	}
}

// lowest returns the minimum of the cubic with the values and rates of both ends.
func lowest(a, z corner) (t, p float64) {
	h := z.t - a.t
	// p(s) = a.p + b s + c s^2 + d s^3 over s = 0..1
	b := h * a.rate
	c := 3*(z.p-a.p) - h*(2*a.rate+z.rate)
	d := -2*(z.p-a.p) + h*(a.rate+z.rate)
	s := -b / (c + math.Sqrt(math.Max(0, c*c-3*b*d)))
	if !(s > 0 && s < 1) {
		return z.t, z.p
	}
	return a.t + h*s, a.p + s*(b+s*(c+s*d))
}

func (t Tank) run(s State, v Valve, wait unit.Seconds, tol float64) (Pulse, State) {
	nan := math.NaN()
	if t.Check() != nil || !(s.P > 0) || !(s.T > 0) || !(wait >= 0) {
		n := unit.Pressure(nan)
		return Pulse{n, n, n, unit.Seconds(nan), unit.Mass(nan), unit.Mass(nan), unit.Mass(nan), unit.Seconds(nan), unit.Share(nan)},
			State{unit.AbsPressure(nan), unit.Temperature(nan)}
	}
	b := t.body(v)
	st := y{p: float64(s.P)}
	temp := float64(s.T)
	if math.IsInf(b.heat, 1) {
		temp = b.wall
	}
	st.m = st.p * b.volume / (gasConstant * temp)
	c := course{before: st.p, low: st.p, recovered: nan}
	end := float64(wait)
	at := 0.0
	for _, next := range [...]float64{b.open, math.Min(b.full, b.closing), b.closing, b.shut} {
		if next = math.Min(next, end); next > at {
			b.advance(&st, at, next, tol, &c)
			at = next
		}
	}
	b.refill(&st, at, end, tol, &c)
	return b.figures(&st, &c), State{unit.AbsPressure(st.p), unit.Temperature(st.p * b.volume / (st.m * gasConstant))}
}

func (b *body) figures(st *y, c *course) Pulse {
	g := func(p float64) unit.Pressure { return unit.Pressure(p - b.ambient) }
	o := Pulse{Before: g(c.before), Low: g(c.low), End: g(st.p), LowAfter: unit.Seconds(c.lowAt),
		Air: unit.Mass(st.valve), Leaked: unit.Mass(st.leak), Supplied: unit.Mass(st.supply),
		Recovery: unit.Seconds(c.recovered - c.lowAt), Recovered: unit.Share(math.NaN())}
	if st.valve > 0 && c.low < c.before {
		o.Recovered = unit.Share((st.p - c.low) / (c.before - c.low))
	} else {
		o.Recovery = unit.Seconds(math.NaN())
	}
	return o
}

// refill goes from the shut valve to the end of the wait. Close to the balance of supply and leak the
// pressure no longer moves while the air still takes the walls' temperature; that part is closed.
func (b *body) refill(st *y, t, end, tol float64, c *course) {
	if t >= end {
		return
	}
	rest, warm := b.balance()
	near := math.Max(tol, 1e-6)
	if b.supplyA > 0 && math.Abs(st.p-rest) > near*rest {
		t = b.until(st, stretch{t, end, rest, near}, tol, c)
	} else if b.supplyA == 0 {
		b.advance(st, t, end, tol, c)
		return
	}
	if t < end {
		p := st.p
		b.settle(st, end-t, rest, warm)
		c.note(corner{t, p, 0}, corner{t + 1e-9, rest, 0})
	}
}

// settle closes the last part: pressure at rest, temperature on its way to what it keeps.
func (b *body) settle(st *y, dt, rest, warm float64) {
	temp := st.p * b.volume / (st.m * gasConstant)
	leak := b.supply(rest)
	temp = warm + (temp-warm)*math.Exp(-(b.heat/cp+leak)/st.m*dt)
	m := rest * b.volume / (gasConstant * temp)
	st.leak += leak * dt
	st.supply += m - st.m + leak*dt
	st.p, st.m = rest, m
}

// advance integrates to a time by Bogacki and Shampine's pair with error control.
func (b *body) advance(st *y, t, end, tol float64, c *course) {
	b.until(st, stretch{t, end, math.NaN(), 0}, tol, c)
}

// stretch is a time to integrate over that ends early once the pressure is within the share near of rest; a rest of
// NaN never ends it.
type stretch struct{ t, end, rest, near float64 }

// mostSteps bounds the work on one stretch: a header far too small for its valve would take minutes.
const mostSteps = 200_000

// until is advance that also stops at the stretch's rest; it returns the time reached. A state that is not a number, or that
// mostSteps don't carry to the end, becomes NaN.
func (b *body) until(st *y, over stretch, tol float64, c *course) float64 {
	t, end, rest := over.t, over.end, over.rest
	k1 := b.rate(t, st)
	h := math.Min(end-t, firstStep(st, &k1, tol))
	for tries := 0; t < end; tries++ {
		if tries == mostSteps || !(h > 0) {
			nan := math.NaN()
			*st = y{nan, nan, nan, nan, nan}
			return end
		}
		if t+h > end || end-t-h < 1e-12*end {
			h = end - t
		}
		y2 := st.plus(h/2, &k1)
		k2 := b.rate(t+h/2, &y2)
		y3 := st.plus(3*h/4, &k2)
		k3 := b.rate(t+3*h/4, &y3)
		n := *st
		n = n.plus(2*h/9, &k1)
		n = n.plus(h/3, &k2)
		n = n.plus(4*h/9, &k3)
		k4 := b.rate(t+h, &n)
		errP := h * math.Abs(-5*k1.p/72+k2.p/12+k3.p/9-k4.p/8)
		errM := h * math.Abs(-5*k1.m/72+k2.m/12+k3.m/9-k4.m/8)
		e := math.Max(errP/math.Max(st.p-b.ambient, gaugeFloor*st.p), errM/st.m) / tol
		if e <= 1 || h < 1e-9 {
			if (st.p-rest)*(n.p-rest) < 0 { // passed the balance, where the flow has its corner: stop on it
				f := (rest - st.p) / (n.p - st.p)
				c.note(corner{t, st.p, k1.p}, corner{t + f*h, rest, k4.p})
				*st = y{rest, st.m + f*(n.m-st.m), st.valve + f*(n.valve-st.valve), st.leak + f*(n.leak-st.leak), st.supply + f*(n.supply-st.supply)}
				return t + f*h
			}
			c.note(corner{t, st.p, k1.p}, corner{t + h, n.p, k4.p})
			t += h
			*st, k1 = n, k4
			if math.Abs(st.p-rest) <= over.near*rest {
				return t
			}
		}
		h *= math.Min(4, math.Max(0.2, 0.9/math.Cbrt(math.Max(e, 1e-4))))
	}
	return t
}

func firstStep(st *y, k *y, tol float64) float64 {
	r := math.Max(math.Abs(k.p)/st.p, math.Abs(k.m)/st.m)
	if r == 0 {
		return 1e-3
	}
	return math.Cbrt(tol) / r / 4
}
