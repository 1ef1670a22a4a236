package web

import (
	"context"
	"errors"
	"net/http"

	"dustwright/collector"
	"dustwright/plant"
)

// problem is what a reader is told when a page can't be given: a sentence and a status.
type problem struct {
	status int
	says   string
}

// Error returns the sentence.
func (p *problem) Error() string { return p.says }

// wrong is a problem with what was sent.
func wrong(says string) error { return &problem{http.StatusUnprocessableEntity, says} }

// about says which field of a form a problem is about.
func about(field string, err error) error { return wrong(field + ": " + err.Error()) }

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
		return &problem{http.StatusUnprocessableEntity, refused.Why}
	case errors.As(err, &faults):
		return &problem{http.StatusUnprocessableEntity, faults.Error()}
	case errors.As(err, &large):
		return &problem{http.StatusRequestEntityTooLarge, "What was sent is larger than 64 MB. Cut the recording to one or two cleaning cycles, or send fewer photos at a time."}
	case errors.Is(err, plant.ErrNoCollector):
		return &problem{http.StatusNotFound, "There is no collector of that tag here."}
	case errors.Is(err, plant.ErrNoBlob):
		return &problem{http.StatusNotFound, "There is no such photo, recording or trace here."}
	case errors.Is(err, plant.ErrNoRecord):
		return &problem{http.StatusNotFound, "There is no record of that kind yet, so there is nothing to print."}
	case errors.Is(err, context.Canceled):
		return &problem{499, "The reader went away."}
	}
	ref := plant.NewID()[:8]
	s.log.Error("a request failed", "reference", ref, "method", r.Method, "path", r.URL.Path, "error", err)
	return &problem{http.StatusInternalServerError, "That did not work, and the fault is on the server. Nothing you entered was taken; enter it again later. Reference " + ref + "."}
}

// problem answers with what went wrong.
func (s *Server) problem(w http.ResponseWriter, r *http.Request, err error) {
	p := s.asProblem(r, err)
	if wantsJSON(r) {
		s.json(w, p.status, map[string]any{"error": p.says})
		return
	}
	pg := s.page(r, "That did not work")
	pg.Body = p.says
	if p.status == http.StatusNotFound {
		pg.Tag = "" // its page may not be there either
	}
	w.Header().Set("Cache-Control", "no-store")
	if err := s.render(w, p.status, "problem", pg); err != nil {
		s.log.Error("the page that tells a problem failed", "error", err)
		http.Error(w, p.says, p.status)
	}
}
