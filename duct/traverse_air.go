package duct

import (
	"fmt"
	"math"

	"dustwright/unit"
)

// airInput is one thing the density rests on.
type airInput struct {
	name, basis  string
	value, sigma float64
	least        float64 // no less than this makes sense
	assumed      bool
	missing      MissingInput
}

// air works out the density and its terms, with defaults for what nobody measured. In its terms Standard is the density's relative width by one
// input and Slope the flow's by the density: -1/2 for pitot readings, 0 for velocities.
func (e *evaluation) air(model AirModel) error {
	slope := -0.5
	if e.speeds {
		slope = 0
	}
	if have(e.t.Air.Density) {
		e.r.Density = e.t.Air.Density
		e.airTerms = append(e.airTerms, Term{Name: "density", Basis: "given", Standard: densitySigma, Slope: slope})
		return e.checkDensity()
	}
	inputs, rho := e.airInputs(model)
	at := make([]float64, len(inputs))
	for i, in := range inputs {
		at[i] = in.value
	}
	density := rho(at)
	e.r.Density = unit.Density(density)
	if err := e.checkDensity(); err != nil {
		return err
	}
	for i, in := range inputs {
		at[i] = in.value + in.sigma
		up := rho(at)
		at[i] = math.Max(in.value-in.sigma, in.least)
		down, way := rho(at), in.value+in.sigma-at[i]
		at[i] = in.value
		relative := math.Abs(up-down) / way * in.sigma / density
		e.airTerms = append(e.airTerms, Term{Name: "density, " + in.name, Basis: in.basis, Assumed: in.assumed, Standard: relative, Slope: slope})
		if in.assumed {
			in.missing.Costs = math.Abs(relative * slope)
			e.missing(in.missing)
		}
	}
	return nil
}

// checkDensity refuses what is no air a duct can carry.
func (e *evaluation) checkDensity() error {
	if rho := float64(e.r.Density); !(rho > 0.3 && rho < 3) {
		return fmt.Errorf("%w: temperature, pressure and humidity as given make %.3g kg/m3; look at their units and signs", ErrNoAir, rho)
	}
	return nil
}

// airInputs lists what the density rests on, and the function that gives it from their values in that order.
func (e *evaluation) airInputs(model AirModel) ([]airInput, func([]float64) float64) {
	a := e.t.Air
	temperature := airInput{name: "temperature", basis: "given", value: float64(a.Temperature), sigma: temperatureSigma}
	if !have(a.Temperature) {
		temperature.value, temperature.sigma = roomTemperature, temperatureHalf/sqrt3
		temperature.take("temperature", unit.KindTemperature, "room air")
	}
	barometer := e.barometer(model)
	static := airInput{name: "static pressure", basis: "given", value: float64(a.Static), sigma: staticRead * math.Abs(float64(a.Static))}
	if !have(a.Static) {
		static.value, static.sigma = 0, staticSigma
		static.take("static", unit.KindPressure, "no suction in the duct")
	}
	static.least = math.Inf(-1)
	t, p := unit.Temperature(temperature.value), unit.AbsPressure(barometer.value+static.value)
	humidity := airInput{name: "humidity", basis: "given"}
	switch {
	case have(a.WetBulb):
		humidity.basis = "from the wet bulb"
		humidity.value = float64(model.FromWetBulb(t, a.WetBulb, p))
		humidity.sigma = math.Abs(float64(model.FromWetBulb(t, a.WetBulb-wetBulbSigma, p)) - humidity.value)
		if math.IsNaN(humidity.sigma) { // below what dry air allows
			humidity.sigma = humidity.value
		}
	case have(a.Humidity):
		humidity.value = float64(model.HumidityRatio(t, p, a.Humidity))
		humidity.sigma = float64(model.HumidityRatio(t, p, humiditySigma))
	default:
		humidity.value, humidity.sigma = ratioDefault, ratioHalf/sqrt3
		humidity.take("humidity", unit.KindNumber, "lb of water per lb of dry air, shop air between winter and summer; moist process air is lighter")
	}
	return []airInput{temperature, barometer, static, humidity}, func(x []float64) float64 {
		return float64(model.Density(unit.Temperature(x[0]), unit.AbsPressure(x[1]+x[2]), unit.Share(x[3])))
	}
}

// take marks an input as assumed.
func (a *airInput) take(key string, kind unit.Kind, clause string) {
	a.basis, a.assumed = "assumed", true
	a.missing = MissingInput{What: key, Kind: kind, Value: a.value, Assumed: clause}
}

// barometer is the station pressure: read, from the elevation, or assumed.
func (e *evaluation) barometer(model AirModel) airInput {
	a := e.t.Air
	in := airInput{name: "barometer", basis: "given", value: float64(a.Barometer), sigma: barometerRead}
	switch {
	case have(a.Barometer):
		if normal := float64(model.Barometer(a.Elevation)); math.Abs(in.value/normal-1) > 0.035 { // false where the elevation is not given
			e.note("The barometer reads %+.0f %% against what is normal at this elevation; weather makes 3 %% at most. Is it reduced to sea level? The pressure at the place is needed.",
				100*(in.value/normal-1))
		}
	case have(a.Elevation):
		in.basis, in.value, in.sigma = "from the elevation", float64(model.Barometer(a.Elevation)), elevationSigma
	default:
		in.value, in.sigma = unit.Atmosphere, barometerSigma
		in.take("barometer", unit.KindAbsPressure, "sea level; neither barometer nor elevation is given")
	}
	return in
}

// instrument settles coefficient, resolution and fixed error of the gauge.
func (e *evaluation) instrument() {
	i := e.t.Instrument
	e.coefficient, e.step = pitotCoefficient, pressureStep
	if e.speeds {
		e.coefficient, e.step = 1, velocityStep
	}
	if have(i.Coefficient) {
		e.coefficient = i.Coefficient
	}
	if have(i.Resolution) {
		e.step = i.Resolution
	}
	e.fixed = e.step
	if have(i.AccuracyPressure) && !e.speeds {
		e.fixed = float64(i.AccuracyPressure)
	}
}
