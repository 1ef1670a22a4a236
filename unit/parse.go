package unit

import (
	"math"
	"strings"
)

// Parse reads a number with its unit, such as "4200 cfm", "2.0 in.w.g." or "3 1/2 in", and returns it in SI. Lengths may
// be given in feet and inches ("5 ft 6 in"). KindNumber takes a bare number. Anything else (no unit, a unit of
// another kind, a value that can't be, NaN, infinity) is an *Error whose text says what would be right. The
// result is always finite.
func Parse(kind Kind, text string) (float64, error) {
	if err := checkText(kind, text); err != nil {
		return math.NaN(), err
	}
	si, err := parse(kind, text)
	if err != nil {
		return math.NaN(), err
	}
	return si, nil
}

func parse(kind Kind, text string) (float64, *Error) {
	trimmed := strings.TrimSpace(strings.Trim(strings.TrimSpace(text), "\ufeff"))
	if trimmed == "" {
		return 0, fail(kind, text, "", "nothing is written here, and %s is due", facts[kind].name)
	}
	value, symbol, why := number(trimmed)
	if why != "" {
		return 0, fail(kind, text, trimmed, "%s", why)
	}
	if kind == KindNumber {
		if symbol != "" {
			return 0, fail(kind, text, symbol, "only a number is due here, and %s follows it", quoted(symbol))
		}
		return value, nil
	}
	if kind == KindLength {
		if feet, inches, ok := feetAndInches(symbol); ok {
			return math.Copysign(math.Abs(value)*feet+inches, value), nil
		}
	}
	un, err := lookup(kind, symbol, text)
	if err != nil {
		return 0, err
	}
	return bounded(kind, un.SI(value), text)
}

// bounded refuses values that can't be.
func bounded(kind Kind, si float64, text string) (float64, *Error) {
	switch {
	case math.IsInf(si, 0) || math.IsNaN(si):
		return 0, fail(kind, text, text, "the number is too large")
	case facts[kind].bounded && si < facts[kind].atLeast && kind == KindTemperature:
		return 0, fail(kind, text, text, "it is below absolute zero")
	case facts[kind].bounded && si < facts[kind].atLeast:
		return 0, fail(kind, text, text, "%s can't be negative", facts[kind].name)
	}
	return si, nil
}

// feetAndInches reads what follows the first number of a length such as 5 ft 6 1/2 in. feet is the length of one foot,
// inches the second part [m].
func feetAndInches(symbol string) (feet, inches float64, ok bool) {
	at := strings.IndexFunc(symbol, func(r rune) bool {
		_, glyph := fractionGlyphs[r]
		return glyph || (r >= '0' && r <= '9')
	})
	if at <= 0 {
		return 0, 0, false
	}
	first, err := lookup(KindLength, strings.TrimSpace(symbol[:at]), symbol)
	if err != nil || first.Factor != Foot {
		return 0, 0, false
	}
	value, rest, why := number(symbol[at:])
	if why != "" || value < 0 || value >= 12 {
		return 0, 0, false
	}
	second, err := lookup(KindLength, rest, symbol)
	if err != nil || second.Factor != Inch {
		return 0, 0, false
	}
	return Foot, value * Inch, true
}

// parseAs is Parse with the quantity's own type.
func parseAs[Q ~float64](kind Kind, text string) (Q, error) {
	si, err := Parse(kind, text)
	return Q(si), err
}

// ParsePressure reads a gauge pressure or a pressure difference: "2.0 in.w.g.", "60 psi", "-870 Pa".
func ParsePressure(text string) (Pressure, error) { return parseAs[Pressure](KindPressure, text) }

// ParseAbsPressure reads an absolute pressure: "14.7 psia", "1013 hPa", "29.92 inHg".
func ParseAbsPressure(text string) (AbsPressure, error) {
	return parseAs[AbsPressure](KindAbsPressure, text)
}

