package duct

import (
	"fmt"
	"math"
)

// wyeTable returns the converging 45 degree wye: velocity ratio down, area ratio across, and the
// branch coefficients.
func wyeTable() (velocity, area []float64, branch [][]float64) {
	velocity = []float64{0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.5, 2.0, 2.5, 3.0}
	area = []float64{0.1, 0.2, 0.3, 0.4, 0.6, 0.8, 1.0}
	branch = [][]float64{
		{-0.56, -0.44, -0.35, -0.28, -0.15, -0.04, 0.05},
		{-0.48, -0.37, -0.28, -0.21, -0.09, 0.02, 0.11},
		{-0.38, -0.27, -0.19, -0.12, 0, 0.10, 0.18},
		{-0.26, -0.16, -0.08, -0.01, 0.10, 0.20, 0.28},
		{-0.21, -0.02, 0.05, 0.12, 0.23, 0.32, 0.40},
		{0.04, 0.13, 0.21, 0.27, 0.37, 0.46, 0.53},
		{0.22, 0.31, 0.38, 0.44, 0.53, 0.62, 0.69},
		{1.4, 1.5, 1.5, 1.6, 1.7, 1.7, 1.8},
		{3.1, 3.2, 3.2, 3.2, 3.3, 3.3, 3.3},
		{5.3, 5.3, 5.3, 5.4, 5.4, 5.4, 5.4},
		{8, 8, 8, 8, 8, 8, 8},
	}
	return velocity, area, branch
}

// WyeBranchK returns the loss coefficient [-] of the branch of a converging 45 degree round wye, on the
// velocity pressure of the common duct after it. Below zero the faster main air pulls the branch.
//
//	velocityRatio  branch velocity over common velocity, 0.4 to 3.0
//	areaRatio      branch area over common area, 0.1 to 1.0
//
// Outside the table and for NaN it returns NaN and ErrOutsideTable. The printed cell 0.8/0.1 (-0.21)
// may be a misprint for -0.12 and is kept as printed.
// Source: SMACNA HVAC Systems Duct Design 4th ed. Table A-10A, a stored source-code transcription.
// Check values: testdata/converging_wye45_branch.csv.
func WyeBranchK(velocityRatio, areaRatio float64) (float64, error) {
	velocity, area, branch := wyeTable()
	column := make([]float64, len(velocity))
	for i := range velocity {
		k, ok := interpolate(area, branch[i], areaRatio)
		if !ok {
			return math.NaN(), fmt.Errorf("%w: a converging wye takes area ratios from 0.1 to 1, not %g", ErrOutsideTable, areaRatio)
		}
		column[i] = k
	}
	k, ok := interpolate(velocity, column, velocityRatio)
	if !ok {
		return math.NaN(), fmt.Errorf("%w: a converging wye takes velocity ratios from 0.4 to 3, not %g", ErrOutsideTable, velocityRatio)
	}
	return k, nil
}
