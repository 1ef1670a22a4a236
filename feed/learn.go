package feed

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"time"

	"dustwright/sense"
	"dustwright/unit"
)

// learn settles, from the first rows, which column is the time and how numbers are written.
func (s *study) learn(lay *layout, next int) error {
	rows := s.sample(lay, next)
	if len(rows) == 0 && s.whole {
		return &Error{File: s.file, Why: "it names its columns but holds no readings", Do: "check that the logger was running"}
	}
	lay.point = decimalMark(rows, lay)
	if m := s.opts.Mapping; m != nil && m.Decimal != 0 {
		lay.point = m.Decimal
	}
	if lay.delim == ';' || lay.point == ',' {
		lay.order = dayFirst
	}
	if err := s.findTime(lay, rows); err != nil {
		return err
	}
	if err := s.findZone(lay); err != nil {
		return err
	}
	lay.zoned = firstZoned(rows, lay)
	if err := s.tooWide(lay, rows, next); err != nil {
		return err
	}
	return s.anyChannel(lay)
}

// sample cuts the first rows under the header into cells.
func (s *study) sample(lay *layout, next int) [][]string {
	var rows [][]string
	for k := next; k < len(s.lines); k++ {
		if k == len(s.lines)-1 && !s.whole || skippable(s.lines[k]) {
			continue // the last line of a block may be cut
		}
		rows = append(rows, splitCells(s.lines[k], lay.delim))
	}
	return rows
}

// decimalMark says which mark stands before the decimals, from the cells of reading columns. A comma
// followed by exactly three digits may be a thousands mark; it counts only where nothing else tells.
func decimalMark(rows [][]string, lay *layout) byte {
	var points, commas, either int
	for _, row := range rows {
		for i, cell := range row {
			if i >= len(lay.columns) || lay.columns[i].content != number {
				continue
			}
			k := strings.LastIndexAny(cell, ".,")
			switch {
			case k < 0:
			case cell[k] == '.':
				points++
			case len(cell)-k-1 == 3 && strings.TrimLeft(cell[:k], "-+0") != "":
				either++
			default:
				commas++
			}
		}
	}
	if commas > points || commas == points && either > 0 && lay.delim != ',' {
		return ','
	}
	return '.'
}

// findTime makes sure that there is a time column, or a start and a step.
func (s *study) findTime(lay *layout, rows [][]string) error {
	date, clock := -1, -1
	for i, c := range lay.columns {
		switch c.content {
		case timestamp:
			return nil
		case dateOnly:
			date = i
		case clockOnly:
			clock = i
		}
	}
	if date >= 0 && clock >= 0 {
		if wholeTimes(rows, clock, lay) { // "time" holds the date as well
			lay.columns[date].content, lay.columns[clock].content = ignored, timestamp
		}
		return nil
	}
	if m := s.opts.Mapping; m != nil && m.Time.Start != "" {
		lay.counted = true
		return nil
	}
	for i, c := range lay.columns {
		if c.content == ignored && wholeTimes(rows, i, lay) {
			lay.columns[i].content = timestamp
			s.report.forget(s.file, c.name)
			s.report.note("%s: column %s is taken as the time", s.file, shown(c.name))
			return nil
		}
	}
	return &Error{File: s.file, Line: s.headerLine, Why: "there is no time column",
		Do: "head it time and write times like 2026-03-02T07:00:00-06:00, or give start and step in a mapping (docs/logs.md)"}
}

// wholeTimes reports whether the sampled cells of a column are dates with or without a time of day.
// Counts and day numbers don't qualify: anything might look like one.
func wholeTimes(rows [][]string, col int, lay *layout) bool {
	good, bad := 0, 0
	for _, row := range rows {
		if col >= len(row) || row[col] == "" {
			continue
		}
		m, ok := looseTime([]byte(row[col]), lay.order)
		if ok && m.marks&(serialDay|epochCount) == 0 {
			good++
		} else {
			bad++
		}
	}
	return good > bad
}

// findZone settles the zone of times that carry no offset.
func (s *study) findZone(lay *layout) error {
	lay.zone = s.opts.Zone
	if lay.zone == nil {
		lay.zone = time.Local
	}
	if s.zone != nil {
		lay.zone = s.zone
	}
	if m := s.opts.Mapping; m != nil && m.Time.Zone != "" {
		zone, err := parseZone(m.Time.Zone)
		if err != nil {
			return &Error{File: m.Name, Why: err.Error()}
		}
		lay.zone = zone
	}
	return nil
}

