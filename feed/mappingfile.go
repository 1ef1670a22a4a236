package feed

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"

	"dustwright/sense"
	"dustwright/unit"
)

// mappingFile is the TOML form of a Mapping.
type mappingFile struct {
	Delimiter string         `toml:"delimiter"`
	Decimal   string         `toml:"decimal"`
	Skip      int            `toml:"skip"`
	Header    *bool          `toml:"header"`
	Missing   []any          `toml:"missing"`
	Time      mappingTime    `toml:"time"`
	Columns   map[string]any `toml:"columns"`
	Constants map[string]any `toml:"constants"`
}

type mappingTime struct {
	Column string `toml:"column"`
	Clock  string `toml:"clock"`
	Format string `toml:"format"`
	Zone   string `toml:"zone"`
	Start  any    `toml:"start"`
	Step   string `toml:"step"`
}

// mappingKeys are the keys of each table of a mapping file.
var mappingKeys = map[string][]string{
	"":     {"delimiter", "decimal", "skip", "header", "missing", "time", "columns", "constants"},
	"time": {"column", "clock", "format", "zone", "start", "step"},
}

var columnKeys = []string{"channel", "scale", "offset", "optional"}

// mappingReader collects what is wrong with one mapping file.
type mappingReader struct {
	name   string
	data   []byte
	faults []error
}

// ParseMapping reads the text of a mapping file; name is the file's name in messages.
func ParseMapping(name string, data []byte) (*Mapping, error) {
	r := &mappingReader{name: name, data: data}
	if len(data) > 1<<20 {
		return nil, &Error{File: name, Why: "it is larger than a column mapping ever is", Do: "check that this is the mapping and not the log"}
	}
	var file mappingFile
	dec := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields()
	if err := dec.Decode(&file); err != nil {
		return nil, r.decodeError(err)
	}
	m := &Mapping{Name: name, Skip: file.Skip, NoHeader: file.Header != nil && !*file.Header}
	m.Delimiter = r.oneOf("delimiter", file.Delimiter, ",", ";", "\t", "|", "tab", "comma", "semicolon")
	m.Decimal = r.oneOf("decimal", file.Decimal, ".", ",", "comma", "point")
	if m.Skip < 0 || m.Skip > 1000 {
		r.fault("skip", "skip is the number of lines above the header, 0 to 1000")
	}
	m.Missing = r.missing(file.Missing)
	m.Time = r.time(file.Time)
	m.Columns = r.columns(file.Columns)
	m.Constants = r.constants(file.Constants)
	if len(m.Columns) == 0 && len(r.faults) == 0 {
		r.fault("columns", "a mapping needs a table [columns] that says what each column holds, for example \"AFDP\" = \"dp[mbar]\"")
	}
	if len(r.faults) > 0 {
		return nil, errors.Join(r.faults...)
	}
	return m, nil
}

// fault notes what is wrong at a key.
func (r *mappingReader) fault(key, format string, args ...any) {
	r.faults = append(r.faults, &Error{File: r.name, Line: lineOf(r.data, key), Why: fmt.Sprintf(format, args...)})
}

// lineOf finds the line of a TOML file that sets the key, 0 where there is none.
func lineOf(data []byte, key string) int {
	for n, line := range bytes.Split(data, []byte("\n")) {
		text := strings.TrimLeft(string(line), " \t[\"'")
		if rest, ok := strings.CutPrefix(text, key); ok && strings.IndexAny(strings.TrimLeft(rest, "\"' \t"), "=]") == 0 {
			return n + 1
		}
	}
	return 0
}

// decodeError turns what the TOML reader found into sentences.
func (r *mappingReader) decodeError(err error) error {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) {
		var all []error
		for i := range strict.Errors {
			all = append(all, r.unknownKey(&strict.Errors[i]))
		}
		return errors.Join(all...)
	}
	var de *toml.DecodeError
	if errors.As(err, &de) {
		line, _ := de.Position()
		return &Error{File: r.name, Line: line, Why: "not valid TOML: " + strings.TrimPrefix(de.Error(), "toml: "), Cause: err}
	}
	return &Error{File: r.name, Why: "not a mapping: " + strings.TrimPrefix(err.Error(), "toml: "), Cause: err}
}

