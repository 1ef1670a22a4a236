package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"

	"dustwright/collector"
	"dustwright/plant"
	"dustwright/sense/ear"
	"dustwright/sense/trace"
)

// valveResult is what a recording or a trace showed, as it goes on record.
type valveResult struct {
	By     string           `json:"by"`
	Valves []valveFound     `json:"valves"`
	Every  float64          `json:"interval_s"`
	Cycles float64          `json:"cycles"`
	Whole  collector.Text   `json:"whole,omitzero"` // what is wrong with all alike
	Notes  []collector.Text `json:"notes,omitempty"`
}

// valveFound is one valve of it.
type valveFound struct {
	Number      int            `json:"number"`
	State       string         `json:"state"`
	Probability float64        `json:"probability"`
	Heard       int            `json:"count"`
	Due         int            `json:"expected"`
	Why         collector.Text `json:"why"`
}

// valvesPage is where valves are listened to.
type valvesPage struct {
	Tag     string
	Seconds int // one whole cycle
	Sound   bool
	Old     []changeLine
	Valves  []int
}

// valves shows the page.
func (s *Server) valves(w http.ResponseWriter, r *http.Request) error {
	o, p, err := s.about(r, "valves")
	if err != nil {
		return err
	}
	c := o.Collector
	body := valvesPage{Tag: o.Machine.Tag, Sound: s.o.Sound != nil, Seconds: 90, Valves: c.FiringOrder()}
	if t := float64(c.Header.Interval) * float64(len(body.Valves)); t > 0 {
		body.Seconds = int(math.Ceil(1.3*t + 5))
	}
	records, err := s.o.Archive.Records(r.Context(), plant.RecordQuery{Collector: body.Tag, Kinds: []plant.Kind{plant.KindValveCheck, plant.KindValveRepair}, Limit: 8})
	if err != nil {
		return err
	}
	for i := len(records) - 1; i >= 0; i-- {
		body.Old = append(body.Old, changeLine{stamp(p.Now, records[i].At), recordText(records[i], p.Units)})
	}
	p.Body = body
	return s.render(w, http.StatusOK, "valves", p)
}

// listenValves takes a recording or a trace in, works it out and puts both on record.
func (s *Server) listenValves(w http.ResponseWriter, r *http.Request) error {
	e, err := s.entryOf(w, r)
	if err != nil {
		return err
	}
	_, c, err := s.o.Service.Machine(r.Context(), e.tag)
	if err != nil {
		return err
	}
	data, name, err := upload(r, "recording")
	if err != nil {
		return err
	}
	if data == nil {
		return in("recording", wrong("Choose a recording or a trace first."))
	}
	res, err := s.analyse(c, name, data)
	if err != nil {
		return in("recording", err)
	}
	blob, err := s.o.Blobs.PutBlob(r.Context(), bytes.NewReader(data))
	if err != nil {
		return err
	}
	text, err := json.Marshal(res)
	if err != nil {
		return fmt.Errorf("the valve check can't be written: %w", err)
	}
	if err := e.add(plant.ValveCheck{By: res.By, Blob: blob, Result: text}); err != nil {
		return err
	}
	if err := s.take(e); err != nil {
		return err
	}
	return s.done(w, e, "/c/"+url.PathEscape(e.tag)+"/valves/"+url.PathEscape(e.id))
}

