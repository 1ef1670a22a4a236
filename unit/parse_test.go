package unit

import (
	"math"
	"strings"
	"testing"
)

const (
	cfm   = CubicFoot / 60
	fpm   = Foot / 60
	exact = 1e-12 // relative: conversion factors are definitions
)

// Accepted spellings. The SI values are written with the definitions of the units, not with the table's factors.
func TestParse(t *testing.T) {
	const inwg = 249.08891 // UCUM [in_i'H2O]
	cases := []struct {
		kind Kind
		text string
		want float64
	}{
		{KindPressure, "2.0 in.w.g.", 2 * inwg},
		{KindPressure, "2.0 in. w.g.", 2 * inwg},
		{KindPressure, "2.0in w.c.", 2 * inwg},
		{KindPressure, "2 inH2O", 2 * inwg},
		{KindPressure, "2 in H₂O", 2 * inwg},
		{KindPressure, "2 \"wg", 2 * inwg},
		{KindPressure, "2″ W.G.", 2 * inwg},
		{KindPressure, "2 ''WC", 2 * inwg},
		{KindPressure, "2 iwg", 2 * inwg},
		{KindPressure, "2 IN. WC", 2 * inwg},
		{KindPressure, "2 inches water", 2 * inwg},
		{KindPressure, "2 inches of water", 2 * inwg},
		{KindPressure, "2 [in_i'H2O]", 2 * inwg},
		{KindPressure, "-3.5 in.w.g.", -3.5 * inwg},
		{KindPressure, "−3.5 in.w.g.", -3.5 * inwg},
		{KindPressure, "1/2 in.w.g.", 0.5 * inwg},
		{KindPressure, "60 psi", 60 * 6894.757293168361},
		{KindPressure, "60 psig", 60 * 6894.757293168361},
		{KindPressure, "60 [psi]", 60 * 6894.757293168361},
		{KindPressure, "4.1 bar(g)", 4.1e5},
		{KindPressure, "500 Pa", 500},
		{KindPressure, "0.5kPa", 500},
		{KindPressure, "0.6 MPa", 6e5},
		{KindPressure, "600 mPa", 0.6},
		{KindPressure, "50 mmH2O", 50 * 9.80665},
		{KindAbsPressure, "14.7 psia", 14.7 * 6894.757293168361},
		{KindAbsPressure, "29.92 inHg", 29.92 * 3386.3788},
		{KindAbsPressure, "29.92 [in_i'Hg]", 29.92 * 3386.3788},
		{KindAbsPressure, "1013.25 hPa", 101325},
		{KindAbsPressure, "1013.25 mbar", 101325},
		{KindAbsPressure, "101.325 kPa abs", 101325},
		{KindAbsPressure, "1 bar(a)", 1e5},
		{KindFlow, "4200 cfm", 4200 * cfm},
		{KindFlow, "4200 ACFM", 4200 * cfm},
		{KindFlow, "1,234.5 cfm", 1234.5 * cfm},
		{KindFlow, "1,234,567 cfm", 1234567 * cfm},
		{KindFlow, "4.2e3 cfm", 4200 * cfm},
		{KindFlow, "4200 ft³/min", 4200 * cfm},
		{KindFlow, "4200 [cft_i]/min", 4200 * cfm},
		{KindFlow, "2 m3/s", 2},
		{KindFlow, "2 m³/s", 2},
		{KindFlow, "7200 m3/h", 2},
		{KindFlow, "7200 m³·h⁻¹", 2},
		{KindFlow, "2000 L/s", 2},
		{KindStdFlow, "20 scfm", 20 * cfm},
		{KindStdFlow, "1200 SCFH", 20 * cfm},
		{KindStdFlow, "600 L/min ANR", 0.01 * 1.185 / 1.18806},
		{KindStdFlow, "36 Nm3/h", 0.01 * 1.29228 / 1.18806},
		{KindStdFlow, "10 L/s std", 0.01},
		{KindDensity, "55 lb/ft3", 55 * 16.018463373960138},
		{KindDensity, "0.075 lb/ft³", 0.075 * 16.018463373960138},
		{KindConcentration, "0.30 gr/ft3", 0.30 * 2.2883519105657343e-3},
		{KindConcentration, "10 mg/m3", 1e-5},
		{KindConcentration, "10 µg/m³", 1e-8},
		{KindVelocity, "3500 ft/min", 3500 * fpm},
		{KindVelocity, "3500 fpm", 3500 * fpm},
		{KindVelocity, "5 cfm/ft2", 5 * fpm},
		{KindVelocity, "18 m/s", 18},
		{KindLength, "3 1/2 in", 3.5 * 0.0254},
		{KindLength, "3-1/2 in", 3.5 * 0.0254},
		{KindLength, "3½\"", 3.5 * 0.0254},
		{KindLength, "½ in", 0.5 * 0.0254},
		{KindLength, "1/4 in", 0.25 * 0.0254},
		{KindLength, ".25 in.", 0.25 * 0.0254},
		{KindLength, "-3 1/2 in", -3.5 * 0.0254},
		{KindLength, "5 ft 6 1/2 in", 66.5 * 0.0254},
		{KindLength, "5' 6\"", 66 * 0.0254},
		{KindLength, "32 ft", 32 * 0.3048},
		{KindLength, "180 m", 180},
		{KindArea, "215 ft2", 215 * 0.3048 * 0.3048},
		{KindArea, "215 sq. ft.", 215 * 0.3048 * 0.3048},
		{KindArea, "215 [sft_i]", 215 * 0.3048 * 0.3048},
		{KindVolume, "55 gal", 55 * 3.785411784e-3},
		{KindVolume, "20 L", 0.020},
		{KindVolume, "20 l", 0.020},
		{KindTemperature, "68 degF", 293.15},
		{KindTemperature, "68 °F", 293.15},
		{KindTemperature, "68 [degF]", 293.15},
		{KindTemperature, "20 Cel", 293.15},
		{KindTemperature, "20 ℃", 293.15},
		{KindTemperature, "-40 F", 233.15},
		{KindTemperature, "293.15 K", 293.15},
		{KindPower, "15 hp", 15 * 745.6998715822702},
		{KindPower, "15 [HP]", 15 * 745.6998715822702},
		{KindPower, "11 kW", 11000},
		{KindCurrent, "18.5 A", 18.5},
		{KindVoltage, "460 V", 460},
		{KindVoltage, "460 VAC", 460},
		{KindMass, "120 lb", 120 * 0.45359237},
		{KindMass, "7000 gr", 0.45359237},
		{KindDrag, "0.5 in.w.g./(ft/min)", 0.5 * inwg / fpm},
		{KindDrag, "40100 Pa·s/m", 40100},
		{KindSeconds, "150 ms", 0.150},
		{KindSeconds, "10 s", 10},
		{KindSeconds, "14 days", 14 * 86400},
		{KindShare, "54 %", 0.54},
		{KindShare, "54%", 0.54},
		{KindSpeed, "3550 rpm", 3550.0 / 60},
		{KindSpeed, "3550 /min", 3550.0 / 60},
		{KindSpeed, "3550 1/min", 3550.0 / 60},
		{KindConductance, "18 Cv", 18 * 3.89588e-8 * (1 + 1e-7)},
		{KindConductance, "70 dm3/(s.bar)", 70e-8},
		{KindConductance, "70 dm³/(s·bar)", 70e-8},
		{KindEnergy, "12 kWh", 43.2e6},
		{KindViscosity, "0.018 cP", 1.8e-5},
		{KindMassFlow, "36 kg/h", 0.01},
		{KindNumber, "12.5", 12.5},
		{KindNumber, "0", 0},
	}
	for _, c := range cases {
		tol := exact
		if c.kind == KindConductance {
			tol = 1e-6 // digits of the published 3.89588
		}
		got, err := Parse(c.kind, c.text)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
		} else if math.Abs(got-c.want) > tol*math.Abs(c.want) {
			t.Errorf("%q: %.15g, want %.15g", c.text, got, c.want)
		}
	}
}

