package duct

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"dustwright/unit"
)

// Blank returns a traverse with the plan's duct, rule and points, and nothing read: what WriteTraverse makes a sheet to fill in of. Positions are
// rounded to what a person can mark on a probe, 0.05 in or 1 mm.
func (p Plan) Blank(sys unit.System) Traverse {
	t := NewTraverse()
	d := p.Section.Hydraulic()
	t.Section, t.Rule, t.Before, t.After = p.Section, p.Rule, unit.Length(p.Before)*d, unit.Length(p.After)*d
	nan := math.NaN()
	for _, point := range p.Points {
		t.Readings = append(t.Readings, Reading{Line: point.Line, Number: point.Number, Position: Mark(point.FromWall, sys), Counts: point.Counts,
			VP: unit.Pressure(nan), Velocity: unit.Velocity(nan), Swirl: nan})
	}
	return t
}

// Mark rounds a depth to what a person can mark on a probe: 0.05 in or 1 mm.
// Source: common practice, no source. NaN in, NaN out.
func Mark(depth unit.Length, sys unit.System) unit.Length {
	step := unit.Length(0.05 * unit.Inch)
	if sys == unit.SI {
		step = 1e-3
	}
	return unit.Length(math.Round(float64(depth/step))) * step
}

// WriteTraverse writes the traverse as a file that ParseTraverse reads back to the same: lengths and pressures in the units of sys, keys that are not
// known as lines with a hint in brackets, to fill in. Unread and Row are not written.
func WriteTraverse(w io.Writer, t Traverse, sys unit.System) error {
	b := bufio.NewWriter(w)
	u := fileUnits(sys)
	key := func(name, value string) {
		if value == "" {
			k, _, _ := findKey(name)
			value = "(like " + k.example + ")"
		}
		fmt.Fprintf(b, "# %s: %s\n", name, strings.Join(strings.Fields(value), " "))
	}
	key("tag", t.Tag)
	key("place", t.Place)
	key("measured", t.Measured)
	key("by", t.By)
	if t.Section.IsRound() {
		key("duct", "round")
		key("diameter", u.length.of(float64(t.Section.Diameter)))
	} else {
		key("duct", "rectangular")
		key("width", u.length.of(float64(t.Section.Width)))
		key("height", u.length.of(float64(t.Section.Height)))
	}
	key("tolerance", u.length.of(float64(t.Tolerance)))
	key("rule", t.Rule.String())
	key("upstream", u.straight(t.Before, t.Section.Hydraulic()))
	key("downstream", u.straight(t.After, t.Section.Hydraulic()))
	writeMeasurement(key, t, u)
	for _, remark := range t.Remarks {
		key("note", remark)
	}
	writeReadings(b, t.Readings, u)
	return b.Flush()
}

// showsVelocity tells whether the readings are velocities.
func showsVelocity(readings []Reading) bool {
	return slices.ContainsFunc(readings, func(r Reading) bool { return have(r.Velocity) })
}

// writeMeasurement writes the keys about air and instrument.
func writeMeasurement(key func(name, value string), t Traverse, u units) {
	a, i := t.Air, t.Instrument
	key("temperature", u.temperature.of(float64(a.Temperature)))
	key("barometer", u.barometer.of(float64(a.Barometer)))
	key("elevation", u.long.of(float64(a.Elevation)))
	key("humidity", u.share.of(float64(a.Humidity)))
	if have(a.WetBulb) {
		key("wet bulb", u.temperature.of(float64(a.WetBulb)))
	}
	key("static", u.pressure.of(float64(a.Static)))
	if have(a.Density) {
		key("density", u.density.of(float64(a.Density)))
	}
	key("probe", plain(i.Coefficient))
	if have(i.CoefficientWidth) {
		key("probe within", plain(i.CoefficientWidth))
	}
	accuracy := slices.DeleteFunc([]string{u.share.of(float64(i.AccuracyShare)), u.pressure.of(float64(i.AccuracyPressure))}, func(s string) bool { return s == "" })
	key("accuracy", strings.Join(accuracy, " + "))
	step := u.pressure
	if showsVelocity(t.Readings) {
		step = u.velocity
	}
	resolution := step.of(i.Resolution)
	if resolution == "" && slices.ContainsFunc(t.Readings, func(r Reading) bool { return have(float64(r.VP)) || have(float64(r.Velocity)) }) {
		resolution = unknownStep // the digits written here come from a change of units and show nothing
	}
	key("resolution", resolution)
	key("design", u.flow.of(float64(t.Design)))
}

