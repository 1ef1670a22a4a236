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

// slope returns dS/dW of a row: cake, seasoning at its present pace, and creep [1/s].
func (b *Bank) slope(r *Row) float64 {
	l := &b.Law
	return float64(l.K2) + float64(l.CreepDust) + math.Max(0, float64(l.SeasonRise-r.Season))/float64(l.SeasonDust)
}

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
	area := float64(b.Area())
	left := float64(m)
	for left > 0 {
		part := math.Min(left, seasonStep*float64(b.Law.SeasonDust)*area)
		if !b.seasoning() {
			part = left
		}
		b.step(part)
		left -= part
	}
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
	for i := range b.Rows {
		r := &b.Rows[i]
		sum += float64(r.Area) * b.gain(r, v)
	}
	// Newton leaves 1e-10 of the mass or less; it is put right so that dust is conserved to rounding.
	fix := m / sum
	for i := range b.Rows {
		r := &b.Rows[i]
		b.catch(r, Areal(b.gain(r, v)*fix))
	}
}

// gain is the areal dust a row takes up to v.
func (b *Bank) gain(r *Row, v float64) float64 {
	s, k := float64(r.Drag(b.Law.K2)), b.slope(r)
	// (sqrt(s^2+2kv)-s)/k without cancellation
	return 2 * v / (math.Sqrt(s*s+2*k*v) + s)
}

// catch adds areal dust to a row's cake and ages it.
func (b *Bank) catch(r *Row, w Areal) {
	r.Cake += w
	r.Passed += w
	rise := b.Law.SeasonRise - r.Season
	if rise > 0 {
		r.Season += rise * unit.Drag(-math.Expm1(-float64(w)/float64(b.Law.SeasonDust)))
	}
	r.Creep += unit.Drag(float64(b.Law.CreepDust) * float64(w))
}

// solveMass finds v with sum A_i (S_i(v)-S_i0)/k_i = m: rising and bent downwards, so Newton from 0 rises
// towards the answer from below and never passes it.
func (b *Bank) solveMass(m float64) float64 {
	v := 0.0
	for n := 0; n < 100; n++ {
		f, df := -m, 0.0
		for i := range b.Rows {
			r := &b.Rows[i]
			s, k := float64(r.Drag(b.Law.K2)), b.slope(r)
			root := math.Sqrt(s*s + 2*k*v)
			f += float64(r.Area) * 2 * v / (root + s)
			df += float64(r.Area) / root
		}
		d := f / df
		v -= d
		if math.Abs(d) <= 1e-10*v {
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
	for i := range b.Rows {
		m += float64(b.Rows[i].Area) * b.gain(&b.Rows[i], v)
	}
	return unit.Mass(m), nil
}

// solveConductance finds v with sum A_i/S_i(v) = g: falling and bent upwards, so Newton from 0 rises
// towards the answer from below and never passes it.
func (b *Bank) solveConductance(g float64) float64 {
	v := 0.0
	for n := 0; n < 200; n++ {
		f, df := -g, 0.0
		for i := range b.Rows {
			r := &b.Rows[i]
			s, k := float64(r.Drag(b.Law.K2)), b.slope(r)
			root := math.Sqrt(s*s + 2*k*v)
			f += float64(r.Area) / root
			df -= float64(r.Area) * k / (root * root * root)
		}
		d := f / df
		v -= d
		if math.Abs(d) <= 1e-12*v {
			break
		}
	}
	return v
}
