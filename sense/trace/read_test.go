package trace

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func mustRead(t *testing.T, text string) *Trace {
	t.Helper()
	tr, err := Read(strings.NewReader(text), "t.csv")
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

// TestReadSpellings: one trace, as different recorders write it.
func TestReadSpellings(t *testing.T) {
	for name, text := range map[string]string{
		"plain":          "time_s,header[psi],pulse\n0,60,\n0.05,30,3\n0.1,,\n",
		"bom and crlf":   "\ufefftime_s,header[psi],pulse\r\n0,60,\r\n0.05,30,3\r\n0.1,,\r\n",
		"semicolons":     "time_s;header[psi];pulse\n0;60,0;\n0,05;30,0;3\n0,1;;\n",
		"tabs":           "time_s\theader[psi]\tpulse\n0\t60\t\n0,05\t30\t3\n0,1\t\t\n",
		"other columns":  "n,pulse,header[psi],note,time_s\n1,,60,x,0\n2,3,30,,0.05\n3,,,y,0.1\n",
		"remarks":        "# made on a Tuesday\n\ntime_s,header[psi],pulse\n0,60,\n# here\n0.05,30,3\n0.1,nan,\n",
		"quotes":         "\"time_s\",\"header[psi]\",\"pulse\"\n\"0\",\"60\",\n\"0.05\",\"30\",\"3\"\n\"0.1\",\"\",\n",
		"stamps":         "time,header[psi],pulse\n2026-03-02T07:00:00.00Z,60,\n2026-03-02T07:00:00.05Z,30,3\n2026-03-02T07:00:00.10Z,-,\n",
		"held mark":      "time_s,header[psi],pulse\n0,60,0\n0.05,30,3\n0.1,,3\n",
		"no end of line": "time_s,header[psi],pulse\n0,60,\n0.05,30,3\n0.1,,",
		"out of order":   "time_s,header[psi],pulse\n0.05,30,3\n0,60,\n0.1,,\n",
		"doubled rows":   "time_s,header[psi],pulse\n0,61,\n0,59,\n0.05,30,3\n0.1,,\n",
	} {
		t.Run(name, func(t *testing.T) {
			tr := mustRead(t, text)
			if len(tr.Time) != 3 || tr.Time[0] != 0 || math.Abs(tr.Time[1]-0.05) > 1e-9 || math.Abs(tr.Time[2]-0.1) > 1e-9 {
				t.Fatalf("times %v", tr.Time)
			}
			if math.Abs(tr.Header[0]-60*psi) > 1 || math.Abs(tr.Header[1]-30*psi) > 1 || !math.IsNaN(tr.Header[2]) {
				t.Errorf("pressures %v", tr.Header)
			}
			if len(tr.Marks) != 1 || tr.Marks[0] != (Mark{Row: 1, Valve: 3}) {
				t.Errorf("marks %v", tr.Marks)
			}
		})
	}
}

func TestReadUnits(t *testing.T) {
	for unit, factor := range map[string]float64{"psi": psi, "bar": 1e5, "kPa": 1e3, "Pa": 1, "mbar": 100, "psig": psi} {
		tr, err := Read(strings.NewReader("time_s,header["+unit+"]\n0,2\n1,3\n"), "t.csv")
		if err != nil {
			t.Errorf("%s: %v", unit, err)
			continue
		}
		if math.Abs(tr.Header[1]-3*factor) > 1e-6*factor {
			t.Errorf("%s: 3 reads as %g Pa", unit, tr.Header[1])
		}
	}
}

// TestReadComplaints: what is wrong, where, and what would be right.
func TestReadComplaints(t *testing.T) {
	for name, c := range map[string]struct{ text, want string }{
		"nothing":       {"", "t.csv: holds no header line"},
		"no pressure":   {"time_s,dp[Pa]\n0,1\n", "t.csv:1: no column header[psi]"},
		"misspelt":      {"time_s,haeder[psi]\n0,1\n", "t.csv:1:8: no column header[psi]; did you mean it by \"haeder\""},
		"misspelt time": {"tmie_s,header[psi]\n0,1\n", "t.csv:1:1: no column time_s"},
		"two headers":   {"time_s,header[psi],header[bar]\n0,1,1\n", "t.csv:1:20: there are two columns"},
		"no unit":       {"time_s,header\n0,1\n", "t.csv:1:8: \"header\" gives no unit"},
		"odd unit":      {"time_s,header[cfm]\n0,1\n", "t.csv:1:8:"},
		"no rows":       {"time_s,header[psi]\n", "holds no row"},
		"words":         {"time_s,header[psi]\n0,low\n1,high\n", "t.csv:2:3: \"low\": no pressure can be read from it; 2 of 2 rows"},
		"no time":       {"time_s,header[psi]\nnoon,60\n", "t.csv:2:1: \"noon\": no time"},
		"clock back":    {"time_s,header[psi]\n9,60\n10,60\n0,60\n", "t.csv:4:1: the time goes back from 10.00 s to 0.00 s"},
		"binary":        {"time_s,header[psi]\n\x00\n", "t.csv:2: this is no text file"},
		"long line":     {"time_s,header[psi]\n" + strings.Repeat("9", 1<<17), "longer than"},
		"half gzip":     {"\x1f\x8b\x08\x00", "gzip"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Read(strings.NewReader(c.text), "t.csv")
			var e *Error
			if !errors.As(err, &e) || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%v, want %q", err, c.want)
			}
		})
	}
}

