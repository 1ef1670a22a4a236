package filter

import (
	"errors"
	"fmt"
	"math"

	"dustwright/unit"
)

// ErrUnreachable says that no amount of dust brings the rows to the state asked for.
var ErrUnreachable = errors.New("not reached by loading")

// seasonStep is how much of SeasonDust may pass, per area, before the slope of the seasoning is taken anew.
const seasonStep = 0.05

// Load brings dust to the bank; each row takes it with its share of the flow.
//
//	m      dust that reaches the filters [kg], 0 or more
//
// It is exact whatever the flow and concentration do meanwhile, because under one dP every row obeys
// d(S_i^2)/dt = 2 k_i c dP, so one number orders all rows: S_i^2 = S_i0^2 + 2 k_i v, and v follows from the
// mass, sum A_i (S_i - S_i0)/k_i = m. Only the pace of seasoning is held within steps of 5 % of SeasonDust.
// A negative mass or NaN is an error. It allocates nothing.
// Source: Q = sum A_i dP/S_i and dW_i/dt = c V_i (DESIGN.md section 4); the solution: own derivation,
// checked against numerical integration in load_test.go.
func (b *Bank) Load(m unit.Mass) error {
	if !(m >= 0) || math.IsInf(float64(m), 0) {
		return fmt.Errorf("the dust brought to the filters must be 0 kg or more; it is %g kg", float64(m))
	}
	left := float64(m)
	pace := seasonStep * float64(b.Law.SeasonDust) * float64(b.Area())
	for left > pace && b.seasoning() {
		b.step(pace)
		left -= pace
	}
	b.step(left)
	return nil
}

// seasoning reports whether a row still gains enough by seasoning for its pace to matter.
func (b *Bank) seasoning() bool {
	for i := range b.Rows {
		if b.Law.SeasonRise-b.Rows[i].Season > 1e-6*b.Law.SeasonRise {
			return true
		}
	}
	return false
}

// step is Load for a mass over which the slopes hold.
func (b *Bank) step(m float64) {
	if m <= 0 {
		return
	}
	v := b.solveMass(m)
	sum := 0.0
	for i := range b.work {
		w := &b.work[i]
		w.gain = w.gained(v)
		sum += w.area * w.gain
	}
	// Newton leaves 1e-10 of the mass or less; it is put right so that dust is conserved to rounding.
	fix := m / sum
	for i := range b.work {
		b.catch(&b.Rows[i], Areal(b.work[i].gain*fix))
	}
}

// working is a row as the solution needs it: area, drag, slope, and dust gained.
type working struct{ area, s, k, gain float64 }

// gained is the areal dust a row takes up to v, (sqrt(s^2+2kv)-s)/k without cancellation.
func (w *working) gained(v float64) float64 { return 2 * v / (math.Sqrt(w.s*w.s+2*w.k*v) + w.s) }

// lay sets out the rows for a solution; it returns the conductance G = sum A/S and H = sum A k/S^3, so that near v = 0
// the mass is G v - H v^2/2.
func (b *Bank) lay() (g, h float64) {
	if len(b.work) != len(b.Rows) {
		b.work = make([]working, len(b.Rows))
	}
	l := &b.Law
	k2, base, pace := float64(l.K2), float64(l.K2)+float64(l.CreepDust), 1/float64(l.SeasonDust)
	for i := range b.Rows {
		r := &b.Rows[i]
		w := &b.work[i]
		w.area = float64(r.Area)
		w.s = float64(r.Media+r.Season+r.Creep) + k2*float64(r.Cake)
		w.k = base
		if rise := float64(l.SeasonRise - r.Season); rise > 0 {
			w.k += rise * pace
		}
		a := w.area / w.s
		g += a
		h += a * w.k / (w.s * w.s)
	}
	return g, h
}

// Rise returns the conductance of the bank [m3/(s Pa)] and how it changes with the dust brought [m3/(s Pa) per kg], which is
// negative. It is one pass over the rows and allocates nothing once the bank was used. NaN in, NaN out.
// Source: dG/dv = -sum A k/S^3 over dm/dv = sum A/S, with v as in Load.
func (b *Bank) Rise() (conductance, perDust float64) {
	g, h := b.lay()
	return g, -h / g
}

