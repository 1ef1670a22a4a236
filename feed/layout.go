package feed

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"

	"dustwright/sense"
)

// layout is how one file is written: what its head told. It is read only while the file is read.
type layout struct {
	file           string
	delim          byte
	point          byte
	order          dayOrder // of dates that can be read both ways, until the whole column has been seen
	pattern        *pattern
	zone           *time.Location // of times without an offset
	zoned          marks          // whether times carry an offset: zoned or 0
	counted        bool           // no time column: rows are counted from a start
	base1904       bool           // day numbers count from 1904
	missing        []string       // cells that mean no reading
	missingNumbers []float64      // those of them that are numbers
	// constants are readings that the mapping gives for every row [SI].
	constants map[sense.Channel]float64
	columns   []column
	header    []byte // the header line, to know it when it comes again
	units     []byte // the row of units, likewise
	start     int    // where the first line of readings begins in the head
	line      int    // lines before it
}

// study is one look at the head of a file.
type study struct {
	file       string
	opts       *Options
	report     *Report
	lines      [][]byte // the first lines of the head, without line ends
	starts     []int    // where each begins
	headerLine int      // number of the header line, 0 where there is none
	mapped     map[string]bool
	zone       *time.Location
	whole      bool // the head is the whole file
}

const (
	headLines  = 60   // the header is among the first so many lines
	sampleRows = 200  // rows looked at to learn how numbers and times are written
	maxColumns = 4096 // a header with more is none
)

// studyHead learns the layout from the first block of a file.
func studyHead(file string, head []byte, whole bool, opts *Options, report *Report) (*layout, error) {
	s := &study{file: file, opts: opts, report: report, mapped: map[string]bool{}, whole: whole}
	s.split(head)
	if len(s.lines) == 0 {
		return nil, &Error{File: file, Why: "the file holds no line of text", Do: "check that the logger wrote to it"}
	}
	lay := &layout{file: file, start: len(head)}
	if err := lay.obey(opts.Mapping); err != nil {
		return nil, err
	}
	names, next, err := s.findHeader(lay)
	if err != nil {
		return nil, err
	}
	units := s.unitRow(names, next, lay.delim)
	if units != nil {
		lay.units = s.lines[next]
		next++
	}
	if lay.columns, err = s.columnsOf(names, units); err != nil {
		return nil, err
	}
	if next < len(s.lines) {
		lay.start = s.starts[next]
	}
	lay.line = s.lineNumber(head, lay.start)
	if err := s.learn(lay, next); err != nil {
		return nil, err
	}
	return lay, nil
}

// obey takes from the mapping what does not depend on the file.
func (lay *layout) obey(m *Mapping) error {
	if m == nil {
		return nil
	}
	lay.missing = m.Missing
	for _, w := range m.Missing {
		if v, ok := slowNumber([]byte(w), '.'); ok {
			lay.missingNumbers = append(lay.missingNumbers, v)
		}
	}
	if m.Time.Format != "" {
		p, err := newPattern(m.Time.Format)
		if err != nil {
			return &Error{File: m.Name, Why: err.Error()}
		}
		lay.pattern = p
	}
	lay.constants = make(map[sense.Channel]float64, len(m.Constants))
	for ch, text := range m.Constants {
		si, err := constant(ch, text)
		if err != nil {
			return &Error{File: m.Name, Why: fmt.Sprintf("constant %s: %s", ch, err)}
		}
		lay.constants[ch] = si
	}
	return nil
}

// split finds the first lines of the head.
func (s *study) split(head []byte) {
	skip := 0
	if s.opts.Mapping != nil {
		skip = s.opts.Mapping.Skip
	}
	for at := 0; at < len(head) && len(s.lines) < headLines+sampleRows; {
		end := bytes.IndexByte(head[at:], '\n')
		line, next := head[at:], len(head)
		if end >= 0 {
			line, next = head[at:at+end], at+end+1
		}
		if skip--; skip < 0 {
			s.lines = append(s.lines, bytes.TrimRight(line, "\r"))
			s.starts = append(s.starts, at)
		}
		at = next
	}
}

func (s *study) lineNumber(head []byte, at int) int { return bytes.Count(head[:at], []byte("\n")) }

// findHeader finds the line that names the columns and the delimiter; next is the line after it.
func (s *study) findHeader(lay *layout) (names []string, next int, err error) {
	delims := []byte(",;\t|")
	if m := s.opts.Mapping; m != nil && m.Delimiter != 0 {
		delims = []byte{m.Delimiter}
	}
	if s.opts.Mapping != nil && s.opts.Mapping.NoHeader {
		return s.numbered(lay, delims)
	}
	best, at := 0, 0
	for _, comments := range []bool{false, true} { // a header behind a comment mark is taken where there is no other
		for k, line := range s.lines[:min(len(s.lines), headLines)] {
			if comments {
				line = bytes.TrimLeft(line, "# ")
			}
			n, cells, delim := s.bestCut(line, delims)
			if n > best && (!comments || n > 1) {
				best, at, names, lay.delim = n, k, cells, delim
			}
		}
		if best > 0 {
			break
		}
	}
	if best == 0 {
		return nil, 0, s.noHeader()
	}
	if len(names) > maxColumns {
		return nil, 0, &Error{File: s.file, Why: fmt.Sprintf("the header names %d columns, more than any log has", len(names)), Do: "write one reading time per line"}
	}
	s.headerLine = s.number(at)
	lay.header = s.lines[at]
	return names, at + 1, nil
}

