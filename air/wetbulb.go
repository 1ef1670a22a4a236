package air

import (
	"math"

	"dustwright/unit"
)

const freezing = 273.15 // [K]; the wet wick of a psychrometer changes to ice here

// HumidityRatioFromWetBulb returns the humidity ratio [kg/kg] of air at temperature t with a
// psychrometer's wet-bulb reading wet [K, wet not above t] at pressure p [Pa].
// NaN where wet is above t, where the two readings together are impossible (less than no
// moisture), outside the range of SaturationPressure, and for NaN.
// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 33 (water) and 35 (ice).
// Check values: testdata/psychro_state_points.csv.
func HumidityRatioFromWetBulb(t, wet unit.Temperature, p unit.AbsPressure) unit.Share {
	if !(wet <= t) {
		return unit.Share(math.NaN())
	}
	w := wetBulbRatio(float64(t), float64(wet), p)
	if !(w >= 0) {
		return unit.Share(math.NaN())
	}
	return unit.Share(w)
}

// wetBulbRatio is the psychrometer equation: enthalpy before and after the wick is the same.
// It goes below zero where the wet bulb is lower than dry air could make it.
func wetBulbRatio(t, wet float64, p unit.AbsPressure) float64 {
	ws := float64(HumidityRatioOf(SaturationPressure(unit.Temperature(wet)), p))
	db, wb := t-freezing, wet-freezing
	if wb >= 0 {
		return ((2501-2.326*wb)*ws - 1.006*(db-wb)) / (2501 + 1.86*db - 4.186*wb)
	}
	return ((2830-0.24*wb)*ws - 1.006*(db-wb)) / (2830 + 1.86*db - 2.1*wb)
}

// WithHumidityRatio returns the state at temperature t [K] and pressure p [Pa] that holds w
// [kg/kg] of vapour. RH may come out above 1 (fog). NaN arguments give a state with NaN humidity.
// Source: inverse of ASHRAE Fundamentals 2017 ch. 1 eq. 20.
func WithHumidityRatio(t unit.Temperature, p unit.AbsPressure, w unit.Share) State {
	pv := float64(p) * float64(w) / (massRatio + float64(w))
	return State{T: t, P: p, RH: unit.Share(pv / float64(SaturationPressure(t)))}
}

// WetBulb returns the thermodynamic wet-bulb temperature [K], never above T.
// NaN for air above saturation, outside the range of SaturationPressure, and for NaN fields.
// Source: ASHRAE Fundamentals 2017 ch. 1 eq. 33 and 35, solved for the wet bulb.
// Check values: testdata/psychro_state_points.csv (there and back).
func (s State) WetBulb() unit.Temperature {
	w := float64(s.HumidityRatio())
	hi := float64(s.T)
	if !(w >= 0) || !(s.RH <= 1) {
		return unit.Temperature(math.NaN())
	}
	lo := math.Max(saturationLow, hi-120)
	if !(wetBulbRatio(hi, lo, s.P) <= w) {
		return unit.Temperature(math.NaN())
	}
	for hi-lo > 1e-9*hi {
		mid := (lo + hi) / 2
		// Far below T a wick at mid would be steam only at impossible pressures: NaN counts as low.
		if r := wetBulbRatio(float64(s.T), mid, s.P); r > w {
			hi = mid
		} else {
			lo = mid
		}
	}
	return unit.Temperature((lo + hi) / 2)
}
