package web

import (
	"context"
	"errors"
	"maps"
	"net/http"
	"slices"
	"strings"

	"dustwright/collector"
	"dustwright/plant"
)

// problem is what a reader is told when a page can't be given: a sentence and a status.
type problem struct {
	status int
	says   string
	faults []fault // the fields of a form in which it lies
}

// Error returns the sentence.
func (p *problem) Error() string { return p.says }

// wrong is a problem with what was sent.
func wrong(says string) error { return &problem{status: http.StatusUnprocessableEntity, says: says} }

// about says which field of a form a problem is about, by its name and its label.
func about(field, label string, err error) error { return in(field, wrong(label+": "+err.Error())) }

// asProblem turns an error into what the reader is told; internal ones are told by a reference only.
func (s *Server) asProblem(r *http.Request, err error) *problem {
	var p *problem
	var refused *plant.Refused
	var faults collector.Faults
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &p):
		return p
	case errors.As(err, &refused):
		return &problem{status: http.StatusUnprocessableEntity, says: refused.Why}
	case errors.As(err, &faults):
		return &problem{status: http.StatusUnprocessableEntity, says: faults.Error()}
	case errors.As(err, &large):
		return &problem{status: http.StatusRequestEntityTooLarge, says: "What was sent is larger than 64 MB. Cut the recording to one or two cleaning cycles, or send fewer photos at a time."}
	case errors.Is(err, plant.ErrNoCollector):
		return &problem{status: http.StatusNotFound, says: "There is no collector of that tag here."}
	case errors.Is(err, plant.ErrNoBlob):
		return &problem{status: http.StatusNotFound, says: "There is no such photo, recording or trace here."}
	case errors.Is(err, plant.ErrNoRecord):
		return &problem{status: http.StatusNotFound, says: "There is no record of that kind yet, so there is nothing to print."}
	case errors.Is(err, context.Canceled):
		return &problem{status: 499, says: "The reader went away."}
	}
	ref := plant.NewID()[:8]
	s.log.Error("a request failed", "reference", ref, "method", r.Method, "path", r.URL.Path, "error", err)
	return &problem{status: http.StatusInternalServerError, says: "That did not work, and the fault is on the server. Nothing you entered was taken; enter it again later. Reference " + ref + "."}
}

// problem answers with what went wrong.
func (s *Server) problem(w http.ResponseWriter, r *http.Request, err error) {
	p := s.asProblem(r, err)
	if wantsJSON(r) {
		s.json(w, p.status, map[string]any{"error": p.says})
		return
	}
	if (p.status == http.StatusUnprocessableEntity || p.status == http.StatusInternalServerError) && s.again(w, r, p) {
		return
	}
	pg := s.page(r, "That did not work")
	pg.Body = problemPage{p.says, typed(r)}
	if p.status == http.StatusNotFound {
		pg.Tag = "" // its page may not be there either
	}
	w.Header().Set("Cache-Control", "no-store")
	if err := s.render(w, p.status, "problem", pg); err != nil {
		s.log.Error("the page that tells a problem failed", "error", err)
		http.Error(w, p.says, p.status)
	}
}

// problemPage tells a problem, with what was typed where no page has the form any more.
type problemPage struct {
	Says  string
	Typed []typedLine
}

// typedLine is a field as it was sent.
type typedLine struct{ Name, Value string }

// typed lists what a person typed into a form, by the names of its fields.
func typed(r *http.Request) []typedLine {
	var out []typedLine
	if r.Method != http.MethodPost {
		return nil
	}
	for _, name := range slices.Sorted(maps.Keys(r.Form)) {
		if v := r.Form.Get(name); v != "" && name != "id" && name != "at" && name != "back" && !strings.HasPrefix(name, "unit.") {
			out = append(out, typedLine{name, v})
		}
	}
	return out
}
