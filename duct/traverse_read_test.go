package duct

import (
	"bytes"
	"errors"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dustwright/unit"
)

var update = flag.Bool("update", false, "rewrite the golden files")

func parsed(t testing.TB, text string) Traverse {
	t.Helper()
	tr, err := ParseTraverse("sheet.csv", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

const goodSheet = `# tag: DC-1
# duct: round
# diameter: 12 in
# tolerance: 1/16 in
# rule: method1
# upstream: 9 ft
# downstream: 3 D
# temperature: 72 degF
# barometer: 29.5 inHg
# humidity: 40 %
# static: -3.2 in.w.g.
# probe: 0.99
# accuracy: 1 % + 0.01 in.w.g.
# design: 2800 cfm
traverse,point,position[in],vp[in.w.g.]
1,1,0.8,0.62
1,2,3.0,0.75
1,3,9.0,0.77
1,4,11.2,0.66
2,1,0.8,0.60
2,2,3.0,0.74
2,3,9.0,0.79
2,4,11.2,0.68
`

func TestReadsTheSheet(t *testing.T) {
	tr := parsed(t, goodSheet)
	near(t, "diameter", float64(tr.Section.Diameter), 0.3048, 1e-12)
	near(t, "tolerance", float64(tr.Tolerance), unit.Inch/16, 1e-12)
	near(t, "upstream", float64(tr.Before), 9*unit.Foot, 1e-12)
	near(t, "downstream", float64(tr.After), 3*unit.Foot, 1e-12)
	near(t, "barometer", float64(tr.Air.Barometer), 29.5*unit.InchMercury, 1e-12)
	near(t, "static", float64(tr.Air.Static), -3.2*inwg, 1e-12)
	near(t, "accuracy, share", float64(tr.Instrument.AccuracyShare), 0.01, 1e-12)
	near(t, "accuracy, fixed", float64(tr.Instrument.AccuracyPressure), 0.01*inwg, 1e-12)
	near(t, "resolution from the digits", tr.Instrument.Resolution, 0.01*inwg, 1e-12)
	near(t, "design", float64(tr.Design), 2800*cfm, 1e-12)
	if tr.Tag != "DC-1" || tr.Rule != Method1 || len(tr.Readings) != 8 {
		t.Errorf("tag %q, rule %v, %d readings", tr.Tag, tr.Rule, len(tr.Readings))
	}
	r := tr.Readings[6]
	if r.Line != 2 || r.Number != 3 || r.Row != 22 || r.Counts != 0 {
		t.Errorf("seventh reading %+v", r)
	}
	near(t, "its position", float64(r.Position), 9*unit.Inch, 1e-12)
	near(t, "its velocity pressure", float64(r.VP), 0.79*inwg, 1e-12)
}

// The same sheet as other programs, other countries and other hands write it.
func TestReadsTheSameSheetInOtherDress(t *testing.T) {
	want := evaluate(t, parsed(t, goodSheet))
	semicolons := strings.ReplaceAll(strings.ReplaceAll(goodSheet, ",", ";"), ".", ",")
	semicolons = strings.NewReplacer("in,w,g,", "in.w.g.", "\n# ", ";;;\n# ").Replace(semicolons)
	wide := []byte{0xFF, 0xFE}
	for _, c := range []byte(goodSheet) {
		wide = append(wide, c, 0)
	}
	for name, data := range map[string][]byte{
		"CRLF and BOM":             []byte("\ufeff" + strings.ReplaceAll(goodSheet, "\n", "\r\n")),
		"CR alone":                 []byte(strings.ReplaceAll(goodSheet, "\n", "\r")),
		"semicolons and commas":    []byte(semicolons),
		"tabs":                     []byte(strings.ReplaceAll(goodSheet, ",", "\t")),
		"UTF-16":                   wide,
		"no number signs":          []byte(strings.ReplaceAll(goodSheet, "# ", "")),
		"capitals and blanks":      []byte(strings.NewReplacer("# diameter: 12 in", "  #   Diameter =  12 in  ", "traverse,point", "Traverse , Point", "vp[in.w.g.]", "VP (in w.g.)").Replace(goodSheet)),
		"quoted":                   []byte(strings.NewReplacer("# tag: DC-1", `"# tag: DC-1",,,`, "0.77", `"0,77"`).Replace(goodSheet)),
		"value in the next cell":   []byte(strings.NewReplacer("# diameter: 12 in", "# diameter,12 in,,", "# rule: method1", "# rule,method1").Replace(goodSheet)),
		"ports by letter":          []byte(strings.NewReplacer("\n1,", "\nA,", "\n2,", "\nb,").Replace(goodSheet)),
		"SI":                       []byte(strings.NewReplacer("12 in", "304.8 mm", "1/16 in", "1.5875 mm", "72 degF", "22.22222222 °C", "-3.2 in.w.g.", "-797.084512 Pa").Replace(goodSheet)),
		"one-byte degree sign":     []byte(strings.Replace(goodSheet, "72 degF", "72 \xb0F", 1)),
		"unknown column, remarks":  []byte(strings.NewReplacer("vp[in.w.g.]\n", "vp[in.w.g.],colour\n", "# tag", "# cloudy all day\n# tag", "0.62\n", "0.62,green\n").Replace(goodSheet)),
		"hints left in the sheet":  []byte(strings.Replace(goodSheet, "# tag: DC-1", "# place: (like main before the collector)\n# by:\n# tag: DC-1", 1)),
		"only the rule, no places": []byte(strings.NewReplacer(",position[in]", "", ",0.8,", ",", ",3.0,", ",", ",9.0,", ",", ",11.2,", ",").Replace(goodSheet)),
		"no rule, only the places": []byte(strings.NewReplacer("# rule: method1\n", "", ",point", "", "\n1,1,", "\n1,", "\n1,2,", "\n1,", "\n1,3,", "\n1,", "\n1,4,", "\n1,",
			"\n2,1,", "\n2,", "\n2,2,", "\n2,", "\n2,3,", "\n2,", "\n2,4,", "\n2,").Replace(goodSheet)),
	} {
		tr, err := ParseTraverse("sheet.csv", data)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		got := evaluate(t, tr)
		near(t, name+": flow", float64(got.Flow), float64(want.Flow), 1e-9)
		near(t, name+": width", got.Relative, want.Relative, 0.02)
		if len(tr.Unread) > 0 || len(got.Flags) > 0 {
			t.Errorf("%s: unread %v, flags %v", name, tr.Unread, got.Flags)
		}
	}
}

// Every fault is one sentence with its place and what would be right. The sentences are the interface: they stand in golden files.
func TestFaultSentences(t *testing.T) {
	files, err := filepath.Glob("testdata/faults/*.csv")
	if err != nil || len(files) == 0 {
		t.Fatalf("no fault files: %v", err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		tr, err := ParseTraverse(filepath.Base(file), data)
		text := ""
		switch {
		case err != nil:
			var faults TraverseFaults
			if !errors.As(err, &faults) {
				t.Errorf("%s: %v is no TraverseFaults", file, err)
			}
			text = err.Error() + "\n"
		case len(tr.Unread) > 0:
			text = "read, but:\n" + TraverseFaults(tr.Unread).Error() + "\n"
		default:
			t.Errorf("%s: nothing was wrong with it", file)
		}
		golden(t, strings.TrimSuffix(file, ".csv")+".golden", text)
	}
}

func golden(t *testing.T, path, got string) {
	t.Helper()
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("%s:\ngot:\n%s\nwant:\n%s", path, got, want)
	}
}

func TestWhatIsNoTraverseAtAll(t *testing.T) {
	for name, c := range map[string]struct {
		data string
		says string
	}{
		"empty":       {"", "sheet.csv: there are no readings in it"},
		"blank":       {" \n\n;;;\n", "there are no readings in it"},
		"binary":      {"PK\x03\x04\x00\x00\x08", "it is no text but a binary file; save the sheet as CSV"},
		"endless":     {goodSheet + strings.Repeat("x", 5000), "sheet.csv:24: the line is 5000 bytes long"},
		"huge":        {strings.Repeat("1,1,0.5\n", 600000), "it is 4 MB large"},
		"too many":    {goodSheet + strings.Repeat("1,1,0.8,0.5\n", 600), "more than 500 readings"},
		"keys only":   {"# diameter: 12 in\n", "there are no readings in it"},
		"header only": {"# diameter: 12 in\ntraverse,point,vp[in.w.g.]\n", "there is no reading below the header"},
		"prose":       {"the belt squeals\nand the fan hums\n", "has no column of readings"},
	} {
		_, err := ParseTraverse("sheet.csv", []byte(c.data))
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q", name, err, c.says)
		}
	}
}

// A sheet of points, filled in, is a traverse file.
func TestPlanFilledInIsRead(t *testing.T) {
	for _, sys := range []unit.System{unit.US, unit.SI} {
		for _, r := range []PlanRequest{request(Round(inches(12)), Method1, 8, 2), request(Round(inches(5)), Method1, math.NaN(), math.NaN()),
			request(Rect(inches(24), inches(18)), LogTchebycheff, 3, 1), request(Round(0.3), LogLinear, 8, 2)} {
			plan, err := NewPlan(r)
			if err != nil {
				t.Fatal(err)
			}
			var b bytes.Buffer
			if err := WriteTraverse(&b, plan.Blank(sys), sys); err != nil {
				t.Fatal(err)
			}
			var filled strings.Builder
			for _, line := range strings.SplitAfter(b.String(), "\n") {
				if line != "" && line[0] >= '1' && line[0] <= '9' {
					line = strings.TrimSuffix(line, "\n") + "150.5\n"
					if sys == unit.US {
						line = strings.TrimSuffix(line, "150.5\n") + "0.6\n"
					}
				}
				filled.WriteString(line)
			}
			tr := parsed(t, filled.String())
			result := evaluate(t, tr)
			if len(tr.Readings) != len(plan.Points) || tr.Rule != r.Rule || len(tr.Unread) > 0 || len(result.Flags) > 0 {
				t.Errorf("%+v: %d of %d readings, rule %v, unread %v, flags %v", r, len(tr.Readings), len(plan.Points), tr.Rule, tr.Unread, result.Flags)
			}
			for _, m := range result.Missing {
				if m.What == "rule, position" {
					t.Errorf("%+v: the places of the points got lost", r)
				}
			}
		}
	}
}

// Every key and column stands in docs/traverse.md.
func TestFormatIsDocumented(t *testing.T) {
	page, err := os.ReadFile("../docs/traverse.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range traverseKeys() {
		if !bytes.Contains(page, []byte("`"+k.name+"`")) {
			t.Errorf("key %s is not in docs/traverse.md", k.name)
		}
	}
	for _, c := range traverseColumns() {
		if !bytes.Contains(page, []byte("`"+c.name)) {
			t.Errorf("column %s is not in docs/traverse.md", c.name)
		}
	}
}
