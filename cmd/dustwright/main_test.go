package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// dc1 is the collector file of the tests.
var dc1 = filepath.Join("..", "..", "collector", "testdata", "dc1.toml")

// sparse is one about which little is known.
var sparse = filepath.Join("testdata", "sparse.toml")

// mains is one whose hoods join mains on their way.
var mains = filepath.Join("..", "..", "collector", "testdata", "mains.toml")

// do runs the whole program in this process.
func do(t *testing.T, args ...string) (stdout, stderr string, code int) {
	t.Helper()
	var out, bad bytes.Buffer
	code = run(context.Background(), args, strings.NewReader(""), &out, &bad)
	return out.String(), bad.String(), code
}

// golden compares got with testdata/name.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v (run with -update to write it)", err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Errorf("%s (-want +got):\n%s", path, d)
	}
}

// TestPages pins what a person reads: each command in both systems of units.
func TestPages(t *testing.T) {
	for name, args := range map[string][]string{
		"point_new":     {"point", dc1},
		"point_reading": {"point", dc1, "--filters", "3 in.w.g.", "--damper", "50 %"},
		"point_hot":     {"point", dc1, "--damper", "52 %", "--temperature", "104 degF", "--humidity", "80 %"},
		"point_sparse":  {"point", sparse},
		"point_shut":    {"point", dc1, "--filters", "3 in.w.g.", "--damper", "50 %", "--shut", "table, zone 1"},
		"point_gates":   {"point", mains, "--damper", "40 %", "--shut", "sander", "--shut", "lathe"},
		"trim_shut":     {"trim", mains, "--flow", "2900 cfm", "--shut", "sander", "--shut", "lathe"},
		"hoods_sheet":   {"hoods", mains},
		"hoods_read":    {"hoods", mains, "--read", "panel saw=-1.9 in.w.g.", "--read", "sander=-0.7 in.w.g.", "--read", "lathe=-1.5 in.w.g.", "--temperature", "95 degF"},
		"hoods_all":     {"hoods", dc1, "--read", "table, zone 1=-0.9 in.w.g.", "--read", "table, zone 2 = -0.95 in.w.g."},
		"trim_new":      {"trim", dc1},
		"trim_now":      {"trim", dc1, "--filters", "4.4 in.w.g.", "--damper", "50 %"},
		"trim_low":      {"trim", dc1, "--filters", "2 in.w.g.", "--flow", "3300 cfm"},
		"trim_sparse":   {"trim", sparse},
		"air":           {"air", dc1},
		"air_line": {"air", dc1, "--pipe-diameter", "1/2 in", "--pipe-length", "100 ft", "--line-pressure", "90 psi", "--receiver", "5 gal",
			"--dew-point", "38 degF", "--coldest", "20 degF"},
		"air_tests": {"air", dc1, "--decay", "60 psi to 45 psi in 90 s", "--recovery", "60 psi to 38 psi, back in 6 s", "--compressor-leak", "loaded 2 min, unloaded 8 min",
			"--compressor-flow", "100 scfm", "--compressor-power", "20 kW", "--intake-temperature", "86 degF", "--intake-humidity", "70 %", "--dew-point", "38 degF", "--coldest", "60 degF"},
		"check":        {"check", dc1},
		"check_sparse": {"check", sparse},
	} {
		for _, units := range []string{"us", "si"} {
			t.Run(name+"_"+units, func(t *testing.T) {
				out, bad, code := do(t, append(args, "--units", units)...)
				if code != exitDone || bad != "" {
					t.Fatalf("exit %d, stderr %q", code, bad)
				}
				golden(t, name+"_"+units+".golden", out)
			})
		}
	}
}

// TestJSON: every command prints JSON that reads back, with nothing beside it.
func TestJSON(t *testing.T) {
	for name, args := range map[string][]string{
		"point":       {"point", dc1, "--filters", "3 in.w.g.", "--damper", "50 %"},
		"trim":        {"trim", dc1, "--filters", "4.4 in.w.g.", "--damper", "50 %"},
		"trim_sparse": {"trim", sparse},
		"air":         {"air", dc1},
		"air_tests": {"air", dc1, "--decay", "60 to 45 psi in 90 s", "--recovery", "60 to 38 psi, back in 6 s", "--compressor-leak", "2 min on, 8 min off",
			"--compressor-flow", "100 scfm", "--intake-temperature", "86 degF", "--intake-humidity", "70 %", "--dew-point", "38 degF", "--coldest", "20 degF"},
		"check":        {"check", dc1},
		"check_sparse": {"check", sparse},
		"point_gates":  {"point", mains, "--damper", "40 %", "--shut", "sander"},
		"hoods":        {"hoods", mains, "--read", "panel saw=-1.9 in.w.g.", "--read", "sander=-0.7 in.w.g."},
	} {
		t.Run(name, func(t *testing.T) {
			out, bad, code := do(t, append(args, "--json")...)
			if code != exitDone || bad != "" || !json.Valid([]byte(out)) {
				t.Fatalf("exit %d, stderr %q, stdout %s", code, bad, out)
			}
			golden(t, name+"_json.golden", out)
		})
	}
}