func (r *mappingReader) unknownKey(de *toml.DecodeError) error {
	line, _ := de.Position()
	key := de.Key()
	table, word := strings.Join(key[:len(key)-1], "."), key[len(key)-1]
	known := mappingKeys[table]
	e := &Error{File: r.name, Line: line, Why: fmt.Sprintf("unknown key %q", word)}
	if near := unit.Nearest(word, known); near != "" {
		e.Do = fmt.Sprintf("the nearest known key is %q", near)
	} else if known != nil {
		e.Do = "known here: " + strings.Join(known, ", ")
	}
	return e
}

// oneOf reads a setting of one character, or the word for it.
func (r *mappingReader) oneOf(key, value string, known ...string) byte {
	words := map[string]byte{"tab": '\t', "comma": ',', "semicolon": ';', "point": '.'}
	switch {
	case value == "":
		return 0
	case !slices.Contains(known, value):
		r.fault(key, "%s %s is not one of %s", key, quote(value), strings.Join(known, " "))
		return 0
	case words[value] != 0:
		return words[value]
	}
	return value[0]
}

func (r *mappingReader) missing(words []any) []string {
	var out []string
	for _, w := range words {
		switch v := w.(type) {
		case string:
			out = append(out, v)
		case int64:
			out = append(out, strconv.FormatInt(v, 10))
		case float64:
			out = append(out, strconv.FormatFloat(v, 'f', -1, 64))
		default:
			r.fault("missing", "missing lists the cells that mean no reading, for example [\"-9999\", \"bad\"]")
		}
	}
	return out
}

// time reads the table [time].
func (r *mappingReader) time(f mappingTime) TimeMapping {
	t := TimeMapping{Column: f.Column, Clock: f.Clock, Format: f.Format, Zone: f.Zone}
	if f.Format != "" {
		if _, err := newPattern(f.Format); err != nil {
			r.fault("format", "%s", err)
		}
	}
	zone, err := parseZone(f.Zone)
	if err != nil {
		r.fault("zone", "%s", err)
	}
	if t.Clock != "" && t.Column == "" {
		r.fault("clock", "clock names the column of the time of day; column, the one of the date, is missing beside it")
	}
	r.startAndStep(f, zone, &t)
	return t
}

// startAndStep reads the two keys that stand for a time column.
func (r *mappingReader) startAndStep(f mappingTime, zone *time.Location, t *TimeMapping) {
	if f.Start == nil && f.Step == "" {
		return
	}
	if f.Start == nil || f.Step == "" {
		r.fault("start", "start and step belong together: the time of the first row and the time between rows")
		return
	}
	if f.Column != "" {
		r.fault("start", "a file has either a time column or start and step, not both")
		return
	}
	t.Start = startText(f.Start)
	if _, err := parseStart(t.Start, zone); err != nil {
		r.fault("start", "%s", err)
	}
	step, err := unit.Parse(unit.KindSeconds, f.Step)
	switch {
	case err != nil:
		r.fault("step", "step: %s", err)
	case step < 1e-3 || step > 366*86400:
		r.fault("step", "step %s is not between a millisecond and a year", quote(f.Step))
	default:
		t.Step = time.Duration(math.Round(step * 1e9))
	}
}

// startText brings a start written as text or as a TOML date to text.
func startText(v any) string {
	switch t := v.(type) {
	case string:
		return t
	case time.Time:
		return t.Format(time.RFC3339Nano)
	case toml.LocalDateTime:
		return t.String()
	case toml.LocalDate:
		return t.String() + "T00:00:00"
	}
	return fmt.Sprint(v)
}

// parseStart reads the time of the first row; a time without an offset is of the zone.
func parseStart(text string, zone *time.Location) (int64, error) {
	m, ok := looseTime([]byte(strings.TrimSpace(text)), monthFirst)
	if !ok || m.marks&(eitherWay|serialDay|epochCount) != 0 {
		return 0, fmt.Errorf("start %s is no time; write it like \"2026-03-02T07:00:00-06:00\"", quote(text))
	}
	if m.marks&zoned != 0 {
		return m.ns, nil
	}
	return wallToUTC(m.ns, zone), nil
}

