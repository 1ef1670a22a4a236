package feed

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"dustwright/sense"
	"dustwright/unit"
)

// checkSeries fails where a series breaks what its type promises.
func checkSeries(t *testing.T, s *sense.Series) {
	t.Helper()
	for i := range s.Time {
		if i > 0 && s.Time[i] <= s.Time[i-1] {
			t.Fatalf("row %d is not after the one before", i)
		}
	}
	for c, col := range s.Col {
		if col != nil && len(col) != len(s.Time) {
			t.Fatalf("%s has %d cells in %d rows", sense.Channel(c), len(col), len(s.Time))
		}
		for i, v := range col {
			if sense.Channel(c) != sense.Pulse && !math.IsNaN(v) && (v < rules[c].low || v > rules[c].high) {
				t.Fatalf("%s in row %d: %v is outside the limits", sense.Channel(c), i, v)
			}
		}
	}
	for i, f := range s.Pulses {
		if f.Valve < 1 || f.Row < 0 || int(f.Row) >= len(s.Time) || i > 0 && f.Row < s.Pulses[i-1].Row {
			t.Fatalf("firing %d: %+v", i, f)
		}
	}
}

func seeds(f *testing.F, pattern string) {
	paths, err := filepath.Glob(pattern)
	if err != nil || len(paths) == 0 {
		f.Fatalf("no seeds in %s: %v", pattern, err)
	}
	for _, p := range paths {
		data, err := os.ReadFile(p)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
}

// FuzzCSV: whatever stands in a file, reading ends with a sound series or a sentence, and Stream
// agrees with Read.
func FuzzCSV(f *testing.F) {
	seeds(f, "testdata/*.csv")
	f.Add([]byte("time;dp\n;in.w.g.\n02.03.2026;1,9\n3/2/2026 7:00 AM;\"2,1\"\n"))
	f.Add([]byte("\xff\xfet\x00i\x00m\x00e\x00,\x00d\x00p\x00[\x00P\x00a\x00]\x00\n\x002\x000\x00"))
	f.Add([]byte("date,time,dp[Pa]\n46083,0.25,1\n46083,7:00,\"1\n"))
	f.Add([]byte("time,dp[Pa],pulse\n2026-11-01 01:30,1,1 2\n2026-11-01 01:10,-9999,\n\n2026-03-08 02:30,1e9,x"))
	dir := f.TempDir()
	f.Fuzz(func(t *testing.T, data []byte) {
		path := filepath.Join(dir, "log.csv")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		opts := Options{Zone: chicago(t), MaxLine: 1 << 12, Workers: 2}
		s, report, err := Read(context.Background(), []string{path}, opts)
		if err != nil {
			if len(err.Error()) < 10 || s != nil {
				t.Fatalf("series %v with error %q", s, err)
			}
			return
		}
		checkSeries(t, s)
		if len(report.Sentences(5)) > len(data)+10 {
			t.Fatalf("%d sentences for %d bytes", len(report.Sentences(5)), len(data))
		}
		pieces, _, _, err := pieced(t, []string{path}, opts)
		if err != nil {
			t.Fatal(err)
		}
		sameRows(t, pieces, s, 0)
		var out bytes.Buffer
		if err := WriteCSV(&out, s, unit.SI); err != nil {
			t.Fatal(err)
		}
	})
}

// FuzzMapping: a mapping is read to what it prints, or refused with a sentence.
func FuzzMapping(f *testing.F) {
	seeds(f, "testdata/*.toml")
	f.Add([]byte("delimiter = \"tab\"\ndecimal = \",\"\nskip = 2\nmissing = [\"x\", -1]\n[time]\ncolumn = \"a\"\nclock = \"b\"\nformat = \"DD.MM.YY hh:mm\"\n" +
		"[columns]\n\"a b\" = { channel = \"dp[Pa]\", scale = 1e-3, offset = -1, optional = true }\n[constants]\nrunning = 1\nhumidity = \"40 %\"\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := ParseMapping("m.toml", data)
		if err != nil {
			if len(err.Error()) < 10 {
				t.Fatalf("error %q", err)
			}
			return
		}
		again, err := ParseMapping("m.toml", []byte(m.Text()))
		if err != nil {
			t.Fatalf("%v in\n%s", err, m.Text())
		}
		if diff := cmp.Diff(m, again); diff != "" {
			t.Fatalf("printed and read again (-want +got):\n%s\n%s", diff, m.Text())
		}
	})
}

// FuzzTime: every cell is a time within the years of logs, or none; RFC 3339 is read as the standard
// library reads it.
func FuzzTime(f *testing.F) {
	for _, s := range []string{"2026-03-02T07:00:00-06:00", "3/2/2026 7:00 AM", "02.03.2026 07:00", "46083.29", "1772456400", "2 Mar 2026 07:00:00.5", "20260302T0700Z", "2026-03-02"} {
		f.Add([]byte(s))
	}
	low, high := time.Date(firstYear-1, 12, 31, 0, 0, 0, 0, time.UTC), time.Date(lastYear+1, 1, 2, 0, 0, 0, 0, time.UTC)
	p, err := newPattern("D.M.YY h:mm:ss AM")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, cell []byte) {
		for _, order := range []dayOrder{monthFirst, dayFirst} {
			m, ok := looseTime(cell, order)
			if at := time.Unix(0, m.ns); ok && (at.Before(low) || at.After(high)) {
				t.Fatalf("%q is read as %s", cell, at.UTC())
			}
		}
		p.read(cell)
		padded := append(append([]byte(nil), cell...), make([]byte, padding)...)
		m, next := isoTime(padded, 0)
		if next < 0 || next > len(cell) {
			return
		}
		slow, ok := looseTime(cell[:next], monthFirst)
		if !ok || slow.ns != m.ns || slow.marks != m.marks || slow.offset != m.offset {
			t.Fatalf("%q: fast %+v, slow %+v %v", cell[:next], m, slow, ok)
		}
		if want, err := time.Parse(time.RFC3339Nano, string(cell[:next])); err == nil && want.UnixNano() != m.ns {
			t.Fatalf("%q: got %s, want %s", cell[:next], time.Unix(0, m.ns).UTC(), want.UTC())
		}
	})
}

// FuzzXLSX: a damaged workbook ends in a sentence, or in a sound series.
func FuzzXLSX(f *testing.F) {
	book := excelize.NewFile()
	for r, cells := range [][]any{{"time", "dp[Pa]", "humidity[%]"}, {46083.25, 1.5, 0.4}, {"2026-03-02 07:00", -2, "50 %"}} {
		for c, v := range cells {
			at, err := excelize.CoordinatesToCellName(c+1, r+1)
			if err != nil {
				f.Fatal(err)
			}
			if err := book.SetCellValue("Sheet1", at, v); err != nil {
				f.Fatal(err)
			}
		}
	}
	data, err := os.ReadFile(saveAs(f, book))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add(data[:len(data)/2])
	dir := f.TempDir()
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<16 || !bytes.HasPrefix(data, []byte("PK\x03\x04")) {
			return
		}
		path := filepath.Join(dir, "log.xlsx")
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
		defer cancel()
		s, _, err := Read(ctx, []string{path}, Options{Zone: time.UTC, MaxLine: 1 << 12, Workers: 1})
		if err == nil {
			checkSeries(t, s)
		}
	})
}
