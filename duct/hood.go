package duct

import (
	"fmt"
	"math"

	"dustwright/unit"
)

// Hood is an entry into a duct with its loss factor on the duct's velocity pressure.
type Hood struct {
	Name   string
	Fh     float64 // entry loss over duct velocity pressure [-]
	Source string
}

// Hoods returns the known hood entries, the caller owns the slice.
// Source: the Source field of each row. Check values: testdata/hood_entry.csv.
func Hoods() []Hood {
	const (
		acgih = "ACGIH hood loss figure, 24th ed., a stored reprint"
		osha  = "29 CFR 1910.94(b)(3)(ii)"
		older = "a stored 1960s guide figure"
	)
	return []Hood{
		{"plain duct end", 0.93, acgih},
		{"flanged duct end", 0.49, acgih},
		{"bell mouth", 0.04, acgih},
		{"grinder hood straight take-off", 0.65, osha},
		{"grinder hood tapered take-off", 0.4, acgih},
		{"grinder hood tapered take-off (OSHA)", 0.45, osha},
		{"sharp-edged orifice / slot", 1.78, acgih + ", on the slot's velocity pressure"},
		{"sharp entrance (older guide)", 0.9, older},
		{"flanged entrance (older guide)", 0.5, older},
		{"duct butted into wall/booth back, round 180 deg", 0.5, "SMACNA HVAC Systems Duct Design 4th ed. Table A-12G"},
	}
}

// TaperedHoodFh returns the entry loss factor [-] of a tapered hood, flanged or not, on the duct's
// velocity pressure.
//
//	degrees  included angle of the taper, 0 (plain duct end) to 180 (duct flush in a wall)
//	round    a round hood; otherwise rectangular
//
// Outside 0 to 180 and for NaN it returns NaN and ErrOutsideTable. Older charts count the angle from
// the axis: half of this.
// Source: SMACNA HVAC Systems Duct Design 4th ed. Table A-12G, a stored source-code transcription.
// Check values: testdata/hood_tapered.csv.
func TaperedHoodFh(degrees float64, round bool) (float64, error) {
	angles := []float64{0, 20, 40, 60, 80, 100, 120, 140, 160, 180}
	loss := []float64{1, 0.19, 0.13, 0.16, 0.21, 0.27, 0.33, 0.43, 0.53, 0.62}
	if round {
		loss = []float64{1, 0.11, 0.06, 0.09, 0.14, 0.18, 0.27, 0.32, 0.43, 0.5}
	}
	k, ok := interpolate(angles, loss, degrees)
	if !ok {
		return math.NaN(), fmt.Errorf("%w: a tapered hood has an included angle from 0 to 180 degrees, not %g", ErrOutsideTable, degrees)
	}
	return k, nil
}

// EntryCoefficient returns Ce = sqrt(VP/SPh) = 1/sqrt(1 + Fh) [-, 0 to 1] of a hood with the entry loss
// factor fh [-, 0 or more]. NaN in, NaN out.
// Source: ABIH equation list, verified. Check values: testdata/hood_entry.csv.
func EntryCoefficient(fh float64) float64 { return 1 / math.Sqrt(1+fh) }

// HoodStatic returns the hood static pressure SPh [Pa, positive, a suction] in a duct of section s
// that draws q [m3/s] of air of density rho [kg/m3] through an entry of factor fh [-].
// NaN in, NaN out.
// Source: SPh = (1 + Fh) VP, ABIH equation list, verified. Check values: testdata/worked_examples.csv.
func HoodStatic(q unit.Flow, s Section, fh float64, rho unit.Density) unit.Pressure {
	v := unit.Velocity(float64(q) / float64(s.Area()))
	return unit.Pressure((1 + fh) * float64(VelocityPressure(v, rho)))
}

// FlowFromHoodStatic returns the flow [m3/s] behind a hood static pressure sph [Pa, the amount of suction, 0
// or more] in a duct of section s, for an entry coefficient ce [-] and air of density rho [kg/m3].
// NaN for a negative sph and for NaN.
// Source: Q = Ce A sqrt(2 SPh/rho), ABIH equation list, verified. Check values:
// testdata/worked_examples.csv.
func FlowFromHoodStatic(sph unit.Pressure, s Section, ce float64, rho unit.Density) unit.Flow {
	return unit.Flow(ce * float64(s.Area()) * float64(Velocity(sph, rho)))
}

// CaptureFlow returns the flow [m3/s] that a small unflanged opening needs to draw air at v [m/s] from
// a point at distance x [m, 0 or more] on its axis: v (10 x2 + a), a being the open area [m2]. With
// a flange it needs about three quarters of that.
// NaN in, NaN out. Source: common practice (point-sink fit, from memory); it holds to about one and a
// half opening widths.
func CaptureFlow(v unit.Velocity, x unit.Length, a unit.Area) unit.Flow {
	return unit.Flow(float64(v) * (10*float64(x)*float64(x) + float64(a)))
}

// PointSinkFlow returns the flow [m3/s] into an ideal point sink that draws air at v [m/s] from
// distance x [m] on all sides: 4 pi x2 v. NaN in, NaN out.
// Source: geometry; environmental statistics handbook, Example 15.12. Check values:
// testdata/worked_examples.csv.
func PointSinkFlow(v unit.Velocity, x unit.Length) unit.Flow {
	return unit.Flow(4 * math.Pi * float64(x) * float64(x) * float64(v))
}
