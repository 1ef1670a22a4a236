package feed

import (
	"bytes"
	"math"
	"strings"
)

// maxQuoted is the longest quoted cell that may run over line ends; behind a quote that is never
// closed, reading goes on at the next line.
const maxQuoted = 1 << 16

// cell takes the cell that begins at i, whatever it holds, trimmed and without its quotes, and the
// position of the delimiter or line end after it. The cell is only valid until the next call.
func (s *scanner) cell(i int) ([]byte, int) {
	b, delim := s.buf, s.layout.delim
	for b[i] == ' ' || b[i] == '\t' && delim != '\t' {
		i++
	}
	if b[i] == '"' {
		if cell, next, ok := s.quoted(i + 1); ok {
			return cell, next
		}
	}
	start := i
	for b[i] != delim && b[i] != '\n' {
		i++
	}
	return trimCell(b[start:i]), i
}

func trimCell(cell []byte) []byte {
	cell = bytes.Trim(cell, " \t\r\u00a0")
	return bytes.TrimPrefix(cell, []byte("'")) // a spreadsheet's mark for "this is text"
}

// quoted takes a quoted cell whose text begins at i. It reports false where the quote is never
// closed or something other than the cell's end follows it.
func (s *scanner) quoted(i int) ([]byte, int, bool) {
	b, start, doubled := s.buf, i, false
	for {
		k := bytes.IndexByte(b[i:min(len(b), start+maxQuoted)], '"')
		if k < 0 {
			return nil, 0, false
		}
		i += k + 1
		if b[i] != '"' {
			break
		}
		doubled = true
		i++
	}
	cell := b[start : i-1]
	for b[i] == ' ' || b[i] == '\r' {
		i++
	}
	if b[i] != s.layout.delim && b[i] != '\n' {
		return nil, 0, false
	}
	if doubled {
		s.scratch = append(s.scratch[:0], bytes.ReplaceAll(cell, []byte(`""`), []byte(`"`))...)
		cell = s.scratch
	}
	s.line += bytes.Count(cell, []byte("\n"))
	return trimCell(cell), i, true
}

// short fills the columns that a line has not. Where the file ends inside the line, its last cell may
// have lost digits, so it is not used.
func (s *scanner) short(k, last int, atEnd bool, r int) {
	from := k + 1
	if atEnd && s.cut && k < last && len(s.layout.columns) > 1 {
		s.out.tally.cutShort++
		from = k
		if s.layout.columns[k].content >= timestamp {
			s.timed, s.date, s.clock = false, s.date[:0], s.clock[:0]
		}
		for n := len(s.out.firings); n > 0 && s.out.firings[n-1].Row == int32(r); n-- {
			s.out.firings = s.out.firings[:n-1]
		}
	}
	for c := from; c <= last; c++ {
		if v := s.out.vals[c]; v != nil {
			v[r] = math.NaN()
			if s.layout.columns[c].content == pulses {
				v[r] = 0
			}
		}
	}
}

// surplus reads the cells of a line beyond the last column; only empty ones are right there.
func (s *scanner) surplus(i int) int {
	start := i
	for s.buf[i] != '\n' {
		i++
	}
	if extra := bytes.Trim(s.buf[start:i], ",;\t| \r\""); len(extra) > 0 {
		s.fault(-1, extra, "stands behind the last column of the header")
	}
	return i
}

// noTime says why a line is no row: the header come again, another header, nothing but delimiters,
// or a time that can't be read.
func (s *scanner) noTime(line []byte) {
	line = bytes.TrimRight(line, "\r")
	lay := s.layout
	switch {
	case bytes.Equal(line, lay.header) || len(lay.units) > 0 && bytes.Equal(line, lay.units):
		s.out.tally.repeats++
		return
	case len(bytes.Trim(line, ",;\t| \"")) == 0, s.out.tally.cutShort > 0:
		return
	}
	cells := splitCells(line[:min(len(line), 4096)], lay.delim)
	for k, cell := range cells {
		if k >= len(lay.columns) || lay.columns[k].content < timestamp {
			continue
		}
		name, _ := splitName(cell)
		if _, header := timeNames[squash(name)]; header && len(cells) > 1 {
			s.out.err = &Error{File: lay.file, Line: s.line, Why: "here a second header begins, with other columns than the first",
				Do: "split the file before this line and give both parts"}
			return
		}
		s.badTime(k, cell)
		return
	}
	s.fault(-1, line, "is too short to hold a time")
}

func (s *scanner) badTime(column int, cell string) {
	switch {
	case cell == "":
		s.fault(column, nil, "the row has no time and is not used")
	case strings.IndexByte(cell, 0) >= 0:
		s.fault(column, []byte(cell), "holds NUL bytes, as after a power cut; the row is not used")
	default:
		s.fault(column, []byte(cell), "is no time from 1990 on; the row is not used")
	}
}

// fault notes what could not be read; beyond the first ones it only counts. column is -1 where the line
// as a whole is meant.
func (s *scanner) fault(column int, cell []byte, why string) {
	name := ""
	if column >= 0 {
		s.out.bad[column]++
		name = s.layout.columns[column].name
	}
	if len(s.out.faults) >= s.keep {
		s.out.more++
		return
	}
	const most = 60
	if len(cell) > most {
		cell = cell[:most]
	}
	s.out.faults = append(s.out.faults, Fault{File: s.layout.file, Line: s.line, Column: name, Cell: string(cell), Why: why})
}
