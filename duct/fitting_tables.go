package duct

import "fmt"

// What a fitting's table is read by; angles in degrees, sizes in metres.
const (
	radiusRatio = "bend radius over diameter"
	lengthRatio = "length outside the wall over diameter"
	flowRatio   = "branch flow over common flow"
	angle       = "angle [deg]"
	size        = "diameter [m]"
)

// Which velocity pressure the coefficient multiplies.
const (
	onOwn    = "the duct's own"
	onDown   = "the duct after it"
	onCommon = "the common duct after the junction"
	onElbow  = "factor on the 90 deg elbow's coefficient"
)

// Where the tables were read.
const (
	smacnaElbow = "SMACNA HVAC Systems Duct Design 4th ed. Table A-7 (verified text)"
	smacnaCode  = "SMACNA HVAC Systems Duct Design 4th ed. Table %s, a stored source-code transcription"
	ashraeCD    = "ASHRAE Handbook Fundamentals 2009 ch. 21, %s (verified text)"
	acgihMemory = "ACGIH branch-entry factors (from memory)"
)

// Fittings returns every table of the package in catalogue order; the caller owns the slice.
// Source: the Source field of each. Check values: testdata/fitting_losses.csv.
func Fittings() []Fitting {
	return []Fitting{
		{"elbow round smooth 90", radiusRatio, onOwn, smacnaElbow,
			[]float64{0.5, 0.75, 1, 1.5, 2, 2.5},
			[]float64{0.71, 0.33, 0.22, 0.15, 0.13, 0.12}},
		{"elbow angle factor", angle, onElbow, smacnaElbow,
			[]float64{0, 20, 30, 45, 60, 75, 90, 110, 130, 150, 180},
			[]float64{0, 0.31, 0.45, 0.6, 0.78, 0.9, 1, 1.13, 1.2, 1.28, 1.4}},
		{"elbow round 5 piece 90", radiusRatio, onOwn, smacnaElbow,
			[]float64{0.75, 1, 1.5, 2},
			[]float64{0.46, 0.33, 0.24, 0.19}},
		{"elbow round 4 piece 90", radiusRatio, onOwn, smacnaElbow,
			[]float64{0.75, 1, 1.5, 2},
			[]float64{0.5, 0.37, 0.27, 0.24}},
		{"elbow round 3 piece 90", radiusRatio, onOwn, smacnaElbow,
			[]float64{0.5, 0.75, 1, 1.5, 2},
			[]float64{0.98, 0.54, 0.42, 0.34, 0.33}},
		{"elbow round mitred", angle, onOwn, smacnaElbow,
			[]float64{20, 30, 45, 60, 75, 90},
			[]float64{0.08, 0.16, 0.34, 0.55, 0.81, 1.2}},
		{"elbow round die-stamped 90 r/D 1.5", size, onOwn, fmt.Sprintf(ashraeCD, "CD3-1"),
			[]float64{0.075, 0.1, 0.125, 0.15, 0.18, 0.2, 0.23, 0.25},
			[]float64{0.3, 0.21, 0.16, 0.14, 0.12, 0.11, 0.11, 0.11}},
		{"elbow round die-stamped 45 r/D 1.5", size, onOwn, fmt.Sprintf(ashraeCD, "CD3-3"),
			[]float64{0.075, 0.1, 0.125, 0.15, 0.18, 0.2, 0.23, 0.25},
			[]float64{0.18, 0.13, 0.1, 0.08, 0.07, 0.07, 0.07, 0.07}},
		{"elbow round pleated 90 r/D 1.5", size, onOwn, fmt.Sprintf(ashraeCD, "CD3-5"),
			[]float64{0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4},
			[]float64{0.57, 0.43, 0.34, 0.28, 0.26, 0.25, 0.25}},
		{"elbow round 5 gore 90 r/D 1.5", size, onOwn, fmt.Sprintf(ashraeCD, "CD3-9"),
			[]float64{0.075, 0.15, 0.23, 0.3, 0.38, 0.45, 0.53, 0.6, 0.69, 0.75, 1.5},
			[]float64{0.51, 0.28, 0.21, 0.18, 0.16, 0.15, 0.14, 0.13, 0.12, 0.12, 0.12}},
		{"elbow round 7 gore 90 r/D 2.5", size, onOwn, fmt.Sprintf(ashraeCD, "CD3-10"),
			[]float64{0.075, 0.15, 0.23, 0.3, 0.38, 0.45, 0.69, 1.5},
			[]float64{0.16, 0.12, 0.1, 0.08, 0.07, 0.06, 0.05, 0.03}},
		{"elbow round 3 gore 90", radiusRatio, onOwn, fmt.Sprintf(ashraeCD, "CD3-12"),
			[]float64{0.75, 1, 1.5, 2},
			[]float64{0.54, 0.42, 0.34, 0.33}},
		{"elbow round 3 gore 60 r/D 1.5", size, onOwn, fmt.Sprintf(ashraeCD, "CD3-13"),
			[]float64{0.075, 0.15, 0.23, 0.3, 0.38, 0.45, 0.53, 0.6, 0.69, 0.75, 1.5},
			[]float64{0.4, 0.21, 0.16, 0.14, 0.12, 0.12, 0.11, 0.1, 0.09, 0.09, 0.09}},
		{"elbow round 3 gore 45 r/D 1.5", size, onOwn, fmt.Sprintf(ashraeCD, "CD3-14"),
			[]float64{0.075, 0.15, 0.23, 0.3, 0.38, 0.45, 0.53, 0.6, 0.69, 0.75, 1.5},
			[]float64{0.31, 0.17, 0.13, 0.11, 0.11, 0.09, 0.08, 0.08, 0.07, 0.07, 0.07}},
		{"bellmouth entry without wall", radiusRatio, onOwn, fmt.Sprintf(smacnaCode, "A-12B"),
			[]float64{0, 0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.1, 0.12, 0.16, 0.2},
			[]float64{1, 0.87, 0.74, 0.61, 0.51, 0.4, 0.32, 0.2, 0.15, 0.1, 0.06, 0.03}},
		{"bellmouth entry in a wall", radiusRatio, onOwn, fmt.Sprintf(smacnaCode, "A-12C"),
			[]float64{0, 0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.08, 0.1, 0.12, 0.16, 0.2},
			[]float64{0.5, 0.43, 0.36, 0.31, 0.26, 0.22, 0.2, 0.15, 0.12, 0.09, 0.06, 0.03}},
		{"thin duct end through a wall", lengthRatio, onOwn, fmt.Sprintf(smacnaCode, "A-12A"),
			[]float64{0, 0.002, 0.01, 0.05, 0.2, 0.5, 1},
			[]float64{0.5, 0.57, 0.68, 0.8, 0.92, 1, 1}},
		{"contraction 4 to 1", angle, onDown, fmt.Sprintf(smacnaCode, "A-9A"),
			[]float64{10, 15, 20, 30, 40, 50, 60, 90, 120, 150, 180},
			[]float64{0.05, 0.04, 0.04, 0.04, 0.04, 0.07, 0.07, 0.17, 0.27, 0.35, 0.41}},
		{"converging 90 tee, main", flowRatio, onCommon, fmt.Sprintf(smacnaCode, "A-10B"),
			[]float64{0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1},
			[]float64{0.16, 0.27, 0.38, 0.46, 0.53, 0.57, 0.59, 0.6, 0.59, 0.55}},
		{"branch entry", angle, onOwn, acgihMemory,
			[]float64{10, 15, 20, 25, 30, 35, 40, 45, 50, 60, 90},
			[]float64{0.06, 0.09, 0.12, 0.15, 0.18, 0.21, 0.25, 0.28, 0.32, 0.44, 1}},
	}
}
