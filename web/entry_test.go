package web

import (
	"math"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"dustwright/collector"
	"dustwright/duct"
	"dustwright/plant"
	"dustwright/unit"
)

// A number is read as the person meant it, or the person is asked.
func TestANumberIsReadAsItWasMeant(t *testing.T) {
	const cfm = unit.CubicFoot / 60
	for _, c := range []struct {
		text, symbol string
		kind         unit.Kind
		want         float64 // NaN: refused
	}{
		{"4100", "cfm", unit.KindFlow, 4100 * cfm}, {"4,100", "cfm", unit.KindFlow, 4100 * cfm}, {"4,100 cfm", "m³/h", unit.KindFlow, 4100 * cfm},
		{"4,1", "cfm", unit.KindFlow, 4.1 * cfm}, {"1,200.5", "lb", unit.KindMass, 1200.5 * unit.Pound}, {"1,200", "lb", unit.KindMass, math.NaN()},
		{"2,125", "in. w.g.", unit.KindPressure, math.NaN()}, {"2,12", "in. w.g.", unit.KindPressure, 2.12 * unit.InchWater},
		{"0,062", "in. w.g.", unit.KindPressure, 0.062 * unit.InchWater}, {"-3.5", "in. w.g.", unit.KindPressure, -3.5 * unit.InchWater},
		{"2,5 in.w.g.", "Pa", unit.KindPressure, 2.5 * unit.InchWater}, {"54 %", "%", unit.KindShare, 0.54}, {"abc", "%", unit.KindShare, math.NaN()},
	} {
		got, ok, err := quantity(c.text, c.kind, c.symbol)
		if math.IsNaN(c.want) != (err != nil) || err == nil && (!ok || math.Abs(got-c.want) > 1e-9*math.Abs(c.want)) {
			t.Errorf("%q is read as %g, %v; want %g", c.text, got, err, c.want)
		}
	}
	if _, _, err := quantity("2,125", unit.KindPressure, "in. w.g."); err == nil || !strings.Contains(err.Error(), "write it as 2125 or as 2.125") {
		t.Errorf("what can be read in two ways: %v", err)
	}
}

// A probe coefficient with a decimal comma counts, and one that can't be read is not passed over.
func TestTheProbeCoefficientIsRead(t *testing.T) {
	o := &plant.Overview{Machine: plant.Machine{Tag: "DC-1"}, Collector: collector.New()}
	for text, want := range map[string]float64{"": math.NaN(), "0.84": 0.84, "0,84": 0.84, "about one": -1, "84": -1} {
		r := httptest.NewRequest("POST", "/", strings.NewReader(url.Values{"cp": {text}}.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		tr, err := measured(r, duct.Plan{}, o, unit.US)
		got := tr.Instrument.Coefficient
		if (want < 0) != (err != nil) || err == nil && got != want && !(math.IsNaN(got) && math.IsNaN(want)) {
			t.Errorf("%q is read as %g, %v", text, got, err)
		}
	}
}
