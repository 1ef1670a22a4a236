package duct

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"dustwright/unit"
)

// traverseReader is one reading of a traverse file.
type traverseReader struct {
	name          string
	comma         rune
	t             Traverse
	shape         string
	before, after string // straight lengths as written: they may be in diameters
	resolution    string // as written: its kind is that of the readings
	keyLine       map[string]int
	columns       map[string]int // name of a column → its place
	width         int            // number of columns of the header
	factor        map[string]unit.Unit
	step          float64 // smallest step of the digits written [SI]
	faults        TraverseFaults
}

func (r *traverseReader) fault(line, column int, format string, args ...any) {
	r.faults = append(r.faults, TraverseFault{File: r.name, Line: line, Column: column, Text: fmt.Sprintf(format, args...)})
}

// ParseTraverse reads a traverse file: lines "# key: value", one header line, then a line for each reading. The format is in docs/traverse.md.
// name is used in messages. Cells that can't be read count as no reading and stand in Unread; everything else that can't be used makes a TraverseFaults
// error that names all of it at once. Empty values and cells mean not given (NaN).
func ParseTraverse(name string, data []byte) (Traverse, error) {
	r := &traverseReader{name: name, t: NewTraverse(), keyLine: map[string]int{}, columns: map[string]int{}, factor: map[string]unit.Unit{}}
	nan := unit.Length(math.NaN())
	r.t.Section = Section{Diameter: nan, Width: nan, Height: nan}
	if len(data) > mostBytes {
		r.fault(0, 0, "it is %d MB large; a traverse has at most a few hundred lines", len(data)>>20)
		return Traverse{}, r.faults
	}
	text, err := decode(data)
	if err != nil {
		r.fault(0, 0, "%v", err)
		return Traverse{}, r.faults
	}
	lines := splitLines(text)
	for i, line := range lines {
		if len(line) > mostLine {
			r.fault(i+1, 0, "the line is %d bytes long, which no line of a traverse is", len(line))
			return Traverse{}, r.faults
		}
	}
	r.read(lines)
	r.finish()
	if len(r.faults) > 0 {
		slices.SortStableFunc(r.faults, func(a, b TraverseFault) int { return a.Line - b.Line })
		return Traverse{}, r.faults
	}
	return r.t, nil
}

// read goes through the lines: keys, header, readings.
func (r *traverseReader) read(lines []string) {
	header := -1
	for i, line := range lines {
		if body := strings.Trim(line, " \t\"#,;"); body != "" && !isRemark(line) && !looksLikeKey(line) {
			header = i
			break
		}
	}
	r.comma = ','
	if header >= 0 {
		r.comma = separator(lines[header])
	}
	for i, line := range lines {
		switch body := strings.Trim(line, " \t,;"); {
		case body == "":
		case isRemark(line), (header < 0 || i < header) && looksLikeKey(line):
			r.key(i+1, line)
		case i == header:
			r.header(i+1, line)
		case len(r.columns) > 0:
			r.row(i+1, line)
		}
	}
	if header < 0 {
		r.fault(0, 0, "there are no readings in it; below the lines with # comes a header such as traverse,point,vp[in.w.g.], and below that a line for each reading")
	}
}

// isRemark tells a line with #, which spreadsheets may have put in quotes.
func isRemark(line string) bool { return strings.HasPrefix(strings.TrimLeft(line, " \t\""), "#") }

// looksLikeKey tells a key line whose # was forgotten.
func looksLikeKey(line string) bool {
	name, _, ok := strings.Cut(line, ":")
	if !ok {
		return false
	}
	_, _, known := findKey(strings.Trim(name, " \t\""))
	return known
}

