package duct

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// Limits of a traverse file; whatever is larger is something else.
const (
	mostBytes    = 4 << 20
	mostLine     = 4096
	mostReadings = 500
)

// decode turns the bytes of a file into text: UTF-8 with or without a byte order mark, UTF-16 with one, else Windows' one-byte code, of which
// only the degree, micro, superscript and Latin letters matter here.
func decode(data []byte) (string, error) {
	switch {
	case bytes.HasPrefix(data, []byte{0xEF, 0xBB, 0xBF}):
		data = data[3:]
	case bytes.HasPrefix(data, []byte{0xFF, 0xFE}), bytes.HasPrefix(data, []byte{0xFE, 0xFF}):
		big := data[0] == 0xFE
		var units []uint16
		for i := 2; i+1 < len(data); i += 2 {
			lo, hi := data[i], data[i+1]
			if big {
				lo, hi = hi, lo
			}
			units = append(units, uint16(hi)<<8|uint16(lo))
		}
		data = []byte(string(utf16.Decode(units)))
	}
	if bytes.IndexByte(data, 0) >= 0 {
		return "", fmt.Errorf("it is no text but a binary file; save the sheet as CSV and give that")
	}
	if utf8.Valid(data) {
		return string(data), nil
	}
	var b strings.Builder
	for _, c := range data {
		b.WriteRune(rune(c))
	}
	return b.String(), nil
}

// splitLines cuts text at LF, CRLF or CR.
func splitLines(text string) []string {
	text = strings.ReplaceAll(text, "\r\n", "\n")
	text = strings.ReplaceAll(text, "\r", "\n")
	return strings.Split(text, "\n")
}

// splitCells cuts a line at comma, which may be quoted, and returns the cells with the columns [characters, from 1] where they begin.
func splitCells(line string, comma rune) (cells []string, columns []int, err error) {
	r := csv.NewReader(strings.NewReader(line))
	r.Comma, r.LazyQuotes, r.FieldsPerRecord, r.TrimLeadingSpace = comma, true, -1, comma != '\t'
	cells, err = r.Read()
	if err != nil {
		return nil, nil, err
	}
	for i := range cells {
		cells[i] = strings.TrimSpace(cells[i])
		_, at := r.FieldPos(i)
		columns = append(columns, utf8.RuneCountInString(line[:min(at-1, len(line))])+1)
	}
	return cells, columns, nil
}

// separator is the sign between a header's columns.
func separator(header string) rune {
	best := ','
	for _, sign := range []rune{';', '\t'} {
		if strings.Count(header, string(sign)) > strings.Count(header, string(best)) {
			best = sign
		}
	}
	return best
}

// decimalPoint turns a decimal comma into a point where it can be nothing else; in a file whose columns are not separated by commas
// every comma between digits is one.
func decimalPoint(text string, always bool) string {
	i := strings.IndexByte(text, ',')
	if i < 0 || strings.Count(text, ",") > 1 || i+1 >= len(text) || text[i+1] < '0' || text[i+1] > '9' {
		return text
	}
	digits := len(text[i+1:]) - len(strings.TrimLeft(text[i+1:], "0123456789"))
	after := text[i+1+digits:]
	thousands := digits == 3 && i > 0 && strings.Trim(text[:i], "+-0 ") != ""
	if thousands && !always || strings.HasPrefix(after, ".") {
		return text
	}
	return text[:i] + "." + text[i+1:]
}
