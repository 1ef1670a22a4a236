package feed

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// maxWorkbook is how much a spreadsheet may hold when it is unpacked; more is no log but a trap.
const maxWorkbook = 4 << 30

// workbook reads every sheet of a spreadsheet that is a log, one after another. Each sheet goes as
// lines of text through the same way as a CSV file, so that a row of the sheet is a line in messages.
func (r *reading) workbook(ctx context.Context, path string, to sink) (err error) {
	defer func() {
		if p := recover(); p != nil { // a damaged sheet must not end the program, whoever wrote the parser
			err = workbookError(path, errDamaged)
		}
	}()
	if err := checkZip(path); err != nil {
		return err
	}
	book, err := excelize.OpenFile(path, excelize.Options{UnzipSizeLimit: maxWorkbook})
	if err != nil {
		return workbookError(path, err)
	}
	defer func() {
		if cerr := book.Close(); err == nil && cerr != nil {
			err = readError(path, cerr)
		}
	}()
	sheets := logSheets(book, r.opts)
	for _, sheet := range sheets {
		if err := r.sheet(ctx, path, book, sheet, len(sheets) > 1, to); err != nil {
			return err
		}
	}
	r.before += r.sizeOf(path)
	if r.opts.Progress != nil {
		r.opts.Progress(r.before, r.total)
	}
	return nil
}

// checkZip refuses zip files that are no spreadsheet, and those whose directory promises more than a
// zip file can hold, before anything is unpacked.
func checkZip(path string) error {
	z, err := zip.OpenReader(path)
	if err != nil {
		return workbookError(path, err)
	}
	defer z.Close() // read only
	var total uint64
	isBook := false
	for _, f := range z.File {
		const best = 1100 // deflate packs no better than about 1030 to 1
		if f.UncompressedSize64 > best*(f.CompressedSize64+1) || f.UncompressedSize64 > maxWorkbook {
			return workbookError(path, errDamaged)
		}
		total += f.UncompressedSize64
		isBook = isBook || strings.HasPrefix(f.Name, "xl/")
	}
	if total > maxWorkbook {
		return &Error{File: path, Why: "the workbook holds more than 4 GB when unpacked", Do: "export it as CSV"}
	}
	if !isBook {
		return &Error{File: path, Why: "this is a zip archive, not a spreadsheet", Do: "unpack it and give the logs in it"}
	}
	return nil
}

var errDamaged = errors.New("damaged")

func workbookError(path string, err error) error {
	e := &Error{File: path, Cause: err, Why: "the workbook is damaged", Do: "open it in a spreadsheet program and save it again, or export CSV"}
	if errors.Is(err, excelize.ErrWorkbookPassword) || errors.Is(err, excelize.ErrWorkbookFileFormat) {
		e.Why = "the workbook can't be opened: " + err.Error()
	}
	return e
}

// logSheets returns the sheets whose head names channels; where none does, the first with anything in
// it, so that its error says what is wrong.
func logSheets(book *excelize.File, opts *Options) []string {
	var logs []string
	first := ""
	for _, name := range book.GetSheetList() {
		lines, err := newSheetLines(book, name)
		if err != nil {
			continue // a chart sheet has no rows
		}
		head, err := io.ReadAll(io.LimitReader(lines, blockSize))
		closeErr := lines.close()
		if err != nil || closeErr != nil || len(bytes.TrimSpace(head)) == 0 {
			continue
		}
		if first == "" {
			first = name
		}
		s := &study{opts: opts, report: &Report{}, mapped: map[string]bool{}}
		s.split(head)
		if _, _, err := s.findHeader(&layout{}); err == nil {
			logs = append(logs, name)
		}
	}
	if len(logs) == 0 {
		if first == "" {
			first = book.GetSheetName(0)
		}
		return []string{first}
	}
	return logs
}

// sheet reads one sheet.
func (r *reading) sheet(ctx context.Context, path string, book *excelize.File, name string, several bool, to sink) error {
	label := path
	if several {
		label = fmt.Sprintf("%s, sheet %s", path, name)
	}
	lines, err := newSheetLines(book, name)
	if err != nil {
		return &Error{File: label, Why: "the sheet can't be read: " + err.Error(), Do: "export it as CSV", Cause: err}
	}
	in := &input{path: label, text: lines, base1904: lines.base1904}
	err = r.text(ctx, in, to)
	if ctx.Err() != nil {
		err = interrupted(path, ctx.Err())
	}
	return errors.Join(err, lines.close())
}

// sheetLines gives a sheet as lines of CSV, one per row, so that line numbers are row numbers.
type sheetLines struct {
	rows     *excelize.Rows
	percent  map[int]bool // columns shown as percent: the cell holds 0.41 and the person sees 41 %
	base1904 bool
	buf      []byte
}

// newSheetLines opens a sheet.
func newSheetLines(book *excelize.File, name string) (*sheetLines, error) {
	percent, err := percentColumns(book, name)
	if err != nil {
		return nil, err
	}
	rows, err := book.Rows(name)
	if err != nil {
		return nil, err
	}
	s := &sheetLines{rows: rows, percent: percent}
	if props, err := book.GetWorkbookProps(); err == nil && props.Date1904 != nil {
		s.base1904 = *props.Date1904
	}
	return s, nil
}

func (s *sheetLines) close() error { return s.rows.Close() }

// percentColumns finds the columns whose first cells are shown with a percent sign.
func percentColumns(book *excelize.File, name string) (map[int]bool, error) {
	rows, err := book.Rows(name)
	if err != nil {
		return nil, err
	}
	found := map[int]bool{}
	for n := 0; n < 20 && rows.Next(); n++ {
		cells, err := rows.Columns()
		if err != nil {
			break // the raw reading comes to the same place and reports it
		}
		for i, c := range cells {
			if v, ok := strings.CutSuffix(c, "%"); ok {
				if _, err := strconv.ParseFloat(v, 64); err == nil {
					found[i] = true
				}
			}
		}
	}
	return found, rows.Close()
}

// Read gives the next bytes of the lines.
func (s *sheetLines) Read(p []byte) (int, error) {
	for len(s.buf) == 0 {
		if !s.rows.Next() {
			if err := s.rows.Error(); err != nil {
				return 0, err
			}
			return 0, io.EOF
		}
		cells, err := s.rows.Columns(excelize.Options{RawCellValue: true})
		if err != nil {
			return 0, err
		}
		s.buf = s.line(s.buf[:0], cells)
	}
	n := copy(p, s.buf)
	s.buf = s.buf[n:]
	return n, nil
}

// line writes one row as CSV.
func (s *sheetLines) line(b []byte, cells []string) []byte {
	for i, c := range cells {
		if i > 0 {
			b = append(b, ',')
		}
		if s.percent[i] {
			if v, err := strconv.ParseFloat(c, 64); err == nil {
				c = strconv.FormatFloat(v*100, 'g', 15, 64) + "%"
			}
		}
		if !strings.ContainsAny(c, ",\"\r\n") {
			b = append(b, c...)
			continue
		}
		b = append(b, '"')
		for _, r := range []byte(c) {
			switch r {
			case '"':
				b = append(b, '"', '"')
			case '\r', '\n':
				b = append(b, ' ')
			default:
				b = append(b, r)
			}
		}
		b = append(b, '"')
	}
	return append(b, '\n')
}
