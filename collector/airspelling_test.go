package collector

import (
	"math"
	"strings"
	"testing"

	"dustwright/unit"
)

func TestParseFall(t *testing.T) {
	want := Fall{60 * unit.Psi, 45 * unit.Psi, 90}
	for _, text := range []string{"60 psi to 45 psi in 90 s", "60 to 45 psi in 90 s", "from 60 psi to 45 psi within 1.5 min", "60 psi, 45 psi, 90 s", "60psi -> 45psi after 90 s",
		" 60 psi to 45 psi, back in 90 s ", "60 psi to 45 psi back in 90 s", "60 psi TO 45 psi; 90 s", "413685.4 Pa → 310264.1 Pa over 90 s"} {
		got, err := ParseFall(text)
		if err != nil || math.Abs(float64(got.From-want.From)) > 0.1 || math.Abs(float64(got.To-want.To)) > 0.1 || math.Abs(float64(got.Time-want.Time)) > 1e-9 {
			t.Errorf("%q is read as %+v, %v", text, got, err)
		}
	}
	for text, say := range map[string]string{"": "60 psi to 45 psi in 90 s", "60 psi": "two pressures and a time", "60 to 45 in 90 s": "needs its unit", "60 psi to 45 psi in 90": "the time",
		"60 psia to 45 psi in 90 s": "absolute", "NaN psi to 45 psi in 90 s": "first pressure", "60 psi to 45 psi to 30 psi in 9 s": "two pressures and a time"} {
		if got, err := ParseFall(text); err == nil || !strings.Contains(err.Error(), say) || got.known() {
			t.Errorf("%q: %+v, %v, want %q", text, got, err, say)
		}
	}
}

func TestParseLoad(t *testing.T) {
	for _, text := range []string{"loaded 2 min, unloaded 8 min", "unloaded 8 min; loaded 2 min", "2 min on, 8 min off", "120 s, 480 s", "loaded: 2 min and unloaded: 8 min", "On 2 min / off 8 min"} {
		if on, off, err := ParseLoad(text); err != nil || on != 120 || off != 480 {
			t.Errorf("%q is read as %v and %v, %v", text, on, off, err)
		}
	}
	for text, say := range map[string]string{"": "not two times", "2 min": "not two times", "loaded 2 min, loaded 8 min": "twice", "loaded 2 min off, 8 min": "twice", "2, 8 min": "the time", "on two minutes, off 8 min": "the time"} {
		if on, off, err := ParseLoad(text); err == nil || !strings.Contains(err.Error(), say) || !math.IsNaN(float64(on+off)) {
			t.Errorf("%q: %v, %v, %v, want %q", text, on, off, err, say)
		}
	}
}

// Whatever is written is read as numbers or told in a sentence that shows a spelling or names a unit.
func FuzzParseAirTests(f *testing.F) {
	for _, s := range []string{"60 psi to 45 psi in 90 s", "60 to 45 psi, back in 4 s", "4,1 bar → 3,1 bar; 2 min", "loaded 2 min, unloaded 8 min", "2 min on / 8 min off", "1e999 psi to 1 psi in 1 s", "\xff to in", "on on, off off"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		fall, err := ParseFall(text)
		if (err == nil) != fall.known() || err != nil && err.Error() == "" {
			t.Fatalf("%q: %+v, %v", text, fall, err)
		}
		on, off, err := ParseLoad(text)
		if (err == nil) == math.IsNaN(float64(on+off)) || err != nil && err.Error() == "" {
			t.Fatalf("%q: %v %v %v", text, on, off, err)
		}
	})
}
