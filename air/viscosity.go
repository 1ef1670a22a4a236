package air

import (
	"math"

	"dustwright/unit"
)

// Viscosity returns the dynamic viscosity of dry air [Pa s] at temperature t [K, above 0]; pressure
// does not enter at the pressures of ventilation. NaN for t not above 0.
// Source: US Standard Atmosphere 1976, Sutherland form mu = 1.458e-6 T^1.5/(T + 110.4).
// Check values: testdata/air_viscosity.csv.
func Viscosity(t unit.Temperature) unit.Viscosity {
	if !(t > 0) {
		return unit.Viscosity(math.NaN())
	}
	return unit.Viscosity(1.458e-6 * math.Pow(float64(t), 1.5) / (float64(t) + 110.4))
}

// Viscosity returns the dynamic viscosity [Pa s] at the state's temperature. Moisture is left out:
// saturated air at 40 degC is about 1 % less viscous (from memory). See the function Viscosity.
func (s State) Viscosity() unit.Viscosity { return Viscosity(s.T) }
