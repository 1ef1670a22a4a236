package fan

import (
	"errors"
	"fmt"
	"math"

	"dustwright/unit"
)

// ErrOutsideTable says that an inlet elbow lies outside the published coefficients.
var ErrOutsideTable = errors.New("outside the published inlet-elbow table")

// elbowTable holds the loss coefficients of a square elbow with inlet transition before a fan inlet, for
// no duct, 2 and 5 duct diameters between elbow and fan.
// Source: ASHRAE 1988, reproduced in the companion data of a textbook (verified).
type elbowRow struct {
	ratio float64
	c     [3]float64
}

func elbowTable(vanes bool) []elbowRow {
	if vanes {
		return []elbowRow{{0.5, [3]float64{0.8, 0.47, 0.26}}, {1, [3]float64{0.53, 0.33, 0.18}}, {2, [3]float64{0.26, 0.22, 0.14}}}
	}
	return []elbowRow{{0.5, [3]float64{2.5, 1.6, 0.8}}, {0.75, [3]float64{2.0, 1.2, 0.66}}, {1, [3]float64{1.2, 0.66, 0.33}}, {2, [3]float64{0.8, 0.47, 0.26}}}
}

// InletElbow returns the system effect of a square elbow close before the fan inlet, in velocity
// pressures at the inlet: add it to the system's loss.
//
//	ratio      elbow radius over duct height R/H [-], 0.5 to 2
//	diameters  straight duct between elbow and fan, 0 to 5 duct diameters; beyond 5 the value for 5 is
//	           the most it can be
//	vanes      turning vanes fitted
//	result     [-], 0.14 to 2.5; linear between the table's rows and columns
//
// ErrOutsideTable for R/H outside 0.5 to 2 or a negative or longer duct; NaN in, NaN out.
// Source: ASHRAE 1988 inlet-elbow coefficients; check values: testdata/fan_system_effect_inlet_elbow.csv.
func InletElbow(ratio, diameters float64, vanes bool) (float64, error) {
	if math.IsNaN(ratio) || math.IsNaN(diameters) {
		return math.NaN(), nil
	}
	t := elbowTable(vanes)
	if ratio < t[0].ratio || ratio > t[len(t)-1].ratio || diameters < 0 || diameters > 5 {
		return math.NaN(), fmt.Errorf("%w: R/H %.3g with %.3g duct diameters; it covers R/H %g to %g and 0 to 5 diameters",
			ErrOutsideTable, ratio, diameters, t[0].ratio, t[len(t)-1].ratio)
	}
	at := func(r elbowRow) float64 {
		if diameters <= 2 {
			return r.c[0] + (r.c[1]-r.c[0])*diameters/2
		}
		return r.c[1] + (r.c[2]-r.c[1])*(diameters-2)/3
	}
	i := 1
	for i < len(t)-1 && ratio > t[i].ratio {
		i++
	}
	s := (ratio - t[i-1].ratio) / (t[i].ratio - t[i-1].ratio)
	return at(t[i-1])*(1-s) + at(t[i])*s, nil
}

// InletElbowLoss returns the same as a pressure.
//
//	c0     coefficient of InletElbow, v velocity at the fan inlet [m/s], rho density [kg/m3]
//	result [Pa]; NaN in, NaN out
//
// Source: dp = C0 rho V^2/2.
func InletElbowLoss(c0 float64, v unit.Velocity, rho unit.Density) unit.Pressure {
	return unit.Pressure(c0 * float64(rho) * float64(v) * float64(v) / 2)
}
