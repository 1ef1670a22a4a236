package web

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"time"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/plant"
	"dustwright/unit"
)

// roundPage lists the stops of the round in walking order.
type roundPage struct {
	Stops []stop
	First string // address of the first stop still to do
	Left  int
}

// stop is one collector of the round.
type stop struct {
	Tag, Service string
	Standing     judge.Standing
	Last         string // last reading and when
	Done         bool   // read today
	Href         string
}

// round shows the stops.
func (s *Server) round(w http.ResponseWriter, r *http.Request) error {
	v, err := s.o.Service.View(r.Context())
	if err != nil {
		return err
	}
	p := s.page(r, "Round")
	body := roundPage{}
	for _, o := range v.Walk {
		st := stopOf(o, p)
		if !st.Done {
			body.Left++
			if body.First == "" {
				body.First = st.Href
			}
		}
		body.Stops = append(body.Stops, st)
	}
	if body.First == "" && len(body.Stops) > 0 {
		body.First = body.Stops[0].Href
	}
	p.Sub = fmt.Sprintf("%s, %d to go", plural(len(body.Stops), "stop", "stops"), body.Left)
	p.Body = body
	return s.render(w, http.StatusOK, "round", p)
}

// stopOf is a collector as a stop.
func stopOf(o *plant.Overview, p *page) stop {
	st := stop{Tag: o.Machine.Tag, Service: o.Collector.Service, Standing: o.Standing(), Href: "/c/" + url.PathEscape(o.Machine.Tag) + "/round", Last: "no reading yet"}
	if j := o.Judgement; j != nil && j.Reading != nil {
		st.Last = unit.Pressure(j.Reading.Value).In(p.Units) + ", " + clock(p.Now, o.Last)
	}
	st.Done = !o.Last.IsZero() && midnight(o.Last.In(p.Now.Location())).Equal(midnight(p.Now))
	return st
}

// nextStop is the stop after a tag in walking order; nil after the last.
func nextStop(v *plant.View, tag string, p *page) *stop {
	for i, o := range v.Walk {
		if o.Machine.Tag == tag && i+1 < len(v.Walk) {
			st := stopOf(v.Walk[i+1], p)
			return &st
		}
	}
	return nil
}

// startRound takes the caution read at the start of a round on record.
func (s *Server) startRound(w http.ResponseWriter, r *http.Request) error {
	e, err := s.entryOf(w, r)
	if err != nil {
		return err
	}
	if err := s.take(e); err != nil {
		return err
	}
	first := r.FormValue("first")
	if first == "" || first[0] != '/' || len(first) > 1 && first[1] == '/' {
		first = "/round"
	}
	return s.done(w, e, first)
}

// stopPage is where readings are entered.
type stopPage struct {
	Tag      string
	Main     field
	More     []field
	Expected string
	Last     string
	Place    string // "2 of 4"
	Next     *stop
	Question string // asked where a value seems impossible
}

// field is one number to enter.
type field struct {
	Name, Label, Unit string
	Step              float64 // of the pad's fine buttons, in Unit
	Low, High         float64 // beyond these a value is questioned, in Unit
	Ask               string  // the question
	kind              unit.Kind
	lowSI, highSI     float64
}

// roundStop shows the page of one stop.
func (s *Server) roundStop(w http.ResponseWriter, r *http.Request) error {
	return s.showStop(w, r, http.StatusOK, "", nil)
}

// showStop shows the page of a stop, with a question where one is asked.
func (s *Server) showStop(w http.ResponseWriter, r *http.Request, status int, question string, typed url.Values) error {
	v, err := s.o.Service.View(r.Context())
	if err != nil {
		return err
	}
	o, err := v.Of(r.PathValue("tag"))
	if err != nil {
		return err
	}
	p := s.page(r, o.Machine.Tag)
	p.Sub = o.Collector.Service
	fields := fieldsOf(o, p.Units)
	body := stopPage{Tag: o.Machine.Tag, Main: fields[0], More: fields[1:], Next: nextStop(v, o.Machine.Tag, p), Question: question,
		Last: stopOf(o, p).Last, Expected: s.expected(r.Context(), o, p.Units)}
	for i, other := range v.Walk {
		if other == o {
			body.Place = fmt.Sprintf("%d of %d", i+1, len(v.Walk))
		}
	}
	p.Body = body
	if typed == nil {
		return s.render(w, status, "stop", p)
	}
	return s.renderFilled(w, status, "stop", p, filled{method: http.MethodPost, action: r.URL.Path, values: typed, files: files(r)})
}

