package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"dustwright/collector"
	"dustwright/plant"
	"dustwright/unit"
)

// airPage says whether the compressed air is good enough, and takes what was measured of it.
type airPage struct {
	Tag      string
	Says     string
	Why      string // why nothing can be said; then there is no form either
	Basis    string // what was measured, and when
	Facts    []fact
	Findings []airFinding
	Groups   []airGroup // the short form
	More     []airGroup // what few can measure
	Figures  []airFigure
	Gaps     []string
}

// airFinding is a sentence that matters.
type airFinding struct {
	Text  string
	Wrong bool
}

// airFigure is a line of the answer.
type airFigure struct{ Name, Value, Remark string }

// airGroup are figures measured together.
type airGroup struct {
	Legend, Do string
	Last       string // what is on record of them, and since when
	Fields     []airInput
}

// airInput is a figure to enter.
type airInput struct{ Name, Label, Unit string }

// airEntry is how a figure is asked for.
type airEntry struct {
	name, label string
	unit        [2]string
}

// In which units the figures are entered, US and SI.
var (
	inPressure = [2]string{"psi", "kPa"}
	inDegrees  = [2]string{"°F", "°C"}
	inStdFlow  = [2]string{"scfm", "L/s std"}
	inSeconds  = [2]string{"s", "s"}
	inMinutes  = [2]string{"min", "min"}
)

// airForm is the form: what a gauge, a watch and a tape tell.
var airForm = [...]struct {
	legend, do string
	more       bool
	list       []airEntry
}{
	{"Leak test", "Cleaning off. Shut the valve ahead of the header and read its gauge, wait until it has fallen by a quarter, read again.", false,
		[]airEntry{{"decayFrom", "Gauge at the start", inPressure}, {"decayTo", "Gauge at the end", inPressure}, {"decayTime", "Time between", inSeconds}}},
	{"Recovery of one pulse", "Supply open, fan off where that can be. Watch one pulse: the gauge before it, its lowest, and how long until it is nearly back.", false,
		[]airEntry{{"backFrom", "Gauge before it", inPressure}, {"backLow", "Lowest", inPressure}, {"backTime", "Back after", inSeconds}}},
	{"Water", "", false, []airEntry{{"dewPoint", "Pressure dew point", inDegrees}, {"coldest", "Coldest place of line or header", inDegrees}}},
	{"Line", "", false, []airEntry{{"linePressure", "Gauge before the regulator", inPressure}, {"pipeBore", "Pipe inside diameter", [2]string{"in", "mm"}},
		{"pipeLength", "Pipe length", [2]string{"ft", "m"}}, {"receiver", "Receiver near by", [2]string{"gal", "L"}}}},
	{"Leak by a meter", "Nothing pulsing. It counts before the leak test.", true, []airEntry{{"leak", "Flow to the header", inStdFlow}}},
	{"Compressor", "No user on: how long it runs loaded, and how long unloaded, over a few turns.", true,
		[]airEntry{{"loaded", "Loaded", inMinutes}, {"unloaded", "Unloaded", inMinutes}, {"compressorFlow", "Delivers on load", inStdFlow}, {"compressorPower", "Electricity then", [2]string{"kW", "kW"}}}},
	{"Air it draws", "With this the water for the drains is worked out.", true, []airEntry{{"intake", "Temperature", inDegrees}, {"intakeHumidity", "Humidity", [2]string{"%", "%"}}}},
}

// airCaution opens the page: hands are at the header, and pulses fire.
func (s *Server) airCaution(r *http.Request) string {
	return sentence(s.cautionOf(r, "compressed-air")) + " " + sentence(s.cautionOf(r, "live"))
}