// key reads "# key: value" and its variants from spreadsheets.
func (r *traverseReader) key(number int, line string) {
	body := strings.TrimLeft(line, " \t\"#")
	at := strings.IndexAny(body, ":=")
	if cut := strings.IndexAny(body, ",;\t"); at < 0 || cut >= 0 && cut < at {
		if name := strings.Trim(body[:max(cut, 0)], " \t\""); cut >= 0 {
			if _, _, known := findKey(name); known {
				at = cut
			}
		}
	}
	if at < 0 {
		if remark := strings.Trim(body, " \t\",;"); remark != "" {
			r.t.Remarks = append(r.t.Remarks, remark)
		}
		return
	}
	name, value := strings.Trim(body[:at], " \t\""), strings.Trim(body[at+1:], " \t\",;")
	column := utf8.RuneCountInString(line[:len(line)-len(body)]) + 1
	key, near, known := findKey(name)
	switch {
	case !known && near != "":
		r.fault(number, column, "%q is no key of a traverse; the nearest is %q", shortText(name), near)
	case !known:
		r.t.Remarks = append(r.t.Remarks, strings.Trim(body, " \t\",;"))
	case value == "", strings.HasPrefix(value, "("): // "(like 72 degF)" is the hint of an unfilled sheet
	case r.keyLine[key.name] > 0 && key.name != "note":
		r.fault(number, column, "%s stands here again, first in line %d; leave one", key.name, r.keyLine[key.name])
	default:
		r.keyLine[key.name] = number
		if err := key.set(r, value); err != nil {
			r.fault(number, column, "%s: %v", key.name, err)
		}
	}
}

// shortText keeps a message readable whatever was written.
func shortText(s string) string {
	if runes := []rune(s); len(runes) > 40 {
		return string(runes[:40]) + "..."
	}
	return s
}

// traverseColumn is one column a file may have.
type traverseColumn struct {
	name    string
	aliases []string
	kind    unit.Kind // KindNumber: no unit
}

func traverseColumns() []traverseColumn {
	return []traverseColumn{
		{"traverse", []string{"line", "port", "trav", "diameter"}, unit.KindNumber},
		{"point", []string{"no", "number", "pt"}, unit.KindNumber},
		{"position", []string{"depth", "from wall", "distance"}, unit.KindLength},
		{"vp", []string{"velocity pressure", "dp", "delta p"}, unit.KindPressure},
		{"velocity", []string{"v", "speed"}, unit.KindVelocity},
		{"swirl", []string{"angle", "null angle"}, unit.KindNumber},
		{"counts", []string{"weight"}, unit.KindNumber},
	}
}

// header reads the names and units of the columns.
func (r *traverseReader) header(number int, line string) {
	cells, at, err := splitCells(line, r.comma)
	if err != nil {
		r.fault(number, 0, "the header can't be read: %v", err)
		return
	}
	r.width = len(cells)
	for i, cell := range cells {
		if cell != "" {
			r.column(i, cell, number, at[i])
		}
	}
	_, vp := r.columns["vp"]
	_, v := r.columns["velocity"]
	switch {
	case !vp && !v:
		r.fault(number, 0, "the header %q has no column of readings; it needs vp[in.w.g.] or velocity[fpm], and traverse and point beside it", shortText(line))
		clear(r.columns)
	case vp && v:
		r.fault(number, 0, "the header has both vp and velocity; keep the one that was read")
	}
}

// column reads one cell of the header.
func (r *traverseReader) column(i int, cell string, number, at int) {
	name, symbol := cell, ""
	if open := strings.IndexAny(cell, "[("); open >= 0 {
		name, symbol = cell[:open], strings.TrimRight(cell[open+1:], "]) ")
	}
	var known, aliases []string
	for _, c := range traverseColumns() {
		known, aliases = append(known, c.name), append(aliases, c.aliases...)
		if n := keyName(name); n != c.name && !slices.Contains(c.aliases, n) {
			continue
		}
		if _, twice := r.columns[c.name]; twice {
			r.fault(number, at, "the column %s is there twice", c.name)
			return
		}
		r.columns[c.name] = i
		if c.kind == unit.KindNumber {
			return
		}
		un, err := unit.Lookup(c.kind, symbol)
		if err != nil {
			r.fault(number, at, "column %s: its unit in brackets: %v", c.name, err)
		}
		r.factor[c.name] = un
		return
	}
	if near := unit.Nearest(keyName(name), append(known, aliases...)); near != "" {
		r.fault(number, at, "%q is no column of a traverse; the nearest is %q", shortText(name), near)
		return
	}
	r.t.Remarks = append(r.t.Remarks, "column "+shortText(cell)+" is not used")
}