// ConductanceAfter returns the conductance [m3/(s Pa)] that the bank will have once dust m [kg] more has come; nothing
// changes in b. It is good as far as the pace of seasoning holds. NaN or a negative mass gives NaN. It allocates nothing.
// Source: as Load.
func (b *Bank) ConductanceAfter(m unit.Mass) float64 {
	if !(m >= 0) {
		return math.NaN()
	}
	b.lay()
	v, g := b.solveMass(float64(m)), 0.0
	for i := range b.work {
		w := &b.work[i]
		g += w.area / math.Sqrt(w.s*w.s+2*w.k*v)
	}
	return g
}

// catch adds areal dust to a row's cake and ages it.
func (b *Bank) catch(r *Row, w Areal) {
	r.Cake += w
	r.Passed += w
	if rise := b.Law.SeasonRise - r.Season; rise > 0 {
		x := float64(w) / float64(b.Law.SeasonDust)
		share := x - x*x/2 // of 1-exp(-x)
		if x > 1e-3 {
			share = -math.Expm1(-x)
		}
		r.Season += rise * unit.Drag(share)
	}
	r.Creep += unit.Drag(float64(b.Law.CreepDust) * float64(w))
}

// solveMass finds v with sum A_i (S_i(v)-S_i0)/k_i = m: rising and bent downwards, so Newton from below rises
// towards the answer and never passes it. Near 0 the second-order guess is right to the third.
func (b *Bank) solveMass(m float64) float64 {
	if m <= 0 {
		return 0
	}
	g, h := b.lay()
	v := m / g
	v += h / (2 * g) * v * v
	for n := 0; n < 100; n++ {
		f, df := -m, 0.0
		for i := range b.work {
			w := &b.work[i]
			root := math.Sqrt(w.s*w.s + 2*w.k*v)
			f += w.area * 2 * v / (root + w.s)
			df += w.area / root
		}
		d := f / df
		v -= d
		if v < 0 {
			v = 0 // the guess lay far above: start from the safe side
		}
		if math.Abs(d) <= 1e-6*v { // the next step would be below 1e-11
			break
		}
	}
	return v
}

// DustTo returns the dust that must reach the filters until their dP at a flow is as given.
//
//	dp     [Pa], above 0
//	q      flow at that moment [m3/s], above 0
//	result [kg]; 0 where the dP is there already
//
// ErrUnreachable where dp/q is not above 0 or not finite; NaN in, NaN out without an error. While the
// filters season the answer holds their present pace.
// Source: as Load.
func (b *Bank) DustTo(dp unit.Pressure, q unit.Flow) (unit.Mass, error) {
	g := float64(q) / float64(dp)
	switch {
	case math.IsNaN(g):
		return unit.Mass(math.NaN()), nil
	case !(g > 0) || math.IsInf(g, 0):
		return unit.Mass(math.NaN()), fmt.Errorf("%w: %g Pa at %g m3/s", ErrUnreachable, float64(dp), float64(q))
	case b.Conductance() <= g:
		return 0, nil
	}
	v := b.solveConductance(g)
	m := 0.0
	for i := range b.work {
		w := &b.work[i]
		m += w.area * w.gained(v)
	}
	return unit.Mass(m), nil
}

// solveConductance finds v with sum A_i/S_i(v) = g: falling and bent upwards, so Newton from 0 rises
// towards the answer from below and never passes it.
func (b *Bank) solveConductance(g float64) float64 {
	b.lay()
	v := 0.0
	for n := 0; n < 200; n++ {
		f, df := -g, 0.0
		for i := range b.work {
			w := &b.work[i]
			root := math.Sqrt(w.s*w.s + 2*w.k*v)
			f += w.area / root
			df -= w.area * w.k / (root * root * root)
		}
		d := f / df
		v -= d
		if math.Abs(d) <= 1e-12*v {
			break
		}
	}
	return v
}