// analyse tells a trace from a recording by its bytes and works it out. What can't be used is a sentence.
func (s *Server) analyse(c *collector.Collector, name string, data []byte) (*valveResult, error) {
	if bytes.HasPrefix(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf")), []byte("time_s")) {
		tr, err := trace.Read(bytes.NewReader(data), name)
		if err != nil {
			return nil, wrong(sentence(err.Error()))
		}
		res, err := trace.Analyse(tr, trace.SpecOf(c))
		if err != nil {
			return nil, wrong(sentence(err.Error()))
		}
		return traceFound(res), nil
	}
	if s.o.Sound == nil {
		return nil, wrong("Recordings can't be read here; upload a header-pressure trace instead.")
	}
	clip, err := s.o.Sound(name, data)
	if err != nil {
		return nil, wrong(sentence(err.Error()))
	}
	res, err := ear.Analyse(clip.Samples, clip.Rate, ear.Spec{Valves: max(c.Filters.Rows, 0), Interval: float64(c.Header.Interval), Order: c.Cleaning.Order})
	if err != nil {
		return nil, wrong(sentence(err.Error()))
	}
	out := &valveResult{By: "sound", Every: zeroNaN(res.Interval), Cycles: zeroNaN(res.Cycles)}
	for _, n := range res.Notes {
		out.Notes = append(out.Notes, collector.Plain(n))
	}
	if res.Numbered != "" {
		out.Notes = append(out.Notes, collector.Plain(res.Numbered))
	}
	for _, v := range res.Valves {
		out.Valves = append(out.Valves, valveFound{v.Number, string(v.State), zeroNaN(v.Probability), v.Count, v.Expected, collector.Plain(v.Why)})
	}
	return out, nil
}

// traceFound is what a trace showed, its sentences in both systems of units.
func traceFound(res trace.Result) *valveResult {
	out := &valveResult{By: "trace", Every: zeroNaN(float64(res.Interval)), Cycles: zeroNaN(res.Cycles)}
	if res.Whole != nil {
		out.Whole = res.Whole.Kept()
	}
	for _, n := range res.Notes {
		out.Notes = append(out.Notes, n.Kept())
	}
	for _, v := range res.Valves {
		state := string(v.State)
		if v.Unsure {
			state = string(ear.Unsure)
		}
		out.Valves = append(out.Valves, valveFound{v.Number, state, zeroNaN(v.Probability), v.Count, v.Due, v.Why.Kept()})
	}
	return out
}

// zeroNaN makes a number JSON can carry: 0 where it is not known.
func zeroNaN(v float64) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	return v
}

// valveCheckPage is the strip, valve by valve.
type valveCheckPage struct {
	Tag    string
	Result valveResult
	Strip  []stripItem
	Says   string
	Whole  string
	Notes  []string
	Bad    []int
}

// stripItem is one valve on it.
type stripItem struct {
	valveFound
	Edge string // class of the standing it calls for
	Sure string
	Says string // why
}

// valveCheck shows what a recording or a trace showed.
func (s *Server) valveCheck(w http.ResponseWriter, r *http.Request) error {
	o, p, err := s.about(r, "valve check")
	if err != nil {
		return err
	}
	records, err := s.o.Archive.Records(r.Context(), plant.RecordQuery{Collector: o.Machine.Tag, Kinds: []plant.Kind{plant.KindValveCheck}})
	if err != nil {
		return err
	}
	body := valveCheckPage{Tag: o.Machine.Tag}
	found := false
	for _, rec := range records {
		if b, err := plant.Open(rec); err == nil && rec.ID == r.PathValue("id") {
			if err := json.Unmarshal(b.(*plant.ValveCheck).Result, &body.Result); err != nil {
				return fmt.Errorf("valve check %s: %w", rec.ID, err)
			}
			found, p.Sub = true, "valve check, "+clock(p.Now, rec.At)+", "+rec.By
		}
	}
	if !found {
		return &problem{status: http.StatusNotFound, says: "There is no such valve check here."}
	}
	for _, v := range body.Result.Valves {
		item := stripItem{v, "", percent(v.Probability), sentence(v.Why.In(p.Units))}
		if v.State == string(ear.OK) {
			item.State = "in order"
		}
		if v.State != string(ear.OK) && v.State != string(ear.Unsure) {
			item.Edge = "needs-hands"
			body.Bad = append(body.Bad, v.Number)
		} else if v.State == string(ear.Unsure) {
			item.Edge = "drifting"
		}
		body.Strip = append(body.Strip, item)
	}
	body.Whole = sentence(body.Result.Whole.In(p.Units))
	for _, n := range body.Result.Notes {
		body.Notes = append(body.Notes, sentence(n.In(p.Units)))
	}
	body.Says = badSays(body.Bad)
	p.Body = body
	return s.render(w, http.StatusOK, "valvecheck", p)
}