// writeReadings writes the header and the readings.
func writeReadings(b *bufio.Writer, readings []Reading, u units) {
	speeds := showsVelocity(readings)
	swirl := slices.ContainsFunc(readings, func(r Reading) bool { return have(r.Swirl) })
	counts := slices.ContainsFunc(readings, func(r Reading) bool { return r.Counts > 1 })
	kind, un := "vp", u.pressure
	if speeds {
		kind, un = "velocity", u.velocity
	}
	header := []string{"traverse", "point", "position[" + u.length.symbol + "]"}
	if counts {
		header = append(header, "counts")
	}
	header = append(header, kind+"["+un.symbol+"]")
	if swirl {
		header = append(header, "swirl[deg]")
	}
	fmt.Fprintln(b, strings.Join(header, ","))
	for _, r := range readings {
		value := float64(r.VP)
		if speeds {
			value = float64(r.Velocity)
		}
		cells := []string{whole(r.Line), whole(r.Number), u.length.number(float64(r.Position))}
		if counts {
			cells = append(cells, whole(r.Counts))
		}
		reading := un.number(value)
		if reading == "" && r.Line == 0 && r.Number == 0 {
			reading = "-" // else nothing might be left on the line
		}
		cells = append(cells, reading)
		if swirl {
			cells = append(cells, plain(r.Swirl))
		}
		fmt.Fprintln(b, strings.Join(cells, ","))
	}
}

// whole prints an ordinal, nothing for 0.
func whole(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

// plain prints a number with all its digits, nothing for NaN.
func plain(x float64) string {
	if math.IsNaN(x) {
		return ""
	}
	return strconv.FormatFloat(x, 'g', -1, 64)
}

// fileUnit writes SI values in one unit.
type fileUnit struct {
	symbol string
	unit   unit.Unit
}

// of writes a value with its unit, "" for NaN.
func (f fileUnit) of(si float64) string {
	if math.IsNaN(si) {
		return ""
	}
	return f.number(si) + " " + f.symbol
}

// number writes a value without its unit. Twelve digits hide the rounding of the conversion and keep every digit a person wrote.
func (f fileUnit) number(si float64) string {
	if math.IsNaN(si) {
		return ""
	}
	x, err := strconv.ParseFloat(strconv.FormatFloat(f.unit.From(si), 'g', 12, 64), 64)
	if err != nil {
		return ""
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// units are the units a file is written in.
type units struct {
	length, long, pressure, barometer, temperature, velocity, density, flow, share fileUnit
}

// straight writes a straight length in diameters, the measure that counts.
func (u units) straight(l, d unit.Length) string {
	n := float64(l / d)
	if math.IsNaN(n) || n > 999 {
		return u.length.of(float64(l))
	}
	return fileUnit{unit: unit.Unit{Factor: 1}}.number(n) + " D"
}

func fileUnits(sys unit.System) units {
	of := func(kind unit.Kind, us, si string) fileUnit {
		symbol := us
		if sys == unit.SI {
			symbol = si
		}
		un, err := unit.Lookup(kind, symbol)
		if err != nil {
			panic("duct: a unit of the traverse file is unknown: " + symbol)
		}
		return fileUnit{symbol: symbol, unit: un}
	}
	return units{
		length: of(unit.KindLength, "in", "mm"), long: of(unit.KindLength, "ft", "m"), pressure: of(unit.KindPressure, "in.w.g.", "Pa"),
		barometer: of(unit.KindAbsPressure, "inHg", "hPa"), temperature: of(unit.KindTemperature, "degF", "degC"),
		velocity: of(unit.KindVelocity, "fpm", "m/s"), density: of(unit.KindDensity, "lb/ft3", "kg/m3"), flow: of(unit.KindFlow, "cfm", "m3/h"),
		share: of(unit.KindShare, "%", "%"),
	}
}