// What is refused, and that the sentence says why and what would be right.
func TestParseRefuses(t *testing.T) {
	cases := []struct {
		kind Kind
		text string
		says []string
	}{
		{KindFlow, "", []string{"nothing is written", "an airflow is due", "4200 cfm"}},
		{KindFlow, " \t\u00a0", []string{"nothing is written"}},
		{KindFlow, "4200", []string{"an airflow needs its unit", "4200 cfm", "7100 m3/h"}},
		{KindPressure, "2", []string{"a pressure needs its unit", "2.0 in.w.g."}},
		{KindShare, "0.54", []string{"a share needs its unit", "54 %"}},
		{KindFlow, "cfm", []string{"no number at its start"}},
		{KindFlow, "4200 cmf", []string{"\"cmf\" is no known unit of airflow", "nearest known spelling is \"cfm\""}},
		{KindPressure, "2 inH20", []string{"nearest known spelling is \"inH2O\""}},
		{KindFlow, "60 psi", []string{"\"psi\" is a unit of pressure", "an airflow is due"}},
		{KindFlow, "20 scfm", []string{"standard conditions", "actual"}},
		{KindFlow, "34 Nm3/h", []string{"standard conditions", "actual"}},
		{KindFlow, "100 slpm", []string{"does not say at which temperature"}},
		{KindStdFlow, "20 cfm", []string{"an actual flow", "standard conditions is due", "20 scfm"}},
		{KindStdFlow, "34 m3/h", []string{"an actual flow"}},
		{KindPressure, "14.7 psia", []string{"absolute pressure", "gauge pressure or a difference is due"}},
		{KindPressure, "1 atm", []string{"absolute pressure"}},
		{KindAbsPressure, "60 psig", []string{"does not say absolute", "14.7 psia"}},
		{KindAbsPressure, "60 psi", []string{"does not say absolute"}},
		{KindAbsPressure, "6 bar", []string{"does not say absolute"}},
		{KindAbsPressure, "2 in.w.g.", []string{"does not say absolute"}},
		{KindAbsPressure, "-5 psia", []string{"can't be negative"}},
		{KindFlow, "-5 cfm", []string{"an airflow can't be negative"}},
		{KindTemperature, "-500 degF", []string{"below absolute zero"}},
		{KindPressure, "3 mpa", []string{"capitals matter", "mPa or MPa"}},
		{KindFlow, "1,234 cfm", []string{"the comma can mean 1234 or 1.234"}},
		{KindFlow, "0,5 m3/s", []string{"the decimal sign is a point here: 0.5"}},
		{KindFlow, "12,34,567 cfm", []string{"commas don't part thousands"}},
		{KindFlow, "1,234,56.7 cfm", []string{"commas don't part thousands"}},
		{KindFlow, "1.5,000 cfm", []string{"comma stands behind the decimal point"}},
		{KindFlow, "0,123.4 cfm", []string{"commas don't part thousands"}},
		{KindFlow, "NaN cfm", []string{"no number at its start"}},
		{KindFlow, "Inf cfm", []string{"no number at its start"}},
		{KindFlow, "1e999 cfm", []string{"too large"}},
		{KindPressure, "1e308 psi", []string{"too large"}},
		{KindFlow, "1e-999 cfm", []string{"too small"}},
		{KindFlow, "0x10 cfm", []string{"no known unit"}},
		{KindFlow, "--5 cfm", []string{"no number at its start"}},
		{KindFlow, "5 6 cfm", []string{"two numbers"}},
		{KindLength, "3 7/2 in", []string{"two numbers"}},
		{KindLength, "5-10 in", []string{"two numbers"}},
		{KindLength, "1/0 in", []string{"fraction \"1/0\" can't be read"}},
		{KindLength, "5 ft 14 in", []string{"no known unit"}},
		{KindFlow, "1.2.3 cfm", []string{"no known unit"}},
		{KindMass, "3 tons", []string{"short ton", "\"t\""}},
		{KindConcentration, "10 mg/Nm3", []string{"standard conditions"}},
		{KindNumber, "5 cfm", []string{"only a number is due"}},
		{KindFlow, strings.Repeat("9", 5000), []string{"5000 bytes long"}},
		{Kind(-1), "5 cfm", []string{"not said what this measures"}},
		{Kind(99), "5 cfm", []string{"not said what this measures"}},
	}
	for _, c := range cases {
		got, err := Parse(c.kind, c.text)
		if err == nil {
			t.Errorf("%q as %v: accepted as %g, want an error", c.text, c.kind, got)
			continue
		}
		if !math.IsNaN(got) {
			t.Errorf("%q: value %g beside the error, want NaN", c.text, got)
		}
		for _, s := range c.says {
			if !strings.Contains(err.Error(), s) {
				t.Errorf("%q: message %q does not say %q", c.text, err, s)
			}
		}
		if len(err.Error()) > 400 {
			t.Errorf("%q: message of %d bytes", c.text, len(err.Error()))
		}
	}
}

