package collector

import (
	"encoding/json"
	"testing"

	"dustwright/unit"
)

func TestATextIsSaidInEitherSystem(t *testing.T) {
	for name, x := range map[string]struct {
		text   Text
		us, si string
	}{
		"quantity":       {Say("the dP stands at %s, %d times", unit.Pressure(1000), 3), "the dP stands at 4.0 in. w.g., 3 times", "the dP stands at 1000 Pa, 3 times"},
		"text in a text": {Say("%s, %s", Say("at %s", unit.Pressure(1000)), "as before"), "at 4.0 in. w.g., as before", "at 1000 Pa, as before"},
		"marked":         {Marked("below {25 psi|170 kPa}, 50 % of {5 psi|35 kPa}, {x} and {this"), "below 25 psi, 50 % of 5 psi, {x} and {this", "below 170 kPa, 50 % of 35 kPa, {x} and {this"},
		"plain":          {Plain("50 % of {25 psi|170 kPa}"), "50 % of {25 psi|170 kPa}", "50 % of {25 psi|170 kPa}"},
		"spoken":         {Spoken(func(sys unit.System) string { return unit.Pressure(1000).In(sys) }), "4.0 in. w.g.", "1000 Pa"},
		"nothing":        {Text{}, "", ""},
	} {
		if us, si := x.text.In(unit.US), x.text.In(unit.SI); us != x.us || si != x.si || x.text.IsZero() != (x.us == "") {
			t.Errorf("%s: %q and %q, zero %v", name, us, si, x.text.IsZero())
		}
		if fixed := x.text.Fixed(unit.SI); fixed.In(unit.US) != x.si || fixed.In(unit.SI) != x.si {
			t.Errorf("%s, fixed: %q", name, fixed.In(unit.US))
		}
		for kept, text := range map[bool]Text{false: x.text, true: x.text.Kept()} {
			data, err := json.Marshal(text)
			if err != nil {
				t.Fatal(err)
			}
			var back Text
			if err := json.Unmarshal(data, &back); err != nil {
				t.Fatalf("%s: %s: %v", name, data, err)
			}
			want := x.us // a text in JSON is in US units, for whoever reads it
			if kept {
				want = x.si
			}
			if back.In(unit.US) != x.us || back.In(unit.SI) != want || data[0] == '{' != (kept && x.us != x.si) {
				t.Errorf("%s, kept %v: %s reads back as %q and %q", name, kept, data, back.In(unit.US), back.In(unit.SI))
			}
		}
	}
	var bad Text
	if json.Unmarshal([]byte(`7`), &bad) == nil {
		t.Error("a number was read as a text")
	}
}
