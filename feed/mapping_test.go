package feed

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"dustwright/sense"
	"dustwright/unit/unittest"
)

// mapped reads a mapping file of testdata.
func mapped(t testing.TB, name string) *Mapping {
	t.Helper()
	m, err := LoadMapping(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// TestInletFilter: three years of open data without a time column, in the units of its README.
func TestInletFilter(t *testing.T) {
	var paths []string
	for _, year := range []string{"2011", "2012", "2013"} {
		paths = append(paths, unittest.SharedData(t, "gas-turbine-inlet-filter/gt_"+year+".csv"))
	}
	s, report, err := Read(context.Background(), paths, Options{Mapping: mapped(t, "gas-turbine-inlet-filter.toml")})
	if err != nil {
		t.Fatal(err)
	}
	if got := report.Sentences(9); len(got) > 0 {
		t.Errorf("report: %v", got)
	}
	if want := 7411 + 7628 + 7152; s.Len() != want {
		t.Fatalf("got %d rows, want %d", s.Len(), want)
	}
	for i := range s.Time {
		if want := time.Date(2011, 1, 1, i, 0, 0, 0, time.UTC); s.Time[i] != want.UnixNano() {
			t.Fatalf("row %d is at %s, want %s", i, s.When(i), want)
		}
	}
	// First row of 2012: AT 6.8594, AP 1007.9, AH 96.799, AFDP 3.5, CDP 10.605.
	want := map[sense.Channel]float64{sense.DP: 350, sense.FlowIndex: 10.605, sense.Temperature: 280.0094, sense.Barometer: 100790, sense.Humidity: 0.96799}
	for c := range sense.NumChannels {
		w, there := want[c]
		if s.Has(c) != there {
			t.Errorf("%s: there %v, want %v", c, s.Has(c), there)
		}
		if there && math.Abs(s.Col[c][7411]-w) > 1e-12*w {
			t.Errorf("%s: got %v, want %v", c, s.Col[c][7411], w)
		}
		for i := range s.Col[c] {
			if math.IsNaN(s.Col[c][i]) {
				t.Fatalf("%s: no reading in row %d", c, i)
			}
		}
	}
}

// TestReservoir: the compressor's reservoir, with a time column of its own name.
func TestReservoir(t *testing.T) {
	path := unittest.SharedData(t, "metropt3-excerpt/metropt3_air_compressor_excerpt.csv")
	s, report, err := Read(context.Background(), []string{path}, Options{Mapping: mapped(t, "metropt3-excerpt.toml")})
	if err != nil {
		t.Fatal(err)
	}
	if report.FaultCount > 0 || s.Len() != 1000 {
		t.Fatalf("%d rows; %v", s.Len(), report.Sentences(9))
	}
	if first, last := s.When(0).Format(time.DateTime), s.When(999).Format(time.DateTime); first != "2020-02-01 00:00:00" || last != "2020-02-01 02:45:01" {
		t.Errorf("got %s to %s", first, last)
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range s.Col[sense.Header] {
		low, high = min(low, v), max(high, v)
	}
	if math.Abs(low-8.064e5) > 0.5 || math.Abs(high-10.098e5) > 0.5 { // bounds from the data's README, bar
		t.Errorf("header from %v to %v Pa, want 806400 to 1009800", low, high)
	}
}

const logger = "Logger 4711\nserial 12\n" +
	"no;Zeit;Druck;Strom 4-20;Status\n" +
	"1;02.03.26 07:00;12,5;12,0;ok\n" +
	"2;02.03.26 07:01;13,0;err;ok\n" +
	"3;02.03.26 07:02;-1;4,0;ok\n"

// TestMapping: a logger's own layout, with scaling, a code for no reading, constants.
func TestMapping(t *testing.T) {
	m, err := ParseMapping("logger.toml", []byte(`
delimiter = ";"
decimal = ","
skip = 2
missing = ["err", -1]
[time]
column = "Zeit"
format = "DD.MM.YY hh:mm"
zone = "America/Chicago"
[columns]
Druck = { channel = "dp[mmH2O]", scale = 10, offset = -5 }
"Strom 4-20" = { channel = "header[bar]", scale = 0.625, offset = -2.5 } # 4 mA: 0 bar, 20 mA: 10 bar
Flow = { channel = "flow[m3/h]", optional = true }
[constants]
running = 1
barometer = "990 hPa"
`))
	if err != nil {
		t.Fatal(err)
	}
	s, report := readText(t, logger, Options{Mapping: m})
	if got := report.Sentences(9); len(got) != 1 || got[0] != "times without an offset are taken as the local time of America/Chicago" {
		t.Errorf("report: %v", got)
	}
	if got := s.When(0).Format(time.RFC3339); got != "2026-03-02T07:00:00-06:00" {
		t.Errorf("first row at %s", got)
	}
	nan := math.NaN()
	want := map[sense.Channel][]float64{
		sense.DP: {120 * 9.80665, 125 * 9.80665, nan}, sense.Header: {5e5, nan, 0},
		sense.Running: {1, 1, 1}, sense.Barometer: {99000, 99000, 99000},
	}
	for c := range sense.NumChannels {
		if (s.Col[c] != nil) != (want[c] != nil) {
			t.Errorf("%s: there %v", c, s.Col[c] != nil)
		}
		for i, w := range want[c] {
			if got := s.Col[c][i]; math.Abs(got-w) > 1e-9*math.Abs(w) || math.IsNaN(got) != math.IsNaN(w) {
				t.Errorf("%s, row %d: got %v, want %v", c, i, got, w)
			}
		}
	}
	again, err := ParseMapping("logger.toml", []byte(m.Text()))
	if err != nil {
		t.Fatalf("%v in\n%s", err, m.Text())
	}
	if diff := cmp.Diff(m, again); diff != "" {
		t.Errorf("printed and read again (-want +got):\n%s", diff)
	}
}

// TestUnitRowUnderMapping: a row of units under foreign names is no row of readings.
func TestUnitRowUnderMapping(t *testing.T) {
	m, err := ParseMapping("m.toml", []byte("[time]\ncolumn = \"Zeit\"\nzone = \"UTC\"\n[columns]\nDruck = \"dp[Pa]\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	s, report := readText(t, "Zeit;Druck\n;Pa\n2026-03-02 07:00;12\n", Options{Mapping: m})
	if s.Len() != 1 || report.FaultCount > 0 {
		t.Errorf("%d rows; %v", s.Len(), report.Sentences(9))
	}
	s, report = readText(t, "time,dp[Pa]\nMar 1 2026 07:00,bad\nMar 2 2026 07:00,1\n", Options{Zone: time.UTC})
	if s.Len() != 2 || report.FaultCount != 1 {
		t.Errorf("words in the first row: %d rows; %v", s.Len(), report.Sentences(9))
	}
}

// TestNoHeaderLine: columns without names are numbered.
func TestNoHeaderLine(t *testing.T) {
	m, err := ParseMapping("m.toml", []byte("header = false\n[time]\ncolumn = \"1\"\nzone = \"UTC\"\n[columns]\n2 = \"dp[Pa]\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	s, _ := readText(t, "2026-03-02 07:00;12\n2026-03-02 07:01;13\n", Options{Mapping: m})
	if s.Len() != 2 || s.Col[sense.DP][1] != 13 {
		t.Errorf("got %v", s.Col[sense.DP])
	}
}

// TestStartAndStep: files without times follow one another, whatever cells can't be read.
func TestStartAndStep(t *testing.T) {
	m, err := ParseMapping("m.toml", []byte("[time]\nstart = 2026-03-08T00:30:00\nstep = \"30 min\"\nzone = \"America/Chicago\"\n[columns]\nP = \"dp[Pa]\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	a, b := write(t, "a.csv", "P\n1\nbad\n3\n"), write(t, "b.csv", "P\n4\n\n5\n")
	s, report, err := Read(context.Background(), []string{a, b}, Options{Mapping: m})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for i := range s.Time {
		got = append(got, s.When(i).Format("15:04"))
	}
	if want := "00:30 01:00 01:30 03:00 03:30"; strings.Join(got, " ") != want || report.FaultCount != 1 {
		t.Errorf("got %s, want %s; %v", strings.Join(got, " "), want, report.Sentences(9))
	}
}

func TestMappingRefused(t *testing.T) {
	cases := map[string]struct{ text, want string }{
		"unknown key":          {"delimeter = \";\"\n[columns]\nP = \"dp[Pa]\"\n", `m.toml: line 1: unknown key "delimeter"; the nearest known key is "delimiter"`},
		"unknown table":        {"[column]\nP = \"dp[Pa]\"\n", `m.toml: line 1: unknown key "column"; the nearest known key is "columns"`},
		"unknown key of time":  {"[time]\nformt = \"D\"\n[columns]\nP = \"dp[Pa]\"\n", `m.toml: line 2: unknown key "formt"; the nearest known key is "format"`},
		"unknown channel":      {"[columns]\nP = \"dpp[Pa]\"\n", `m.toml: line 2: column P: unknown channel "dpp"; the nearest known is "dp"`},
		"no unit":              {"[columns]\nP = \"dp\"\n", `m.toml: line 2: column P: the unit is missing; write dp[in.w.g.] or dp[Pa]`},
		"wrong unit":           {"[columns]\nP = \"dp[K]\"\n", `m.toml: line 2: column P: "K" is a unit of temperature, and a pressure is due; write dp[in.w.g.] or dp[Pa]`},
		"unknown key of a col": {"[columns]\nP = { channel = \"dp[Pa]\", scal = 2 }\n", `m.toml: line 2: column P: unknown key "scal"; the nearest known is "scale"`},
		"scale of zero":        {"[columns]\nP = { channel = \"dp[Pa]\", scale = 0 }\n", `m.toml: line 2: column P: the value of scale can't be used; write for example { channel = "dp[mbar]", scale = 0.1, offset = 0.0, optional = true }`},
		"no channel":           {"[columns]\nP = { scale = 2 }\n", `m.toml: line 2: column P: channel is missing, for example { channel = "dp[mbar]", scale = 0.1 }`},
		"a number":             {"[columns]\nP = 5\n", `m.toml: line 2: column P: write what it holds, for example "dp[mbar]", or "ignore"`},
		"twice":                {"[columns]\nP = \"dp[Pa]\"\nQ = \"dp[Pa]\"\n", `m.toml: line 3: columns P and Q are both mapped to dp`},
		"no columns":           {"skip = 1\n", `m.toml: a mapping needs a table [columns] that says what each column holds, for example "AFDP" = "dp[mbar]"`},
		"delimiter":            {"delimiter = \"ab\"\n[columns]\nP = \"dp[Pa]\"\n", "m.toml: line 1: delimiter \"ab\" is not one of , ; \t | tab comma semicolon"},
		"zone":                 {"[time]\nzone = \"America/Chicag\"\n[columns]\nP = \"dp[Pa]\"\n", `m.toml: line 2: "America/Chicag" is no known time zone; the nearest is "America/Chicago"`},
		"start without step":   {"[time]\nstart = \"2026-03-02T07:00:00Z\"\n[columns]\nP = \"dp[Pa]\"\n", `m.toml: line 2: start and step belong together: the time of the first row and the time between rows`},
		"start and column":     {"[time]\ncolumn = \"t\"\nstart = \"2026-03-02T07:00:00Z\"\nstep = \"1 h\"\n[columns]\nP = \"dp[Pa]\"\n", `m.toml: line 3: a file has either a time column or start and step, not both`},
		"step":                 {"[time]\nstart = \"2026-03-02T07:00:00Z\"\nstep = \"1\"\n[columns]\nP = \"dp[Pa]\"\n", `m.toml: line 3: step: "1": a time needs its unit; write it like "150 ms" or "10 s"`},
		"start":                {"[time]\nstart = \"3/2/2026\"\nstep = \"1 h\"\n[columns]\nP = \"dp[Pa]\"\n", `m.toml: line 2: start "3/2/2026" is no time; write it like "2026-03-02T07:00:00-06:00"`},
		"constant":             {"[columns]\nP = \"dp[Pa]\"\n[constants]\nbarometer = \"101 psig\"\n", `m.toml: line 4: barometer: "101 psig": "psig" does not say absolute, and an absolute pressure is due here; add the local barometer to a gauge reading first; write it like "14.7 psia" or "1013 hPa"`},
		"not TOML":             {"[columns\n", `m.toml: line 1: not valid TOML: expected ']' to close table name`},
		"two faults": {"[columns]\nP = \"dp\"\nQ = \"headr[psi]\"\n",
			"m.toml: line 2: column P: the unit is missing; write dp[in.w.g.] or dp[Pa]\nm.toml: line 3: column Q: unknown channel \"headr\"; the nearest known is \"header\""},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			_, err := ParseMapping("m.toml", []byte(c.text))
			if err == nil || err.Error() != c.want {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
		})
	}
	if _, err := LoadMapping(filepath.Join(t.TempDir(), "no.toml")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("absent: got %v", err)
	}
}

// TestMappingDoesNotFit: a mapping for another file says which column it misses.
func TestMappingDoesNotFit(t *testing.T) {
	m, err := ParseMapping("m.toml", []byte("[columns]\nAFDPP = \"dp[mbar]\"\n"))
	if err != nil {
		t.Fatal(err)
	}
	path := write(t, "log.csv", "time,AFDP\n2026-03-02T07:00:00Z,1\n")
	_, _, err = Read(context.Background(), []string{path}, Options{Mapping: m})
	want := path + `: line 1: the mapping m.toml names a column "AFDPP", and this file has none; the nearest here is "AFDP"`
	if err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}
