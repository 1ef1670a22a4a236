package filter

import (
	"errors"
	"fmt"
	"math"

	"dustwright/unit"
)

// Areal is dust per filter area [kg/m2].
type Areal float64

// Resistance is K2, the drag a cake adds per areal dust: Pa s/m per kg/m2, that is [1/s].
type Resistance float64

// ErrNoRows says that a bank has no rows.
var ErrNoRows = errors.New("no filter rows")

// Row is the state of one row of cartridges: everything that differs between rows.
type Row struct {
	Area   unit.Area // filter area of the row [m2]
	Media  unit.Drag // drag of the clean medium [Pa s/m]
	Season unit.Drag // residual drag gained while the filters seasoned [Pa s/m]
	Creep  unit.Drag // residual drag gained since by dust and pulses; it does not come back [Pa s/m]
	Cake   Areal     // dust that a pulse can throw off [kg/m2]
	Passed Areal     // all dust the row has caught since new [kg/m2]
	Pulses float64   // pulses that reached it since new, partial ones in part
}

// Residual returns the drag that a perfect pulse would leave: medium, seasoning and creep [Pa s/m].
// Source: S_res = Se of S = Se + K2 W (Cost Manual).
func (r Row) Residual() unit.Drag { return r.Media + r.Season + r.Creep }

// Drag returns the row's drag with its cake [Pa s/m]; NaN in, NaN out.
// Source: S = Se + K2 W (Cost Manual, EPA/452/B-02-001 Sec. 6 Ch. 1).
func (r Row) Drag(k2 Resistance) unit.Drag {
	return r.Residual() + unit.Drag(float64(k2)*float64(r.Cake))
}

// Bank is all rows of a collector, top to bottom, with the law they follow. It belongs to one goroutine.
type Bank struct {
	Law  Law
	Rows []Row // row 1 is the top

	work      []working // of the loading step; holds nothing between calls
	last      struck    // the last stroke and its share
	lastShare unit.Share
}

// NewBank returns a bank of new rows.
//
//	law    how medium, dust and pulse behave; Check's error comes back
//	areas  filter area of each row, top to bottom [m2], above 0
//
// ErrNoRows without areas; NaN is an error.
func NewBank(law Law, areas []unit.Area) (*Bank, error) {
	if err := law.Check(); err != nil {
		return nil, err
	}
	if len(areas) == 0 {
		return nil, ErrNoRows
	}
	b := &Bank{Law: law, Rows: make([]Row, len(areas))}
	for i, a := range areas {
		if !(a > 0) || math.IsInf(float64(a), 0) {
			return nil, fmt.Errorf("the filter area of row %d must be above 0; it is %g m2", i+1, float64(a))
		}
		b.Rows[i] = Row{Area: a, Media: law.Media}
	}
	return b, nil
}

// Clone returns a bank that shares nothing with b.
func (b *Bank) Clone() *Bank {
	return &Bank{Law: b.Law, Rows: append([]Row(nil), b.Rows...)}
}

// Area returns the area of all rows [m2].
// Source: sum.
func (b *Bank) Area() unit.Area {
	var a unit.Area
	for i := range b.Rows {
		a += b.Rows[i].Area
	}
	return a
}

// Conductance returns the flow per differential pressure of all rows in parallel [m3/(s Pa)].
// It allocates nothing. NaN in, NaN out.
// Source: Q = sum A_i dP/S_i (Darcy, rows in parallel; DESIGN.md section 4).
func (b *Bank) Conductance() float64 {
	g, k2 := 0.0, float64(b.Law.K2)
	for i := range b.Rows {
		r := &b.Rows[i]
		g += float64(r.Area) / (float64(r.Media+r.Season+r.Creep) + k2*float64(r.Cake))
	}
	return g
}

// Flow returns the flow through all rows at a differential pressure [Pa]; result [m3/s]. NaN in, NaN out.
// Source: Q = sum A_i dP/S_i.
func (b *Bank) Flow(dp unit.Pressure) unit.Flow {
	return unit.Flow(b.Conductance() * float64(dp))
}

// DP returns the differential pressure at a flow [m3/s]; result [Pa], positive from dirty to clean side.
// NaN in, NaN out. Source: the inverse of Flow.
func (b *Bank) DP(q unit.Flow) unit.Pressure {
	return unit.Pressure(float64(q) / b.Conductance())
}

// Drag returns the drag of the bank as one filter: dP over the mean face velocity [Pa s/m].
// Source: S = dP A/Q.
func (b *Bank) Drag() unit.Drag { return unit.Drag(float64(b.Area()) / b.Conductance()) }

// FaceVelocities writes each row's face velocity at a differential pressure [Pa] into dst and returns it
// [m/s]; dst is made longer where it is too short. NaN in, NaN out.
// Source: V_i = dP/S_i.
func (b *Bank) FaceVelocities(dp unit.Pressure, dst []unit.Velocity) []unit.Velocity {
	dst = dst[:0]
	for i := range b.Rows {
		dst = append(dst, unit.Velocity(float64(dp)/float64(b.Rows[i].Drag(b.Law.K2))))
	}
	return dst
}

// CakeMass returns the dust that hangs on all rows as cake [kg].
// Source: sum A_i W_i.
func (b *Bank) CakeMass() unit.Mass {
	m := 0.0
	for i := range b.Rows {
		m += float64(b.Rows[i].Area) * float64(b.Rows[i].Cake)
	}
	return unit.Mass(m)
}
