package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"

	"dustwright/judge"
	"dustwright/plant"
	"dustwright/unit"
)

// checkPage is the next check with its answer buttons.
type checkPage struct {
	Tag    string
	None   string // says that no check is proposed; then there is no Check
	Check  judge.Check
	Told   *answerLine // how it was answered before
	Before []causeLine
	Others []option // to choose another one
}

// option is a choice of a list.
type option struct{ ID, Text string }

// check shows the next check, or the one asked for.
func (s *Server) check(w http.ResponseWriter, r *http.Request) error {
	v, err := s.o.Service.View(r.Context())
	if err != nil {
		return err
	}
	o, err := v.Of(r.PathValue("tag"))
	if err != nil {
		return err
	}
	p := s.page(r, o.Machine.Tag)
	p.Sub = "next check"
	experience := s.o.Service.Experience()
	body := checkPage{Tag: o.Machine.Tag}
	c, ok := checkAsked(r, experience, p.Units)
	switch {
	case ok:
		body.Check = c
	case o.Judgement != nil && o.Judgement.NextCheck != nil:
		body.Check = *o.Judgement.In(p.Units).NextCheck
	default:
		body.None = noCheck(o.Judgement, p.Units)
	}
	if caution := body.Check.Caution.In(p.Units); caution != "" {
		p.Caution = &cautionBox{Text: sentence(caution), Tick: true}
	}
	told, err := s.answersOf(r.Context(), o, p)
	if err != nil {
		return err
	}
	for _, a := range told {
		if body.None == "" && a.Check == body.Check.ID && a.Number == body.Check.Number {
			body.Told = &a
		}
	}
	for _, other := range experience.AllChecks() {
		body.Others = append(body.Others, option{other.ID, other.Do(0).In(p.Units)})
	}
	if o.Judgement != nil {
		b := &collectorPage{}
		b.judged(o.Judgement, p)
		body.Before = b.Causes
	}
	p.Body = body
	return s.render(w, http.StatusOK, "check", p)
}

// noCheck says why no check is proposed, and what comes instead.
func noCheck(j *plant.Judgement, sys unit.System) string {
	const says = "No check would tell more than the readings do. "
	if j != nil && j.Standing != judge.Steady && j.Causes[0].Cause != judge.None {
		return says + sentence(remedyOf(j.Causes[0]).In(sys))
	}
	return says + "Carry on with the daily readings."
}

// checkAsked is the check named in the address.
func checkAsked(r *http.Request, of judge.Experience, sys unit.System) (judge.Check, bool) {
	entry, ok := of.CheckOf(r.URL.Query().Get("check"))
	if !ok {
		return judge.Check{}, false
	}
	n, _ := strconv.Atoi(r.URL.Query().Get("number")) // 0 for none
	if entry.Numbered() && n < 1 {
		n = 1
	}
	return judge.Check{ID: entry.ID, Number: n, Text: entry.Do(n).Fixed(sys), Finding: entry.Finds(n).Fixed(sys), Minutes: entry.Minutes,
		Tools: entry.Tools, Caution: judge.Caution(entry.Caution).Fixed(sys)}, true
}

// answerCheck takes what a check found on record; the causes are weighed anew with it.
func (s *Server) answerCheck(w http.ResponseWriter, r *http.Request) error {
	e, err := s.entryOf(w, r)
	if err != nil {
		return err
	}
	id := r.FormValue("check")
	entry, ok := s.o.Service.Experience().CheckOf(id)
	if !ok {
		return wrong(fmt.Sprintf("There is no check %q.", id))
	}
	if entry.Caution != "" {
		if err := e.cautioned(s.cautionOf(r, entry.Caution), "check "+id); err != nil {
			return err
		}
	}
	number, _ := strconv.Atoi(r.FormValue("number")) // 0 for none
	found := r.FormValue("found")
	if found != "yes" && found != "no" {
		return wrong("Answer yes or no: was that found?")
	}
	if err := e.add(plant.CheckAnswer{Check: id, Number: number, Yes: found == "yes"}); err != nil {
		return err
	}
	if err := s.take(e); err != nil {
		return err
	}
	return s.done(w, e, "/c/"+url.PathEscape(e.tag)+"/done?did=answer")
}