// TestHelp pins the help of the program and of each command.
func TestHelp(t *testing.T) {
	for _, command := range []string{"", "point", "trim", "hoods", "air", "check"} {
		t.Run("help "+command, func(t *testing.T) {
			args := append(strings.Fields(command), "--help")
			out, bad, code := do(t, args...)
			if code != exitDone || bad != "" {
				t.Fatalf("exit %d, stderr %q", code, bad)
			}
			golden(t, strings.TrimSuffix("help_"+command, "_")+".golden", out)
		})
	}
	out, _, code := do(t)
	if help, _, _ := do(t, "--help"); code != exitDone || out != help {
		t.Errorf("without arguments: exit %d and not the help", code)
	}
}

// TestUnusable: whatever can't be used ends with exit code 2, nothing on stdout, and a sentence that says what to do.
func TestUnusable(t *testing.T) {
	for _, c := range []struct {
		name string
		args []string
		want string
	}{
		{"misspelt command", []string{"pint"}, `did you mean "point"`},
		{"misspelt flag", []string{"point", dc1, "--dampr", "3"}, "--damper"},
		{"no file named", []string{"point"}, "COLLECTOR.toml"},
		{"no such file", []string{"point", "none.toml"}, "cannot be opened"},
		{"a folder", []string{"point", "."}, "cannot be read"},
		{"faults of a file", []string{"point", filepath.Join(filepath.Dir(dc1), "faults", "values.toml")}, "values.toml:6:8: duty.flow: \"-4200 cfm\""},
		{"flag without unit", []string{"point", dc1, "--filters", "3"}, `--filters: "3": a pressure needs its unit`},
		{"two bad flags", []string{"point", dc1, "--filters", "3", "--damper", "5 cfm"}, `--damper: "5 cfm": "cfm" is a unit of airflow`},
		{"trim now without a reading", []string{"trim", dc1, "--filters", "now"}, `--filters "3.2 in.w.g."`},
		{"a flow the fan hasn't", []string{"trim", dc1, "--flow", "9000 cfm"}, "the fan curve runs from 0 cfm to 7000 cfm"},
		{"pulse air unknown", []string{"air", sparse}, `add volume = "20 L" under [header]`},
		{"half a pipe", []string{"air", dc1, "--pipe-length", "100 ft"}, "go together"},
		{"gauge and absolute", []string{"air", dc1, "--line-pressure", "90 psia"}, "absolute"},
		{"a leak test that rises", []string{"air", dc1, "--decay", "45 psi to 60 psi in 90 s"}, "the header rose from 45.0 psi to 60.0 psi"},
		{"a leak test without time", []string{"air", dc1, "--decay", "60 psi to 45 psi"}, `"60 psi to 45 psi in 90 s"`},
		{"a pulse that takes nothing", []string{"air", dc1, "--recovery", "60 psi to 60 psi, back in 3 s"}, "are the two swapped?"},
		{"times of what", []string{"air", dc1, "--compressor-leak", "2 min"}, `"loaded 2 min, unloaded 8 min"`},
		{"half the damp", []string{"air", dc1, "--intake-humidity", "60 %"}, "go together"},
		{"power of what", []string{"air", dc1, "--compressor-power", "20 kW"}, `--compressor-flow "100 scfm"`},
		{"a dew point that boils", []string{"air", dc1, "--dew-point", "900 degF"}, "pressure dew point: 900 °F cannot be"},
		{"no such gate", []string{"point", dc1, "--shut", "table, zone1"}, `--shut: there is no branch "table, zone1"; did you mean table, zone 1`},
		{"every gate shut", []string{"trim", dc1, "--shut", "table, zone 1", "--shut", "table, zone 2"}, "--shut: with these gates shut no hood is left open"},
		{"reading without branch", []string{"hoods", dc1, "--read", "table, zone 1"}, "names no branch and reading"},
		{"reading without value", []string{"hoods", dc1, "--read", "table, zone 1="}, "has no reading"},
		{"reading without unit", []string{"hoods", dc1, "--read", "table, zone 1=-1.2"}, `--read table, zone 1: "-1.2": a pressure needs its unit`},
		{"reading of no suction", []string{"hoods", dc1, "--read", "table, zone 1=1.2 in.w.g."}, "write it with a minus"},
		{"reading of no hood", []string{"hoods", mains, "--read", "main=-1.2 in.w.g."}, "has no hood"},
		{"damper beyond open", []string{"point", dc1, "--damper", "150 %"}, "between 0 and 100 %"},
	} {
		t.Run(c.name, func(t *testing.T) {
			out, bad, code := do(t, c.args...)
			if code != exitUnusable || out != "" || !strings.Contains(bad, c.want) {
				t.Errorf("exit %d, stdout %q, stderr %q; want exit 2 and %q", code, out, bad, c.want)
			}
		})
	}
}

func TestInterrupted(t *testing.T) {
	var bad bytes.Buffer
	if code := complain(&bad, context.Canceled); code != exitUnusable || bad.String() != "dustwright: stopped before it was done; run the same command again to start over\n" {
		t.Errorf("exit %d, %q", code, bad.String())
	}
}
