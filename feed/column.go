package feed

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"dustwright/sense"
	"dustwright/unit"
)

// column is one column of a file as it is to be read.
type column struct {
	name    string // as it stands in the header line
	content content
	channel sense.Channel
	factor  float64 // SI = factor*cell + offset
	offset  float64
	low     float64 // readings outside are reported and not used [SI]
	high    float64
	kind    unit.Kind
	symbol  string
}

// splitName takes "dp[in.w.g.]", "dP (Pa)" or "dp" apart into name and unit.
func splitName(text string) (name, symbol string) {
	text = strings.TrimSpace(text)
	for _, pair := range [...][2]string{{"[", "]"}, {"(", ")"}} {
		if k := strings.Index(text, pair[0]); k > 0 && strings.HasSuffix(text, pair[1]) {
			return strings.TrimSpace(text[:k]), strings.TrimSpace(text[k+1 : len(text)-1])
		}
	}
	return text, ""
}

// unitOf returns the unit a column of the channel is in. The error shows how to write it.
func unitOf(ch sense.Channel, symbol string) (unit.Unit, error) {
	r := rules[ch]
	if r.content != number {
		return unit.Unit{Factor: 1}, nil
	}
	if symbol == "" && !r.anyUnit {
		return unit.Unit{}, fmt.Errorf("the unit is missing; write %s", written(ch))
	}
	u, err := unit.Lookup(r.kind, symbol)
	if err == nil && strings.HasSuffix(symbol, "*") {
		err = fmt.Errorf("%s is no known unit of %s", quote(symbol), r.kind)
	}
	if err != nil {
		return unit.Unit{}, fmt.Errorf("%s; write %s", unitClause(err), written(ch))
	}
	return u, nil
}

// plainColumn is a column of the channel whose cells are multiplied by scale, shifted by offset and
// are then in the unit.
func plainColumn(name string, ch sense.Channel, symbol string, scale, offset float64) (column, error) {
	r := rules[ch]
	c := column{name: name, content: r.content, channel: ch, kind: r.kind, symbol: symbol, low: r.low, high: r.high, factor: 1}
	u, err := unitOf(ch, symbol)
	if err != nil {
		return c, err
	}
	c.factor = u.Factor * scale
	c.offset = u.Factor*offset + u.Offset
	return c, nil
}

// timeNames are the names of a time column, squashed.
var timeNames = map[string]content{
	"time": timestamp, "timestamp": timestamp, "datetime": timestamp, "dateandtime": timestamp, "dateutc": timestamp,
	"localtime": timestamp, "date": dateOnly, "timeofday": clockOnly,
}

// Unknown is a column that was not read because nobody said what it holds.
type Unknown struct {
	File, Column string
	Nearest      string // the channel it may be, or ""
}

// String returns the sentence.
func (u Unknown) String() string {
	text := fmt.Sprintf("%s: column %s is not read", u.File, shown(u.Column))
	if u.Nearest != "" {
		return text + fmt.Sprintf("; if it is %s, head it %s or say so in a mapping", u.Nearest, writtenName(u.Nearest))
	}
	return text + "; no channel is called so"
}

func writtenName(name string) string {
	ch, _ := sense.ParseChannel(name)
	return written(ch)
}

// columnsOf says what each column of the header holds, by the mapping first and by the tool's own
// names second. units is the row of units under the header, or nil.
func (s *study) columnsOf(names, units []string) ([]column, error) {
	out := make([]column, len(names))
	var faults []error
	for i, text := range names {
		sym := ""
		if i < len(units) {
			sym = strings.Trim(units[i], "[]() ")
		}
		c, err := s.columnOf(text, sym)
		if err != nil {
			faults = append(faults, &Error{File: s.file, Line: s.headerLine, Column: text, Why: err.Error()})
			c.content = ignored
		}
		out[i] = c
	}
	s.pairDateAndClock(out)
	faults = append(faults, s.twice(out)...)
	faults = append(faults, s.absent(names)...)
	return out, errors.Join(faults...)
}

