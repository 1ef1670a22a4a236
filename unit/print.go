package unit

import (
	"fmt"
	"math"
	"strconv"
)

// step is one row of a print scale: from |SI value| = from upwards a value is shown in symbol with so many decimals.
type step struct {
	from     float64
	symbol   string
	decimals int
}

// scale lists a kind's steps with rising from, the first at 0.
type scale []step

// both repeats a scale that US and SI share.
func both(s ...step) [2]scale { return [2]scale{s, s} }

// scales says how each kind is shown: to the digits a good instrument of the trade resolves, no more. It is read-only.
var scales = [numKinds][2]scale{
	KindPressure: {
		{{0, "in. w.g.", 3}, {0.0995 * InchWater, "in. w.g.", 2}, {0.995 * InchWater, "in. w.g.", 1}, {20000, "psi", 1}, {999.95 * Psi, "psi", 0}},
		{{0, "Pa", 1}, {9.95, "Pa", 0}, {20000, "kPa", 1}, {99950, "kPa", 0}},
	},
	KindAbsPressure: {{{0, "psia", 2}, {99.95 * Psi, "psia", 1}}, {{0, "kPa abs", 2}, {9995, "kPa abs", 1}, {999950, "kPa abs", 0}}},
	KindFlow: {
		{{0, "cfm", 2}, {9.95 * CubicFoot / minute, "cfm", 1}, {99.95 * CubicFoot / minute, "cfm", 0}},
		{{0, "m³/h", 2}, {9.95 / hour, "m³/h", 1}, {99.5 / hour, "m³/h", 0}},
	},
	KindStdFlow: {
		{{0, "scfm", 2}, {9.95 * CubicFoot / minute, "scfm", 1}, {99.95 * CubicFoot / minute, "scfm", 0}},
		{{0, "L/s std", 2}, {9.95e-3, "L/s std", 1}, {99.95e-3, "L/s std", 0}},
	},
	KindMassFlow: {
		{{0, "lb/h", 3}, {Pound / hour, "lb/h", 2}, {10 * Pound / hour, "lb/h", 1}, {1000 * Pound / hour, "lb/h", 0}},
		{{0, "kg/h", 3}, {1 / hour, "kg/h", 2}, {10 / hour, "kg/h", 1}, {1000 / hour, "kg/h", 0}},
	},
	KindDensity: {
		{{0, "lb/ft³", 4}, {16, "lb/ft³", 1}},
		{{0, "kg/m³", 3}, {10, "kg/m³", 1}, {100, "kg/m³", 0}},
	},
	KindVelocity: {{{0, "ft/min", 2}, {9.95 * Foot / minute, "ft/min", 0}}, {{0, "m/s", 4}, {0.0995, "m/s", 2}, {0.995, "m/s", 1}}},
	KindLength: {
		{{0, "in", 3}, {0.995 * Inch, "in", 2}, {4 * Foot, "ft", 1}, {99.95 * Foot, "ft", 0}},
		{{0, "mm", 2}, {0.00995, "mm", 1}, {0.0995, "mm", 0}, {0.9995, "m", 2}, {9.995, "m", 1}, {99.95, "m", 0}},
	},
	KindArea: {
		{{0, "in²", 2}, {Foot * Foot / 2, "ft²", 2}, {9.995 * Foot * Foot, "ft²", 1}, {99.95 * Foot * Foot, "ft²", 0}},
		{{0, "cm²", 2}, {0.05, "m²", 3}, {0.9995, "m²", 2}, {9.995, "m²", 1}, {99.95, "m²", 0}},
	},
	KindVolume: {
		{{0, "gal", 2}, {9.995 * gallon, "gal", 1}, {99.95 * gallon, "gal", 0}},
		{{0, "L", 2}, {9.995e-3, "L", 1}, {99.95e-3, "L", 0}, {0.9995, "m³", 2}, {99.95, "m³", 0}},
	},
	KindTemperature: {{{0, "K", 3}, {100, "°F", 0}}, {{0, "K", 3}, {100, "°C", 1}}}, // a rounded -460 °F would be below absolute zero
	KindPower: {
		{{0, "hp", 2}, {9.95 * Horsepower, "hp", 1}, {99.95 * Horsepower, "hp", 0}},
		{{0, "W", 1}, {99.95, "W", 0}, {999.5, "kW", 2}, {9995, "kW", 1}, {99950, "kW", 0}},
	},
	KindCurrent: both(step{0, "A", 2}, step{9.995, "A", 1}, step{99.95, "A", 0}),
	KindVoltage: both(step{0, "V", 2}, step{9.995, "V", 1}, step{99.95, "V", 0}),
	KindMass: {
		{{0, "lb", 3}, {0.995 * Pound, "lb", 2}, {9.995 * Pound, "lb", 1}, {99.95 * Pound, "lb", 0}},
		{{0, "g", 2}, {0.00995, "g", 1}, {0.0995, "g", 0}, {0.9995, "kg", 2}, {9.995, "kg", 1}, {99.95, "kg", 0}},
	},
	KindConcentration: {
		{{0, "gr/ft³", 5}, {0.0995 * Grain / CubicFoot, "gr/ft³", 3}, {0.995 * Grain / CubicFoot, "gr/ft³", 2}},
		{{0, "mg/m³", 3}, {9.95e-6, "mg/m³", 1}, {99.5e-6, "mg/m³", 0}, {0.9995e-3, "g/m³", 2}, {99.95e-3, "g/m³", 0}},
	},
	KindDrag: {{{0, "in. w.g./(ft/min)", 3}, {49033, "in. w.g./(ft/min)", 2}}, {{0, "Pa·s/m", 0}}},
	KindSeconds: both(step{0, "ms", 0}, step{0.9995, "s", 1}, step{99.95, "s", 0}, step{600, "min", 0}, step{2 * hour, "h", 1},
		step{2 * day, "days", 1}, step{99.95 * day, "days", 0}),
	KindShare: both(step{0, "%", 1}, step{0.09995, "%", 0}),
	KindSpeed: both(step{0, "rpm", 1}, step{99.95 / minute, "rpm", 0}),
	KindViscosity: {
		{{0, "cP", 5}, {1e-3, "cP", 2}},
		{{0, "µPa·s", 2}, {1e-3, "mPa·s", 2}},
	},
	KindConductance: {
		{{0, "Cv", 2}, {9.95 * ConductanceOfKv * KvOfCv, "Cv", 1}},
		{{0, "dm³/(s·bar)", 2}, {9.95e-8, "dm³/(s·bar)", 1}},
	},
	KindEnergy: both(step{0, "J", 1}, step{1e3, "kJ", 1}, step{1e5, "kWh", 3}, step{3.6e6, "kWh", 1}, step{3.6e8, "kWh", 0}),
}

