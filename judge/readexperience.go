package judge

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"dustwright/unit"
)

// Bounds of what a plant can say. They only refuse what cannot be meant.
const (
	mostBytes   = 1 << 20
	mostTimes   = 1000    // of a rate, in either direction
	mostPerYear = 366     // once a day
	mostMinutes = 24 * 60 // of a check
)

// rateTable and checkTable are a [[rate]] and a [[check]] as they stand in the file.
type (
	rateTable struct {
		Causes      []string `toml:"causes"`
		PerYear     *float64 `toml:"per_year"`
		Times       *float64 `toml:"times"`
		Service     string   `toml:"service"`
		Months      []int    `toml:"months"`
		FiltersFrom string   `toml:"filters_from"`
		FiltersTo   string   `toml:"filters_to"`
	}
	checkTable struct {
		ID        string             `toml:"id"`
		Text      string             `toml:"text"`
		Finding   string             `toml:"finding"`
		Minutes   float64            `toml:"minutes"`
		Tools     []string           `toml:"tools"`
		Caution   string             `toml:"caution"`
		Chances   map[string]float64 `toml:"chances"`
		Otherwise *float64           `toml:"otherwise"`
		SettledBy string             `toml:"settled_by"`
	}
	experienceFile struct {
		Rate  []rateTable  `toml:"rate"`
		Check []checkTable `toml:"check"`
	}
)

// wanted is what each key of a table takes.
var wanted = map[string]map[string]string{
	"rate": {"causes": "a list of causes, such as [\"cake-damp\"]", "per_year": "a number, such as 1.5", "times": "a number, such as 3",
		"service": "a text, such as \"quarry\"", "months": "a list of months, such as [11, 12, 1]",
		"filters_from": "a time, such as \"200 days\"", "filters_to": "a time, such as \"200 days\""},
	"check": {"id": "a text, such as \"drain-pot\"", "text": "a text that says what to do", "finding": "a text that says what a yes means",
		"minutes": "a number, such as 3", "tools": "a list of texts, such as [\"lamp\"]", "caution": "a text, such as \"live\"",
		"chances": "chances by cause, such as { cake-damp = 0.8 }", "otherwise": "a chance, such as 0.05",
		"settled_by": "a kind of work, such as \"damper\""},
}

// ParseExperience reads what a plant knows better, in the form of docs/experience.md. The error names every fault in a
// sentence with its line and column; name is the file's, for these.
func ParseExperience(name string, data []byte) (Experience, error) {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if len(data) > mostBytes || !utf8.Valid(data) {
		return Experience{}, fmt.Errorf("%s is not plain text in UTF-8 of at most %d kB; see docs/experience.md", name, mostBytes>>10)
	}
	r := experienceReader{name: name, places: placesOf(data)}
	for _, table := range slices.Sorted(maps.Keys(wanted)) {
		if at, single := r.places[table]; single {
			return Experience{}, fmt.Errorf("%s, %s: %s", name, at, begins(table))
		}
	}
	var file experienceFile
	if err := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields().Decode(&file); err != nil {
		return Experience{}, r.unreadable(err)
	}
	sum := sha256.Sum256(data)
	out := Experience{Mark: hex.EncodeToString(sum[:6])}
	for i, t := range file.Rate {
		out.Rates = append(out.Rates, r.rate("rate."+strconv.Itoa(i), t))
	}
	for i, t := range file.Check {
		c := r.check("check."+strconv.Itoa(i), t)
		if slices.ContainsFunc(out.Checks, func(other CheckEntry) bool { return other.ID == c.ID }) {
			r.fault("check."+strconv.Itoa(i), "id", "there are two checks %q; give each its own id", c.ID)
		}
		out.Checks = append(out.Checks, c)
	}
	if len(r.faults) > 0 {
		return Experience{}, errors.Join(r.faults...)
	}
	return out, nil
}

// experienceReader notes what is wrong, and where.
type experienceReader struct {
	name   string
	places map[string]string // "rate.0", "rate.0.times", and "rate" of a table that is not one of several: "line 3, column 1"
	faults []error
}

// fault notes that a key of a table is wrong; the table's own place stands in for a key that is not there.
func (r *experienceReader) fault(table, key, format string, args ...any) {
	at, ok := r.places[table+"."+key]
	if !ok {
		at = r.places[table]
	}
	r.faults = append(r.faults, fmt.Errorf("%s, %s: %s: %s", r.name, at, key, fmt.Sprintf(format, args...)))
}

