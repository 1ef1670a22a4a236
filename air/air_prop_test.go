package air

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"dustwright/unit"
)

// anyState draws air as plants have it: -30 to 95 degC, 50 to 110 kPa, all humidities, and never steam.
func anyState(t *rapid.T) State {
	s := State{
		T:  celsius(rapid.Float64Range(-30, 95).Draw(t, "degC")),
		P:  unit.AbsPressure(rapid.Float64Range(50e3, 110e3).Draw(t, "Pa")),
		RH: unit.Share(rapid.Float64Range(0.01, 1).Draw(t, "RH")),
	}
	if float64(s.VapourPressure()) > 0.5*float64(s.P) {
		t.Skip("nearly steam")
	}
	return s
}

func TestDensityFallsWithTemperatureHumidityAndHeight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anyState(t)
		warmer, damper := s, s
		warmer.T += unit.Temperature(rapid.Float64Range(0.01, 5).Draw(t, "warmer"))
		damper.RH += unit.Share(rapid.Float64Range(0.001, 0.2).Draw(t, "damper"))
		if !(warmer.Density() < s.Density()) {
			t.Fatalf("%+v: %g kg/m3, warmer by %g K: %g", s, s.Density(), warmer.T-s.T, warmer.Density())
		}
		if !(damper.Density() < s.Density()) {
			t.Fatalf("%+v: %g kg/m3, damper by %g: %g", s, s.Density(), damper.RH-s.RH, damper.Density())
		}
		z := unit.Length(rapid.Float64Range(-500, 10000).Draw(t, "z"))
		up := z + unit.Length(rapid.Float64Range(0.1, 900).Draw(t, "up"))
		low, high := s, s
		low.P, high.P = StandardPressure(z), StandardPressure(up)
		low.RH, high.RH = 0, 0
		if !(high.Density() < low.Density()) {
			t.Fatalf("dry density rises from %g m to %g m", z, up)
		}
		geoLow, _ := Standard1976(z)
		geoHigh, _ := Standard1976(up)
		if !(geoHigh < geoLow) {
			t.Fatalf("1976 pressure rises from %g m to %g m", z, up)
		}
	})
}

func TestStandardFlowThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anyState(t)
		q := unit.Flow(rapid.Float64Range(1e-6, 50).Draw(t, "q"))
		rho := s.Density()
		back := ToActual(ToStandard(q, rho), rho)
		if math.Abs(float64(back-q)) > 1e-12*math.Abs(float64(q)) {
			t.Fatalf("%g m3/s came back as %g", q, back)
		}
		mass, standard := float64(q)*float64(rho), float64(ToStandard(q, rho))*unit.StdAirDensity
		if math.Abs(mass-standard) > 1e-12*math.Abs(mass) {
			t.Fatalf("mass flow %g kg/s became %g", mass, standard)
		}
	})
}

func TestHumidityThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anyState(t)
		back := WithHumidityRatio(s.T, s.P, s.HumidityRatio())
		if math.Abs(float64(back.RH/s.RH)-1) > 1e-9 {
			t.Fatalf("%+v: humidity came back as %g", s, back.RH)
		}
		dew := s.DewPoint()
		if !(dew <= s.T*(1+1e-9)) {
			t.Fatalf("%+v: dew point %g K above the air", s, dew)
		}
		if p := SaturationPressure(dew); math.Abs(float64(p/s.VapourPressure())-1) > 3e-8 && math.Abs(float64(dew)-triplePoint) > 0.001 {
			t.Fatalf("%+v: saturation at the dew point %g Pa, vapour pressure %g", s, p, s.VapourPressure())
		}
		wet := s.WetBulb()
		if !(wet <= s.T) || wet < dew-1e-6 {
			t.Fatalf("%+v: wet bulb %g K not between dew point %g and temperature", s, wet, dew)
		}
		w := HumidityRatioFromWetBulb(s.T, wet, s.P)
		if math.Abs(float64(wet)-freezing) > 0.02 && math.Abs(float64(w-s.HumidityRatio())) > 1e-7*(1+float64(w)) {
			t.Fatalf("%+v: humidity ratio %g came back from the wet bulb as %g", s, s.HumidityRatio(), w)
		}
	})
}

func TestSaturationPressureRises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.Float64Range(saturationLow, saturationHigh-1).Draw(t, "K")
		up := k + rapid.Float64Range(0.001, 1).Draw(t, "up")
		if !(SaturationPressure(unit.Temperature(up)) > SaturationPressure(unit.Temperature(k))) {
			t.Fatalf("saturation pressure falls from %g K to %g K", k, up)
		}
	})
}
