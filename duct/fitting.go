package duct

import (
	"fmt"
	"math"
	"sort"

	"dustwright/unit"
)

// Fitting is one published table of loss coefficients.
type Fitting struct {
	Name      string
	Parameter string // what X measures
	On        string // which velocity pressure the coefficient multiplies
	Source    string
	X         []float64 // ascending
	K         []float64 // coefficient at each X [-]
}

// FittingK returns the loss coefficient [-] of the named fitting at x, a straight line between the
// rows of its table.
//
//	name  as in Fittings; an unknown name gives ErrUnknownFitting with the nearest known one
//	x     in the unit of the fitting's Parameter (angles in degrees, sizes in metres)
//
// Outside the table, and for NaN, it returns NaN and ErrOutsideTable with the table's ends.
// Source and velocity pressure: the fitting's Source and On. Check values: testdata/fitting_losses.csv.
func FittingK(name string, x float64) (float64, error) {
	var names []string
	for _, f := range Fittings() {
		if f.Name == name {
			return f.at(x)
		}
		names = append(names, f.Name)
	}
	hint := ""
	if near := unit.Nearest(name, names); near != "" {
		hint = fmt.Sprintf("; did you mean %q", near)
	}
	return math.NaN(), fmt.Errorf("%w: %q%s", ErrUnknownFitting, name, hint)
}

// at reads the table at x.
func (f Fitting) at(x float64) (float64, error) {
	k, ok := interpolate(f.X, f.K, x)
	if !ok {
		return math.NaN(), fmt.Errorf("%w: %s takes %s from %g to %g, not %g",
			ErrOutsideTable, f.Name, f.Parameter, f.X[0], f.X[len(f.X)-1], x)
	}
	return k, nil
}

// interpolate reads y at x on the polyline through the ascending xs; false outside or for NaN.
func interpolate(xs, ys []float64, x float64) (float64, bool) {
	last := len(xs) - 1
	if !(x >= xs[0] && x <= xs[last]) {
		return math.NaN(), false
	}
	i := sort.SearchFloat64s(xs, x)
	if xs[i] == x {
		return ys[i], true
	}
	share := (x - xs[i-1]) / (xs[i] - xs[i-1])
	return ys[i-1] + share*(ys[i]-ys[i-1]), true
}

// ElbowK returns the coefficient [-] on the duct's own velocity pressure of a round elbow that turns
// by degrees (0 to 180) with a bend radius of radiusRatio diameters: the 90 degree table named by
// name times the angle factor. Errors as FittingK. NaN gives ErrOutsideTable.
// Source: SMACNA HVAC Systems Duct Design 4th ed. Table A-7.
func ElbowK(name string, radiusRatio, degrees float64) (float64, error) {
	k, err := FittingK(name, radiusRatio)
	if err != nil {
		return math.NaN(), err
	}
	factor, err := FittingK("elbow angle factor", degrees)
	if err != nil {
		return math.NaN(), err
	}
	return k * factor, nil
}