// unreadable puts the decoder's errors into sentences.
func (r *experienceReader) unreadable(err error) error {
	var all []error
	var strict *toml.StrictMissingError
	var bad *toml.DecodeError
	switch {
	case errors.As(err, &strict):
		for _, e := range strict.Errors {
			key := e.Key()
			line, column := e.Position()
			known := slices.Sorted(maps.Keys(wanted[key[0]]))
			if known == nil {
				known = slices.Sorted(maps.Keys(wanted))
			}
			last := key[len(key)-1]
			hint := "; known are " + strings.Join(known, ", ")
			if near := unit.Nearest(last, known); near != "" {
				hint = fmt.Sprintf("; did you mean %q?", near)
			}
			all = append(all, fmt.Errorf("%s, line %d, column %d: there is no key %q%s", r.name, line, column, last, hint))
		}
	case errors.As(err, &bad):
		line, column := bad.Position()
		why := "this cannot be read as TOML: " + strings.TrimPrefix(bad.Error(), "toml: ") + "; a line is key = value, with texts in quotation marks"
		switch key := bad.Key(); {
		case len(key) > 1 && wanted[key[0]][key[1]] != "":
			why = key[1] + " takes " + wanted[key[0]][key[1]]
		case len(key) == 1 && wanted[key[0]] != nil:
			why = begins(key[0])
		}
		all = append(all, fmt.Errorf("%s, line %d, column %d: %s", r.name, line, column, why))
	default:
		all = append(all, fmt.Errorf("%s: %w", r.name, err))
	}
	return errors.Join(all...)
}

// begins says how a table is written.
func begins(table string) string {
	return fmt.Sprintf("each %s begins with a line [[%s]]", table, table)
}

// rate checks a [[rate]].
func (r *experienceReader) rate(table string, t rateTable) Rate {
	out := Rate{Service: t.Service}
	for _, c := range t.Causes {
		out.Causes = append(out.Causes, r.cause(table, "causes", c))
	}
	for _, m := range t.Months {
		if m < 1 || m > 12 {
			r.fault(table, "months", "%d is no month; January is 1, December 12", m)
		}
		out.Months = append(out.Months, time.Month(m))
	}
	switch {
	case (t.PerYear == nil) == (t.Times == nil):
		r.fault(table, "per_year", "a rate has either per_year, how often in a year of one collector, or times, how many times as often as usual")
	case t.PerYear != nil:
		out.PerYear = r.within(table, "per_year", *t.PerYear, [2]float64{1e-4, mostPerYear})
	default:
		out.Times = r.within(table, "times", *t.Times, [2]float64{1.0 / mostTimes, mostTimes})
	}
	out.From, out.To = r.age(table, "filters_from", t.FiltersFrom), r.age(table, "filters_to", t.FiltersTo)
	if out.To > 0 && out.To <= out.From {
		r.fault(table, "filters_to", "%q is not later than filters_from, %q", t.FiltersTo, t.FiltersFrom)
	}
	return out
}

// named is how an id is written.
var named = regexp.MustCompile(`^[a-z][a-z0-9-]{0,40}$`)

