package web

import (
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"time"

	"dustwright/judge"
	"dustwright/plant"
	"dustwright/unit"
)

// entry is what a person sent with a form: who, when, and the ID under which it is kept once, however
// often it is sent.
type entry struct {
	id, by  string
	at      time.Time
	tag     string
	r       *http.Request
	records []plant.Record
}

// entryOf reads who, when and ID out of a form. A page whose caution has a box wants it ticked, and the
// caution read goes on record first.
func (s *Server) entryOf(w http.ResponseWriter, r *http.Request) (*entry, error) {
	if err := parseForm(r); err != nil {
		return nil, err
	}
	e := &entry{id: strings.TrimSpace(r.FormValue("id")), by: strings.TrimSpace(r.FormValue("by")), tag: r.PathValue("tag"), at: s.o.Service.Now(), r: r}
	if e.by == "" || len(e.by) > 60 {
		return nil, in("by", wrong("Say who you are: the name goes on record with what you enter."))
	}
	if e.id == "" {
		e.id = plant.NewID()
	}
	if text := r.FormValue("at"); text != "" {
		at, err := time.Parse(time.RFC3339Nano, text)
		if err != nil {
			return nil, wrong(fmt.Sprintf("The time %q can't be read; it is written as 2026-06-16T08:30:00-06:00.", text))
		}
		e.at = at
	}
	http.SetCookie(w, &http.Cookie{Name: "by", Value: url.QueryEscape(e.by), Path: "/", MaxAge: 365 * 24 * 3600, SameSite: http.SameSiteLaxMode})
	if rt := routeOf(r); rt.tick {
		if err := e.cautioned(s.cautionOf(r, rt.caution), r.URL.Path); err != nil {
			return nil, err
		}
	}
	return e, nil
}

// cautionOf is a caution as it stood on the page, in the reader's units.
func (s *Server) cautionOf(r *http.Request, id string) string {
	return judge.Caution(id).In(s.unitsOf(r))
}

// cautioned wants the caution's box ticked, and puts on record that it was read, and before what.
func (e *entry) cautioned(text, before string) error {
	if e.r.FormValue("caution") != "yes" {
		return in("caution", wrong("Read the caution at the head of the page and tick its box first. It goes on record with the work."))
	}
	return e.add(plant.Caution{Text: text, For: before})
}

// parseForm reads a form sent either way.
func parseForm(r *http.Request) error {
	err := r.ParseMultipartForm(8 << 20)
	if errors.Is(err, http.ErrNotMultipart) {
		err = r.ParseForm()
	}
	var large *http.MaxBytesError
	if err == nil || errors.As(err, &large) {
		return err
	}
	return wrong("The form that was sent can't be read: " + err.Error())
}

// add puts a record of the entry behind those there are. The last one carries the entry's own ID, those
// before it the ID with a number.
func (e *entry) add(body plant.Body) error {
	r, err := plant.NewRecord(body, e.tag, e.by)
	if err != nil {
		return err
	}
	r.At = e.at
	e.records = append(e.records, r)
	return nil
}

// take gives the records to the plant. Durable on return: only then a page may say that it is saved.
func (s *Server) take(e *entry) error {
	for i := range e.records {
		e.records[i].ID = e.id
		if i < len(e.records)-1 {
			e.records[i].ID = fmt.Sprintf("%s-%d", e.id, i+1)
		}
	}
	_, err := s.o.Service.Accept(e.r.Context(), e.records...)
	return err
}

// photo keeps an uploaded file and returns its name; "" where none was sent.
func (s *Server) photo(r *http.Request, field string) (string, error) {
	if r.MultipartForm == nil || len(r.MultipartForm.File[field]) == 0 {
		return "", nil
	}
	return s.keep(r, r.MultipartForm.File[field][0])
}