// Every typed parser reads the kind of its type, and its In prints the same kind.
func TestTypedParsers(t *testing.T) {
	near := func(name string, got float64, err error, want float64, printed, wantPrinted string) {
		t.Helper()
		if err != nil || math.Abs(got-want) > 1e-9*math.Abs(want) {
			t.Errorf("%s: %g, %v, want %g", name, got, err, want)
		}
		if printed != wantPrinted {
			t.Errorf("%s: printed %q, want %q", name, printed, wantPrinted)
		}
	}
	p, err := ParsePressure("2 in.w.g.")
	near("pressure", float64(p), err, 498.17782, p.In(US), "2.0 in. w.g.")
	a, err := ParseAbsPressure("1 atm")
	near("absolute pressure", float64(a), err, 101325, a.In(SI), "101.3 kPa abs")
	f, err := ParseFlow("4200 cfm")
	near("flow", float64(f), err, 4200*cfm, f.In(US), "4200 cfm")
	s, err := ParseStdFlow("20 scfm")
	near("standard flow", float64(s), err, 20*cfm, s.In(US), "20.0 scfm")
	m, err := ParseMassFlow("36 kg/h")
	near("mass flow", float64(m), err, 0.01, m.In(SI), "36.0 kg/h")
	d, err := ParseDensity("0.075 lb/ft3")
	near("density", float64(d), err, StdAirDensity, d.In(US), "0.0750 lb/ft³")
	v, err := ParseVelocity("18 m/s")
	near("velocity", float64(v), err, 18, v.In(SI), "18.0 m/s")
	l, err := ParseLength("10 in")
	near("length", float64(l), err, 0.254, l.In(US), "10.00 in")
	ar, err := ParseArea("215 ft2")
	near("area", float64(ar), err, 215*Foot*Foot, ar.In(US), "215 ft²")
	vo, err := ParseVolume("55 gal")
	near("volume", float64(vo), err, 0.20819764812, vo.In(US), "55.0 gal")
	te, err := ParseTemperature("68 degF")
	near("temperature", float64(te), err, 293.15, te.In(SI), "20.0 °C")
	po, err := ParsePower("15 hp")
	near("power", float64(po), err, 11185.498073734, po.In(US), "15.0 hp")
	c, err := ParseCurrent("18.5 A")
	near("current", float64(c), err, 18.5, c.In(US), "18.5 A")
	vl, err := ParseVoltage("460 V")
	near("voltage", float64(vl), err, 460, vl.In(US), "460 V")
	ma, err := ParseMass("55 kg")
	near("mass", float64(ma), err, 55, ma.In(SI), "55.0 kg")
	co, err := ParseConcentration("0.30 gr/ft3")
	near("concentration", float64(co), err, 6.865055731697e-4, co.In(US), "0.300 gr/ft³")
	dr, err := ParseDrag("40100 Pa.s/m")
	near("drag", float64(dr), err, 40100, dr.In(US), "0.818 in. w.g./(ft/min)")
	se, err := ParseSeconds("150 ms")
	near("time", float64(se), err, 0.15, se.In(US), "150 ms")
	sh, err := ParseShare("54 %")
	near("share", float64(sh), err, 0.54, sh.In(US), "54 %")
	sp, err := ParseSpeed("3550 rpm")
	near("speed", float64(sp), err, 3550.0/60, sp.In(SI), "3550 rpm")
	vi, err := ParseViscosity("18 uPa.s")
	near("viscosity", float64(vi), err, 1.8e-5, vi.In(SI), "18.00 µPa·s")
	cd, err := ParseConductance("70 dm3/(s.bar)")
	near("conductance", float64(cd), err, 7e-7, cd.In(US), "18.0 Cv")
	en, err := ParseEnergy("12 kWh")
	near("energy", float64(en), err, 43.2e6, en.In(SI), "12.0 kWh")
}