// air shows how the compressed air stands, with what was typed laid over what is on record.
func (s *Server) air(w http.ResponseWriter, r *http.Request) error {
	o, p, err := s.about(r, "compressed air")
	if err != nil {
		return err
	}
	records, err := s.o.Archive.Records(r.Context(), plant.RecordQuery{Collector: o.Machine.Tag, Kinds: []plant.Kind{plant.KindAirCheck}, Limit: airRecords})
	if err != nil {
		return err
	}
	typed := r.URL.Query()
	p.Caution = &cautionBox{Text: s.airCaution(r), Tick: true}
	if by := typed.Get("by"); by != "" {
		p.By = by
	}
	if typed.Get("did") == "air" {
		p.Told = deeds["air"]
	}
	m := plant.MeasuredAir(records)
	body := airPage{Tag: o.Machine.Tag}
	body.form(m, p)
	f := filled{method: http.MethodPost, action: r.URL.Path, values: typed}
	check, err := airTyped(typed, p.Units)
	if err != nil {
		told := s.asProblem(r, err)
		check, f.says, f.faults = plant.AirCheck{}, told.says, told.faults
	}
	m = m.With(check, p.Now)
	body.Basis = airBasis(m, check, p.Now)
	body.answer(o, m, p)
	p.Body = body
	if len(typed) == 0 {
		return s.render(w, http.StatusOK, "air", p)
	}
	return s.renderFilled(w, http.StatusOK, "air", p, f)
}

// airRecords is among how many checks the newest figures are looked for.
const airRecords = 200

// form lays out the fields.
func (b *airPage) form(m plant.AirMeasured, p *page) {
	for _, g := range airForm {
		group := airGroup{Legend: g.legend, Do: g.do, Last: onRecord(g.list, m, p)}
		for _, e := range g.list {
			group.Fields = append(group.Fields, airInput{e.name, e.label, e.unit[p.Units]})
		}
		if g.more {
			b.More = append(b.More, group)
		} else {
			b.Groups = append(b.Groups, group)
		}
	}
}

// onRecord says what is on record of some figures: "On record: gauge at the start 60.0 psi, gauge at the end 45.0 psi (16 June)."
func onRecord(list []airEntry, m plant.AirMeasured, p *page) string {
	var b strings.Builder
	last := ""
	for _, e := range list {
		at, ok := m.At[e.name]
		if !ok {
			continue
		}
		switch when := day(p.Now, at); {
		case last == "":
			b.WriteString("On record: ")
		case when != last:
			b.WriteString(" (" + last + "), ")
		default:
			b.WriteString(", ")
		}
		f := airFieldOf(e.name)
		b.WriteString(uncapital(e.label) + " " + unit.Print(f.Kind, f.Get(m.Request), p.Units))
		last = day(p.Now, at)
	}
	if last == "" {
		return ""
	}
	return b.String() + " (" + last + ")."
}

// airFieldOf is the figure of a name.
func airFieldOf(name string) collector.AirField {
	for _, f := range collector.AirFields() {
		if f.Name == name {
			return f
		}
	}
	panic("web: no figure of the compressed air is called " + name) // ours, and a test shows every field
}

// airTyped reads what a person typed; the error tells all that can't be read or can't be.
func airTyped(form url.Values, sys unit.System) (plant.AirCheck, error) {
	check := plant.AirCheck{Values: map[string]float64{}, Typed: map[string]string{}, Note: strings.TrimSpace(form.Get("note"))}
	var faults []fault
	var says []string
	for _, g := range airForm {
		for _, e := range g.list {
			text := strings.TrimSpace(form.Get(e.name))
			si, ok, err := quantity(text, airFieldOf(e.name).Kind, e.unit[sys])
			switch {
			case err != nil:
				faults = append(faults, fault{e.name, err.Error()})
				says = append(says, sentence(g.legend+", "+uncapital(e.label)+": "+err.Error()))
			case ok:
				check.Values[e.name] = si
				if !strings.ContainsFunc(text, unicode.IsLetter) {
					text += " " + e.unit[sys]
				}
				check.Typed[e.name] = text
			}
		}
	}
	if len(faults) > 0 {
		return check, &problem{http.StatusUnprocessableEntity, strings.Join(says, " "), faults}
	}
	for _, f := range check.Request().Faults() {
		faults = append(faults, fault{f.Field, f.Text.In(sys)})
		says = append(says, sentence(f.Text.In(sys)))
	}
	if len(faults) > 0 {
		return check, &problem{http.StatusUnprocessableEntity, strings.Join(says, " "), faults}
	}
	return check, nil
}