// row reads one reading.
func (r *traverseReader) row(number int, line string) {
	cells, at, err := splitCells(line, r.comma)
	if err != nil {
		r.fault(number, 0, "the line can't be read: %v", err)
		return
	}
	if len(r.t.Readings) == mostReadings {
		r.fault(number, 0, "a traverse with more than %d readings is none", mostReadings)
		clear(r.columns)
		return
	}
	if extra := strings.Join(cells[min(len(cells), r.width):], ""); extra != "" {
		r.unread(number, at[r.width], "the line has more cells than the header, beginning with %q; a decimal comma needs quotes here, or semicolons between the columns", shortText(extra))
		return
	}
	cell := func(column string) (text string, position int) {
		if i, ok := r.columns[column]; ok && i < len(cells) {
			return cells[i], at[i]
		}
		return "", 0
	}
	nan := math.NaN()
	reading := Reading{Row: number, Position: unit.Length(nan), VP: unit.Pressure(nan), Velocity: unit.Velocity(nan), Swirl: nan}
	for _, c := range []struct {
		column string
		to     *int
	}{{"traverse", &reading.Line}, {"point", &reading.Number}, {"counts", &reading.Counts}} {
		text, position := cell(c.column)
		n, ok := ordinal(text, c.column == "traverse")
		if !ok {
			r.unread(number, position, "%s %q is no number from 1 to %d", c.column, shortText(text), mostReadings)
		}
		*c.to = n
	}
	if _, ok := r.columns["traverse"]; !ok && reading.Number > 0 {
		reading.Line = 1
	}
	for _, c := range []struct {
		column string
		to     *float64
	}{{"position", (*float64)(&reading.Position)}, {"vp", (*float64)(&reading.VP)}, {"velocity", (*float64)(&reading.Velocity)}, {"swirl", &reading.Swirl}} {
		text, position := cell(c.column)
		*c.to = r.value(c.column, text, number, position)
	}
	r.t.Readings = append(r.t.Readings, reading)
}

// unread notes a cell that can't be read; the rest goes on.
func (r *traverseReader) unread(line, column int, format string, args ...any) {
	r.t.Unread = append(r.t.Unread, TraverseFault{File: r.name, Line: line, Column: column, Text: fmt.Sprintf(format, args...) + "; it counts as not given"})
}

// ordinal reads 1, 2, 3, or where letters will do A, B, C; an empty cell is 0.
func ordinal(text string, letters bool) (int, bool) {
	if text == "" {
		return 0, true
	}
	if c := text[0] &^ 0x20; letters && len(text) == 1 && c >= 'A' && c <= 'Z' {
		return int(c-'A') + 1, true
	}
	if n, err := strconv.Atoi(text); err == nil && n >= 1 && n <= mostReadings {
		return n, true
	}
	return 0, false
}

// value reads a number of a column's unit; NaN for an empty or unreadable cell.
func (r *traverseReader) value(column, text string, line, position int) float64 {
	switch strings.ToLower(text) {
	case "", "-", "--", "n/a", "na", "nan", "?", "#n/a":
		return math.NaN()
	}
	number := decimalPoint(strings.ReplaceAll(text, "−", "-"), r.comma != ',')
	v, err := strconv.ParseFloat(number, 64)
	if err != nil {
		if v, err = unit.Parse(unit.KindNumber, number); err != nil {
			r.unread(line, position, "%s %q is no number", column, shortText(text))
			return math.NaN()
		}
	}
	un, has := r.factor[column]
	if has {
		v = un.SI(v)
	}
	largest := map[string]float64{"position": 20, "vp": 50e3, "velocity": 300, "swirl": 90}[column]
	if !(math.Abs(v) <= largest*(1+1e-9)) {
		r.unread(line, position, "%s %q lies outside what a duct can show; look at the column's unit", column, shortText(text))
		return math.NaN()
	}
	if column == "vp" || column == "velocity" {
		r.digits(number, un.Factor)
	}
	return v
}

// digits keeps the smallest step that the digits written can show.
func (r *traverseReader) digits(number string, factor float64) {
	_, decimals, _ := strings.Cut(number, ".")
	if strings.ContainsAny(number, "eE/ ") {
		return
	}
	if step := math.Pow(10, -float64(len(decimals))) * factor; r.step == 0 || step < r.step {
		r.step = step
	}
}
