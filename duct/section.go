package duct

import (
	"fmt"
	"math"

	"dustwright/unit"
)

// Section is the inside of a duct across the flow: round with a diameter, or rectangular with width
// and height [m, all above 0]. Zero or NaN stands for "not this shape".
type Section struct {
	Diameter      unit.Length
	Width, Height unit.Length
}

// Round returns a round section of inside diameter d [m], by definition; what is wrong with d (0, NaN) shows when it is used.
func Round(d unit.Length) Section { return Section{Diameter: d} }

// Rect returns a rectangular section of inside width and height [m], by definition; wrong sizes (0, NaN) show when it is used.
func Rect(width, height unit.Length) Section { return Section{Width: width, Height: height} }

// IsRound tells whether the section has a diameter.
func (s Section) IsRound() bool { return s.Diameter > 0 }

// check returns an error of ErrSection where the section is neither a round nor a rectangular one.
func (s Section) check() error {
	round := s.Diameter > 0 && !math.IsInf(float64(s.Diameter), 0)
	rect := s.Width > 0 && s.Height > 0 && !math.IsInf(float64(s.Width)+float64(s.Height), 0)
	if round == rect {
		return fmt.Errorf("%w: diameter %g m, width %g m, height %g m", ErrSection,
			float64(s.Diameter), float64(s.Width), float64(s.Height))
	}
	return nil
}

// Area returns the open area [m2]; NaN for a section without size.
// Source: geometry.
func (s Section) Area() unit.Area {
	if s.IsRound() {
		return unit.Area(math.Pi / 4 * float64(s.Diameter) * float64(s.Diameter))
	}
	if s.Width > 0 && s.Height > 0 {
		return unit.Area(float64(s.Width) * float64(s.Height))
	}
	return unit.Area(math.NaN())
}

// Hydraulic returns four times area over perimeter [m]: the diameter, or 2ab/(a+b). It is the
// length that friction, Reynolds number and Method 1's equivalent diameter use. NaN without size.
// Source: definition; 40 CFR 60 App. A-1 Method 1 eq. 1-1 for the rectangle.
// Check values: testdata/rect_equivalent_diameter.csv.
func (s Section) Hydraulic() unit.Length {
	if s.IsRound() {
		return s.Diameter
	}
	if s.Width > 0 && s.Height > 0 {
		return 2 * s.Width * s.Height / (s.Width + s.Height)
	}
	return unit.Length(math.NaN())
}

// EqualFriction returns the diameter [m] of the round duct that loses the same pressure at the same
// flow: the diameter itself, or 1.30 (ab)^0.625/(a+b)^0.25. NaN without size.
// Source: Huebscher's equation, a stored public text. Check values:
// testdata/rect_equivalent_diameter.csv.
func (s Section) EqualFriction() unit.Length {
	if s.IsRound() {
		return s.Diameter
	}
	a, b := float64(s.Width), float64(s.Height)
	if !(a > 0 && b > 0) {
		return unit.Length(math.NaN())
	}
	return unit.Length(1.30 * math.Pow(a*b, 0.625) / math.Pow(a+b, 0.25))
}
