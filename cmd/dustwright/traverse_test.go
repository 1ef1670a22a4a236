package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestTraversePages pins the pages of the traverse command: a sound traverse, a spoilt one, one from a spreadsheet of
// another country, and sheets of points.
func TestTraversePages(t *testing.T) {
	for name, args := range map[string][]string{
		"traverse_good":      {"traverse", "testdata/traverse_good.csv"},
		"traverse_spoilt":    {"traverse", "testdata/traverse_spoilt.csv"},
		"traverse_semicolon": {"traverse", "testdata/traverse_semicolon.csv"},
		"points_round":       {"traverse", "--points", "round", "--diameter", "12 in", "--upstream", "8 D", "--downstream", "3 ft"},
		"points_small":       {"traverse", "--points", "round", "--diameter", "4 in"},
		"points_rect":        {"traverse", "--points", "rect", "--width", "24 in", "--height", "18 in", "--rule", "log-tchebycheff", "--upstream", "4 D", "--downstream", "1 D"},
		"points_form":        {"traverse", "--points", "rect", "--width", "24 in", "--height", "18 in", "--upstream", "9 D", "--downstream", "2.5 D", "--csv"},
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

func TestTraverseJSON(t *testing.T) {
	for name, args := range map[string][]string{
		"traverse_good":   {"traverse", "testdata/traverse_good.csv"},
		"traverse_spoilt": {"traverse", "testdata/traverse_spoilt.csv"},
		"points_rect":     {"traverse", "--points", "rect", "--width", "24 in", "--height", "18 in", "--upstream", "9 D", "--downstream", "2 D"},
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

// TestTraverseSheetOpensWithItsCautions: the sheet leads to a drill and a running fan.
func TestTraverseSheetOpensWithItsCautions(t *testing.T) {
	out, _, _ := do(t, "traverse", "--points", "round", "--diameter", "20 in")
	drilling, measuring, points := strings.Index(out, "lock out the fan"), strings.Index(out, "the fan runs"), strings.Index(out, "Points to measure")
	if !strings.HasPrefix(out, "CAUTION") || drilling < 0 || measuring < drilling || points < measuring || !strings.Contains(out, "licensed practice come first") {
		t.Errorf("cautions out of place:\n%s", out)
	}
}

// TestTraverseFormFilledIn: the form printed with --csv, filled in, is answered, from a file and from standard input.
func TestTraverseFormFilledIn(t *testing.T) {
	for _, units := range []string{"us", "si"} {
		form, _, code := do(t, "traverse", "--points", "round", "--diameter", "16 in", "--rule", "log-linear", "--csv", "--units", units)
		if code != exitDone {
			t.Fatal(form)
		}
		var filled strings.Builder
		for line := range strings.Lines(form) {
			if strings.HasSuffix(line, ",\n") {
				line = strings.TrimSuffix(line, "\n") + map[string]string{"us": "0.81\n", "si": "201\n"}[units]
			}
			filled.WriteString(strings.Replace(line, "# static: (like -3.2 in.w.g. or -800 Pa, suction negative)", "# static: -3 in.w.g.", 1))
		}
		path := filepath.Join(t.TempDir(), "filled.csv")
		if err := os.WriteFile(path, []byte(filled.String()), 0o600); err != nil {
			t.Fatal(err)
		}
		fromFile, bad, code := do(t, "traverse", path)
		if code != exitDone || bad != "" || !strings.Contains(fromFile, "30 of 30") || strings.Contains(fromFile, "static:") {
			t.Errorf("exit %d, stderr %q\n%s", code, bad, fromFile)
		}
		var out, complaint bytes.Buffer
		if code := run(context.Background(), []string{"traverse", "-"}, strings.NewReader(filled.String()), &out, &complaint); code != exitDone || out.String() != fromFile {
			t.Errorf("from standard input: exit %d, %q, not the same page", code, complaint.String())
		}
	}
}

// TestTraverseUnusable: exit code 2, nothing on stdout, a sentence that says what to do.
func TestTraverseUnusable(t *testing.T) {
	write := func(text string) string {
		path := filepath.Join(t.TempDir(), "bad.csv")
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	head := "# diameter: 12 in\ntraverse,point,vp[in.w.g.]\n"
	for _, c := range []struct {
		name string
		args []string
		want string
	}{
		{"nothing asked", []string{"traverse"}, `--points round --diameter "12 in"`},
		{"both asked", []string{"traverse", "x.csv", "--points", "round"}, "not both"},
		{"no such file", []string{"traverse", "none.csv"}, "cannot be opened"},
		{"a folder", []string{"traverse", "testdata"}, "cannot be read"},
		{"empty file", []string{"traverse", write("")}, "bad.csv: there are no readings in it"},
		{"binary file", []string{"traverse", write("PK\x03\x04\x00")}, "binary file; save the sheet as CSV"},
		{"endless line", []string{"traverse", write(head + strings.Repeat("1", 1<<20))}, "bad.csv:3: the line is 1048576 bytes long"},
		{"misspelt key", []string{"traverse", write("# diametre: 12 in\n" + head)}, `bad.csv:1:3: "diametre" is no key of a traverse; the nearest is "diameter"`},
		{"swapped hoses", []string{"traverse", write(head + "1,1,-0.5\n1,2,-0.6\n2,1,-0.5\n2,2,-0.6\n")}, "hoses on the gauge are swapped"},
		{"two readings", []string{"traverse", write(head + "1,1,0.5\n1,2,0.6\n")}, "too few usable readings: 2 of 2 points"},
		{"impossible air", []string{"traverse", write("# temperature: 4000 degF\n" + head + "1,1,0.5\n1,2,0.6\n2,1,0.5\n2,2,0.6\n")}, "look at their units and signs"},
		{"sheet without size", []string{"traverse", "--points", "round"}, "--points round needs --diameter"},
		{"sheet with the wrong size", []string{"traverse", "--points", "rect", "--diameter", "12 in", "--width", "2 ft", "--height", "2 ft"}, "--points rect has no --diameter"},
		{"size without unit", []string{"traverse", "--points", "round", "--diameter", "12"}, `--diameter: "12": a length needs its unit`},
		{"negative size", []string{"traverse", "--points", "round", "--diameter=-12 in"}, "above zero"},
		{"too small", []string{"traverse", "--points", "round", "--diameter", "3 in"}, "rules begin at 4 in"},
		{"unknown rule", []string{"traverse", "--points", "round", "--diameter", "12 in", "--rule", "log-liner"}, `the nearest is "log-linear"`},
		{"log-linear in a rectangle", []string{"traverse", "--points", "rect", "--width", "2 ft", "--height", "2 ft", "--rule", "log-linear"}, "log-tchebycheff or method1"},
		{"bad straight length", []string{"traverse", "--points", "round", "--diameter", "12 in", "--upstream", "far"}, `or in diameters like "8 D"`},
		{"size without sheet", []string{"traverse", "x.csv", "--diameter", "12 in"}, "go with --points"},
		{"csv and json", []string{"traverse", "--points", "round", "--diameter", "12 in", "--csv", "--json"}, "either --csv or --json"},
		{"unknown shape", []string{"traverse", "--points", "oval"}, "round"},
	} {
		t.Run(c.name, func(t *testing.T) {
			out, bad, code := do(t, c.args...)
			if code != exitUnusable || out != "" || !strings.Contains(bad, c.want) {
				t.Errorf("exit %d, stdout %q, stderr %q; want exit 2 and %q", code, out, bad, c.want)
			}
		})
	}
}

func TestTraverseHelp(t *testing.T) {
	out, bad, code := do(t, "traverse", "--help")
	if code != exitDone || bad != "" {
		t.Fatalf("exit %d, stderr %q", code, bad)
	}
	golden(t, "help_traverse.golden", out)
}