// columnOf says what one column holds.
func (s *study) columnOf(text, unitBelow string) (column, error) {
	name, symbol := splitName(text)
	if symbol == "" {
		symbol = unitBelow
	}
	if m := s.opts.Mapping; m != nil {
		if key, spec, ok := m.lookup(text); ok {
			s.mapped[key] = true
			if spec.Ignore {
				return column{name: text}, nil
			}
			if spec.Counts {
				return countColumn(text, spec.Scale, spec.Offset), nil
			}
			return plainColumn(text, spec.Channel, spec.Unit, spec.Scale, spec.Offset)
		}
		switch squash(text) {
		case "":
		case squash(m.Time.Column):
			s.mapped[m.Time.Column] = true
			if m.Time.Clock != "" {
				return column{name: text, content: dateOnly}, nil
			}
			return column{name: text, content: timestamp}, nil
		case squash(m.Time.Clock):
			s.mapped[m.Time.Clock] = true
			return column{name: text, content: clockOnly}, nil
		}
	}
	if what, ok := timeNames[squash(name)]; ok && !s.timesGiven() {
		if zone, err := parseZone(symbol); err == nil && zone != nil {
			s.zone = zone
		}
		return column{name: text, content: what}, nil
	}
	ch, ok := channelOf(name)
	if !ok {
		s.unknown(text)
		return column{name: text}, nil
	}
	if counts(name) {
		return countColumn(text, 1, 0), nil
	}
	return plainColumn(text, ch, symbol, 1, 0)
}

// timesGiven reports whether the mapping says where the times are.
func (s *study) timesGiven() bool {
	m := s.opts.Mapping
	return m != nil && (m.Time.Column != "" || m.Time.Start != "")
}

// unknown notes a column nobody knows. With a mapping, what it leaves out is left out on purpose.
func (s *study) unknown(text string) {
	if s.opts.Mapping != nil || strings.TrimSpace(text) == "" {
		return
	}
	name, _ := splitName(text)
	s.report.Unknown = append(s.report.Unknown, Unknown{File: s.file, Column: text, Nearest: nearestChannel(name)})
}

// pairDateAndClock settles columns called date and time: together they make the time, alone each is
// the whole of it.
func (s *study) pairDateAndClock(cols []column) {
	date, clock := -1, -1
	for i, c := range cols {
		switch c.content {
		case dateOnly:
			date = i
		case timestamp, clockOnly:
			clock = i
		}
	}
	switch {
	case date >= 0 && clock >= 0:
		cols[clock].content = clockOnly
	case date >= 0:
		cols[date].content = timestamp
	case clock >= 0:
		cols[clock].content = timestamp
	}
}

// twice finds channels, and times, that two columns claim.
func (s *study) twice(cols []column) []error {
	var faults []error
	for i, c := range cols {
		for _, d := range cols[:i] {
			same := c.content == d.content && (c.content >= timestamp || c.channel == d.channel)
			if c.content == ignored || !same {
				continue
			}
			what := "the time"
			if c.content < timestamp {
				what = c.channel.String()
			}
			faults = append(faults, &Error{File: s.file, Line: s.headerLine, Column: c.name,
				Why: fmt.Sprintf("column %s is %s as well", shown(d.name), what), Do: "rename one of them, or ignore it in a mapping"})
		}
	}
	return faults
}

// lookup finds the mapping of a column by its name, as written or squashed.
func (m *Mapping) lookup(text string) (string, ColumnMapping, bool) {
	text = strings.TrimSpace(text)
	if spec, ok := m.Columns[text]; ok {
		return text, spec, true
	}
	for _, key := range sortedNames(m.Columns) {
		if squash(key) == squash(text) {
			return key, m.Columns[key], true
		}
	}
	return "", ColumnMapping{}, false
}

// absent finds columns that the mapping names and the file has not.
func (s *study) absent(names []string) []error {
	m := s.opts.Mapping
	if m == nil {
		return nil
	}
	want := sortedNames(m.Columns)
	for _, name := range []string{m.Time.Column, m.Time.Clock} {
		if name != "" {
			want = append(want, name)
		}
	}
	var faults []error
	for _, key := range want {
		if s.mapped[key] || m.Columns[key].Optional || m.Columns[key].Ignore {
			continue
		}
		e := &Error{File: s.file, Line: s.headerLine, Why: fmt.Sprintf("the mapping %s names a column %s, and this file has none", m.Name, quote(key))}
		if near := unit.Nearest(key, names); near != "" {
			e.Do = fmt.Sprintf("the nearest here is %s", quote(near))
		} else {
			e.Do = "its columns are " + list(names)
		}
		faults = append(faults, e)
	}
	return faults
}

func sortedNames(m map[string]ColumnMapping) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// list shows names in a message, the first dozen of them.
func list(names []string) string {
	const most = 12
	var b strings.Builder
	for i, n := range names {
		if i == most {
			fmt.Fprintf(&b, " and %d more", len(names)-most)
			break
		}
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(shown(n))
	}
	return b.String()
}