// badSays names the bad valves in a sentence.
func badSays(bad []int) string {
	switch len(bad) {
	case 0:
		return "All valves fire alike, as far as this shows."
	case 1:
		return fmt.Sprintf("Valve %d does not fire as the others do. Take it through the bench check.", bad[0])
	}
	return fmt.Sprintf("%d valves do not fire as the others do. Take them through the bench check one by one.", len(bad))
}

// benchPage guides through pilot and diaphragm.
type benchPage struct {
	Tag   string
	Valve int
	Part  string // verdict, once there is one
	Why   string
	Parts []string
}

// bench shows the bench check, or its verdict with the repair to enter.
func (s *Server) bench(w http.ResponseWriter, r *http.Request) error {
	o, p, err := s.about(r, "bench check")
	if err != nil {
		return err
	}
	body := benchPage{Tag: o.Machine.Tag, Valve: 1, Parts: []string{"pilot", "diaphragm", "hose", "wiring", "other"}}
	if n, err := strconv.Atoi(r.URL.Query().Get("valve")); err == nil && n > 0 {
		body.Valve = n
	}
	if q := r.URL.Query(); q.Has("puff") {
		body.Part, body.Why = plant.Bench{Puff: q.Get("puff") == "yes", Opens: q.Get("opens") == "yes", Closes: q.Get("closes") == "yes"}.Verdict()
	}
	p.Body = body
	return s.render(w, http.StatusOK, "bench", p)
}

// benchFound takes what the bench check found on record and goes on to the verdict.
func (s *Server) benchFound(w http.ResponseWriter, r *http.Request) error {
	e, err := s.entryOf(w, r)
	if err != nil {
		return err
	}
	valve, err := strconv.Atoi(r.FormValue("valve"))
	if err != nil || valve < 1 {
		return in("valve", wrong("Say which valve: valves count from 1."))
	}
	b := plant.Bench{Puff: r.FormValue("puff") == "yes", Opens: r.FormValue("opens") == "yes", Closes: r.FormValue("closes") == "yes"}
	for _, name := range []string{"puff", "opens", "closes"} {
		if v := r.FormValue(name); v != "yes" && v != "no" {
			return in(name, wrong("Answer all three: the puff, the opening and the closing."))
		}
	}
	part, why := b.Verdict()
	text, err := json.Marshal(map[string]any{"valve": valve, "found": b, "bad": part, "why": why})
	if err != nil {
		return fmt.Errorf("the bench check can't be written: %w", err)
	}
	if err := e.add(plant.ValveCheck{By: "hand", Result: text}); err != nil {
		return err
	}
	if err := s.take(e); err != nil {
		return err
	}
	q := url.Values{"valve": {strconv.Itoa(valve)}, "puff": {r.FormValue("puff")}, "opens": {r.FormValue("opens")}, "closes": {r.FormValue("closes")}}
	return s.done(w, e, "/c/"+url.PathEscape(e.tag)+"/bench?"+q.Encode())
}

// repair takes work on a valve on record.
func (s *Server) repair(w http.ResponseWriter, r *http.Request) error {
	e, err := s.entryOf(w, r)
	if err != nil {
		return err
	}
	valve, _ := strconv.Atoi(r.FormValue("valve")) // 0 is refused with a sentence
	if err := e.add(plant.ValveRepair{Valve: valve, Part: r.FormValue("part"), Note: r.FormValue("note")}); err != nil {
		return err
	}
	if err := s.take(e); err != nil {
		return err
	}
	return s.done(w, e, "/c/"+url.PathEscape(e.tag)+"/done?did=repair")
}

// about starts a page about a collector.
func (s *Server) about(r *http.Request, sub string) (*plant.Overview, *page, error) {
	v, err := s.o.Service.View(r.Context())
	if err != nil {
		return nil, nil, err
	}
	o, err := v.Of(r.PathValue("tag"))
	if err != nil {
		return nil, nil, err
	}
	p := s.page(r, o.Machine.Tag)
	p.Sub = sub
	return o, p, nil
}
