package ear

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"dustwright/sense/ear/eartest"
)

// plain is a clear recording of six valves with one dead, one weak and one stuck.
func plain() ([]float32, int, Spec) {
	sc := eartest.Scene{Seed: 4, Rate: 22050, Voice: 0, Valves: 6, Interval: 5, Nominal: 5, Due: 12, Lead: 2, Tail: 2.5, SNR: 20,
		Faults: []eartest.Fault{0, eartest.Dead, 0, eartest.Weak, 0, eartest.Stuck}, Form: eartest.Returns, Talk: math.Inf(-1)}
	x, _ := sc.Make()
	return x, sc.Rate, Spec{Valves: 6, Interval: 5}
}

func states(r *Result) string {
	var s []string
	for _, v := range r.Valves {
		s = append(s, string(v.State))
	}
	return strings.Join(s, " ")
}

func TestOneDeadOneWeakOneStuck(t *testing.T) {
	x, rate, spec := plain()
	for _, interval := range []float64{5, 5.3, 0} {
		spec.Interval = interval
		r, err := Analyse(x, rate, spec)
		if err != nil {
			t.Fatalf("interval %g: %v", interval, err)
		}
		if got := states(r); got != "ok dead ok weak ok stuck-open" {
			t.Errorf("interval %g: got %s", interval, got)
		}
	}
}

func TestLevelAndSilenceChangeNothing(t *testing.T) {
	x, rate, spec := plain()
	r, err := Analyse(x, rate, spec)
	if err != nil {
		t.Fatal(err)
	}
	quiet := slices.Clone(x)
	for i := range quiet {
		quiet[i] *= 0.25
	}
	longer := append(slices.Clone(x), make([]float32, 3*rate)...)
	for name, y := range map[string][]float32{"quieter": quiet, "silence after": longer, "again": x} {
		got, err := Analyse(y, rate, spec)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if states(got) != states(r) || len(got.Pulses) != len(r.Pulses) {
			t.Errorf("%s: got %s, want %s", name, states(got), states(r))
		}
	}
}

func TestUnusableRecordingsSayWhy(t *testing.T) {
	x, rate, spec := plain()
	noise, _ := eartest.Scene{Seed: 9, Rate: 22050, Valves: 2, Interval: 5, Due: 12, Lead: 2, Tail: 2, SNR: 10,
		Faults: []eartest.Fault{eartest.Dead, eartest.Dead}, Talk: math.Inf(-1)}.Make()
	for _, tc := range []struct {
		name    string
		samples []float32
		rate    int
		says    string
	}{
		{"silence", make([]float32, 40*rate), rate, "silent"},
		{"three seconds", x[:3*rate], rate, "3.0 s long"},
		{"8 kHz", x, 8000, "8000 samples"},
		{"no rate", x, 0, "sampling rate"},
		{"part of a cycle", x[:10*rate], rate, "one whole cycle"},
		{"fan alone", noise, 22050, "good enough"},
		{"a song", eartest.Song(1, 22050, 60), 22050, "good enough"},
		{"another song", eartest.Song(2, 22050, 60), 22050, "good enough"},
	} {
		_, err := Analyse(tc.samples, tc.rate, spec)
		if !errors.Is(err, ErrUnusable) || !strings.Contains(err.Error(), tc.says) {
			t.Errorf("%s: got %v, want a sentence with %q", tc.name, err, tc.says)
		}
	}
}

func BenchmarkAnalyse60s48k(b *testing.B) {
	sc := eartest.Scene{Seed: 4, Rate: 48000, Valves: 6, Interval: 5, Due: 12, Lead: 2, Tail: 3, SNR: 15, Faults: make([]eartest.Fault, 6), Talk: math.Inf(-1)}
	x, _ := sc.Make()
	x = x[:min(len(x), 60*48000)]
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Analyse(x, 48000, Spec{Valves: 6, Interval: 5}); err != nil {
			b.Fatal(err)
		}
	}
}
