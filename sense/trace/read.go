package trace

import (
	"bufio"
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"
	"unicode/utf8"

	"dustwright/unit"
)

// Error says what is wrong with a trace file, where, and what would be right.
type Error struct {
	File         string
	Line, Column int // 0 where the whole file is meant
	Text         string
	Cause        error
}

func (e *Error) Error() string {
	place := e.File
	if e.Line > 0 {
		place += fmt.Sprintf(":%d", e.Line)
		if e.Column > 0 {
			place += fmt.Sprintf(":%d", e.Column)
		}
	}
	return place + ": " + e.Text
}

func (e *Error) Unwrap() error { return e.Cause }

// limits of a trace file.
const (
	maxLine = 1 << 16 // bytes
	maxRows = 2 << 20 // rows kept; a longer trace is averaged down by twos
	maxHead = 50      // lines before the header line
)

// Load reads a trace file, plain or gzip.
func Load(path string) (*Trace, error) {
	f, err := os.Open(path)
	if err != nil {
		var p *os.PathError
		if errors.As(err, &p) {
			err = p.Err
		}
		return nil, &Error{File: path, Text: fmt.Sprintf("cannot be opened: %v", err), Cause: err}
	}
	defer f.Close() // only read
	return Read(f, filepath.ToSlash(path))
}

// Read reads a trace: CSV with the columns time_s (or time, RFC 3339), header[unit] and, where known, pulse
// (the number of the valve at the row where it fires or is told to). Commas, semicolons or tabs part the
// cells; with the latter two a decimal comma is read too. Byte order marks, CRLF, gzip, lines of comment
// (#) before the header line and other columns are passed over. A cell without a number is a missing
// reading. Rows out of order by less than a second are sorted, rows of the same time averaged. Memory is
// bounded: a trace of more than two million rows is averaged down by twos. Errors are *Error and say
// what would be right. It does not close r.
func Read(r io.Reader, name string) (*Trace, error) {
	in := bufio.NewReaderSize(r, maxLine)
	if magic, err := in.Peek(2); err == nil && magic[0] == 0x1f && magic[1] == 0x8b {
		z, err := gzip.NewReader(in)
		if err != nil {
			return nil, &Error{File: name, Text: fmt.Sprintf("is no whole gzip file: %v", err), Cause: err}
		}
		in = bufio.NewReaderSize(z, maxLine)
	}
	rd := &reader{in: in, name: name}
	if err := rd.head(); err != nil {
		return nil, err
	}
	if err := rd.rows(); err != nil {
		return nil, err
	}
	return rd.finish()
}

// reader is a trace file being read.
type reader struct {
	in   *bufio.Reader
	name string
	line int

	delim             byte
	timeCol, pressCol int
	pulseCol          int       // -1 without
	stamps            bool      // times are RFC 3339
	epoch             time.Time // the first of them
	scale             unit.Unit
	store             rowStore
	last              float64 // time of the last row [s]
	held              string  // what the pulse cell of the last row said
	read, bad         int
	firstBad          *Error
	disorder          bool
	firstRow          bool
}

// next reads a line without its end; io.EOF after the last.
func (rd *reader) next() ([]byte, error) {
	b, err := rd.in.ReadSlice('\n')
	rd.line++
	switch {
	case errors.Is(err, bufio.ErrBufferFull):
		return nil, rd.fail(0, "the line is longer than %d characters; this is no trace", maxLine)
	case errors.Is(err, io.EOF):
		if len(b) == 0 {
			return nil, io.EOF
		}
	case err != nil:
		return nil, &Error{File: rd.name, Line: rd.line, Text: fmt.Sprintf("cannot be read on: %v", err), Cause: err}
	}
	b = bytes.TrimRight(b, "\r\n")
	if rd.line == 1 {
		b = bytes.TrimPrefix(b, []byte("\xef\xbb\xbf"))
	}
	if bytes.IndexByte(b, 0) >= 0 {
		return nil, rd.noText()
	}
	return b, nil
}

func (rd *reader) noText() *Error {
	return rd.fail(0, "this is no text file; a trace is CSV with the columns time_s and header[psi]")
}

func (rd *reader) fail(column int, format string, args ...any) *Error {
	return &Error{File: rd.name, Line: rd.line, Column: column, Text: fmt.Sprintf(format, args...)}
}

// head finds the header line and what its columns mean.
func (rd *reader) head() error {
	for range maxHead {
		b, err := rd.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return err
		}
		if text := bytes.TrimSpace(b); len(text) == 0 || text[0] == '#' {
			continue
		}
		return rd.columns(string(b))
	}
	return &Error{File: rd.name, Text: "holds no header line; the first line of a trace names its columns, such as time_s,header[psi],pulse"}
}