// columns reads the table [columns].
func (r *mappingReader) columns(table map[string]any) map[string]ColumnMapping {
	out := make(map[string]ColumnMapping, len(table))
	used := map[sense.Channel]string{}
	for _, name := range sortedKeys(table) {
		c, err := r.column(table[name])
		if err != nil {
			r.fault(name, "column %s: %s", shown(name), err)
			continue
		}
		if other, twice := used[c.Channel]; twice && !c.Ignore && !c.Optional {
			r.fault(name, "columns %s and %s are both mapped to %s", shown(other), shown(name), c.Channel)
		}
		if !c.Ignore {
			used[c.Channel] = name
		}
		out[name] = c
	}
	return out
}

func sortedKeys(table map[string]any) []string {
	keys := make([]string, 0, len(table))
	for k := range table {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// column reads "dp[mbar]", "ignore" or { channel = "dp[mbar]", scale = 0.1 }.
func (r *mappingReader) column(value any) (ColumnMapping, error) {
	c := ColumnMapping{Scale: 1}
	if text, ok := value.(string); ok {
		return c, c.meaning(text)
	}
	table, ok := value.(map[string]any)
	if !ok {
		return c, errors.New("write what it holds, for example \"dp[mbar]\", or \"ignore\"")
	}
	for _, key := range sortedKeys(table) {
		var ok bool
		switch key {
		case "channel":
			_, ok = table[key].(string)
		case "scale":
			c.Scale, ok = plainFloat(table[key])
			ok = ok && c.Scale != 0
		case "offset":
			c.Offset, ok = plainFloat(table[key])
		case "optional":
			c.Optional, ok = table[key].(bool)
		default:
			return c, unknownWord("key", key, columnKeys)
		}
		if !ok {
			return c, fmt.Errorf("the value of %s can't be used; write for example { channel = \"dp[mbar]\", scale = 0.1, offset = 0.0, optional = true }", key)
		}
	}
	text, ok := table["channel"].(string)
	if !ok {
		return c, errors.New("channel is missing, for example { channel = \"dp[mbar]\", scale = 0.1 }")
	}
	return c, c.meaning(text)
}

func plainFloat(v any) (float64, bool) {
	switch n := v.(type) {
	case int64:
		return float64(n), true
	case float64:
		return n, !math.IsNaN(n) && !math.IsInf(n, 0)
	}
	return 0, false
}

func unknownWord(what, word string, known []string) error {
	if near := unit.Nearest(word, known); near != "" {
		return fmt.Errorf("unknown %s %s; the nearest known is %q", what, quote(word), near)
	}
	return fmt.Errorf("unknown %s %s; known: %s", what, quote(word), strings.Join(known, ", "))
}

// meaning reads a channel with its unit.
func (c *ColumnMapping) meaning(text string) error {
	if text == "ignore" {
		c.Ignore = true
		return nil
	}
	name, symbol := splitName(text)
	ch, ok := channelOf(name)
	if !ok {
		return unknownWord("channel", name, sense.ChannelNames())
	}
	c.Channel, c.Unit, c.Counts = ch, symbol, counts(name)
	_, err := unitOf(ch, symbol)
	return err
}

// constants reads the table [constants].
func (r *mappingReader) constants(table map[string]any) map[sense.Channel]string {
	out := make(map[sense.Channel]string, len(table))
	for _, key := range sortedKeys(table) {
		ch, ok := channelOf(key)
		if !ok {
			r.fault(key, "%s", unknownWord("channel", key, sense.ChannelNames()))
			continue
		}
		text := fmt.Sprint(table[key])
		if _, err := constant(ch, text); err != nil {
			r.fault(key, "%s: %s", key, err)
			continue
		}
		out[ch] = text
	}
	return out
}

// constant reads a reading that holds for all rows.
func constant(ch sense.Channel, text string) (float64, error) {
	switch rules[ch].content {
	case pulses:
		return 0, errors.New("pulses can't be the same in every row")
	case state:
		if v, ok := stateWord([]byte(text)); ok {
			return v, nil
		}
		return 0, fmt.Errorf("%s is neither 0 nor 1", quote(text))
	}
	si, err := unit.Parse(rules[ch].kind, text)
	if err == nil && (si < rules[ch].low || si > rules[ch].high) {
		err = fmt.Errorf("%s is outside what an instrument can show", quote(text))
	}
	return si, err
}
