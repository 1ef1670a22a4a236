// Package air gives the properties of the air a collector moves: moist-air density, viscosity,
// humidity, dew point, the standard atmosphere, and the step between actual and standard flow.
// It leaves out everything that moves (ducts, fans) and compressed air beyond the ideal gas. Air and
// water vapour are mixed as ideal gases; the enhancement factor (0.4 % of the vapour's share at
// one atmosphere) is left out. Main source: ASHRAE Handbook Fundamentals 2017, chapter 1, as
// carried in open psychrometric libraries; check values stand in testdata.
package air

import (
	"math"

	"dustwright/unit"
)

// Constants of ASHRAE Fundamentals 2017 ch. 1. US Standard Atmosphere 1976 takes 287.0529 J/(kg K)
// for dry air, 0.004 % more.
const (
	gasDryAir  = unit.GasConstantDryAir
	massRatio  = 0.621945 // vapour to dry air, as ASHRAE eq. 20 prints it
	volumeTerm = 1.607858 // its reciprocal, as ASHRAE eq. 26 prints it
)

// State is moist air at one place: temperature [K], absolute pressure [Pa] and relative humidity
// (0 to 1, over water above 0.01 degC and over ice below). A NaN field is an unknown one and makes
// every result that needs it NaN; nothing is assumed in its place.
type State struct {
	T  unit.Temperature
	P  unit.AbsPressure
	RH unit.Share
}

// VapourPressure returns the partial pressure of water vapour [Pa].
// The result is 0 for dry air at any temperature; NaN for humid air outside -100 to 200 degC, for a
// negative humidity, and where a field is NaN.
// Source: definition of relative humidity, ASHRAE Fundamentals 2017 ch. 1 eq. 22.
func (s State) VapourPressure() unit.AbsPressure {
	if s.RH == 0 {
		return unit.AbsPressure(0 * float64(s.T)) // NaN stays NaN
	}
	if !(s.RH > 0) {
		return unit.AbsPressure(math.NaN())
	}
	return unit.AbsPressure(float64(s.RH) * float64(SaturationPressure(s.T)))
}

// HumidityRatio returns the mass of vapour per mass of dry air [kg/kg, 0 or more].
// NaN where the vapour pressure is NaN or reaches the total pressure (steam, no longer moist air).
// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 20. Check values: testdata/psychro_moist_air_grid.csv.
func (s State) HumidityRatio() unit.Share {
	return HumidityRatioOf(s.VapourPressure(), s.P)
}

// HumidityRatioOf returns the mass of vapour per mass of dry air [kg/kg] at a vapour pressure pv
// and a total pressure p [Pa, pv below p]; NaN where pv is not in 0 <= pv < p.
// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 20. Check values: testdata/psychro_state_points.csv.
func HumidityRatioOf(pv, p unit.AbsPressure) unit.Share {
	if !(pv >= 0) || !(pv < p) {
		return unit.Share(math.NaN())
	}
	return unit.Share(massRatio * float64(pv) / float64(p-pv))
}

// Density returns mass per volume of the moist air [kg/m3].
// Humid air is lighter than dry air at the same temperature and pressure. NaN where the humidity
// ratio is NaN, or the temperature is not above 0 K; dry air (RH 0) works at any temperature.
// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 26. Check values: testdata/psychro_moist_air_grid.csv.
func (s State) Density() unit.Density {
	return MixtureDensity(s.T, s.P, s.HumidityRatio())
}

// MixtureDensity returns the density [kg/m3] of air at temperature t [K, above 0], pressure p [Pa]
// and humidity ratio w [kg/kg, 0 or more]: the form for hot ducts, where relative humidity says
// little. NaN for a negative or NaN argument.
// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 26: v = R T (1 + 1.607858 W)/p, rho = (1 + W)/v.
// Check values: testdata/psychro_state_points.csv.
func MixtureDensity(t unit.Temperature, p unit.AbsPressure, w unit.Share) unit.Density {
	if !(t > 0) || !(p >= 0) || !(w >= 0) {
		return unit.Density(math.NaN())
	}
	v := gasDryAir * float64(t) * (1 + volumeTerm*float64(w)) / float64(p)
	return unit.Density((1 + float64(w)) / v)
}

// DensityFactor returns density over standard density (0.075 lb/ft3), the trade's df; 1 for
// standard air, NaN for NaN. Source: definition, common practice.
func DensityFactor(rho unit.Density) unit.Share {
	return unit.Share(float64(rho) / unit.StdAirDensity)
}

// TradeDensityFactor returns the density factor as fan and hood tables print it: dry air, reckoned
// from 70 degF and 29.92 inHg, df = 530/(460 + t degF) * BP/29.92.
// The argument t is in K (above 0 degF absolute, 460 below zero), p is absolute [Pa]. It differs
// from DensityFactor by 0.15 % in dry air, because 0.075 lb/ft3 is a rounded figure, and by the
// humidity. NaN in, NaN out.
// Source: environmental statistics handbook, Example 15.5. Check values:
// testdata/density_correction_simple.csv, testdata/density_factor_alt_temp.csv.
func TradeDensityFactor(t unit.Temperature, p unit.AbsPressure) unit.Share {
	const inHg = 101325 / 29.92 // the table's own atmosphere
	degF := (float64(t)-273.15)*1.8 + 32
	if !(degF > -460) {
		return unit.Share(math.NaN())
	}
	return unit.Share(530 / (460 + degF) * float64(p) / (29.92 * inHg))
}

// ToStandard returns the standard flow [m3/s at 0.075 lb/ft3] of the same mass as an actual flow q
// [m3/s] of density rho [kg/m3]. Signs are kept; NaN in, NaN out. Source: conservation of mass.
func ToStandard(q unit.Flow, rho unit.Density) unit.StdFlow {
	return unit.StdFlow(float64(q) * float64(rho) / unit.StdAirDensity)
}

// ToActual returns the actual flow [m3/s] at density rho [kg/m3, above 0] of a standard flow
// [m3/s at 0.075 lb/ft3]. Signs are kept; NaN in, NaN out. Source: conservation of mass.
func ToActual(q unit.StdFlow, rho unit.Density) unit.Flow {
	return unit.Flow(float64(q) * unit.StdAirDensity / float64(rho))
}