// fieldsOf are the readings a round takes, the dP first.
func fieldsOf(o *plant.Overview, sys unit.System) []field {
	c := o.Collector
	fan := fanMost(c)
	out := []field{{Name: "dp", Label: "dP across the filters", kind: unit.KindPressure, Step: 0.05, lowSI: -25, highSI: fan,
		Ask: "More than the fan can give, or below zero. Look at the gauge and its lines again."}}
	if c.AfterFilter.Fitted {
		out = append(out, field{Name: "afterfilter_dp", Label: "dP across the after-filter", kind: unit.KindPressure, Step: 0.05, lowSI: -25, highSI: fan,
			Ask: "More than the fan can give, or below zero. Look at the gauge again."})
	}
	out = append(out, field{Name: "header", Label: "Header pressure", kind: unit.KindPressure, Step: 1, lowSI: 0, highSI: 1.1e6, Ask: "No header stands that high, or below zero. Look at the gauge again."})
	if full := float64(c.Fan.FullLoadCurrent); full > 0 {
		out = append(out, field{Name: "fan_current", Label: "Fan motor current", kind: unit.KindCurrent, Step: 0.1, lowSI: 0, highSI: 2 * full, Ask: "Twice the motor's full-load current, or below zero. Look at the clamp meter's range."})
	}
	if c.Bin.Volume > 0 {
		out = append(out, field{Name: "bin_level", Label: "Bin filled", kind: unit.KindShare, Step: 5, lowSI: 0, highSI: 1.2, Ask: "A bin holds 100 % at most."})
	}
	for i := range out {
		out[i].scale(sys)
	}
	return out
}

// scale brings a field's bounds and step into the reader's unit.
func (f *field) scale(sys unit.System) {
	f.Unit = symbolOf(f.kind, sys)
	if f.Name == "header" {
		f.Unit = [2]string{"psi", "kPa"}[sys]
	}
	if sys == unit.SI && f.kind == unit.KindPressure {
		f.Step = 10
	}
	u, err := unit.Lookup(f.kind, f.Unit)
	if err != nil {
		panic("web: the unit of " + f.Name + " is not known: " + err.Error()) // ours, and a test shows every field
	}
	f.Low, f.High = u.From(f.lowSI), u.From(f.highSI)
}

// fanMost is the most a fan can give [Pa], with a tenth on top; 5 kPa where nothing is known of it.
func fanMost(c *collector.Collector) float64 {
	most := 0.0
	for _, pt := range c.Fan.Curve {
		most = math.Max(most, float64(pt.Pressure))
	}
	if most == 0 {
		return 5000
	}
	return 1.1 * most
}

// expected says in which band the next dP should lie.
func (s *Server) expected(ctx context.Context, o *plant.Overview, sys unit.System) string {
	low, high, _ := marksOf(o.Collector)
	why := "between its set points"
	if o.Swing.N > 1 {
		list, err := s.o.Archive.Envelope(ctx, o.Machine.Tag, 0, o.Last.Add(-7*24*time.Hour), o.Last.Add(time.Second), 7)
		if err == nil && len(list) > 0 { // without it the set points serve
			var all plant.Bucket
			for _, b := range list {
				all = all.With(b)
			}
			if all.Max > 0 {
				low, high, why = math.Max(low*0.9, all.Min), all.Max*1.05, "as in the last week"
				if math.IsNaN(low) {
					low = all.Min
				}
			}
		}
	}
	if math.IsNaN(low) || math.IsNaN(high) {
		return ""
	}
	a, b := show(unit.KindPressure, math.Max(low, 0), sys), show(unit.KindPressure, high, sys)
	return fmt.Sprintf("%s to %s %s, %s", a.Number, b.Number, b.Unit, why)
}

// enterReading takes the readings of a stop.
func (s *Server) enterReading(w http.ResponseWriter, r *http.Request) error {
	e, err := s.entryOf(w, r)
	if err != nil {
		return err
	}
	v, err := s.o.Service.View(r.Context())
	if err != nil {
		return err
	}
	o, err := v.Of(e.tag)
	if err != nil {
		return err
	}
	body := plant.Reading{Values: map[string]float64{}, Typed: map[string]string{}, Note: r.FormValue("note")}
	question := ""
	for _, f := range fieldsOf(o, s.unitsOf(r)) {
		symbol := f.Unit
		if sent := r.FormValue("unit." + f.Name); sent != "" {
			symbol = sent
		}
		text := r.FormValue(f.Name)
		si, ok, err := quantity(text, f.kind, symbol)
		if err != nil {
			return about(f.Name, f.Label, err)
		}
		if !ok {
			continue
		}
		body.Values[f.Name], body.Typed[f.Name] = si, text+" "+symbol
		if si < f.lowSI || si > f.highSI {
			question = f.Label + ": " + text + " " + symbol + ". " + f.Ask + " If it truly reads that, tick the box and save."
		}
	}
	if question != "" && r.FormValue("sure") == "" && !wantsJSON(r) {
		return s.showStop(w, r, http.StatusOK, question, r.Form)
	}
	if body.Photo, err = s.photo(r, "photo"); err != nil {
		return err
	}
	if err := e.add(body); err != nil {
		return err
	}
	if err := s.take(e); err != nil {
		return err
	}
	return s.done(w, e, "/c/"+url.PathEscape(e.tag)+"/done?did=reading")
}
