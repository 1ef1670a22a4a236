package feed

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestRefused: what can't be read ends in one sentence that says what to do.
func TestRefused(t *testing.T) {
	const head = "time,dp[in.w.g.]\n"
	const row = "2026-03-02T07:00:00-06:00,0.71\n"
	cases := map[string]struct{ text, want string }{
		"empty":       {"", "LOG: the file is empty; check that the logger wrote to it"},
		"one mark":    {"\ufeff", "LOG: the file holds no line of text; check that the logger wrote to it"},
		"blank lines": {"\n\n# nothing\n\n", "LOG: it holds only blank lines and comments; check that the logger wrote to it"},
		"header only": {head, "LOG: it names its columns but holds no readings; check that the logger was running"},
		"picture":     {"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "LOG: this is a picture, not a log; give the CSV or .xlsx the logger exports"},
		"old spreadsheet": {"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1\x00\x00",
			"LOG: this is a spreadsheet of the old binary kind (.xls); save it as .xlsx or CSV"},
		"binary":     {strings.Repeat("\x01\x02\x03\x00a", 500), "LOG: this is a binary file, not a log; give the CSV or .xlsx the logger exports"},
		"zeros":      {strings.Repeat("\x00", 5000), "LOG: this is a binary file, not a log; give the CSV or .xlsx the logger exports"},
		"JSON":       {`{"dp": 1}`, "LOG: line 1: this is JSON, not a log with columns; the first line of a log names the columns, for example time,dp[in.w.g.]; other layouts come in through a mapping (--mapping, see docs/logs.md)"},
		"web page":   {"<html>\n<body>dp</body>", "LOG: line 1: this is a web page or XML, not a log with columns; the first line of a log names the columns, for example time,dp[in.w.g.]; other layouts come in through a mapping (--mapping, see docs/logs.md)"},
		"no header":  {row, "LOG: line 1: no column is known in \"2026-03-02T07:00:00-06:00,0.71\"; the first line of a log names the columns, for example time,dp[in.w.g.]; other layouts come in through a mapping (--mapping, see docs/logs.md)"},
		"no unit":    {"time,dp\n" + row, "LOG: line 1, column dp: the unit is missing; write dp[in.w.g.] or dp[Pa]"},
		"wrong unit": {"time,dp[degC]\n" + row, "LOG: line 1, column dp[degC]: \"degC\" is a unit of temperature, and a pressure is due; write dp[in.w.g.] or dp[Pa]"},
		"no unit at all": {"time,dp[psi*]\n" + row,
			"LOG: line 1, column dp[psi*]: \"psi*\" is no known unit of pressure; write dp[in.w.g.] or dp[Pa]"},
		"misspelt unit": {"time,dp[in.w.h.]\n" + row,
			"LOG: line 1, column dp[in.w.h.]: \"in.w.h.\" is no known unit of pressure (nearest: \"in.w.g.\"); write dp[in.w.g.] or dp[Pa]"},
		"standard flow": {"time,flow[scfm]\n" + row,
			"LOG: line 1, column flow[scfm]: \"scfm\" is a flow at standard conditions, and the flow as it is at the place (actual) is due here; at the site's density it is a different number; write flow[cfm] or flow[m3/h]"},
		"gauge barometer": {"time,barometer[psig],dp[Pa]\n" + row,
			"LOG: line 1, column barometer[psig]: \"psig\" does not say absolute, and an absolute pressure is due here; add the local barometer to a gauge reading first; write barometer[inHg] or barometer[hPa]"},
		"two wrong columns": {"time,dp,header[K]\n" + row,
			"LOG: line 1, column dp: the unit is missing; write dp[in.w.g.] or dp[Pa]\nLOG: line 1, column header[K]: \"K\" is a unit of temperature, and a pressure is due; write header[psi] or header[kPa]"},
		"a channel twice": {"time,dp[Pa],dP[in.w.g.]\n" + row,
			"LOG: line 1, column dP[in.w.g.]: column dp[Pa] is dp as well; rename one of them, or ignore it in a mapping"},
		"no time": {"dp[Pa]\n1\n", "LOG: line 1: there is no time column; head it time and write times like 2026-03-02T07:00:00-06:00, or give start and step in a mapping (docs/logs.md)"},
		"no channel": {"time,Differential pressure\n" + row,
			"LOG: line 1: none of the columns \"Differential pressure\" is a channel; \"Differential pressure\" may be dp[in.w.g.] or dp[Pa]: head it so, or say it in a mapping (docs/logs.md)"},
		"a name with more in it": {"date;Operator;dP across filters (in. w.g.)\n3/2/2026;a;2,1\n",
			"LOG: line 1: none of the columns Operator, \"dP across filters (in. w.g.)\" is a channel; \"dP across filters (in. w.g.)\" may be dp[in.w.g.] or dp[Pa]: head it so, or say it in a mapping (docs/logs.md)"},
		"another language": {"Datum\tUhrzeit\tDifferenzdruck [mbar]\n02.03.2026\t07:00\t5,1\n",
			"LOG: line 1: no column is known among Datum, Uhrzeit, \"Differenzdruck [mbar]\"; \"Differenzdruck [mbar]\" may be dp[in.w.g.] or dp[Pa]: head it so, or say it in a mapping (docs/logs.md); the time's column is headed time"},
		"no time readable": {head + "yesterday,0.71\n",
			"LOG: no row of it can be used; the first: LOG: line 2, column time: \"yesterday\" is no time from 1990 on; the row is not used; write times like 2026-03-02T07:00:00-06:00, or give their format in a mapping (docs/logs.md)"},
		"decimal comma between commas": {head + "2026-03-02T07:00:00-06:00,0,71\n2026-03-02T07:01:00-06:00,0,72\n",
			"LOG: line 2: the rows have 3 cells and the header names 2 columns; if numbers are written with a decimal comma, export with semicolons between the columns"},
		"second header": {head + row + "time,header[psi]\n" + row,
			"LOG: line 3: here a second header begins, with other columns than the first; split the file before this line and give both parts"},
		"dates both ways": {head + "13/2/2026 7:00,1\n2/14/2026 7:00,1\n3/2/2026 7:00,1\n",
			"LOG: some dates have the day first and others the month; export it with one kind of date, best as 2026-03-02, or split it and give each part its time format in a mapping"},
		"long line":   {head + row + strings.Repeat("7", 5000), "LOG: line 3: the line is longer than 4,096 bytes; this is no log with one reading time per line; export it again as CSV with line ends"},
		"gzip cut":    {zipped(t, head+strings.Repeat(row, 50))[:40], "LOG: the gzip file ends too early; it was probably cut while it was copied: copy it again"},
		"gzip bent":   {damaged(zipped(t, head+strings.Repeat(row, 50))), "LOG: the gzip file is damaged; copy it again from the logger"},
		"half a zip":  {"PK\x03\x04 not really", "LOG: the workbook is damaged; open it in a spreadsheet program and save it again, or export CSV"},
		"zip archive": {archive(t, "log.csv", 9), "LOG: this is a zip archive, not a spreadsheet; unpack it and give the logs in it"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			path := write(t, "log.csv", c.text)
			s, _, err := Read(context.Background(), []string{path}, Options{MaxLine: 4096})
			if err == nil {
				t.Fatalf("read %d rows, want an error", s.Len())
			}
			if got := strings.ReplaceAll(err.Error(), path, "LOG"); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
		})
	}
}

