package duct

import (
	"math"

	"dustwright/unit"
)

// Regime says how the flow in a duct runs, and with it how far its friction factor can be trusted.
type Regime uint8

// The regimes of pipe flow, by Reynolds number.
const (
	NoFlow     Regime = iota // Re is 0 or not a number: no friction factor
	Laminar                  // Re below 2300
	Transition               // Re 2300 to 4000: the flow itself is undecided, so is the factor
	Turbulent                // Re from 4000
)

// String returns the regime's name, as "turbulent".
func (r Regime) String() string {
	return [...]string{"no flow", "laminar", "transition", "turbulent"}[r]
}

// Limits of the regimes, common practice.
const (
	laminarEnd     = 2300
	turbulentStart = 4000
	roughest       = 0.05 // largest relative roughness the Colebrook equation was fitted to
)

// FrictionFactor returns the Darcy friction factor and the regime it belongs to.
//
//	re            Reynolds number [-], 0 or more
//	relRoughness  roughness over hydraulic diameter [-], 0 to 0.05
//
// Laminar flow gives 64/re; turbulent flow solves the Colebrook equation to the last digits. In
// between no formula holds: the result is the straight line between the two ends, so that a loss
// still rises with the flow, and the regime Transition says so. NaN for a relative roughness outside
// the range, for negative or NaN re; +Inf at re 0 (the loss itself is then 0).
// Source: Colebrook 1939 in the form 1/sqrt(f) = -2 log10(e/3.7 + 2.51/(re sqrt(f))).
// Check values: testdata/colebrook_grid.csv.
func FrictionFactor(re, relRoughness float64) (float64, Regime) {
	switch {
	case !(re >= 0), !(relRoughness >= 0 && relRoughness <= roughest):
		return math.NaN(), NoFlow
	case re == 0:
		return math.Inf(1), NoFlow
	case re < laminarEnd:
		return 64 / re, Laminar
	case re < turbulentStart:
		share := (re - laminarEnd) / (turbulentStart - laminarEnd)
		return (1-share)*64/laminarEnd + share*colebrook(turbulentStart, relRoughness), Transition
	}
	return colebrook(re, relRoughness), Turbulent
}

// colebrook solves the Colebrook equation for f by Newton steps on x = 1/sqrt(f); the function is
// nearly straight in x, so four steps from Haaland's estimate reach the rounding error.
func colebrook(re, e float64) float64 {
	x := -1.8 * math.Log10(math.Pow(e/3.7, 1.11)+6.9/re)
	for range 4 {
		arg := e/3.7 + 2.51*x/re
		g := x + 2*math.Log10(arg)
		slope := 1 + 2/math.Ln10*2.51/(re*arg)
		x -= g / slope
	}
	return 1 / (x * x)
}

// Reynolds returns the Reynolds number [-] of air of density rho [kg/m3] and viscosity mu [Pa s]
// moving at v [m/s] through a duct of hydraulic diameter d [m]. NaN in, NaN out.
// Source: definition.
func Reynolds(v unit.Velocity, d unit.Length, rho unit.Density, mu unit.Viscosity) float64 {
	return math.Abs(float64(v)) * float64(d) * float64(rho) / float64(mu)
}