// keep keeps one uploaded file.
func (s *Server) keep(r *http.Request, h *multipart.FileHeader) (name string, err error) {
	if h.Size == 0 {
		return "", nil
	}
	f, err := h.Open()
	if err != nil {
		return "", err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return s.o.Blobs.PutBlob(r.Context(), f)
}

// upload returns the bytes and name of an uploaded file; nil where none was sent.
func upload(r *http.Request, field string) (data []byte, name string, err error) {
	if r.MultipartForm == nil || len(r.MultipartForm.File[field]) == 0 || r.MultipartForm.File[field][0].Size == 0 {
		return nil, "", nil
	}
	h := r.MultipartForm.File[field][0]
	f, err := h.Open()
	if err != nil {
		return nil, "", err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	data, err = io.ReadAll(f)
	return data, h.Filename, err
}

// symbolOf is the unit in which a person enters a kind of quantity on the pages.
func symbolOf(kind unit.Kind, sys unit.System) string {
	for k, s := range map[unit.Kind][2]string{
		unit.KindPressure: {"in. w.g.", "Pa"}, unit.KindFlow: {"cfm", "m³/h"}, unit.KindShare: {"%", "%"}, unit.KindCurrent: {"A", "A"},
		unit.KindMass: {"lb", "kg"}, unit.KindLength: {"in", "mm"}, unit.KindTemperature: {"°F", "°C"}, unit.KindSeconds: {"s", "s"},
		unit.KindArea: {"ft²", "m²"}, unit.KindVolume: {"gal", "L"},
	} {
		if k == kind {
			return s[sys]
		}
	}
	return ""
}

// quantity reads what a person typed, with the page's unit where none was typed; ok is false for an
// empty field.
func quantity(text string, kind unit.Kind, symbol string) (si float64, ok bool, err error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return 0, false, nil
	}
	number := text[:len(text)-len(strings.TrimLeft(text, "+-0123456789., "))]
	rest := text[len(number):]
	if number, err = pointed(number, kind); err != nil {
		return 0, false, err
	}
	if !strings.ContainsFunc(rest, func(r rune) bool { return r == '%' || r == '°' || r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' }) {
		rest += " " + symbol
	}
	si, err = unit.Parse(kind, number+rest)
	if err != nil {
		return 0, false, wrong(err.Error())
	}
	return si, true, nil
}

// thousands is a number whose commas can stand for thousands only, or for thousands as well as for the decimal sign.
var thousands = regexp.MustCompile(`^[+-]?[1-9][0-9]{0,2}(,[0-9]{3})+(\.[0-9]*)?$`)

// pointed writes a number as a person typed it with a decimal point and without thousands marks. An airflow has no thousandths:
// 4,100 is four thousand one hundred. Of other kinds nobody can tell, and the person is asked.
func pointed(number string, kind unit.Kind) (string, error) {
	number = strings.TrimSpace(number)
	plain := strings.ReplaceAll(number, ",", "")
	switch {
	case !thousands.MatchString(number):
		return strings.Replace(number, ",", ".", 1), nil
	case kind == unit.KindFlow, strings.Count(number, ",") > 1, strings.Contains(number, "."):
		return plain, nil
	}
	return "", wrong(fmt.Sprintf("%q can be read in two ways; write it as %s or as %s.", number, plain, strings.Replace(number, ",", ".", 1)))
}

// done answers an entry that was taken: to a program or the page's script as JSON, else by the page that
// shows the judgement.
func (s *Server) done(w http.ResponseWriter, e *entry, next string) error {
	if wantsJSON(e.r) {
		s.json(w, http.StatusOK, map[string]any{"id": e.id, "taken": len(e.records), "next": next})
		return nil
	}
	http.Redirect(w, e.r, next, http.StatusSeeOther)
	return nil
}

// donePage says what was taken and how the collector stands now.
type donePage struct {
	Card card
	Next *stop // of the round
	More []taskLine
}

// deeds are what a done page says was done.
var deeds = map[string]string{
	"reading": "The reading is on record.", "answer": "The answer is on record, and the causes are weighed anew.",
	"repair": "The repair is on record.", "bin": "The bin is on record.", "trim": "The damper is on record.",
	"filters": "The filter change is on record. Now set the damper for the new filters.", "inspection": "The inspection is on record.",
	"traverse": "The traverse is on record.", "hoods": "The hoods are on record.", "air": "What was measured of the compressed air is on record.", "note": "The note is on record.", "file": "The collector file is in the books.",
}

// donePage shows the judgement right after an entry.
func (s *Server) donePage(w http.ResponseWriter, r *http.Request) error {
	v, err := s.o.Service.View(r.Context())
	if err != nil {
		return err
	}
	o, err := v.Of(r.PathValue("tag"))
	if err != nil {
		return err
	}
	p := s.page(r, o.Machine.Tag)
	p.Sub, p.Told = o.Collector.Service, deeds[r.URL.Query().Get("did")]
	body := donePage{Card: cardOf(o, p.Now, p.Units)}
	if r.URL.Query().Get("did") == "reading" {
		body.Next = nextStop(v, o.Machine.Tag, p)
	}
	p.Body = body
	return s.render(w, http.StatusOK, "done", p)
}
