package trace

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
)

// FuzzRead: no input makes the reader panic or keep more rows than it was given; what it accepts is in
// order, its complaints have a place, and the analysis bears it.
func FuzzRead(f *testing.F) {
	for _, seed := range []string{
		"time_s,header[psi],pulse\n0,60,\n0.05,30,3\n0.1,,\n",
		"\ufefftime_s;header[bar];pulse\r\n0,1;4,1;1 2\r\n0,15;3,9;\r\n",
		"time,header[kPa]\n2026-03-02T07:00:00Z,400\n2026-03-02T07:00:00.05+02:00,390\n",
		"# remark\nt\theader[psi]\n0\t60\n-1\t61\n",
		"time_s,header[psi]\n1e308,60\n-1e308,1e308\n",
		"\x1f\x8b\x08\x00", "\x89PNG\r\n\x1a\n", "time_s,header\n", "",
	} {
		f.Add([]byte(seed))
	}
	f.Add([]byte(sawTooth()))
	f.Fuzz(func(t *testing.T, data []byte) {
		tr, err := Read(strings.NewReader(string(data)), "f.csv")
		if err != nil {
			var e *Error
			if !errors.As(err, &e) || !strings.HasPrefix(err.Error(), "f.csv") {
				t.Fatalf("a complaint without a place: %v", err)
			}
			return
		}
		if len(tr.Time) != len(tr.Header) {
			t.Fatalf("%d times, %d pressures", len(tr.Time), len(tr.Header))
		}
		for i := 1; i < len(tr.Time); i++ {
			if !(tr.Time[i] > tr.Time[i-1]) {
				t.Fatalf("rows %d and %d: %g, %g", i-1, i, tr.Time[i-1], tr.Time[i])
			}
		}
		for _, m := range tr.Marks {
			if m.Row < 0 || m.Row >= len(tr.Time) || m.Valve < 1 {
				t.Fatalf("mark %+v among %d rows", m, len(tr.Time))
			}
		}
		if r, err := Analyse(tr, Spec{Valves: 4, Interval: 10}); err == nil {
			for _, v := range r.Valves {
				if math.IsNaN(v.Probability) || v.Probability < 0 || v.Probability > 1+1e-9 {
					t.Fatalf("valve %+v", v)
				}
			}
		}
	})
}

// sawTooth is a trace coarse enough to be a seed that reaches the analysis: one valve of four is dead.
func sawTooth() string {
	var b strings.Builder
	b.WriteString("time_s,header[psi]\n")
	for i := range 560 {
		since := (i + 60) % 100
		p := 60.0
		if turn := (i + 60) / 100; turn%4 != 2 && turn > 0 {
			p -= 25 * math.Exp(-float64(since)/10)
		}
		fmt.Fprintf(&b, "%.1f,%.1f\n", float64(i)/10, p)
	}
	return b.String()
}