// archive makes a zip file with one file of so many bytes in it.
func archive(t testing.TB, name string, size int) string {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	w, err := z.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Write(make([]byte, size)); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// damaged flips a byte of the checksum.
func damaged(gz string) string {
	b := []byte(gz)
	b[len(b)-6] ^= 0xff
	return string(b)
}

func TestNotFiles(t *testing.T) {
	dir := t.TempDir()
	_, _, err := Read(context.Background(), []string{dir}, Options{})
	if want := dir + ": this is a folder, not a log; name the logs in it, for example " + filepath.Join(dir, "*.csv"); err == nil || err.Error() != want {
		t.Errorf("folder: got %v, want %s", err, want)
	}
	absent := filepath.Join(dir, "absent.csv")
	_, _, err = Read(context.Background(), []string{absent}, Options{})
	if want := absent + ": there is no such file; check the name and the folder"; err == nil || err.Error() != want || !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("absent: got %v, want %s", err, want)
	}
	if got := openError("log.csv", &fs.PathError{Op: "open", Path: "log.csv", Err: fs.ErrPermission}).Error(); got != "log.csv: it may not be read by this user; ask its owner for the right to read it" {
		t.Errorf("permission: got %s", got)
	}
	if _, _, err := Read(context.Background(), nil, Options{}); err == nil || err.Error() != "no log: none was named; give one or more CSV or .xlsx files" {
		t.Errorf("no path: got %v", err)
	}
}

