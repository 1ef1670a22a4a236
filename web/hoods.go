package web

import (
	"fmt"
	"maps"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"dustwright/collector"
	"dustwright/plant"
	"dustwright/unit"
)

// hoodsPage is what each hood should show, and where readings are entered.
type hoodsPage struct {
	Tag   string
	Why   string // why the hoods can't be told
	Hoods []hoodLine
	SP    string // unit of static pressures
	Temp  string // unit of temperatures
	Last  *hoodsRead
	Notes []string // what the file leaves open
}

// hoodField begins the name of a hood's field; the branch's name follows.
const hoodField = "sp."

// hoodLine is one hood to read.
type hoodLine struct {
	Field, Name string
	Should      string // "-1.4 in. w.g. at 2100 cfm"; "" not known
	Place       string // what the field shows while it is empty; "" where only a range is known
}

// hoodsRead is the last round of readings.
type hoodsRead struct {
	When, By string
	Says     []string
	Rows     []hoodRow
	Trim     bool // a hood has not its flow: where the damper goes is the next question
}

// hoodRow is one hood that was read.
type hoodRow struct{ Name, Read, Should, Flow, Share, State string }

// hoodWords say how a hood stands to what commissioning asked for.
var hoodWords = map[collector.HoodState]string{
	collector.HoodShort: "short of air", collector.HoodPerhaps: "probably short", collector.HoodAsWanted: "has its air",
	collector.HoodMore: "more than design", collector.HoodUnsure: "can't be said", collector.HoodUnknown: "nothing to compare with",
}

// hoods shows the sheet, and what the last readings told.
func (s *Server) hoods(w http.ResponseWriter, r *http.Request) error {
	o, p, err := s.about(r, "hoods")
	if err != nil {
		return err
	}
	body := hoodsPage{Tag: o.Machine.Tag, SP: symbolOf(unit.KindPressure, p.Units), Temp: symbolOf(unit.KindTemperature, p.Units)}
	p.Caution = &cautionBox{Text: s.hoodsCaution(r), Tick: true}
	p.Body, p.Told = &body, deeds[r.URL.Query().Get("did")]
	sheet, err := o.Collector.Hoods(collector.NewHoodRequest())
	if err != nil {
		body.Why = sentence(err.Error())
		return s.render(w, http.StatusOK, "hoods", p)
	}
	for i := range sheet.Hoods {
		body.Hoods = append(body.Hoods, lineOfHood(&sheet.Hoods[i], p.Units))
	}
	for _, g := range sheet.Gaps {
		body.Notes = append(body.Notes, sentence(g.Text.In(p.Units)))
	}
	list, err := s.o.Archive.Records(r.Context(), plant.RecordQuery{Collector: o.Machine.Tag, Kinds: []plant.Kind{plant.KindHoodReading}, Limit: hoodRecords})
	if err != nil {
		return err
	}
	body.Last = lastHoods(list, o.Collector, p)
	return s.render(w, http.StatusOK, "hoods", p)
}

// lineOfHood is a hood as it is asked for.
func lineOfHood(h *collector.Hood, sys unit.System) hoodLine {
	line := hoodLine{Field: hoodField + h.Name, Name: h.Name}
	if math.IsNaN(float64(h.Expected)) {
		return line
	}
	line.Should = shouldShow(h, sys) + " at " + h.Design.In(sys)
	if h.Basis != collector.HoodUsual {
		line.Place, _, _ = strings.Cut(h.Expected.Finely(sys), " ")
	}
	return line
}

// shouldShow is the suction of a hood at design flow; a range where nothing is known of the hood.
func shouldShow(h *collector.Hood, sys unit.System) string {
	if h.Basis == collector.HoodUsual {
		return h.ExpectHigh.Finely(sys) + " to " + h.ExpectLow.Finely(sys)
	}
	return h.Expected.Finely(sys)
}

// hoodsCaution opens the page: the fan runs, and hands are at a port of the duct.
func (s *Server) hoodsCaution(r *http.Request) string {
	return sentence(s.cautionOf(r, "live")) + " " + sentence(s.cautionOf(r, "traverse"))
}

// hoodRecords is among how many readings of hoods the newest are looked for.
const hoodRecords = 50

// lastHoods works the last readings out anew, in the reader's units and by the file as it is now; nil where there are none.
func lastHoods(list []plant.Record, c *collector.Collector, p *page) *hoodsRead {
	rec, told := plant.LastHoods(list, c)
	if told == nil {
		return nil
	}
	out := &hoodsRead{When: clock(p.Now, rec.At), By: rec.By}
	for _, t := range told.Says {
		out.Says = append(out.Says, sentence(t.In(p.Units)))
	}
	for i := range told.Hoods {
		h := &told.Hoods[i]
		if h.State == collector.HoodUnread {
			continue
		}
		out.Trim = out.Trim || h.State == collector.HoodShort || h.State == collector.HoodPerhaps || h.State == collector.HoodMore
		row := hoodRow{Name: h.Name, Read: h.Read.Finely(p.Units), Should: shouldShow(h, p.Units), Flow: h.Flow.In(p.Units), State: hoodWords[h.State]}
		if share := h.Share(); !math.IsNaN(share) {
			row.Share = fmt.Sprintf("%s (%.0f to %.0f)", ofDesign(share), 100*float64(h.Low/h.Design), 100*float64(h.High/h.Design))
		}
		out.Rows = append(out.Rows, row)
	}
	return out
}

