package feed

import (
	"bytes"
	"math"
	"strconv"

	"dustwright/sense"
	"dustwright/unit"
)

// batch is what one block of lines gave: rows in the order of the file, readings in SI.
type batch struct {
	rows    int
	times   []int64
	vals    [][]float64 // one per column of the layout, nil where the column is no channel
	firings []sense.Firing
	faults  []Fault
	more    int   // faults beyond those kept
	bad     []int // faults of each column
	marks   marks
	offset  int32 // of the last row that carried one
	tally   tally
	err     error // what ends the file
}

// tally counts what is worth a sentence in the report when a file is done.
type tally struct {
	sentinels int // cells with -9999 and the like
	repeats   int // header lines that came again
	mixed     int // times with an offset among times without, or the other way round
	cutShort  int // last line without all its cells and without a line end
}

// padding is how many bytes must follow the last line of a block, so that a time can be looked at
// without asking where the block ends.
const padding = 32

// scanner reads the lines of one block into a batch.
type scanner struct {
	layout  *layout
	keep    int // faults to keep
	buf     []byte
	pos     int
	line    int  // number of the line being read
	cut     bool // the last line of the block has no line end in the file
	out     *batch
	scratch []byte // a quoted cell without its doubled quotes
	date    []byte // date and time of day of the row, where they stand in two columns
	clock   []byte
	both    []byte
	now     moment
	timed   bool // the row's time has been read
}

// scan reads a block of whole lines; buf ends with a line end, followed by padding. before is the
// number of lines in front of it.
func (s *scanner) scan(buf []byte, before int, cut bool, out *batch) {
	s.buf, s.pos, s.line, s.cut, s.out = buf[:len(buf)+padding], 0, before, cut, out
	for end := len(buf); s.pos < end && out.err == nil; {
		s.row(end)
	}
}

// row reads one line. The row counts once its time is known.
func (s *scanner) row(end int) {
	start := s.pos
	s.line++
	b := s.buf
	if c := b[start]; c == '\n' || c == '\r' || c == '#' {
		s.pos = start + lineLength(b[start:end])
		return
	}
	s.timed, s.date, s.clock = s.layout.counted, s.date[:0], s.clock[:0]
	firings, faults, more := len(s.out.firings), len(s.out.faults), s.out.more
	at := s.cells(start, end)
	s.pos = at + 1
	if len(s.date) > 0 && len(s.clock) > 0 {
		s.joinTime()
	}
	if !s.timed {
		s.out.firings, s.out.faults, s.out.more = s.out.firings[:firings], s.out.faults[:faults], more
		s.noTime(b[start:at])
		return
	}
	s.out.times[s.out.rows] = s.now.ns
	s.out.rows++
}

// cells reads the cells of the line that begins at i and returns where it ends. This is where the
// time of reading a long log goes: what is written plainly is read without a call.
func (s *scanner) cells(i, end int) int {
	b, lay, vals, r := s.buf, s.layout, s.out.vals, s.out.rows
	delim, point, last := lay.delim, lay.point, len(lay.columns)-1
	for k := range lay.columns {
		col := &lay.columns[k]
		switch col.content {
		case number:
			raw, next := plainNumber(b, i, delim, point)
			if v := raw*col.factor + col.offset; next >= 0 && v >= col.low && v <= col.high && raw > -9999 && len(lay.missing) == 0 {
				vals[k][r] = v
				i = next
			} else {
				vals[k][r], i = s.oddNumber(col, k, i)
			}
		case timestamp:
			i = s.timestamp(i)
		case state:
			if d := b[i] - '0'; d <= 1 && (b[i+1] == delim || b[i+1] == '\n') {
				vals[k][r] = float64(d)
				i++
			} else {
				vals[k][r], i = s.oddState(col, k, i)
			}
		default:
			i = s.other(col, k, i, r)
		}
		if b[i] == '\r' {
			i = s.carriage(i)
		}
		if b[i] == '\n' {
			s.short(k, last, i+1 == end, r)
			return i
		}
		i++
	}
	return s.surplus(i)
}

// lineLength returns the length of the first line of b with its end.
func lineLength(b []byte) int {
	if k := bytes.IndexByte(b, '\n'); k >= 0 {
		return k + 1
	}
	return len(b)
}

// carriage steps over carriage returns, which stand before line ends and now and then inside a line.
func (s *scanner) carriage(i int) int {
	for s.buf[i] == '\r' {
		i++
	}
	if c := s.buf[i]; c != '\n' && c != s.layout.delim {
		_, i = s.cell(i)
	}
	return i
}

// oddNumber reads a cell that is not simply a number within limits, and reports it where it is none.
func (s *scanner) oddNumber(col *column, k, i int) (float64, int) {
	if c := s.buf[i]; c == s.layout.delim || c == '\n' {
		return math.NaN(), i
	}
	cell, next := s.cell(i)
	if s.missing(cell) {
		return math.NaN(), next
	}
	raw, ok := slowNumber(cell, s.layout.point)
	v := raw*col.factor + col.offset
	if !ok {
		v, ok = col.withUnit(cell)
	}
	switch {
	case !ok && bytes.IndexByte(cell, 0) >= 0:
		s.fault(k, cell, "holds NUL bytes, as after a power cut")
	case !ok:
		s.fault(k, cell, "is no number")
	case s.layout.missingNumber(raw):
	case sentinel(raw):
		s.out.tally.sentinels++
	case v >= col.low && v <= col.high:
		return v, next
	case v < 0 && col.kind == unit.KindFlow:
		s.fault(k, cell, "is negative, which an airflow can't be; if the instrument counts the other way round, scale = -1 in a mapping turns it")
	default:
		s.fault(k, cell, "is outside what such an instrument can show, "+col.limits())
	}
	return math.NaN(), next
}