// TestReadSomeBadCells: a few cells that say nothing do not cost the trace, and are told.
func TestReadSomeBadCells(t *testing.T) {
	var b strings.Builder
	b.WriteString("time_s,header[psi],pulse\n")
	for i := range 100 {
		fmt.Fprintf(&b, "%g,60,\n", float64(i)*0.05)
	}
	b.WriteString("5,oops,\n5.05,60,first\n")
	tr := mustRead(t, b.String())
	if len(tr.Time) != 102 || len(tr.Notes) != 1 || !strings.Contains(tr.Notes[0], "2 cells could not be read, the first: t.csv:102:3") {
		t.Errorf("%d rows, notes %q", len(tr.Time), tr.Notes)
	}
}

func TestReadGzip(t *testing.T) {
	var z bytes.Buffer
	w := gzip.NewWriter(&z)
	if _, err := w.Write([]byte("time_s,header[psi]\n0,60\n")); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if tr, err := Read(&z, "t.csv.gz"); err != nil || len(tr.Time) != 1 {
		t.Errorf("%v, %v", tr, err)
	}
}

// TestRowStoreHalves: a trace longer than is kept loses resolution, never an end or a mark.
func TestRowStoreHalves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s rowStore
		n := rapid.IntRange(2, 400).Draw(t, "n")
		each := rapid.IntRange(1, 5).Draw(t, "halvings")
		for i := range n {
			s.add(float64(i), float64(2*i))
			if i == n/2 {
				s.mark(7)
			}
			if each > 0 && i%(n/each+1) == n/each {
				s.flush()
				s.halve()
			}
		}
		s.flush()
		time, p, marks := s.settle()
		if len(time) == 0 || len(marks) != 1 || marks[0].Row >= len(time) {
			t.Fatalf("%d rows, marks %v", len(time), marks)
		}
		for i := range time {
			if i > 0 && time[i] <= time[i-1] {
				t.Fatalf("times %v", time)
			}
			if math.Abs(p[i]-2*time[i]) > 1e-9*(1+p[i]) {
				t.Fatalf("at %g: %g", time[i], p[i])
			}
		}
	})
}

// TestReadBack: whatever is written as a trace is read as it was.
func TestReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(t, "n")
		var b strings.Builder
		b.WriteString("time_s,header[kPa],pulse\n")
		at := rapid.Float64Range(-100, 1e6).Draw(t, "start")
		var times, press []float64
		var marks []Mark
		for i := range n {
			at += rapid.Float64Range(1e-3, 2).Draw(t, "step")
			p := rapid.Float64Range(-100, 1000).Draw(t, "p")
			fmt.Fprintf(&b, "%.6f,%.4f,", at, p)
			times, press = append(times, at), append(press, p*1000)
			if i%3 == 1 {
				v := rapid.IntRange(1, 255).Draw(t, "valve")
				fmt.Fprint(&b, v)
				marks = append(marks, Mark{i, v})
			}
			b.WriteByte('\n')
		}
		tr, err := Read(strings.NewReader(b.String()), "t")
		if err != nil {
			t.Fatal(err)
		}
		if len(tr.Time) != n || len(tr.Marks) != len(marks) {
			t.Fatalf("%d rows of %d, %d marks of %d", len(tr.Time), n, len(tr.Marks), len(marks))
		}
		for i := range times {
			if math.Abs(tr.Time[i]-times[i]) > 1e-5 || math.Abs(tr.Header[i]-press[i]) > 0.2 {
				t.Fatalf("row %d: %g %g, want %g %g", i, tr.Time[i], tr.Header[i], times[i], press[i])
			}
		}
		for i := range marks {
			if tr.Marks[i] != marks[i] {
				t.Fatalf("mark %v, want %v", tr.Marks[i], marks[i])
			}
		}
	})
}
