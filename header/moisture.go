package header

import (
	"math"

	"dustwright/unit"
)

// saturation returns the saturation pressure of water vapour [Pa], over ice below 0 degC.
// Source: Hyland and Wexler (ASHRAE Fundamentals ch. 1, coefficients from memory; checked against
// testdata/saturation_vapour.csv).
func saturation(temp float64) float64 {
	t := temp
	if t < 273.15 {
		return math.Exp(-5.6745359e3/t + 6.3925247 - 9.677843e-3*t + 6.2215701e-7*t*t + 2.0747825e-9*t*t*t -
			9.484024e-13*t*t*t*t + 4.1635019*math.Log(t))
	}
	return math.Exp(-5.8002206e3/t + 1.3914993 - 4.8640239e-2*t + 4.1764768e-5*t*t - 1.4452093e-8*t*t*t + 6.5459673*math.Log(t))
}

// dewPoint is the inverse of saturation between -100 and 100 degC.
func dewPoint(e float64) float64 {
	lo, hi := 173.15, 373.15
	for i := 0; i < 60; i++ {
		if mid := (lo + hi) / 2; saturation(mid) < e {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// DewPointAt carries a dew point from one pressure to another: the vapour's share of the air stays.
//
//	dew        dew point (frost point below 0 degC) at pressure from [K], 173 to 373
//	from, to   pressures [Pa abs]
//	result     dew or frost point at pressure to [K]; NaN in, NaN out
//
// Source: ideal gas, e scales with p; the enhancement factor (1 to 4 % of e) is left out.
// Check values: testdata/pressure_dew_point.csv.
func DewPointAt(dew unit.Temperature, from, to unit.AbsPressure) unit.Temperature {
	e := saturation(float64(dew)) * float64(to/from)
	if math.IsNaN(e) {
		return unit.Temperature(math.NaN())
	}
	return unit.Temperature(dewPoint(e))
}

// humidityRatio returns kg of water per kg of dry air at a vapour pressure and total pressure [Pa].
func humidityRatio(e, p float64) float64 { return 0.62198 * e / (p - e) }

// Intake is the air a compressor draws.
type Intake struct {
	T    unit.Temperature // [K]
	RH   unit.Share       // 0 to 1
	P    unit.AbsPressure // [Pa abs]; 0 = 101325 Pa
	Flow unit.StdFlow     // free air at these conditions [m3/s]
}

// Condensate returns the water that drops out of compressed air.
//
//	in     what the compressor draws
//	line   line pressure, gauge [Pa], temp the lowest temperature it is cooled to [K]
//	result [kg/s], 0 where the air stays unsaturated; NaN in, NaN out
//
// Source: humidity ratios at intake and, saturated, in the line times the dry-air flow.
// Check values: testdata/condensate.csv.
func Condensate(in Intake, line unit.Pressure, temp unit.Temperature) unit.MassFlow {
	p := float64(in.P)
	if p == 0 {
		p = 101325
	}
	e := saturation(float64(in.T)) * float64(in.RH)
	dry := float64(in.Flow) * (p - e) / (gasConstant * float64(in.T))
	drop := humidityRatio(e, p) - humidityRatio(saturation(float64(temp)), p+float64(line))
	return unit.MassFlow(dry * math.Max(0, drop))
}