// Shown converts an SI value to what a person reads: the number in the unit of symbol, to be printed with so many
// decimals. NaN and infinity come back as they are. KindNumber keeps its value and has no symbol.
func Shown(kind Kind, si float64, sys System) (value float64, symbol string, decimals int) {
	s := stepFor(kind, si, sys)
	if s.symbol == "" {
		return si, "", s.decimals
	}
	un, err := Lookup(kind, s.symbol)
	if err != nil {
		panic("unit: print scale names an unknown unit " + s.symbol)
	}
	return un.From(si), s.symbol, s.decimals
}

// stepFor picks the row of the print scale.
func stepFor(kind Kind, si float64, sys System) step {
	if kind <= KindNumber || kind >= numKinds {
		return step{decimals: significant(si)}
	}
	if sys != SI {
		sys = US
	}
	rows := scales[kind][sys]
	if si == 0 || math.IsNaN(si) || math.IsInf(si, 0) {
		return rows[min(len(rows)-1, zeroRow(rows))]
	}
	row := rows[0]
	for _, r := range rows[1:] {
		if math.Abs(si) < r.from {
			break
		}
		row = r
	}
	return row
}

// zeroRow is the row a plain zero is shown with: the last one of the first unit.
func zeroRow(rows scale) int {
	i := 0
	for i+1 < len(rows) && rows[i+1].symbol == rows[0].symbol {
		i++
	}
	return i
}

// significant returns the decimals that leave a plain number four significant digits.
func significant(v float64) int {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	return min(9, max(0, 3-int(math.Floor(math.Log10(math.Abs(v))))))
}

// Print writes an SI value with its unit as a person of that system reads it: "2.0 in. w.g.", "4200 cfm", "54 %". NaN is
// "unknown". What it writes, Parse reads back within the printed digits.
func Print(kind Kind, si float64, sys System) string {
	value, symbol, decimals := Shown(kind, si, sys)
	switch {
	case math.IsNaN(value):
		return "unknown"
	case math.IsInf(value, 1):
		return "without limit"
	case math.IsInf(value, -1):
		return "without lower limit"
	}
	text := strconv.FormatFloat(value, 'f', decimals, 64)
	if math.Abs(value) >= 1e12 {
		text = strconv.FormatFloat(value, 'e', 6, 64)
	}
	if negativeZero(text) {
		text = text[1:]
	}
	if symbol == "" {
		return text
	}
	return text + " " + symbol
}

// PrintStdVolume writes a volume of compressed air counted at ScfDensity, to three digits: "1.05 scf", "0.0297 m³ std".
// NaN is "unknown".
func PrintStdVolume(v Volume, sys System) string {
	switch {
	case math.IsNaN(float64(v)):
		return "unknown"
	case sys == SI:
		return threeDigits(float64(v)) + " m³ std"
	}
	return threeDigits(float64(v)/CubicFoot) + " scf"
}

// threeDigits writes a number to three digits, without an exponent where it is large.
func threeDigits(v float64) string {
	if math.Abs(v) < 999.5 || math.Abs(v) > 1e12 {
		return fmt.Sprintf("%.3g", v)
	}
	unit := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-2)
	return Grouped(int(math.Round(v/unit) * unit))
}

// Grouped writes a count with commas between its thousands.
func Grouped(n int) string {
	s := strconv.Itoa(n)
	for i := len(s) - 3; i > 0 && s[i-1] != '-'; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

// negativeZero tells "-0.00" and the like.
func negativeZero(text string) bool {
	if text == "" || text[0] != '-' {
		return false
	}
	for _, c := range text[1:] {
		if c != '0' && c != '.' {
			return false
		}
	}
	return true
}

// Finely is the pressure as a manometer is read where a flow is worked out from it: to hundredths of in. w.g., "-1.35 in. w.g.".
// In other units it is In.
func (p Pressure) Finely(sys System) string {
	value, symbol, decimals := Shown(KindPressure, float64(p), sys)
	if symbol != "in. w.g." || math.IsNaN(value) || math.IsInf(value, 0) {
		return p.In(sys)
	}
	text := strconv.FormatFloat(value, 'f', max(2, decimals), 64)
	if negativeZero(text) {
		text = text[1:]
	}
	return text + " " + symbol
}