// bestCut cuts a line at the delimiter that makes most cells of it names of columns.
func (s *study) bestCut(line []byte, delims []byte) (best int, names []string, delim byte) {
	if skippable(line) {
		return 0, nil, 0
	}
	for _, d := range delims {
		cells := splitCells(line, d)
		if n := s.score(cells); n > best {
			best, names, delim = n, cells, d
		}
	}
	return best, names, delim
}

// number returns the number of line k of the head in the file.
func (s *study) number(k int) int {
	if s.opts.Mapping != nil {
		return k + 1 + s.opts.Mapping.Skip
	}
	return k + 1
}

// numbered names the columns of a file without a header line "1", "2", ...
func (s *study) numbered(lay *layout, delims []byte) (names []string, next int, err error) {
	for k, line := range s.lines {
		if skippable(line) {
			continue
		}
		width := 0
		for _, d := range delims {
			if n := len(splitCells(line, d)); n > width && n <= maxColumns {
				width, lay.delim = n, d
			}
		}
		for i := range width {
			names = append(names, strconv.Itoa(i+1))
		}
		return names, k, nil
	}
	return nil, 0, &Error{File: s.file, Why: "it holds no readings", Do: "check that the logger wrote to it"}
}

// score counts how many cells of a line are known as names of columns.
func (s *study) score(cells []string) int {
	n := 0
	for _, c := range cells {
		name, _ := splitName(c)
		if name == "" {
			continue
		}
		if _, ok := timeNames[squash(name)]; ok {
			n++
			continue
		}
		if m := s.opts.Mapping; m != nil {
			_, _, ok := m.lookup(c)
			if ok || squash(c) == squash(m.Time.Column) || squash(c) == squash(m.Time.Clock) {
				n++
				continue
			}
		}
		if _, ok := channelOf(name); ok {
			n++
		}
	}
	return n
}

// noHeader says why no line names the columns, as far as can be seen.
func (s *study) noHeader() error {
	k := 0
	for k < len(s.lines)-1 && skippable(s.lines[k]) {
		k++
	}
	line := s.number(k)
	if skippable(s.lines[k]) {
		return &Error{File: s.file, Why: "it holds only blank lines and comments", Do: "check that the logger wrote to it"}
	}
	e := &Error{File: s.file, Line: line, Do: "the first line of a log names the columns, for example time,dp[in.w.g.]; other layouts come in through a mapping (--mapping, see docs/logs.md)"}
	first := text(s.lines[k])
	switch {
	case strings.HasPrefix(first, "{"), strings.HasPrefix(first, "[{"):
		e.Why = "this is JSON, not a log with columns"
	case strings.HasPrefix(first, "<"):
		e.Why = "this is a web page or XML, not a log with columns"
	default:
		e.Why = fmt.Sprintf("no column is known in %s", quote(first))
		if names := widest(s.lines[k]); len(names) > 1 && !strings.ContainsAny(first[:1], "0123456789\"") {
			e.Why = "no column is known among " + list(names)
			if near := offered(names); near != "" {
				e.Do = near + "; the time's column is headed time"
			}
		}
	}
	return e
}

// widest cuts a line at the delimiter that makes most cells of it.
func widest(line []byte) (names []string) {
	for _, d := range []byte(",;\t|") {
		if cells := splitCells(line, d); len(cells) > len(names) {
			names = cells
		}
	}
	return names
}

// skippable reports whether a line holds nothing: blank, a comment, or a spreadsheet's "sep=;".
func skippable(line []byte) bool {
	t := bytes.TrimSpace(line)
	return len(t) == 0 || t[0] == '#' || bytes.HasPrefix(t, []byte("sep=")) || len(bytes.Trim(t, ",;\t| \"")) == 0
}

// unitRow returns the cells of the line under the header where they are units and nothing else.
func (s *study) unitRow(names []string, next int, delim byte) []string {
	if next >= len(s.lines) || s.headerLine == 0 {
		return nil
	}
	cells := splitCells(s.lines[next], delim)
	units := 0
	for i, c := range cells {
		c = strings.Trim(c, "[]() ")
		if c == "" || i >= len(names) {
			continue
		}
		if strings.ContainsAny(c[:1], "0123456789+-") {
			return nil
		}
		ch, ok := s.channelOf(names[i])
		if !ok || rules[ch].content != number || rules[ch].anyUnit {
			continue
		}
		if _, err := unitOf(ch, c); err == nil {
			units++
		}
	}
	if units == 0 {
		return nil
	}
	return cells
}

// channelOf returns the channel of a column, by the mapping or by its own name.
func (s *study) channelOf(text string) (sense.Channel, bool) {
	if m := s.opts.Mapping; m != nil {
		if _, spec, ok := m.lookup(text); ok {
			return spec.Channel, !spec.Ignore
		}
	}
	name, _ := splitName(text)
	return channelOf(name)
}

// splitCells cuts a line of the head into trimmed cells, quotes taken off.
func splitCells(line []byte, delim byte) []string {
	var out []string
	buf := append(append([]byte(nil), line...), '\n')
	sc := scanner{buf: buf, layout: &layout{delim: delim}}
	for i := 0; ; i++ {
		var cell []byte
		cell, i = sc.cell(i)
		out = append(out, text(cell))
		if buf[i] == '\n' {
			return out
		}
	}
}

// text returns bytes of a head as text; what is not UTF-8 is taken for Windows-1252, the other
// encoding in which loggers write a degree sign.
func text(b []byte) string {
	b = bytes.TrimSpace(b)
	if utf8.Valid(b) {
		return string(b)
	}
	out, err := charmap.Windows1252.NewDecoder().Bytes(b)
	if err != nil {
		return strings.ToValidUTF8(string(b), "?")
	}
	return string(out)
}
