package duct

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"dustwright/unit"
)

// traverseKey is one line "# key: value" of a traverse file.
type traverseKey struct {
	name    string
	aliases []string
	set     func(r *traverseReader, value string) error
	example string
}

// traverseKeys lists every key; the first spelling is the one written.
func traverseKeys() []traverseKey {
	text := func(field func(*Traverse) *string) func(*traverseReader, string) error {
		return func(r *traverseReader, value string) error {
			*field(&r.t) = value
			return nil
		}
	}
	return []traverseKey{
		{"tag", []string{"collector"}, text(func(t *Traverse) *string { return &t.Tag }), "DC-1"},
		{"place", []string{"location", "plane"}, text(func(t *Traverse) *string { return &t.Place }), "main before the collector"},
		{"measured", []string{"date", "time"}, text(func(t *Traverse) *string { return &t.Measured }), "2026-06-11 10:30"},
		{"by", []string{"measured by"}, text(func(t *Traverse) *string { return &t.By }), "second shift"},
		{"duct", []string{"shape"}, (*traverseReader).setShape, "round or rectangular"},
		{"diameter", []string{"inside diameter"}, length(func(t *Traverse) *unit.Length { return &t.Section.Diameter }), "12 in or 300 mm"},
		{"width", []string{"inside width"}, length(func(t *Traverse) *unit.Length { return &t.Section.Width }), "24 in or 600 mm"},
		{"height", []string{"inside height", "depth"}, length(func(t *Traverse) *unit.Length { return &t.Section.Height }), "12 in or 300 mm"},
		{"tolerance", []string{"dimensions within"}, between(func(t *Traverse) *unit.Length { return &t.Tolerance }, unit.ParseLength, 0, 1, "a tolerance lies between 0 and 1 m"), "1/8 in or 3 mm"},
		{"rule", nil, (*traverseReader).setRule, "method1, log-linear or log-tchebycheff"},
		{"upstream", []string{"straight before"}, func(r *traverseReader, v string) error { r.before = v; return r.checkStraight(v) }, "9 ft, 2.7 m or 8 D"},
		{"downstream", []string{"straight after"}, func(r *traverseReader, v string) error { r.after = v; return r.checkStraight(v) }, "3 ft, 1 m or 2 D"},
		{"temperature", []string{"duct temperature"}, quantity(func(t *Traverse) *unit.Temperature { return &t.Air.Temperature }, unit.ParseTemperature), "72 degF or 22 degC"},
		{"barometer", []string{"barometric pressure"}, quantity(func(t *Traverse) *unit.AbsPressure { return &t.Air.Barometer }, unit.ParseAbsPressure), "29.5 inHg or 999 hPa, at the place, not reduced to sea level"},
		{"elevation", []string{"altitude"}, quantity(func(t *Traverse) *unit.Length { return &t.Air.Elevation }, unit.ParseLength), "600 ft or 180 m, if there is no barometer"},
		{"humidity", []string{"relative humidity"}, between(func(t *Traverse) *unit.Share { return &t.Air.Humidity }, unit.ParseShare, 0, 1, "a relative humidity lies between 0 and 100 %"), "40 %"},
		{"wet bulb", []string{"wetbulb"}, quantity(func(t *Traverse) *unit.Temperature { return &t.Air.WetBulb }, unit.ParseTemperature), "60 degF or 15 degC"},
		{"static", []string{"static pressure"}, quantity(func(t *Traverse) *unit.Pressure { return &t.Air.Static }, unit.ParsePressure), "-3.2 in.w.g. or -800 Pa, suction negative"},
		{"density", nil, quantity(func(t *Traverse) *unit.Density { return &t.Air.Density }, unit.ParseDensity), "0.072 lb/ft3 or 1.15 kg/m3"},
		{"probe", []string{"cp", "probe coefficient"}, (*traverseReader).setProbe, "0.99, standard or s-type"},
		{"probe within", nil, (*traverseReader).setProbeWidth, "0.01"},
		{"accuracy", []string{"gauge accuracy"}, (*traverseReader).setAccuracy, "1 % + 0.01 in.w.g."},
		{"resolution", []string{"smallest step"}, func(r *traverseReader, v string) error { r.resolution = v; return nil }, "0.01 in.w.g. or 1 Pa"},
		{"design", []string{"design flow"}, quantity(func(t *Traverse) *unit.Flow { return &t.Design }, unit.ParseFlow), "4200 cfm or 7100 m3/h"},
		{"note", []string{"remark", "notes", "remarks"}, func(r *traverseReader, v string) error { r.t.Remarks = append(r.t.Remarks, v); return nil }, "second fan off"},
	}
}

// quantity sets a field from a number with its unit.
func quantity[T ~float64](field func(*Traverse) *T, parse func(string) (T, error)) func(*traverseReader, string) error {
	return func(r *traverseReader, value string) error {
		v, err := parse(decimalPoint(value, r.comma != ','))
		if err != nil {
			return err
		}
		*field(&r.t) = v
		return nil
	}
}

// between sets a field from a number with its unit that must lie between two SI values; text says so.
func between[T ~float64](field func(*Traverse) *T, parse func(string) (T, error), low, high float64, text string) func(*traverseReader, string) error {
	set := quantity(field, parse)
	return func(r *traverseReader, value string) error {
		if err := set(r, value); err != nil {
			return err
		}
		const slack = 1e-9 // a limit itself, written in another unit, may come out a rounding error beyond
		if v := float64(*field(&r.t)); !(v >= low*(1-slack) && v <= high*(1+slack)) {
			*field(&r.t) = T(math.NaN())
			return fmt.Errorf("%q: %s", value, text)
		}
		return nil
	}
}

