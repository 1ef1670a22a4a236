package unittest

import "testing"

func TestForeignUnitsAreFound(t *testing.T) {
	us := []string{"it stands at 3.5 in. w.g., normally", "blow it out below 25 psi", "4200 cfm through 215 ft²", "at 70 °F", "15 hp", "55 lb/ft3", "a duct of 12 in", "12 in (", "Below 12 in the", "0.30 gr/ft3", "20 scfm"}
	si := []string{"it stands at 870 Pa", "410 kPa", "7100 m³/h", "0.02 m/s", "21 °C", "300 mm", "1.2 kg/m³", "0.69 g/m³", "20 L"}
	neither := []string{"once in 10 days", "80 in 100 between low and high", "the 3rd in a row", "12 kW", "in. and out", "a row of 6", "5 % of design", "18.5 A", "2 h", "every 10 s"}
	for _, text := range us {
		if len(Foreign("si", text)) == 0 || len(Foreign("us", text)) > 0 {
			t.Errorf("%q speaks US units", text)
		}
	}
	for _, text := range si {
		if len(Foreign("us", text)) == 0 || len(Foreign("si", text)) > 0 {
			t.Errorf("%q speaks SI", text)
		}
	}
	for _, text := range neither {
		if got := append(Foreign("us", text), Foreign("si", text)...); len(got) > 0 {
			t.Errorf("%q speaks neither: %q", text, got)
		}
	}
}
