package unit

import (
	"math"
	"testing"
)

func TestPrint(t *testing.T) {
	cases := []struct {
		kind    Kind
		si      float64
		us, si2 string
	}{
		{KindPressure, 2 * InchWater, "2.0 in. w.g.", "498 Pa"},
		{KindPressure, 0.71 * InchWater, "0.71 in. w.g.", "177 Pa"},
		{KindPressure, 0.056 * InchWater, "0.056 in. w.g.", "14 Pa"},
		{KindPressure, 60 * Psi, "60.0 psi", "414 kPa"},
		{KindPressure, -3.5 * InchWater, "-3.5 in. w.g.", "-872 Pa"},
		{KindPressure, 0, "0.0 in. w.g.", "0 Pa"},
		{KindPressure, -1e-9, "0.000 in. w.g.", "0.0 Pa"},
		{KindPressure, math.NaN(), "unknown", "unknown"},
		{KindPressure, math.Inf(1), "without limit", "without limit"},
		{KindPressure, math.Inf(-1), "without lower limit", "without lower limit"},
		{KindFlow, 1.974, "4183 cfm", "7106 m³/h"},
		{KindShare, 0.54, "54 %", "54 %"},
		{KindShare, 0.0213, "2.1 %", "2.1 %"},
		{KindTemperature, 293.15, "68 °F", "20.0 °C"},
		{KindTemperature, 0.0316, "0.032 K", "0.032 K"},
		{KindSeconds, 14 * day, "14.0 days", "14.0 days"},
		{KindSeconds, 0.15, "150 ms", "150 ms"},
		{KindLength, 32 * Foot, "32.0 ft", "9.75 m"},
		{KindNumber, 12.345678, "12.35", "12.35"},
		{KindNumber, 0, "0", "0"},
		{Kind(99), 3, "3.000", "3.000"},
	}
	for _, c := range cases {
		if got := Print(c.kind, c.si, US); got != c.us {
			t.Errorf("%v %g in US units: %q, want %q", c.kind, c.si, got, c.us)
		}
		if got := Print(c.kind, c.si, SI); got != c.si2 {
			t.Errorf("%v %g in SI units: %q, want %q", c.kind, c.si, got, c.si2)
		}
	}
}

func BenchmarkParse(b *testing.B) {
	for b.Loop() {
		if _, err := Parse(KindPressure, "2.0 in.w.g."); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPrint(b *testing.B) {
	for b.Loop() {
		Print(KindPressure, 498, US)
	}
}

func TestLargeVolumesAreWrittenOut(t *testing.T) {
	for v, want := range map[float64]string{0.816: "0.816", 31.5: "31.5", 999.4: "999", 999.6: "1,000", 1264: "1,260", 40000: "40,000", 1.13e6: "1,130,000"} {
		if got := PrintStdVolume(Volume(v*CubicFoot), US); got != want+" scf" {
			t.Errorf("%g is %q, want %q", v, got, want)
		}
	}
}

// TestFinely: hundredths where a gauge shows tenths, and nothing else.
func TestFinely(t *testing.T) {
	for _, c := range []struct {
		p      Pressure
		us, si string
	}{
		{-1.35 * InchWater, "-1.35 in. w.g.", "-336 Pa"},
		{0.7 * InchWater, "0.70 in. w.g.", "174 Pa"},
		{-0.0001 * InchWater, "0.000 in. w.g.", "0.0 Pa"},
		{Pressure(math.NaN()), "unknown", "unknown"},
		{60 * Psi, "60.0 psi", "414 kPa"},
	} {
		if us, si := c.p.Finely(US), c.p.Finely(SI); us != c.us || si != c.si {
			t.Errorf("%g Pa: %q and %q, want %q and %q", float64(c.p), us, si, c.us, c.si)
		}
	}
}