// length sets a dimension of the duct.
func length(field func(*Traverse) *unit.Length) func(*traverseReader, string) error {
	return between(field, unit.ParseLength, 0.001, 20, "a duct's dimension lies between 1 mm and 20 m")
}

// keyName brings a key to the form in which keys are compared.
func keyName(text string) string {
	return strings.Join(strings.Fields(strings.NewReplacer("_", " ", "-", " ").Replace(strings.ToLower(text))), " ")
}

// findKey finds a key by any of its spellings; near is the nearest known one where there is none.
func findKey(text string) (key traverseKey, near string, ok bool) {
	name := keyName(text)
	var known, aliases []string
	for _, k := range traverseKeys() {
		for _, spelling := range append([]string{k.name}, k.aliases...) {
			if spelling == name {
				return k, "", true
			}
		}
		known, aliases = append(known, k.name), append(aliases, k.aliases...)
	}
	return traverseKey{}, unit.Nearest(name, append(known, aliases...)), false
}

func (r *traverseReader) setShape(value string) error {
	switch keyName(value) {
	case "round", "circular":
		r.shape = "round"
	case "rectangular", "rect", "rectangle", "square":
		r.shape = "rectangular"
	default:
		return fmt.Errorf("%q is no shape of a duct; write round or rectangular", value)
	}
	return nil
}

func (r *traverseReader) setRule(value string) error {
	rule, err := ParseRule(value)
	if err != nil && keyName(value) == "unknown" {
		return nil
	}
	r.t.Rule = rule
	return err
}

// setProbe takes a coefficient, or the probe's kind.
func (r *traverseReader) setProbe(value string) error {
	switch keyName(value) {
	case "standard", "prandtl", "l type", "standard pitot", "pitot":
		r.t.Instrument.Coefficient = 0.99
		return nil
	case "s type", "s", "stausscheibe":
		r.t.Instrument.Coefficient, r.t.Instrument.CoefficientWidth = 0.84, 0.02
		return nil
	}
	v, err := r.plainNumber(value)
	if err != nil || !(v >= 0.3 && v <= 1.5) {
		return fmt.Errorf("%q is no probe coefficient; write a number such as 0.99, or standard or s-type", value)
	}
	r.t.Instrument.Coefficient = v
	return nil
}

func (r *traverseReader) setProbeWidth(value string) error {
	v, err := r.plainNumber(value)
	if err != nil || !(v >= 0 && v <= 0.5) {
		return fmt.Errorf("%q is no half-width of a probe coefficient; write a number such as 0.01", value)
	}
	r.t.Instrument.CoefficientWidth = v
	return nil
}

func (r *traverseReader) plainNumber(value string) (float64, error) {
	return strconv.ParseFloat(decimalPoint(value, r.comma != ','), 64)
}

// setAccuracy takes "1 %", "0.01 in.w.g. or 1 Pa", or both with a plus between them.
func (r *traverseReader) setAccuracy(value string) error {
	for _, part := range strings.Split(strings.ReplaceAll(value, " and ", "+"), "+") {
		part = decimalPoint(strings.TrimSpace(strings.Trim(part, "± ")), r.comma != ',')
		if share, err := unit.ParseShare(part); err == nil {
			if !(share >= 0 && share <= 0.5+1e-9) {
				return fmt.Errorf("%q: an accuracy lies between 0 and half of the reading", part)
			}
			r.t.Instrument.AccuracyShare = share
			continue
		}
		p, err := unit.ParsePressure(part)
		if err != nil || p < 0 {
			return fmt.Errorf("%q is no accuracy; write a share of the reading, a pressure, or both, as 1 %% + 0.01 in.w.g. together", value)
		}
		r.t.Instrument.AccuracyPressure = p
	}
	return nil
}

// checkStraight tries a straight length before the duct's size is known.
func (r *traverseReader) checkStraight(value string) error {
	_, err := r.straight(value, 1)
	return err
}

// straight reads a length, or a number of diameters d.
func (r *traverseReader) straight(value string, d unit.Length) (unit.Length, error) {
	text := decimalPoint(value, r.comma != ',')
	return ParseStraight(text, d)
}

// ParseStraight reads a length of straight duct [m, 0 or more]: "9 ft", "2.7 m", or in diameters d [m] as "8 D" (NaN where d
// is). The error shows an accepted spelling.
// Source: none, a parser.
func ParseStraight(text string, d unit.Length) (unit.Length, error) {
	low := strings.ToLower(strings.TrimSpace(text))
	for _, word := range []string{"diameters", "diameter", "dia", "d"} {
		number, ok := strings.CutSuffix(low, word)
		if !ok {
			continue
		}
		if n, err := strconv.ParseFloat(strings.TrimSpace(number), 64); err == nil && n >= 0 && n <= 1000 {
			return unit.Length(n) * d, nil
		}
	}
	l, err := unit.ParseLength(text)
	if err != nil {
		return l, fmt.Errorf("%w, or in diameters like \"8 D\"", err)
	}
	if !(l >= 0 && l <= 10000) {
		return unit.Length(math.NaN()), fmt.Errorf("%q: a straight length is not negative and below 10 km", text)
	}
	return l, nil
}