// TestHugeLine: a line of two gigabytes ends the reading after the longest line there may be, whatever
// follows. The file is sparse, its zeros are what a broken logger leaves.
func TestHugeLine(t *testing.T) {
	path := write(t, "log.csv", "time,dp[in.w.g.]\n2026-03-02T07:00:00-06:00,0.71\n"+strings.Repeat("1", 5000))
	if err := os.Truncate(path, 2<<30); err != nil {
		t.Skipf("no sparse files here: %v", err)
	}
	_, _, err := Read(context.Background(), []string{path}, Options{})
	want := path + ": line 3: the line is longer than 1,048,576 bytes; this is no log with one reading time per line; export it again as CSV with line ends"
	if err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

func TestInterrupted(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.csv")
	writeYear(t, path, 30000)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	opts := Options{Progress: func(int64, int64) { cancel() }}
	_, _, err := Read(ctx, []string{path}, opts)
	if want := path + ": reading was interrupted; nothing was changed; run it again"; !errors.Is(err, context.Canceled) || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

// TestFaults: a cell that can't be read is reported with file, line and column, and the rest goes on.
func TestFaults(t *testing.T) {
	text := "time,running,dp[in.w.g.],flow[cfm],pulse,header[psi]\n" +
		"2026-03-02T07:00:00-06:00,1,0.71,4200,1 2,60\n" +
		"2026-03-02T07:01:00-06:00,maybe,4.O3,-4200,1 x,60\n" +
		"2026-03-02T07:02:00-06:00,1,1e9,4200,,60,surplus\n" +
		"soon,1,0.73,4200,,60\n" +
		",,,,,\n" +
		",1,0.73,4200,,60\n" +
		"1970-01-01T00:00:00Z,1,0.73,4200,,60\n" +
		"\x00\x00\x00\x00\x00\n" +
		"2026-03-02T07:03:00-06:00,1,NaN,n/a,-,null\n" +
		"2026-03-02T07:04:00-06:00,1,-9999,4200,,60\n" +
		"2026-03-02T07:05:00-06:00,1,0.7"
	path := write(t, "log.csv", text)
	s, report, err := Read(context.Background(), []string{path}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := `LOG: line 3, column running: "maybe" is neither 0 nor 1
LOG: line 3, column dp[in.w.g.]: "4.O3" is no number
LOG: line 3, column flow[cfm]: "-4200" is negative, which an airflow can't be; if the instrument counts the other way round, scale = -1 in a mapping turns it
LOG: line 3, column pulse: "1 x" is no list of valve numbers such as 1 2 3
LOG: line 4, column dp[in.w.g.]: "1e9" is outside what such an instrument can show, -401.5 to 401.5 in.w.g.
LOG: line 4: "surplus" stands behind the last column of the header
LOG: line 5, column time: "soon" is no time from 1990 on; the row is not used
LOG: line 7, column time: the row has no time and is not used
LOG: line 8, column time: "1970-01-01T00:00:00Z" is no time from 1990 on; the row is not used
LOG: line 9, column time: "\x00\x00\x00\x00\x00" holds NUL bytes, as after a power cut; the row is not used
LOG: 1 cell holds -9999 or -99999 and was taken as no reading; if your logger writes another code, list it as missing in a mapping
LOG: the last line ends in the middle; its last cell was not used`
	if got := strings.ReplaceAll(strings.Join(report.Sentences(20), "\n"), path, "LOG"); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if s.Len() != 6 {
		t.Errorf("got %d rows, want 6", s.Len())
	}
	few, _, err := Read(context.Background(), []string{path}, Options{Faults: 2})
	if err != nil || few.Len() != 6 {
		t.Fatal(err)
	}
	if got := report.Sentences(2)[2]; got != "8 more cells or lines could not be read" {
		t.Errorf("rest: got %q", got)
	}
}

// TestUnusableColumn: a column of which most cells can't be used gets a sentence of its own.
func TestUnusableColumn(t *testing.T) {
	_, report := readText(t, "time,dp[Pa],header[bar]\n2026-03-02T07:00:00Z,1,4137\n2026-03-02T07:01:00Z,1,4140\n2026-03-02T07:02:00Z,1,4.1\n", Options{})
	want := "2 of 3 cells of column header[bar] can't be used; check the unit in its name, and the instrument"
	if len(report.Notes) != 1 || !strings.HasSuffix(report.Notes[0], want) || report.FaultCount != 2 {
		t.Errorf("got %q, want %q", report.Notes, want)
	}
}

// TestHangingPipe: an interruption ends the reading of a pipe whose writer has gone quiet.
func TestHangingPipe(t *testing.T) {
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	defer w.Close()
	path := fmt.Sprintf("/proc/self/fd/%d", r.Fd())
	if _, err := os.Stat(path); err != nil {
		t.Skip("pipes have no path here")
	}
	for _, written := range []string{"", "time,dp[Pa]\n" + strings.Repeat("2026-03-02T07:00:00Z,1\n", 400)} {
		if _, err := w.WriteString(written); err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(context.Background())
		done := make(chan error)
		go func() {
			_, _, err := Read(ctx, []string{path}, Options{})
			done <- err
		}()
		cancel()
		if err := <-done; !errors.Is(err, context.Canceled) {
			t.Errorf("%d bytes written: got %v", len(written), err)
		}
	}
}
