package air

import (
	"math"

	"dustwright/unit"
)

// Range of the saturation equations and the temperature where ice hands over to water [K].
const (
	saturationLow  = 173.15
	saturationHigh = 473.15
	triplePoint    = 273.16
)

// SaturationPressure returns the vapour pressure of water in equilibrium with ice (up to the
// triple point, 0.01 degC) or with liquid water (above it) [Pa].
// The temperature may lie in -100 to 200 degC; outside and for NaN the result is NaN.
// Source: Hyland-Wexler equations, ASHRAE Fundamentals 2017 ch. 1 eq. 5 and 6.
// Check values: testdata/psychro_saturation_ashrae.csv, testdata/saturation_vapour.csv.
func SaturationPressure(temperature unit.Temperature) unit.AbsPressure {
	t := float64(temperature)
	switch {
	case !(t >= saturationLow && t <= saturationHigh):
		return unit.AbsPressure(math.NaN())
	case t <= triplePoint:
		return unit.AbsPressure(math.Exp(-5.6745359e+03/t + 6.3925247 + t*(-9.6778430e-03+
			t*(6.2215701e-07+t*(2.0747825e-09-9.4840240e-13*t))) + 4.1635019*math.Log(t)))
	default:
		return unit.AbsPressure(math.Exp(-5.8002206e+03/t + 1.3914993 + t*(-4.8640239e-02+
			t*(4.1764768e-05-1.4452093e-08*t)) + 6.5459673*math.Log(t)))
	}
}

// DewPoint returns the temperature [K] at which the air becomes saturated when cooled at constant
// pressure: the dew point over water above 0.01 degC, the frost point over ice below.
// NaN for dry air (there is none), for a dew point outside -100 to 200 degC, and for NaN fields.
// Source: inverse of SaturationPressure. Check values: testdata/psychro_state_points.csv.
func (s State) DewPoint() unit.Temperature {
	return DewPointOf(s.VapourPressure())
}

// DewPointOf returns the temperature [K] at which vapour of partial pressure pv [Pa] saturates.
// For compressed air let down to another pressure, scale pv with the total pressure first.
// NaN for pv outside the saturation pressures of -100 to 200 degC, and for NaN.
// Source: inverse of SaturationPressure. Check values: testdata/pressure_dew_point.csv.
func DewPointOf(pv unit.AbsPressure) unit.Temperature {
	lo, hi := saturationLow, saturationHigh
	if !(pv >= SaturationPressure(saturationLow) && pv <= SaturationPressure(saturationHigh)) {
		return unit.Temperature(math.NaN())
	}
	for hi-lo > 1e-10*hi { // the pressure rises with temperature: plain halving can't go wrong
		mid := (lo + hi) / 2
		if SaturationPressure(unit.Temperature(mid)) < pv {
			lo = mid
		} else {
			hi = mid
		}
	}
	return unit.Temperature((lo + hi) / 2)
}