// columns reads the header line.
func (rd *reader) columns(line string) error {
	rd.delim = ','
	for _, d := range []byte{';', '\t'} {
		if strings.Count(line, string(d)) > strings.Count(line, string(rd.delim)) {
			rd.delim = d
		}
	}
	rd.timeCol, rd.pressCol, rd.pulseCol = -1, -1, -1
	cells := strings.Split(line, string(rd.delim))
	for i, cell := range cells {
		cell = strings.Trim(strings.TrimSpace(cell), `"'`)
		name, symbol, _ := strings.Cut(strings.TrimSuffix(cell, "]"), "[")
		switch word := strings.ToLower(strings.TrimSpace(name)); word {
		case "time_s", "t", "seconds":
			rd.timeCol, rd.stamps = i, false
		case "time", "timestamp":
			if rd.timeCol < 0 {
				rd.timeCol, rd.stamps = i, !strings.EqualFold(strings.TrimSpace(symbol), "s")
			}
		case "header", "header_psi", "header_bar", "header_kpa":
			if rd.pressCol >= 0 {
				return rd.fail(columnAt(cells, i), "there are two columns of header pressure; keep the one to be judged")
			}
			if _, suffix, ok := strings.Cut(word, "_"); ok && symbol == "" {
				symbol = suffix
			}
			if err := rd.unit(cells, i, symbol); err != nil {
				return err
			}
			rd.pressCol = i
		case "pulse":
			rd.pulseCol = i
		}
	}
	return rd.complete(cells)
}

// unit finds the unit of the header column.
func (rd *reader) unit(cells []string, i int, symbol string) error {
	if strings.TrimSpace(symbol) == "" {
		return rd.fail(columnAt(cells, i), "%q gives no unit: write header[psi], header[bar] or header[kPa], gauge", cells[i])
	}
	u, err := unit.Lookup(unit.KindPressure, symbol)
	if err != nil {
		e := rd.fail(columnAt(cells, i), "%v; the header is read as gauge pressure, such as header[psi]", err)
		e.Cause = err
		return e
	}
	rd.scale = u
	return nil
}

// complete says what a header line lacks.
func (rd *reader) complete(cells []string) error {
	lacks := func(want, known string) error {
		if !utf8.ValidString(strings.Join(cells, "")) {
			return rd.noText()
		}
		for i, c := range cells {
			name, _, _ := strings.Cut(strings.Trim(strings.TrimSpace(c), `"'`), "[")
			if near := unit.Nearest(strings.ToLower(name), []string{known}); near != "" {
				return rd.fail(columnAt(cells, i), "no column %s; did you mean it by %q", want, name)
			}
		}
		return rd.fail(0, "no column %s among %s; a trace has time_s,header[psi] and, where known, pulse", want, shorten(cells))
	}
	if rd.pressCol < 0 {
		return lacks("header[psi]", "header")
	}
	if rd.timeCol < 0 {
		return lacks("time_s", "time_s")
	}
	return nil
}

// shorten lists column names for a message.
func shorten(cells []string) string {
	text := strings.Join(cells, " ")
	if len(text) > 80 {
		text = text[:80] + " ..."
	}
	return fmt.Sprintf("%q", text)
}

// columnAt is the position of the i-th cell in its line, from 1.
func columnAt(cells []string, i int) int {
	at := 1
	for _, c := range cells[:i] {
		at += len(c) + 1
	}
	return at
}

// finish sorts what needs it and refuses what holds too little.
func (rd *reader) finish() (*Trace, error) {
	tr := &Trace{Source: rd.name}
	if rd.read == 0 || rd.bad*5 > rd.read+rd.bad {
		if rd.firstBad != nil {
			rd.firstBad.Text += fmt.Sprintf("; %d of %d rows cannot be read", rd.bad, rd.read+rd.bad)
			return nil, rd.firstBad
		}
		return nil, &Error{File: rd.name, Text: "holds no row under its header line"}
	}
	if rd.bad > 0 {
		tr.Notes = append(tr.Notes, fmt.Sprintf("%d cells could not be read, the first: %v", rd.bad, rd.firstBad))
	}
	if rd.store.each > 1 {
		tr.Notes = append(tr.Notes, fmt.Sprintf("%d readings were averaged into each row kept", rd.store.each))
	}
	if rd.disorder {
		tr.Notes = append(tr.Notes, "some rows stood out of order and were sorted by time")
	}
	rd.store.flush()
	tr.Time, tr.Header, tr.Marks = rd.store.settle()
	return tr, nil
}

// rowStore keeps the rows, and halves their number when there are too many.
type rowStore struct {
	time, press []float64
	marks       []Mark
	each        int // readings in each row kept
	n, good     int // in the row being gathered
	t, p        float64
}