// hoodsIn reads the form: what was typed is suction, with a minus or without.
func hoodsIn(r *http.Request, c *collector.Collector, sys unit.System) (*plant.HoodReading, error) {
	sheet, err := c.Hoods(collector.NewHoodRequest())
	if err != nil {
		return nil, wrong(sentence(err.Error()))
	}
	b := &plant.HoodReading{}
	known := map[string]bool{}
	for i := range sheet.Hoods {
		known[hoodField+sheet.Hoods[i].Name] = true
		sp, ok, err := quantity(r.FormValue(hoodField+sheet.Hoods[i].Name), unit.KindPressure, symbolOf(unit.KindPressure, sys))
		if err != nil {
			return nil, about(hoodField+sheet.Hoods[i].Name, sheet.Hoods[i].Name, err)
		}
		if ok {
			one := collector.HoodRequest{Readings: []collector.HoodReading{{Name: sheet.Hoods[i].Name, SP: unit.Pressure(0 - math.Abs(sp))}}}
			if _, err := c.Hoods(one); err != nil {
				return nil, in(hoodField+sheet.Hoods[i].Name, wrong(sentence(err.Error())))
			}
			b.Hoods = append(b.Hoods, plant.HoodPressure{Branch: sheet.Hoods[i].Name, SP: unit.Pressure(0 - math.Abs(sp))})
		}
	}
	for _, field := range slices.Sorted(maps.Keys(r.Form)) { // the file may have changed since the page was opened
		if name, of := strings.CutPrefix(field, hoodField); of && !known[field] && r.FormValue(field) != "" {
			return nil, wrong(fmt.Sprintf("The collector file has no hood %q any more; open the page anew.", name))
		}
	}
	if len(b.Hoods) == 0 {
		return nil, wrong("Enter what the manometer shows behind at least one hood, such as 1.2; suction needs no minus here.")
	}
	temp, ok, err := quantity(r.FormValue("temperature"), unit.KindTemperature, symbolOf(unit.KindTemperature, sys))
	if err != nil {
		return nil, about("temperature", "Air in the ducts", err)
	}
	if ok {
		b.Temperature = unit.Temperature(temp)
		if a := c.SiteAir(b.Temperature, unit.Share(math.NaN())); !(a.Density() > 0) {
			return nil, about("temperature", "Air in the ducts", fmt.Errorf("there is no air of %s", b.Temperature.In(sys)))
		}
	}
	return b, nil
}

// readHoods works out the readings; with dry=1 it only answers, else they go on record.
func (s *Server) readHoods(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	o, p, err := s.about(r, "hoods")
	if err != nil {
		return err
	}
	b, err := hoodsIn(r, o.Collector, p.Units)
	if err != nil {
		return err
	}
	told, err := o.Collector.Hoods(b.Request(o.Collector))
	if err != nil {
		return wrong(sentence(err.Error()))
	}
	b.Says = collector.Spoken(func(sys unit.System) string { return hoodsSay(told, sys) }).Kept()
	if r.FormValue("dry") == "1" {
		s.json(w, http.StatusOK, map[string]any{"says": b.Says.In(p.Units), "flags": hoodFlags(told, p.Units)})
		return nil
	}
	k := 0
	for i := range told.Hoods {
		if h := &told.Hoods[i]; h.State != collector.HoodUnread {
			if !math.IsNaN(float64(h.Flow)) {
				b.Hoods[k].Flow = h.Flow
			}
			k++
		}
	}
	e, err := s.entryOf(w, r)
	if err != nil {
		return err
	}
	if err := e.cautioned(s.hoodsCaution(r), r.URL.Path); err != nil {
		return err
	}
	if err := e.add(*b); err != nil {
		return err
	}
	if err := s.take(e); err != nil {
		return err
	}
	return s.done(w, e, "/c/"+url.PathEscape(e.tag)+"/hoods?did=hoods")
}

// hoodsSay is what the readings together tell.
func hoodsSay(told *collector.Hoods, sys unit.System) string {
	var says []string
	for _, t := range told.Says {
		says = append(says, sentence(t.In(sys)))
	}
	return strings.Join(says, " ")
}

// hoodFlags is each hood that was read in a sentence.
func hoodFlags(told *collector.Hoods, sys unit.System) []string {
	out := []string{}
	for i := range told.Hoods {
		if h := &told.Hoods[i]; h.State != collector.HoodUnread && !math.IsNaN(h.Share()) {
			out = append(out, sentence(fmt.Sprintf("%q: %s, %s of design", h.Name, h.Flow.In(sys), ofDesign(h.Share()))))
		}
	}
	return out
}
