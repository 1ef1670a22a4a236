package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"dustwright/collector"
	"dustwright/plant"
	"dustwright/sense"
	"dustwright/unit"
)

// channelOrder is every channel in its fixed order.
func channelOrder() []sense.Channel {
	out := make([]sense.Channel, sense.NumChannels)
	for i := range out {
		out[i] = sense.Channel(i)
	}
	return out
}

// parseMonth reads "2026-06".
func parseMonth(text string, zone *time.Location) (time.Time, error) {
	at, err := time.ParseInLocation("2006-01", text, zone)
	if err != nil {
		return at, wrong(fmt.Sprintf("%q is no month; it is written as 2026-06.", text))
	}
	return at, nil
}

// addField is a figure of the form that makes a collector file; Hint is an example of what to write.
type addField struct{ Key, Label, Hint string }

// addFields are those figures, their examples as for collector.Marked.
var addFields = []addField{
	{"tag", "Tag", "DC-1"}, {"service", "What it serves", "plasma table, bay 3"}, {"duty.flow", "Design airflow", "{4200 cfm|7100 m3/h}"}, {"filters.rows", "Rows of filters (one valve each)", "6"},
	{"filters.per_row", "Cartridges in a row", "1"}, {"filters.area_each", "Media area of one cartridge", "{215 ft2|20 m2}"},
	{"setpoints.low", "Low set point", "{2.0 in.w.g.|500 Pa}"}, {"setpoints.high", "High set point", "{4.0 in.w.g.|1000 Pa}"}, {"setpoints.alarm", "Alarm", "{6.0 in.w.g.|1500 Pa}"}, {"filters.max_dp", "End of the filters' life", "{6.0 in.w.g.|1500 Pa}"},
}

// addPage is the form.
type addPage struct {
	Fields []addField
}

// add shows the form that makes a collector file.
func (s *Server) add(w http.ResponseWriter, r *http.Request) error {
	p := s.page(r, "Add a collector")
	body := addPage{slices.Clone(addFields)}
	for i, f := range body.Fields {
		body.Fields[i].Hint = collector.Marked(f.Hint).In(p.Units)
	}
	p.Body = body
	return s.render(w, http.StatusOK, "add", p)
}

// added takes a collector file, or the form's figures, into the books.
func (s *Server) added(w http.ResponseWriter, r *http.Request) error {
	e, err := s.entryOf(w, r)
	if err != nil {
		return err
	}
	data, _, err := upload(r, "file")
	if err != nil {
		return err
	}
	if data == nil {
		if text := r.FormValue("toml"); text != "" {
			data = []byte(text)
		} else if data, err = formFile(r, s.unitsOf(r)); err != nil {
			return err
		}
	}
	c, err := s.o.Service.Enrol(r.Context(), data, e.by, e.id)
	if err != nil {
		return err
	}
	return s.done(w, e, "/c/"+url.PathEscape(c.Tag)+"/done?did=file")
}

// formFile makes a collector file of the form.
func formFile(r *http.Request, sys unit.System) ([]byte, error) {
	c := collector.New()
	var faults []string
	var fields []fault
	for _, f := range addFields {
		v := strings.TrimSpace(r.FormValue(f.Key))
		if v == "" {
			continue
		}
		if err := c.Set(f.Key, v); err != nil {
			faults = append(faults, sentence(f.Label+": "+err.Error()))
			fields = append(fields, fault{f.Key, faults[len(faults)-1]})
		}
	}
	if len(faults) == 0 {
		if err := c.Validate(); err != nil {
			faults = append(faults, sentence(err.Error()))
		}
	}
	if len(faults) > 0 {
		return nil, &problem{http.StatusUnprocessableEntity, strings.Join(faults, " "), fields}
	}
	return []byte(c.TOML(sys)), nil
}

// file shows a collector's file, to be changed or taken away.
func (s *Server) file(w http.ResponseWriter, r *http.Request) error {
	o, p, err := s.about(r, "collector file")
	if err != nil {
		return err
	}
	if r.URL.Query().Has("download") {
		w.Header().Set("Content-Disposition", `attachment; filename="collector.toml"`)
		return newAnswer("application/toml", []byte(o.Machine.TOML)).send(w, r, "no-cache")
	}
	var finds []string
	for _, f := range o.Collector.Check() {
		finds = append(finds, sentence(f.Text.In(p.Units)))
	}
	p.Body = struct {
		Tag, TOML string
		Finds     []string
	}{o.Machine.Tag, o.Machine.TOML, finds}
	return s.render(w, http.StatusOK, "file", p)
}

// units keeps the reader's choice of units.
func (s *Server) units(w http.ResponseWriter, r *http.Request) error {
	to := r.URL.Query().Get("to")
	if to != "si" && to != "us" {
		return wrong("Units are si or us.")
	}
	http.SetCookie(w, &http.Cookie{Name: "units", Value: to, Path: "/", MaxAge: 365 * 24 * 3600, SameSite: http.SameSiteLaxMode})
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

// note takes a note, with or without a photo.
func (s *Server) note(w http.ResponseWriter, r *http.Request) error {
	e, err := s.entryOf(w, r)
	if err != nil {
		return err
	}
	photo, err := s.photo(r, "photo")
	if err != nil {
		return err
	}
	if err := e.add(plant.Note{Text: r.FormValue("text"), Photo: photo}); err != nil {
		return err
	}
	if err := s.take(e); err != nil {
		return err
	}
	return s.done(w, e, "/c/"+url.PathEscape(e.tag)+"/done?did=note")
}
