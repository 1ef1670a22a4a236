package main

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dustwright/sense/trace/tracetest"
)

// eight is a collector file for the reference trace, which has eight valves.
func eight(t *testing.T) string {
	t.Helper()
	data, err := os.ReadFile(dc1)
	if err != nil {
		t.Fatal(err)
	}
	text := strings.NewReplacer("rows = 6", "rows = 8", "order = [1, 2, 3, 4, 5, 6]", "order = [1, 2, 3, 4, 5, 6, 7, 8]",
		`on_time = "150 ms"`, `on_time = "100 ms"`, `valve_flow = "18 Cv"`, `valve_flow = "15 Cv"`).Replace(string(data))
	return write(t, "dc8.toml", text)
}

func write(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// referenceCSV writes one supply of the reference traces as a trace file.
func referenceCSV(t *testing.T, supply string) string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "header", "testdata", "header_cycle_trace_50hz.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	col := 0
	for i, name := range rows[0] {
		if name == supply+"_psig" {
			col = i
		}
	}
	var b strings.Builder
	b.WriteString("time_s,header[psi]\n")
	for _, row := range rows[1:] {
		b.WriteString(row[0] + "," + row[col] + "\n")
	}
	return write(t, "trace.csv", b.String())
}

// TestHeaderPage pins the page, its JSON and its drawing on a trace that was computed elsewhere.
func TestHeaderPage(t *testing.T) {
	c := eight(t)
	svg := filepath.Join(t.TempDir(), "cycle.svg")
	for name, args := range map[string][]string{
		"header_us":      {"header", referenceCSV(t, "supply_ok"), c, "--plot", svg},
		"header_si":      {"header", referenceCSV(t, "supply_ok"), c, "--units", "si"},
		"header_starved": {"header", referenceCSV(t, "supply_starved"), c},
		"header_flags":   {"header", referenceCSV(t, "supply_ok"), "--valves", "8", "--interval", "10s"},
		"header_json":    {"header", referenceCSV(t, "supply_ok"), c, "--json"},
	} {
		t.Run(name, func(t *testing.T) {
			out, bad, code := do(t, args...)
			if code != exitDone || bad != "" {
				t.Fatalf("exit %d, stderr %q", code, bad)
			}
			golden(t, name+".golden", out)
		})
	}
	text, err := os.ReadFile(svg)
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "header_svg.golden", string(text))
}

// TestHeaderStates: a generated trace with marks, and the same through gzip and standard input.
func TestHeaderStates(t *testing.T) {
	var c tracetest.Case
	for seed := uint64(1); ; seed++ { // the first small case with a stuck valve and every mark
		c = tracetest.Generate(seed, tracetest.Options{SNR: 25, Family: "tank", Valves: 6})
		tags := strings.Join(c.Tags, " ")
		if strings.Contains(tags, "stuck-holds") && strings.Contains(tags, "marks-commanded") && strings.Contains(tags, "supply-good") {
			break
		}
	}
	path := write(t, "marked.csv", c.CSV())
	flags := []string{"--valves", "6", "--interval", "10s", "--json"}
	out, bad, code := do(t, append([]string{"header", path}, flags...)...)
	if code != exitDone {
		t.Fatalf("exit %d, %s", code, bad)
	}
	var r struct {
		Valves []struct {
			Number int
			State  string
		}
		Relative bool
	}
	if err := json.Unmarshal([]byte(out), &r); err != nil {
		t.Fatal(err)
	}
	if r.Relative {
		t.Error("the trace has marks, the numbers are no guess")
	}
	for i, v := range r.Valves {
		if v.Number != i+1 || v.State != string(c.Truth[i]) {
			t.Errorf("valve %d is %s, want %s", v.Number, v.State, c.Truth[i])
		}
	}
	var z bytes.Buffer
	w := gzip.NewWriter(&z)
	if _, err := w.Write([]byte(c.CSV())); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	var again, complaint bytes.Buffer
	if code := run(context.Background(), append([]string{"header", "-"}, flags...), &z, &again, &complaint); code != exitDone || again.String() != out {
		t.Errorf("through gzip on standard input: exit %d, %s, same %v", code, complaint.String(), again.String() == out)
	}
}

// TestHeaderUnusable: each trace that cannot be answered gets one sentence.
func TestHeaderUnusable(t *testing.T) {
	rows := func(n int, every float64, p func(i int) float64) string {
		var b strings.Builder
		b.WriteString("time_s,header[psi]\n")
		for i := range n {
			b.WriteString(jsonNumber(float64(i)*every) + "," + jsonNumber(p(i)) + "\n")
		}
		return b.String()
	}
	noise := func(i int) float64 { return 60 + float64((i*7919)%101)/100 }
	for name, c := range map[string]struct{ trace, want string }{
		"flat":       {rows(4000, 0.02, func(int) float64 { return 60 }), "stays at"},
		"short":      {rows(500, 0.02, noise), "less than one cycle of 6 valves"},
		"slow":       {rows(400, 1, noise), "a reading every 1 s"},
		"empty":      {"", "no header line"},
		"no rows":    {"time_s,header[psi]\n", "holds no row"},
		"no header":  {"time_s,dp[in.w.g.]\n0,1\n", "no column header[psi]"},
		"no unit":    {"time_s,header\n0,60\n", "gives no unit"},
		"absolute":   {"time_s,header[psia]\n0,60\n", "gauge"},
		"no air":     {rows(4000, 0.02, func(i int) float64 { return float64((i*7919)%101) / 500 }), "never holds more than"},
		"noise only": {rows(4000, 0.02, noise), "looks like pulses"},
		"a picture":  {"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "no text file"},
		"binary":     {"time_s,header[psi]\n\x00\x01\n", "no text file"},
		"clock back": {"time_s,header[psi]\n100,60\n101,60\n5,60\n", "goes back from 101.00 s to 5.00 s"},
	} {
		t.Run(name, func(t *testing.T) {
			out, bad, code := do(t, "header", write(t, "t.csv", c.trace), dc1)
			if code != exitUnusable || out != "" || !strings.Contains(bad, c.want) || strings.Count(strings.TrimSpace(bad), "\n") > 0 {
				t.Errorf("exit %d, stdout %q, stderr %q; want one line with %q", code, out, bad, c.want)
			}
		})
	}
	for name, c := range map[string]struct {
		args []string
		want string
	}{
		"no file":      {[]string{"header", "none.csv", dc1}, "cannot be opened"},
		"no valves":    {[]string{"header", referenceCSV(t, "supply_ok")}, "number of valves"},
		"bad interval": {[]string{"header", referenceCSV(t, "supply_ok"), "--valves", "8", "--interval", "10"}, "--interval"},
		"bad plot":     {[]string{"header", referenceCSV(t, "supply_ok"), eight(t), "--plot", "x.png"}, ".svg"},
	} {
		t.Run(name, func(t *testing.T) {
			if out, bad, code := do(t, c.args...); code != exitUnusable || out != "" || !strings.Contains(bad, c.want) {
				t.Errorf("exit %d, stdout %q, stderr %q; want %q", code, out, bad, c.want)
			}
		})
	}
}

func jsonNumber(v float64) string {
	b, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	return string(b)
}

func TestHeaderHelp(t *testing.T) {
	for _, command := range []string{"header", "bench-check"} {
		out, bad, code := do(t, command, "--help")
		if code != exitDone || bad != "" {
			t.Fatalf("exit %d, stderr %q", code, bad)
		}
		golden(t, "help_"+command+".golden", out)
	}
}
