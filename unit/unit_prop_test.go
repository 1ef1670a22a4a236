package unit

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// What is printed is read back as the same quantity within half of the last printed digit.
func TestPrintedIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := Kind(rapid.IntRange(int(KindPressure), int(numKinds)-1).Draw(t, "kind"))
		sys := System(rapid.IntRange(0, 1).Draw(t, "system"))
		si := math.Pow(10, rapid.Float64Range(-12, 14).Draw(t, "exponent"))
		if !facts[kind].bounded && rapid.Bool().Draw(t, "negative") {
			si = -si
		}
		text := Print(kind, si, sys)
		back, err := Parse(kind, text)
		if err != nil {
			t.Fatalf("%v %g is printed as %q, which is not read: %v", kind, si, text, err)
		}
		value, symbol, decimals := Shown(kind, si, sys)
		un, err := Lookup(kind, symbol)
		if err != nil {
			t.Fatal(err)
		}
		half := 0.5 * math.Pow(10, -float64(decimals)) * un.Factor
		if math.Abs(value) >= 1e12 {
			half = 1e-6 * math.Abs(si)
		}
		if math.Abs(back-si) > half*(1+1e-9)+1e-12*math.Abs(si)+1e-12*un.Offset {
			t.Errorf("%v %.12g is printed as %q and read as %.12g", kind, si, text, back)
		}
	})
}

// A number goes into any unit and back unchanged, and two spellings of one unit agree.
func TestThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := Kind(rapid.IntRange(int(KindPressure), int(numKinds)-1).Draw(t, "kind"))
		e := units[kind][rapid.IntRange(0, len(units[kind])-1).Draw(t, "unit")]
		a := rapid.SampledFrom(e.spellings).Draw(t, "spelling")
		b := rapid.SampledFrom(e.spellings).Draw(t, "other")
		v := rapid.Float64Range(-1e6, 1e6).Draw(t, "value")
		ua, err := Lookup(kind, a)
		if err != nil {
			t.Fatal(err)
		}
		ub, err := Lookup(kind, " "+b+" ")
		if err != nil {
			t.Fatal(err)
		}
		if ua != ub {
			t.Fatalf("%q and %q are different units", a, b)
		}
		if got := ub.From(ua.SI(v)); math.Abs(got-v) > 1e-9*(1+math.Abs(v)+ua.Offset/ua.Factor) {
			t.Errorf("%g %s comes back as %g", v, a, got)
		}
	})
}

// Nearest undoes a single slip in a word that is far from all others.
func TestNearestUndoesOneSlip(t *testing.T) {
	known := []string{"setpoints", "afterfilter", "cleaning", "bulk_density", "inlet_sp"}
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.SampledFrom(known).Draw(t, "word")
		at := rapid.IntRange(0, len(word)-1).Draw(t, "at")
		letter := rapid.StringMatching("[a-z_]").Draw(t, "letter")
		wrong := word[:at] + letter + word[at:]
		if rapid.Bool().Draw(t, "drop") {
			wrong = word[:at] + word[at+1:]
		}
		if got := Nearest(wrong, known); got != word {
			t.Errorf("nearest to %q is %q, want %q", wrong, got, word)
		}
	})
}
