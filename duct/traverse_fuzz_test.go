package duct

import (
	"bytes"
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"

	"dustwright/unit"
)

// same tells whether two numbers are equal within the rounding of a unit's conversion; NaN equals NaN.
func same[T ~float64](a, b T) bool {
	x, y := float64(a), float64(b)
	return math.IsNaN(x) && math.IsNaN(y) || math.Abs(x-y) <= 1e-9*math.Max(math.Abs(x), math.Abs(y))+1e-11
}

// sameTraverse compares all that a file carries.
func sameTraverse(a, b Traverse) bool {
	ok := a.Tag == b.Tag && a.Place == b.Place && a.Measured == b.Measured && a.By == b.By && a.Rule == b.Rule && len(a.Readings) == len(b.Readings) &&
		len(a.Remarks) == len(b.Remarks) &&
		same(a.Section.Diameter, b.Section.Diameter) && same(a.Section.Width, b.Section.Width) && same(a.Section.Height, b.Section.Height) &&
		same(a.Tolerance, b.Tolerance) && same(a.Before, b.Before) && same(a.After, b.After) && same(a.Design, b.Design) &&
		same(a.Air.Temperature, b.Air.Temperature) && same(a.Air.Barometer, b.Air.Barometer) && same(a.Air.Elevation, b.Air.Elevation) &&
		same(a.Air.Humidity, b.Air.Humidity) && same(a.Air.WetBulb, b.Air.WetBulb) && same(a.Air.Static, b.Air.Static) && same(a.Air.Density, b.Air.Density) &&
		same(a.Instrument.Coefficient, b.Instrument.Coefficient) && same(a.Instrument.CoefficientWidth, b.Instrument.CoefficientWidth) &&
		same(a.Instrument.Resolution, b.Instrument.Resolution) && same(a.Instrument.AccuracyShare, b.Instrument.AccuracyShare) &&
		same(a.Instrument.AccuracyPressure, b.Instrument.AccuracyPressure)
	for i := range a.Readings {
		if !ok {
			return false
		}
		x, y := a.Readings[i], b.Readings[i]
		ok = x.Line == y.Line && x.Number == y.Number && max(1, x.Counts) == max(1, y.Counts) && same(x.Position, y.Position) &&
			same(x.VP, y.VP) && same(x.Velocity, y.Velocity) && same(x.Swirl, y.Swirl)
	}
	return ok
}

// FuzzParseTraverse: nothing a file can hold makes the reader or the evaluation panic; what is refused says where; what is read can be written and read
// back to the same, in both families of units.
func FuzzParseTraverse(f *testing.F) {
	f.Add([]byte(goodSheet))
	f.Add([]byte("\ufeff# diameter;12,5 in\n# rule: log-linear\ntraverse;point;velocity[fpm];swirl;counts\n1;1;2800,5;5;2\n1;2;;;\n"))
	f.Add([]byte("# width: 24 in\n# height: 1 ft\n# wet bulb: 60 degF\n# density: 0.07 lb/ft3\n# probe: s-type\nposition[mm],vp[Pa]\n10,120\n20,130\n"))
	files, err := filepath.Glob("testdata/faults/*.csv")
	if err != nil {
		f.Fatal(err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		tr, err := ParseTraverse("sheet.csv", data)
		if err != nil {
			var faults TraverseFaults
			if !errors.As(err, &faults) || len(faults) == 0 || faults[0].Text == "" || faults[0].File == "" {
				t.Fatalf("an error without place: %v", err)
			}
			return
		}
		if r, err := tr.Evaluate(dryish()); err == nil {
			if !(r.Flow > 0) || !(r.Relative > 0) || r.Used > r.Readings || math.IsInf(float64(r.Flow), 0) {
				t.Fatalf("flow %v within %v from %d of %d readings", r.Flow, r.Relative, r.Used, r.Readings)
			}
		}
		if tr.Air.Temperature < 1 || tr.Air.WetBulb < 1 { // absolute zero does not survive a change of units
			return
		}
		for _, sys := range []unit.System{unit.US, unit.SI} {
			var b bytes.Buffer
			if err := WriteTraverse(&b, tr, sys); err != nil {
				t.Fatal(err)
			}
			back, err := ParseTraverse("back.csv", b.Bytes())
			if err != nil || !sameTraverse(tr, back) {
				t.Fatalf("%v\n%s\n%+v\n%+v", err, b.String(), tr, back)
			}
		}
	})
}

// FuzzParseStraight: a straight length is refused, or finite and not negative.
func FuzzParseStraight(f *testing.F) {
	for _, s := range []string{"9 ft", "8 D", "2.5 diameters", "1e3d", "-1 m", "d", "", "3 1/2 in"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if l, err := ParseStraight(text, 0.3); err == nil && !(l >= 0 && l <= 10000) {
			t.Fatalf("%q is %v m", text, l)
		}
	})
}

// FuzzParseRule: what is read as a rule is written and read back as the same.
func FuzzParseRule(f *testing.F) {
	for _, s := range []string{"method1", "Log-Tchebycheff", "log linear", "EPA method 1", ""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		rule, err := ParseRule(text)
		if err != nil {
			return
		}
		if back, err := ParseRule(rule.String()); err != nil || back != rule {
			t.Fatalf("%q is %v, and back %v, %v", text, rule, back, err)
		}
	})
}
