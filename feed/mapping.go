package feed

import (
	"fmt"
	"os"
	"sort"
	"strconv"
	"strings"
	"time"

	"dustwright/sense"
)

// Mapping says how a file that is not in the tool's own format is to be read. It is kept as a TOML
// file beside the logs (docs/logs.md) and is not changed by reading.
type Mapping struct {
	Name      string // the file it came from, for messages
	Delimiter byte   // 0: found in the file
	Decimal   byte   // '.' or ',', 0: found in the file
	Skip      int    // lines above the header that say nothing
	NoHeader  bool   // the file has no header line; columns are named "1", "2", ...
	Missing   []string
	Time      TimeMapping
	Columns   map[string]ColumnMapping // by the name in the header line
	Constants map[sense.Channel]string // readings that hold for every row, as written: "101.3 kPa"
}

// TimeMapping says where the times of a file are, or what they are where it has none.
type TimeMapping struct {
	Column string // "" : the column called time
	Clock  string // column with the time of day where Column holds only the date
	Format string // pattern such as "DD.MM.YY hh:mm"; "" : found in the file
	Zone   string // "America/Chicago", "UTC", "-06:00"; "" : the local zone
	Start  string // time of the first row where there is no time column
	Step   time.Duration
}

// ColumnMapping says what one column holds: SI = unit(Scale*cell + Offset).
type ColumnMapping struct {
	Channel  sense.Channel
	Unit     string
	Scale    float64
	Offset   float64
	Counts   bool // the column says how many valves fired, and not which
	Ignore   bool // the column is known and not wanted
	Optional bool // files without it are right too
}

// LoadMapping reads a mapping file. All faults of the file are in the error, each with its line.
func LoadMapping(path string) (*Mapping, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, openError(path, err)
	}
	return ParseMapping(path, data)
}

// Text returns the mapping as a TOML file that ParseMapping reads back to the same mapping.
func (m *Mapping) Text() string {
	var b strings.Builder
	line := func(key, value string) { b.WriteString(key + " = " + value + "\n") }
	if m.Delimiter != 0 {
		line("delimiter", strconv.Quote(string(m.Delimiter)))
	}
	if m.Decimal != 0 {
		line("decimal", strconv.Quote(string(m.Decimal)))
	}
	if m.Skip > 0 {
		line("skip", strconv.Itoa(m.Skip))
	}
	if m.NoHeader {
		line("header", "false")
	}
	if len(m.Missing) > 0 {
		quoted := make([]string, len(m.Missing))
		for i, w := range m.Missing {
			quoted[i] = tomlString(w)
		}
		line("missing", "["+strings.Join(quoted, ", ")+"]")
	}
	m.Time.write(&b)
	m.writeColumns(&b)
	m.writeConstants(&b)
	return b.String()
}

func (t TimeMapping) write(b *strings.Builder) {
	if t == (TimeMapping{}) {
		return
	}
	b.WriteString("\n[time]\n")
	for _, kv := range [][2]string{{"column", t.Column}, {"clock", t.Clock}, {"format", t.Format}, {"zone", t.Zone}, {"start", t.Start}} {
		if kv[1] != "" {
			fmt.Fprintf(b, "%s = %s\n", kv[0], tomlString(kv[1]))
		}
	}
	if t.Step > 0 {
		fmt.Fprintf(b, "step = \"%s s\"\n", strconv.FormatFloat(t.Step.Seconds(), 'f', -1, 64))
	}
}

func (m *Mapping) writeColumns(b *strings.Builder) {
	if len(m.Columns) == 0 {
		return
	}
	b.WriteString("\n[columns]\n")
	names := make([]string, 0, len(m.Columns))
	for name := range m.Columns {
		names = append(names, name)
	}
	sort.Strings(names)
	for _, name := range names {
		fmt.Fprintf(b, "%s = %s\n", tomlString(name), m.Columns[name].text())
	}
}

func (c ColumnMapping) text() string {
	if c.Ignore {
		return `"ignore"`
	}
	head := c.Channel.String()
	if c.Unit != "" {
		head += "[" + c.Unit + "]"
	}
	if c.Scale == 1 && c.Offset == 0 && !c.Optional {
		return tomlString(head)
	}
	text := "{ channel = " + tomlString(head)
	if c.Scale != 1 {
		text += ", scale = " + tomlFloat(c.Scale)
	}
	if c.Offset != 0 {
		text += ", offset = " + tomlFloat(c.Offset)
	}
	if c.Optional {
		text += ", optional = true"
	}
	return text + " }"
}

func (m *Mapping) writeConstants(b *strings.Builder) {
	if len(m.Constants) == 0 {
		return
	}
	b.WriteString("\n[constants]\n")
	for c := range sense.NumChannels {
		if text, ok := m.Constants[c]; ok {
			fmt.Fprintf(b, "%s = %s\n", c, tomlString(text))
		}
	}
}

func tomlFloat(v float64) string {
	text := strconv.FormatFloat(v, 'g', -1, 64)
	if !strings.ContainsAny(text, ".e") {
		text += ".0"
	}
	return text
}

// tomlString quotes a text as TOML does, which knows fewer escapes than Go.
func tomlString(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteString("\\" + string(r))
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, "\\u%04X", r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
