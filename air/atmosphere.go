package air

import (
	"math"

	"dustwright/unit"
)

// Range of both atmosphere formulas: the lowest layer, where temperature falls with height [m].
const (
	atmosphereLow  = -5000
	atmosphereHigh = 11000
)

// StandardPressure returns the barometric pressure [Pa] the standard atmosphere has at an elevation
// [m above sea level, -5000 to 11000; NaN outside]: what to reckon with where no barometer was
// read. Weather moves the real one by about 1.5 % either way (common practice, no source).
// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 3, p = 101325 (1 - 2.25577e-5 z)^5.2559, the form
// behind the trade's altitude tables. It takes the elevation as geopotential height; Standard1976
// converts it and lies 0.03 % higher at 4000 m, nothing at sea level.
// Check values: testdata/std_atmosphere_ashrae_points.csv, testdata/altitude_pressure_density.csv.
func StandardPressure(elevation unit.Length) unit.AbsPressure {
	z := float64(elevation)
	if !(z >= atmosphereLow && z <= atmosphereHigh) {
		return unit.AbsPressure(math.NaN())
	}
	return unit.AbsPressure(101325 * math.Pow(1-2.25577e-5*z, 5.2559))
}

// StandardTemperature returns the temperature [K] of the standard atmosphere at an elevation [m,
// -5000 to 11000; NaN outside]. Source: ASHRAE Fundamentals 2017 ch. 1 eq. 4, t = 15 - 0.0065 z.
// Check values: testdata/std_atmosphere_ashrae_points.csv.
func StandardTemperature(elevation unit.Length) unit.Temperature {
	z := float64(elevation)
	if !(z >= atmosphereLow && z <= atmosphereHigh) {
		return unit.Temperature(math.NaN())
	}
	return unit.Temperature(288.15 - 0.0065*z)
}

// Standard1976 returns pressure [Pa] and temperature [K] of the US Standard Atmosphere 1976 at a
// geometric elevation [m, -5000 to 11000; both NaN outside], which it turns into geopotential
// height first. Source: US Standard Atmosphere 1976, part 1 (formula and constants from memory).
// Check values: testdata/std_atmosphere_1976.csv.
func Standard1976(elevation unit.Length) (unit.AbsPressure, unit.Temperature) {
	const (
		earth = 6356766.0 // effective earth radius [m]
		t0    = 288.15    // [K]
		lapse = 0.0065    // [K/m]
		power = 9.80665 * 28.9644e-3 / (8.31432 * lapse)
	)
	z := float64(elevation)
	if !(z >= atmosphereLow && z <= atmosphereHigh) {
		return unit.AbsPressure(math.NaN()), unit.Temperature(math.NaN())
	}
	t := t0 - lapse*earth*z/(earth+z)
	return unit.AbsPressure(101325 * math.Pow(t/t0, power)), unit.Temperature(t)
}