// answer works out what the page says.
func (b *airPage) answer(o *plant.Overview, m plant.AirMeasured, p *page) {
	c := o.Collector
	use, err := c.AirUse(m.Request)
	if err != nil {
		b.Why = sentence(err.Error())
		return
	}
	b.Says, b.Facts = use.Says().In(p.Units), airFacts(use, c, p.Units)
	for _, weight := range []collector.Weight{collector.Wrong, collector.Odd, collector.Note} {
		for _, f := range use.Findings {
			if f.Weight == weight {
				b.Findings = append(b.Findings, airFinding{sentence(f.Text.In(p.Units)), weight == collector.Wrong})
			}
		}
	}
	for _, f := range use.Figures(c) {
		b.Figures = append(b.Figures, airFigure{capital(f.Name), f.Value.In(p.Units), f.Remark.In(p.Units)})
	}
	for _, g := range use.Gaps {
		b.Gaps = append(b.Gaps, fmt.Sprintf("%s: %s.", g.Key, g.Text.In(p.Units)))
	}
}

// airBasis says what was measured, and when; "" where all of it is the file's.
func airBasis(m plant.AirMeasured, typed plant.AirCheck, now time.Time) string {
	var parts []string
	for _, what := range [][2]string{{"decayTime", "leak test"}, {"leak", "leak by a meter"}, {"backTime", "recovery"}, {"dewPoint", "dew point"}, {"loaded", "compressor"}} {
		if _, ok := typed.Values[what[0]]; ok {
			parts = append(parts, what[1]+" as entered now")
		} else if at, ok := m.At[what[0]]; ok {
			parts = append(parts, what[1]+" of "+day(now, at))
		}
	}
	if parts == nil {
		return ""
	}
	return "Reckoned with what was measured: " + strings.Join(parts, ", ") + "."
}

// airFacts are the figures to know if only some are read.
func airFacts(use *collector.AirUse, c *collector.Collector, sys unit.System) []fact {
	out := []fact{{"a pulse", unit.PrintStdVolume(use.PerPulse, sys), ""}, {"while cleaning", use.WhileCleaning.In(sys), ""}}
	if use.Supply > 0 {
		what := "leaks, allowed for"
		if use.LeakMeasured {
			what = "leaks, measured"
		}
		out = append(out, fact{"supply", use.Supply.In(sys), ""}, fact{what, use.Leak.In(sys), ""})
	}
	if use.CostPerYear > 0 {
		out = append(out, fact{"a year, at most", c.Cost.Amount(use.CostPerYear), ""})
	}
	return out
}

// capital makes a clause's first letter large.
func capital(text string) string {
	r, n := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(r)) + text[n:]
}

// airMeasured takes a check of the compressed air on record.
func (s *Server) airMeasured(w http.ResponseWriter, r *http.Request) error {
	e, err := s.entryOf(w, r)
	if err != nil {
		return err
	}
	check, err := airTyped(r.Form, s.unitsOf(r))
	if err != nil {
		return err
	}
	if len(check.Values) == 0 {
		return wrong("Enter at least one figure that was measured.")
	}
	if err := e.cautioned(s.airCaution(r), r.URL.Path); err != nil {
		return err
	}
	if err := e.add(check); err != nil {
		return err
	}
	if err := s.take(e); err != nil {
		return err
	}
	return s.done(w, e, "/c/"+url.PathEscape(e.tag)+"/air?did=air")
}

// airText says in a line what a check of the compressed air holds.
func airText(b *plant.AirCheck, sys unit.System) string {
	var parts []string
	for _, f := range collector.AirFields() {
		if v, ok := b.Values[f.Name]; ok {
			parts = append(parts, f.What+" "+unit.Print(f.Kind, v, sys))
		}
	}
	return strings.TrimSpace(sentence(strings.Join(slices.Clip(parts), ", ")) + " " + sentence(b.Note))
}
