package duct

import (
	"fmt"
	"math"

	"dustwright/unit"
)

// Wheel is a machine of the US exhaust rule for grinding, polishing and buffing.
type Wheel uint8

// Machines of 29 CFR 1910.94(b)(3).
const (
	GrindingWheel  Wheel = iota // Table G-4
	BuffingWheel                // Table G-5
	HorizontalDisc              // Table G-6, single spindle
)

// GrindingExhaust returns the smallest exhaust flow [m3/s] the rule asks for.
//
//	wheel     machine
//	diameter  wheel or disc diameter [m], above 0 to 36 in
//	width     wheel width [m]; 0 or NaN takes the table's width, a wider wheel raises the flow in proportion.
//	          Discs have no width
//
// Outside the table and for NaN diameters it returns NaN and ErrOutsideTable. The figure is the rule's
// minimum, not a statement that a hood complies.
// Source: 29 CFR 1910.94(b)(3) Tables G-4, G-5, G-6. Check values: testdata/osha_1910_94_grinding.csv.
func GrindingExhaust(wheel Wheel, diameter, width unit.Length) (unit.Flow, error) {
	type row struct{ to, width, cfm float64 }
	tables := map[Wheel][]row{
		GrindingWheel:  {{9, 1.5, 220}, {16, 2, 390}, {19, 3, 500}, {24, 4, 610}, {30, 5, 880}, {36, 6, 1200}},
		BuffingWheel:   {{9, 2, 300}, {16, 3, 500}, {19, 4, 610}, {24, 5, 740}, {30, 6, 1040}, {36, 6, 1200}},
		HorizontalDisc: {{12, 0, 220}, {19, 0, 390}, {30, 0, 610}, {36, 0, 880}},
	}
	inches := float64(diameter) / unit.Inch
	for _, r := range tables[wheel] {
		if !(inches > 0 && inches <= r.to*(1+1e-9)) {
			continue
		}
		cfm := r.cfm
		if w := float64(width) / unit.Inch; r.width > 0 && w > r.width {
			cfm *= w / r.width
		}
		return unit.Flow(cfm * unit.CubicFoot / 60), nil
	}
	return unit.Flow(math.NaN()), fmt.Errorf("%w: the rule has wheels and discs up to 36 in, not %g in", ErrOutsideTable, inches)
}
