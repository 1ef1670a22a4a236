package unit

import (
	"errors"
	"math"
	"testing"
	"unicode/utf8"
)

func FuzzParse(f *testing.F) {
	for kind := KindNumber; kind < numKinds; kind++ {
		us, si := kind.Examples()
		f.Add(int(kind), us)
		f.Add(int(kind), si)
	}
	for _, s := range []string{"3 1/2 in", "1,234.5 cfm", "5' 6\"", "−3.5 in.w.g.", "½ in", "1e999 psi", "", "\x00", "NaN Pa", "1/0 in",
		"3-1/2 in", "1 1/min", "[in_i'H2O]", "\xff\xfe", "5 ft 6 ft 7 in", "1e-400 Pa", ",5 Pa", "5, Pa"} {
		f.Add(int(KindPressure), s)
		f.Add(int(KindLength), s)
	}
	f.Fuzz(func(t *testing.T, k int, text string) {
		kind := Kind(k)
		si, err := Parse(kind, text)
		if err != nil {
			var ue *Error
			if !errors.As(err, &ue) || ue.Why == "" || len(err.Error()) > 1000 {
				t.Fatalf("%q: error %q", text, err)
			}
			if utf8.ValidString(text) && !utf8.ValidString(err.Error()) {
				t.Fatalf("%q: message is not text: %q", text, err)
			}
			return
		}
		if math.IsNaN(si - si) {
			t.Fatalf("%q is read as %g", text, si)
		}
		for _, sys := range []System{US, SI} {
			printed := Print(kind, si, sys)
			if _, err := Parse(kind, printed); err != nil {
				t.Fatalf("%q is read as %g, printed as %q and not read back: %v", text, si, printed, err)
			}
		}
	})
}

func FuzzLookup(f *testing.F) {
	for kind := range units {
		for _, e := range units[kind] {
			f.Add(kind, e.spellings[0])
		}
	}
	f.Fuzz(func(t *testing.T, k int, symbol string) {
		un, err := Lookup(Kind(k), symbol)
		if err == nil && (un.Kind != Kind(k) || !(un.Factor > 0) || math.IsInf(un.Factor, 0)) {
			t.Fatalf("%q is %+v", symbol, un)
		}
	})
}
