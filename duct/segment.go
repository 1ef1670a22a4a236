package duct

import (
	"math"

	"dustwright/unit"
)

// Air is what the ducts need to know of the air: density [kg/m3] and viscosity [Pa s].
type Air struct {
	Density   unit.Density
	Viscosity unit.Viscosity
}

// Segment is a straight run of one section with the fittings in it.
type Segment struct {
	Section   Section
	Length    unit.Length // [m], 0 or more
	Roughness unit.Length // wall roughness [m], see Roughnesses
	K         float64     // sum of the fittings' coefficients on this segment's velocity pressure [-]
}

// Loss returns the total-pressure loss [Pa, 0 or more] of the segment at flow q [m3/s]: friction and
// fittings, (f L/Dh + K) rho V^2/2. The loss of a reversed flow is negative, as large.
// NaN where a field is NaN, the section has no size, or the roughness is above 5 % of the diameter.
// Between Re 2300 and 4000 the factor is a bridge, see FrictionFactor.
// Source: Darcy-Weisbach equation. Check values: testdata/duct_friction_std_air.csv.
func (s Segment) Loss(q unit.Flow, air Air) unit.Pressure {
	area, d := float64(s.Section.Area()), float64(s.Section.Hydraulic())
	v := float64(q) / area
	if v == 0 {
		return 0
	}
	k := s.K
	if s.Length != 0 {
		f, _ := FrictionFactor(Reynolds(unit.Velocity(v), unit.Length(d), air.Density, air.Viscosity), float64(s.Roughness)/d)
		k += f * float64(s.Length) / d
	}
	return unit.Pressure(k * float64(air.Density) / 2 * v * math.Abs(v))
}

// Material is a duct wall with its roughness [m] and where the figure comes from.
type Material struct {
	Name      string
	Roughness unit.Length
	Source    string
}

// Roughnesses returns the known duct walls, the usual one first; the caller owns the slice.
// Source: the Source field of each row. Check values: testdata/roughness.csv.
func Roughnesses() []Material {
	const idelchik = "Handbook of Hydraulic Resistance, Begell 2007 (verified)"
	return []Material{
		{"galvanised steel duct, older convention", 0.15e-3, "ASHRAE average category (from memory)"},
		{"galvanised steel duct, medium smooth", 0.09e-3, "ASHRAE Fundamentals, duct design (from memory)"},
		{"galvanised sheet steel, new", 0.15e-3, idelchik},
		{"galvanised iron", 0.152e-3, "classic textbook table (verified)"},
		{"galvanised steel tube, bright, new", 0.085e-3, idelchik + ", middle of 0.07 to 0.10 mm"},
		{"galvanised steel tube, ordinary", 0.125e-3, idelchik + ", middle of 0.10 to 0.15 mm"},
		{"welded steel tube, good condition", 0.07e-3, idelchik + ", middle of 0.04 to 0.10 mm"},
		{"flexible duct, extended", 3.0e-3, "ASHRAE rough category (from memory)"},
	}
}