// missing reports whether the cell means no reading, and counts the doubtful ones.
func (s *scanner) missing(cell []byte) bool {
	if len(cell) == 0 || len(s.layout.missing) > 0 && s.layout.givenMissing(cell) {
		return true
	}
	told, missing := missingWord(cell)
	if told {
		s.out.tally.sentinels++
	}
	return missing
}

// timestamp reads the time of the row.
func (s *scanner) timestamp(i int) int {
	lay := s.layout
	if lay.pattern == nil {
		if m, next := isoTime(s.buf, i); next >= 0 {
			if c := s.buf[next]; c == lay.delim || c == '\n' || c == '\r' {
				s.setTime(m)
				return next
			}
		}
	}
	cell, next := s.cell(i)
	if m, ok := lay.readTime(cell); ok {
		s.setTime(m)
	}
	return next
}

// readTime reads a time cell that is not written as RFC 3339 has it.
func (lay *layout) readTime(cell []byte) (moment, bool) {
	if lay.pattern != nil {
		return lay.pattern.read(cell)
	}
	return looseTime(cell, lay.order)
}

// setTime takes the time of the row. In a file that has times with and without an offset the odd ones
// are brought to the form of the others.
func (s *scanner) setTime(m moment) {
	if m.marks&zoned != s.layout.zoned {
		m = s.layout.likeOthers(m)
		s.out.tally.mixed++
	}
	if s.layout.base1904 && m.marks&serialDay != 0 {
		m.ns += 1462 * day
	}
	s.now, s.timed = m, true
	s.out.marks |= m.marks
	if m.marks&zoned != 0 {
		s.out.offset = m.offset
	}
}

// joinTime makes the time of a row out of a date and a time of day in two columns.
func (s *scanner) joinTime() {
	// A spreadsheet's time of day is a fraction of a day behind a whole day number.
	if fraction, ok := slowNumber(s.clock, '.'); ok && fraction >= 0 && fraction < 1 {
		if m, ok := s.layout.readTime(s.date); ok && m.marks&(serialDay|bareDate) != 0 {
			m.marks &^= bareDate
			m.ns += int64(math.Round(fraction*86400e3)) * (second / 1000)
			s.setTime(m)
		}
		return
	}
	s.both = append(append(append(s.both[:0], s.date...), ' '), s.clock...)
	if m, ok := s.layout.readTime(s.both); ok {
		s.setTime(m)
	} else if m, ok := s.layout.readTime(s.date); ok && m.marks&serialDay != 0 {
		p := timeText{rest: s.clock}
		if ns, ok := p.clock(); ok && len(p.rest) == 0 {
			m.ns += ns
			s.setTime(m)
		}
	}
}

// other reads a cell that is neither a reading nor the whole time.
func (s *scanner) other(col *column, k, i, r int) int {
	switch col.content {
	case pulses:
		return s.pulses(col, k, i, r)
	case dateOnly:
		cell, next := s.cell(i)
		s.date = append(s.date[:0], cell...)
		return next
	case clockOnly:
		cell, next := s.cell(i)
		s.clock = append(s.clock[:0], cell...)
		return next
	}
	if s.buf[i] == '"' {
		_, i = s.cell(i)
		return i
	}
	for s.buf[i] != s.layout.delim && s.buf[i] != '\n' {
		i++
	}
	return i
}

// oddState reads a channel that is on or off where it is not simply 0 or 1; loggers that average give
// a share of the interval.
func (s *scanner) oddState(col *column, k, i int) (float64, int) {
	cell, next := s.cell(i)
	if v, ok := stateWord(cell); ok {
		return v, next
	}
	if s.missing(cell) {
		return math.NaN(), next
	}
	raw, ok := slowNumber(cell, s.layout.point)
	if v := raw*col.factor + col.offset; ok && v >= col.low && v <= col.high {
		return v, next
	}
	s.fault(k, cell, "is neither 0 nor 1")
	return math.NaN(), next
}

// pulses reads the numbers of the valves that fired, in firing order, or how many did that nobody named ("x3"); an empty cell
// means none.
func (s *scanner) pulses(col *column, k, i, r int) int {
	s.out.vals[k][r] = 0
	if c := s.buf[i]; c == s.layout.delim || c == '\n' {
		return i
	}
	cell, next := s.cell(i)
	if len(cell) == 0 || len(cell) == 1 && cell[0] == '0' {
		return next
	}
	if s.missing(cell) {
		s.out.vals[k][r] = math.NaN()
		return next
	}
	if cell[0] == 'x' {
		if n, err := strconv.ParseUint(string(cell[1:]), 10, 32); err == nil && n <= mostPulses {
			s.out.vals[k][r] = float64(n)
			return next
		}
	}
	from := len(s.out.firings)
	for at := 0; at < len(cell); {
		n, width := 0, 0
		for at < len(cell) && cell[at]-'0' <= 9 && width < 4 {
			n = n*10 + int(cell[at]-'0')
			at++
			width++
		}
		if n < 1 || n > 255 || at < len(cell) && bytes.IndexByte([]byte(" ,;+/"), cell[at]) < 0 {
			s.fault(k, cell, "is no list of valve numbers such as 1 2 3")
			s.out.firings = s.out.firings[:from]
			s.out.vals[k][r] = math.NaN()
			return next
		}
		s.out.firings = append(s.out.firings, sense.Firing{Row: int32(r), Valve: uint8(n)})
		for at < len(cell) && bytes.IndexByte([]byte(" ,;+/"), cell[at]) >= 0 {
			at++
		}
	}
	s.out.vals[k][r] = float64(len(s.out.firings) - from)
	return next
}