// firstZoned says whether the first readable time of the sample carries an offset.
func firstZoned(rows [][]string, lay *layout) marks {
	for _, row := range rows {
		var cell string
		for i, c := range lay.columns {
			if i < len(row) && c.content >= timestamp {
				cell = strings.TrimSpace(cell + " " + row[i])
			}
		}
		if m, ok := lay.readTime([]byte(cell)); ok {
			return m.marks & zoned
		}
	}
	return 0
}

// tooWide finds files whose rows have more cells than the header has names, which is what a decimal
// comma does to a file separated by commas.
func (s *study) tooWide(lay *layout, rows [][]string, next int) error {
	wide, width := 0, 0
	for _, row := range rows {
		for len(row) > len(lay.columns) && row[len(row)-1] == "" {
			row = row[:len(row)-1]
		}
		if len(row) > len(lay.columns) {
			wide, width = wide+1, len(row)
		}
	}
	if wide*2 <= len(rows) {
		return nil
	}
	return &Error{File: s.file, Line: s.number(next), Why: fmt.Sprintf("the rows have %d cells and the header names %d columns", width, len(lay.columns)),
		Do: "if numbers are written with a decimal comma, export with semicolons between the columns"}
}

// anyChannel makes sure that at least one column is a channel.
func (s *study) anyChannel(lay *layout) error {
	var names []string
	for _, c := range lay.columns {
		if c.isChannel() {
			return nil
		}
		if c.content == ignored && c.name != "" {
			names = append(names, c.name)
		}
	}
	e := &Error{File: s.file, Line: s.headerLine, Why: "no column is a channel", Do: "the channels are " + strings.Join(sense.ChannelNames(), ", ")}
	if len(names) > 0 {
		e.Why = "none of the columns " + list(names) + " is a channel"
		if near := offered(names); near != "" {
			e.Do = near
		}
	}
	return e
}

// offered says of the first column that may be a channel which one, "" where none may.
func offered(names []string) string {
	for _, n := range names {
		name, _ := splitName(n)
		if near := nearestChannel(name); near != "" {
			return fmt.Sprintf("%s may be %s: head it so, or say it in a mapping (docs/logs.md)", shown(n), writtenName(near))
		}
	}
	return ""
}

// stateWord reads the cell of a channel that is on or off.
func stateWord(cell []byte) (float64, bool) {
	switch strings.ToLower(string(cell)) {
	case "1", "true", "on", "yes", "run", "running", "started":
		return 1, true
	case "0", "false", "off", "no", "stop", "stopped", "idle":
		return 0, true
	}
	return 0, false
}

// missingWord reports whether a cell says in words that there is no reading; told is true where the
// person should hear of it, because it could also be a reading.
func missingWord(cell []byte) (told, missing bool) {
	switch strings.ToLower(string(cell)) {
	case "", "nan", "-", "--", "---", "n/a", "na", "#n/a", "null", "none", "nil", ".", "?", "*", "-nan", "<null>", "\u2013", "\u2014":
		return false, true
	case "-9999", "-99999", "-9999.0", "-9999.00", "-99999.0", "-9999.99":
		return true, true
	}
	return false, false
}

// sentinel reports whether a plain number is one of those that loggers write for no reading.
func sentinel(v float64) bool { return v == -9999 || v == -99999 || v == -9999.99 }

// missingNumber reports whether the mapping lists the number as no reading, however it is written.
func (lay *layout) missingNumber(v float64) bool {
	return len(lay.missing) > 0 && slices.Contains(lay.missingNumbers, v)
}

// givenMissing reports whether the mapping lists the cell as no reading.
func (lay *layout) givenMissing(cell []byte) bool {
	for _, w := range lay.missing {
		if bytes.EqualFold(cell, []byte(w)) {
			return true
		}
	}
	return false
}

// limits shows the range of a column in its own unit.
func (c *column) limits() string {
	show := func(si float64) string {
		return fmt.Sprintf("%.4g", (si-c.offset)/c.factor)
	}
	lo, hi := show(c.low), show(c.high)
	if c.factor < 0 {
		lo, hi = hi, lo
	}
	return strings.TrimSpace(fmt.Sprintf("%s to %s %s", lo, hi, c.symbol))
}

// withUnit reads a cell that carries its own unit, "2.1 in.w.g.".
func (c *column) withUnit(cell []byte) (float64, bool) {
	if c.kind == unit.KindNumber {
		return 0, false
	}
	si, err := unit.Parse(c.kind, string(cell))
	return si, err == nil
}