// check checks a [[check]]. One that says nothing of cautions gets that of a live check; "none" is for those that lead to
// no machine.
func (r *experienceReader) check(table string, t checkTable) CheckEntry {
	out := CheckEntry{ID: t.ID, Text: t.Text, Finding: t.Finding, Tools: t.Tools, Caution: t.Caution, Yes: map[Cause]float64{}, Else: 0.05}
	if !named.MatchString(t.ID) {
		r.fault(table, "id", "%q is no id; write small letters, digits and hyphens, such as \"drain-pot\"", t.ID)
	}
	if t.Text == "" {
		r.fault(table, "text", "it says what to do, such as \"Look into the drain pot\"")
	}
	if t.Finding == "" {
		r.fault(table, "finding", "it says what a yes means, such as \"there is water in it\"")
	}
	for _, part := range [...][2]string{{"text", t.Text}, {"finding", t.Finding}} {
		if strings.Contains(numbered(part[1], 0), "%d") {
			r.fault(table, part[0], "%%d stands for a number after valve, row or pilot, such as \"valve %%d\"")
		}
	}
	out.Minutes = r.within(table, "minutes", t.Minutes, [2]float64{0.1, mostMinutes})
	switch out.Caution {
	case "":
		out.Caution = "live"
	case "none":
		out.Caution = ""
	default:
		if _, ok := cautions[out.Caution]; !ok {
			r.fault(table, "caution", "there is no caution %q; there are %s and none", t.Caution, strings.Join(cautionIDs(), ", "))
		}
	}
	if len(t.Chances) == 0 {
		r.fault(table, "chances", "it says how often the finding is there when a cause is, such as { cake-damp = 0.8 }")
	}
	for _, name := range slices.Sorted(maps.Keys(t.Chances)) {
		p := t.Chances[name]
		out.Yes[r.cause(table, "chances", name)] = r.chance(table, "chances", p)
	}
	if t.Otherwise != nil {
		out.Else = r.chance(table, "otherwise", *t.Otherwise)
	}
	if out.SettledBy = t.SettledBy; out.SettledBy != "" && !slices.Contains(kindsOfWork, out.SettledBy) {
		r.fault(table, "settled_by", "there is no work %q; there are %s", out.SettledBy, strings.Join(kindsOfWork, ", "))
	}
	return out
}

// cause wants a cause of the list that is one.
func (r *experienceReader) cause(table, key, name string) Cause {
	var known []string
	for _, e := range causes {
		if e.Name != None {
			known = append(known, string(e.Name))
		}
	}
	if !slices.Contains(known, name) {
		hint := "there are " + strings.Join(known, ", ")
		if near := unit.Nearest(name, known); near != "" {
			hint = fmt.Sprintf("did you mean %q?", near)
		}
		r.fault(table, key, "there is no cause %q; %s", name, hint)
	}
	return Cause(name)
}

// within wants a number between two others.
func (r *experienceReader) within(table, key string, v float64, in [2]float64) float64 {
	if !(v >= in[0] && v <= in[1]) {
		r.fault(table, key, "%g must lie between %g and %g", v, in[0], in[1])
	}
	return v
}

// chance wants a chance that leaves room to be wrong.
func (r *experienceReader) chance(table, key string, p float64) float64 {
	return r.within(table, key, p, [2]float64{0.001, 0.999})
}

// age wants a time with its unit, or nothing.
func (r *experienceReader) age(table, key, text string) time.Duration {
	if text == "" {
		return 0
	}
	v, err := unit.Parse(unit.KindSeconds, text)
	if err != nil {
		r.fault(table, key, "%v", err)
		return 0
	}
	return time.Duration(r.within(table, key, v, [2]float64{0, 100 * 365 * 86400}) * float64(time.Second))
}

// placesOf notes where tables and keys stand; the tables of each name are numbered from 0. What comes after something that
// is no TOML is left out: the decoder tells of that.
func placesOf(data []byte) map[string]string {
	out, count, under := map[string]string{}, map[string]int{}, ""
	var p unstable.Parser
	p.Reset(data)
	for p.NextExpression() {
		e := p.Expression()
		var path []string
		at := ""
		for it := e.Key(); it.Next(); {
			if n := it.Node(); path == nil {
				at = placeOf(data, int(n.Raw.Offset))
			}
			path = append(path, string(it.Node().Data))
		}
		name := strings.Join(path, ".")
		switch e.Kind {
		case unstable.ArrayTable:
			under = name + "." + strconv.Itoa(count[name])
			count[name]++
			out[under] = at
		case unstable.Table:
			under = name
			if i := strings.IndexByte(name, '.'); i > 0 && count[name[:i]] > 0 { // [check.chances] belongs to the check above it
				under = fmt.Sprintf("%s.%d%s", name[:i], count[name[:i]]-1, name[i:])
			}
			out[under] = at
		case unstable.KeyValue:
			out[under+"."+name] = at
		default:
		}
	}
	return out
}

// placeOf is the line and column of an offset.
func placeOf(data []byte, offset int) string {
	before := data[:min(offset, len(data))]
	line := bytes.LastIndexByte(before, '\n') + 1
	return fmt.Sprintf("line %d, column %d", 1+bytes.Count(before, []byte("\n")), 1+utf8.RuneCount(before[line:]))
}
