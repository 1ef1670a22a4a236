package feed

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"
	"github.com/klauspost/compress/gzip"
	"github.com/xuri/excelize/v2"

	"dustwright/sense"
)

// write puts a log into a temporary folder and returns its path.
func write(t testing.TB, name, content string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// readText reads one log given as text.
func readText(t testing.TB, content string, opts Options) (*sense.Series, *Report) {
	t.Helper()
	s, report, err := Read(context.Background(), []string{write(t, "log.csv", content)}, opts)
	if err != nil {
		t.Fatalf("Read: %v", err)
	}
	return s, report
}

// chicago is the zone of the tests, by name so that daylight saving is in it.
func chicago(t testing.TB) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("America/Chicago")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// sameRows fails unless both series hold the same times, readings and firings.
func sameRows(t testing.TB, got, want *sense.Series, tolerance float64) {
	t.Helper()
	if !slices.Equal(got.Time, want.Time) {
		t.Fatalf("%d times, want %d, or others", len(got.Time), len(want.Time))
	}
	for c := range sense.NumChannels {
		if (got.Col[c] == nil) != (want.Col[c] == nil) {
			t.Fatalf("%s: there %v, want %v", c, got.Col[c] != nil, want.Col[c] != nil)
		}
		for i, w := range want.Col[c] {
			if g := got.Col[c][i]; g != w && !(math.Abs(g-w) <= tolerance*math.Abs(w)) && !(math.IsNaN(g) && math.IsNaN(w)) {
				t.Fatalf("%s in row %d: got %v, want %v", c, i, g, w)
			}
		}
	}
	if !slices.Equal(got.Pulses, want.Pulses) {
		t.Fatalf("%d firings, want %d, or others", len(got.Pulses), len(want.Pulses))
	}
}

func contractText(t testing.TB) string {
	t.Helper()
	data, err := os.ReadFile("testdata/contract.csv")
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func TestContractLog(t *testing.T) {
	s, report := readText(t, contractText(t), Options{})
	if s.Len() != 4 || report.FaultCount != 0 || len(report.Unknown) != 0 || len(report.Notes) != 0 {
		t.Fatalf("got %d rows, report %v", s.Len(), report.Sentences(9))
	}
	if got, want := s.When(2).Format(time.RFC3339), "2026-06-11T10:31:00-06:00"; got != want {
		t.Errorf("time of row 3: got %s, want %s", got, want)
	}
	// SI values by hand: 1 in. w.g. = 249.08891 Pa, 1 psi = 6894.757293168 Pa, K = (F + 459.67) 5/9.
	want := map[sense.Channel]float64{
		sense.DP: 4.03 * 249.08891, sense.Header: 59.6 * 6894.757293168, sense.HeaderLow: 33.8 * 6894.757293168,
		sense.FanCurrent: 15.3, sense.InletSP: -3.38 * 249.08891, sense.Damper: 0.52, sense.Running: 1, sense.Cleaning: 1,
		sense.Temperature: (79.0 + 459.67) * 5 / 9, sense.Humidity: 0.55, sense.Pulse: 5,
	}
	for c := range sense.NumChannels {
		w, there := want[c]
		if !there {
			w = math.NaN()
		}
		if got := s.At(c, 2); math.Abs(got-w) > 1e-12*math.Abs(w) || math.IsNaN(got) != math.IsNaN(w) {
			t.Errorf("%s in row 3: got %v, want %v", c, got, w)
		}
	}
	fired := []sense.Firing{{Row: 2, Valve: 1}, {Row: 2, Valve: 2}, {Row: 2, Valve: 3}, {Row: 2, Valve: 4}, {Row: 2, Valve: 5},
		{Row: 3, Valve: 6}, {Row: 3, Valve: 1}, {Row: 3, Valve: 2}, {Row: 3, Valve: 3}, {Row: 3, Valve: 4}, {Row: 3, Valve: 5}}
	if diff := cmp.Diff(fired, s.Pulses); diff != "" {
		t.Errorf("firings (-want +got):\n%s", diff)
	}
}

// TestSpellings: the contract's log written in every way loggers and spreadsheets write it is the
// same log.
func TestSpellings(t *testing.T) {
	plain := contractText(t)
	want, _ := readText(t, plain, Options{})
	lines := strings.Split(strings.TrimRight(plain, "\n"), "\n")
	decimalComma := func(delim string) string {
		return strings.ReplaceAll(strings.ReplaceAll(strings.ReplaceAll(plain, ",", delim), ".", ","), "in,w,g,", "in.w.g.")
	}
	each := func(f func(cell string) string) string {
		var out []string
		for _, l := range lines {
			cells := strings.Split(l, ",")
			for i := range cells {
				cells[i] = f(cells[i])
			}
			out = append(out, strings.Join(cells, ","))
		}
		return strings.Join(out, "\n") + "\n"
	}
	cases := map[string]string{
		"byte order mark":        "\ufeff" + plain,
		"CRLF":                   strings.ReplaceAll(plain, "\n", "\r\n"),
		"CR alone":               strings.ReplaceAll(plain, "\n", "\r"),
		"no line end at the end": strings.TrimRight(plain, "\n"),
		"semicolons":             strings.ReplaceAll(plain, ",", ";"),
		"tabs":                   strings.ReplaceAll(plain, ",", "\t"),
		"bars":                   strings.ReplaceAll(plain, ",", "|"),
		"decimal comma":          decimalComma(";"),
		"decimal comma and tabs": decimalComma("\t"),
		"sep line":               "sep=;\n" + strings.ReplaceAll(plain, ",", ";"),
		"trailing delimiters":    strings.ReplaceAll(plain, "\n", ",,\n"),
		"every cell quoted":      each(func(c string) string { return `"` + c + `"` }),
		"blanks around cells":    each(func(c string) string { return "  " + c + " " }),
		"comments and blanks":    "# exported by the logger\n\n" + strings.Replace(plain, "\n", "\n# battery changed\n\n", 1) + "\n\n",
		"lines above the header": "Logger 4711\nSite: shop 2\n\n" + plain,
		"header comes again":     plain + lines[0] + "\n",
		"header in a comment":    "# " + plain,
		"units below":            strings.Join(append([]string{"time,running,cleaning,dp,header,header_low,pulse,fan_current,inlet_sp,damper,temperature,humidity", ",,,in.w.g.,psi,psi,,A,in.w.g.,%,degF,%"}, lines[1:]...), "\n"),
		"units in round brackets, capitals": strings.Join(append([]string{"Time,RUNNING,Cleaning,dP (in. w.g.),Header (PSI),Header Low (psi),Pulse,Fan-Current (A)," +
			"inlet SP (\"w.g.),Damper (%),Temperature (\u00b0F),Humidity (%)"}, lines[1:]...), "\n"),
		"degree sign in Windows-1252": strings.Replace(plain, "degF", "\xb0F", 1),
		"words for missing":           strings.ReplaceAll(plain, ",,", ",0,"),
		"numbers with exponents":      strings.Replace(strings.Replace(plain, "4.03", "0.403e1", 1), "33.8", "+33.8", 1),
		"a minus sign of typesetting": strings.ReplaceAll(plain, "-3.", "\u22123."),
		"cell with its unit":          strings.Replace(plain, "4.03", "4.03 in.w.g.", 1),
		"UTF-16":                      wide(plain, true, true),
		"UTF-16 big-endian":           wide(plain, false, true),
		"UTF-16 without mark":         wide(plain, true, false),
		"gzip":                        zipped(t, plain),
		"gzip in two members":         zipped(t, plain[:100]) + zipped(t, plain[100:]),
		"newest first":                strings.Join([]string{lines[0], lines[4], lines[3], lines[2], lines[1]}, "\n"),
		"rows twice":                  plain + lines[2] + "\n" + lines[3] + "\n",
		"out of order":                strings.Join([]string{lines[0], lines[1], lines[4], lines[2], lines[3]}, "\n"),
	}
	for name, text := range cases {
		t.Run(name, func(t *testing.T) {
			got, report := readText(t, text, Options{})
			if report.FaultCount > 0 {
				t.Fatalf("faults: %v", report.Sentences(9))
			}
			sameRows(t, got, want, 1e-12)
		})
	}
}

// wide encodes a text in UTF-16.
func wide(text string, little, mark bool) string {
	if mark {
		text = "\ufeff" + text
	}
	var out []byte
	for _, u := range utf16.Encode([]rune(text)) {
		if little {
			out = append(out, byte(u), byte(u>>8))
		} else {
			out = append(out, byte(u>>8), byte(u))
		}
	}
	return string(out)
}

func zipped(t testing.TB, text string) string {
	t.Helper()
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	if _, err := z.Write([]byte(text)); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestWorkbook: the contract's log as a spreadsheet, with times as day numbers, shares shown as
// percent, a sheet that is no log before it, and the rows on two sheets.
func TestWorkbook(t *testing.T) {
	zone := time.FixedZone("", -6*3600)
	want, _ := readText(t, contractText(t), Options{})
	book := excelize.NewFile()
	check := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	check(book.SetSheetName("Sheet1", "Summary"))
	check(book.SetCellValue("Summary", "A1", "Collector DC-1, spring"))
	percent, err := book.NewStyle(&excelize.Style{NumFmt: 9})
	check(err)
	dates, err := book.NewStyle(&excelize.Style{NumFmt: 22})
	check(err)
	lines := strings.Split(strings.TrimSpace(contractText(t)), "\n")
	for n, sheet := range []string{"March", "June"} {
		_, err := book.NewSheet(sheet)
		check(err)
		rows := [][]string{strings.Split(lines[0], ",")}
		for _, l := range lines[1+2*n : 3+2*n] {
			rows = append(rows, strings.Split(l, ","))
		}
		for r, cells := range rows {
			for c, text := range cells {
				at, err := excelize.CoordinatesToCellName(c+1, r+1)
				check(err)
				v, isNumber := slowNumber([]byte(text), '.')
				switch {
				case r > 0 && c == 0:
					when, err := time.Parse(time.RFC3339, text)
					check(err)
					check(book.SetCellValue(sheet, at, float64(when.Unix()-6*3600)/86400+25569))
					check(book.SetCellStyle(sheet, at, at, dates))
				case r > 0 && c == 9:
					check(book.SetCellValue(sheet, at, v/100))
					check(book.SetCellStyle(sheet, at, at, percent))
				case r > 0 && isNumber:
					check(book.SetCellValue(sheet, at, v))
				default:
					check(book.SetCellValue(sheet, at, text))
				}
			}
		}
	}
	path := filepath.Join(t.TempDir(), "season.csv") // the name says nothing
	check(os.Rename(saveAs(t, book), path))
	got, report, err := Read(context.Background(), []string{path}, Options{Zone: zone})
	if err != nil || report.FaultCount > 0 {
		t.Fatalf("%v; %v", err, report.Sentences(9))
	}
	if len(report.Files) != 2 || report.Files[1].Rows != 2 || !strings.HasSuffix(report.Files[1].Path, "season.csv, sheet June") {
		t.Errorf("sheets: %+v", report.Files)
	}
	sameRows(t, got, want, 1e-12)
}

func saveAs(t testing.TB, book *excelize.File) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "book.xlsx")
	if err := book.SaveAs(path); err != nil {
		t.Fatal(err)
	}
	return path
}