// ParseFlow reads an actual volume flow: "4200 cfm", "7100 m3/h".
func ParseFlow(text string) (Flow, error) { return parseAs[Flow](KindFlow, text) }

// ParseStdFlow reads a flow at standard conditions: "20 scfm", "34 Nm3/h", "560 L/min ANR". Normal cubic metres and ANR
// have a reference of their own and are brought by mass onto ScfDensity: they are taken for compressed air.
func ParseStdFlow(text string) (StdFlow, error) { return parseAs[StdFlow](KindStdFlow, text) }

// ParseMassFlow reads a mass flow: "5 lb/h", "2 kg/h".
func ParseMassFlow(text string) (MassFlow, error) { return parseAs[MassFlow](KindMassFlow, text) }

// ParseDensity reads a density: "0.075 lb/ft3", "1.2 kg/m3".
func ParseDensity(text string) (Density, error) { return parseAs[Density](KindDensity, text) }

// ParseVelocity reads a velocity: "3500 ft/min", "18 m/s".
func ParseVelocity(text string) (Velocity, error) { return parseAs[Velocity](KindVelocity, text) }

// ParseLength reads a length: "3 1/2 in", "180 m", "5 ft 6 in".
func ParseLength(text string) (Length, error) { return parseAs[Length](KindLength, text) }

// ParseArea reads an area: "215 ft2", "20 m2".
func ParseArea(text string) (Area, error) { return parseAs[Area](KindArea, text) }

// ParseVolume reads a volume: "55 gal", "20 L".
func ParseVolume(text string) (Volume, error) { return parseAs[Volume](KindVolume, text) }

// ParseTemperature reads a temperature: "68 degF", "20 °C", "293 K".
func ParseTemperature(text string) (Temperature, error) {
	return parseAs[Temperature](KindTemperature, text)
}

// ParsePower reads a power: "15 hp", "11 kW".
func ParsePower(text string) (Power, error) { return parseAs[Power](KindPower, text) }

// ParseCurrent reads a current: "18.5 A".
func ParseCurrent(text string) (Current, error) { return parseAs[Current](KindCurrent, text) }

// ParseVoltage reads a voltage: "460 V".
func ParseVoltage(text string) (Voltage, error) { return parseAs[Voltage](KindVoltage, text) }

// ParseMass reads a mass: "120 lb", "55 kg".
func ParseMass(text string) (Mass, error) { return parseAs[Mass](KindMass, text) }

// ParseConcentration reads dust per volume of air: "0.30 gr/ft3", "0.7 g/m3".
func ParseConcentration(text string) (Concentration, error) {
	return parseAs[Concentration](KindConcentration, text)
}

// ParseDrag reads a filter resistance: "0.5 in.w.g./(ft/min)", "25000 Pa.s/m".
func ParseDrag(text string) (Drag, error) { return parseAs[Drag](KindDrag, text) }

// ParseSeconds reads a length of time: "150 ms", "10 s", "14 days".
func ParseSeconds(text string) (Seconds, error) { return parseAs[Seconds](KindSeconds, text) }

// ParseShare reads a share in percent: "54 %" is 0.54.
func ParseShare(text string) (Share, error) { return parseAs[Share](KindShare, text) }

// ParseSpeed reads a speed of rotation: "3550 rpm".
func ParseSpeed(text string) (Speed, error) { return parseAs[Speed](KindSpeed, text) }

// ParseViscosity reads a dynamic viscosity: "0.018 cP".
func ParseViscosity(text string) (Viscosity, error) {
	return parseAs[Viscosity](KindViscosity, text)
}

// ParseConductance reads a valve's flow as sonic conductance or as Cv or Kv, see ConductanceOfKv for what that assumes:
// "70 dm3/(s.bar)", "18 Cv".
func ParseConductance(text string) (Conductance, error) {
	return parseAs[Conductance](KindConductance, text)
}

// ParseEnergy reads an energy: "12 kWh".
func ParseEnergy(text string) (Energy, error) { return parseAs[Energy](KindEnergy, text) }
