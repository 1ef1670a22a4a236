package web

import (
	"math"
	"net/http"
	"net/url"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/plant"
	"dustwright/unit"
)

// commissionPage lists the steps of the guided start-up.
type commissionPage struct {
	Tag   string
	Steps []commissionStep
	Next  string // id of the step to do; "" when all are accepted
	Paper *Paper // the certificate
}

// commissionStep is one line of it.
type commissionStep struct {
	ID, Title, State, Why string
	Open                  bool // can be done now
}

// commissionDone reads how far a collector is.
func (s *Server) commissionDone(r *http.Request) (map[string]*plant.Commissioning, error) {
	records, err := s.o.Archive.Records(r.Context(), plant.RecordQuery{Collector: r.PathValue("tag"), Kinds: []plant.Kind{plant.KindCommissioning}})
	return plant.CommissioningDone(records), err
}

// commission shows the steps.
func (s *Server) commission(w http.ResponseWriter, r *http.Request) error {
	o, p, err := s.about(r, "commissioning")
	if err != nil {
		return err
	}
	done, err := s.commissionDone(r)
	if err != nil {
		return err
	}
	body := commissionPage{Tag: o.Machine.Tag}
	next, left := plant.NextCommissioning(done)
	if left {
		body.Next = next.ID
	}
	for _, st := range plant.CommissioningSteps() {
		line := commissionStep{ID: st.ID, Title: st.Title, State: "to do", Open: st.ID == body.Next}
		if d := done[st.ID]; d != nil && d.Accepted {
			line.State, line.Open = "accepted", true
		} else if d != nil {
			line.State, line.Why = "not accepted", sentence(d.Says(p.Units))
		}
		body.Steps = append(body.Steps, line)
	}
	for i, paper := range s.o.Papers {
		if paper.Name == "certificate.pdf" {
			body.Paper = &s.o.Papers[i]
		}
	}
	p.Body = body
	return s.render(w, http.StatusOK, "commission", p)
}

// stepPage is one step of the guided start-up.
type stepPage struct {
	Tag  string
	Step plant.CommissioningStep
	List []stepItem
}

// stepItem is one item on it.
type stepItem struct {
	ID, What, Unit, Range string
	Measured              bool
}

// stepOf finds the step of an address and refuses one that stands behind a step not accepted.
func (s *Server) stepOf(r *http.Request) (plant.CommissioningStep, error) {
	done, err := s.commissionDone(r)
	if err != nil {
		return plant.CommissioningStep{}, err
	}
	next, left := plant.NextCommissioning(done)
	for _, st := range plant.CommissioningSteps() {
		if st.ID == r.PathValue("step") {
			return st, nil
		}
		if left && st.ID == next.ID {
			return st, wrong("The step before, " + next.Title + ", is not accepted yet. The start-up stops there until it is.")
		}
	}
	return plant.CommissioningStep{}, &problem{status: http.StatusNotFound, says: "There is no such step."}
}

// step shows a step; it opens with the caution of the step.
func (s *Server) step(w http.ResponseWriter, r *http.Request) error {
	o, p, err := s.about(r, "commissioning")
	if err != nil {
		return err
	}
	st, err := s.stepOf(r)
	if err != nil {
		return err
	}
	p.Sub = "commissioning: " + st.Title
	p.Caution = &cautionBox{Text: sentence(judge.Caution(st.Caution).In(p.Units)), Tick: true}
	body := stepPage{Tag: o.Machine.Tag, Step: st}
	for _, item := range st.Items {
		line := stepItem{ID: item.ID, What: item.What, Measured: item.Range != nil}
		if line.Measured {
			line.Unit = itemUnit(item, p.Units)
			line.Range = rangeText(item, o, p.Units)
		}
		body.List = append(body.List, line)
	}
	p.Body = body
	return s.render(w, http.StatusOK, "step", p)
}

// itemUnit is the unit an item is entered in: header pressures are large.
func itemUnit(item plant.StepItem, sys unit.System) string {
	if item.Kind == unit.KindPressure && (item.ID == "pressure" || item.ID == "before") {
		return [2]string{"psi", "kPa"}[sys]
	}
	return symbolOf(item.Kind, sys)
}

// rangeText says what is accepted.
func rangeText(item plant.StepItem, o *plant.Overview, sys unit.System) string {
	low, high := item.Range(o.Collector)
	switch {
	case math.IsNaN(low) && math.IsNaN(high):
		return "the file gives no bound; judge it yourself"
	case math.IsNaN(low):
		return "at most " + unit.Print(item.Kind, high, sys)
	case math.IsNaN(high):
		return "at least " + unit.Print(item.Kind, low, sys)
	}
	return unit.Print(item.Kind, low, sys) + " to " + unit.Print(item.Kind, high, sys)
}

// stepTaken judges a step's measurements and takes it on record, accepted or not.
func (s *Server) stepTaken(w http.ResponseWriter, r *http.Request) error {
	st, err := s.stepOf(r)
	if err != nil {
		return err
	}
	e, err := s.entryOf(w, r)
	if err != nil {
		return err
	}
	o, p, err := s.about(r, "")
	if err != nil {
		return err
	}
	if err := e.cautioned(s.cautionOf(r, st.Caution), "commissioning, "+st.Title); err != nil {
		return err
	}
	photo, err := s.photo(r, "photo")
	if err != nil {
		return err
	}
	rec := plant.Commissioning{Step: st.ID, Accepted: true}
	for i, item := range st.Items {
		line, why, err := itemTaken(r, item, o, p.Units)
		if err != nil {
			return err
		}
		if i == 0 {
			line.Photo = photo
		}
		if !why.IsZero() && rec.Accepted {
			rec.NotAccepted(why)
		}
		rec.Items = append(rec.Items, line)
	}
	if st.ID == "arrival" {
		arrival := plant.Arrival{Items: rec.Items, Damage: r.FormValue("claim")} // damage is the item that was looked at
		if photo != "" {
			arrival.Photos = []string{photo}
		}
		if err := e.add(arrival); err != nil {
			return err
		}
	}
	if err := e.add(rec); err != nil {
		return err
	}
	if err := s.take(e); err != nil {
		return err
	}
	return s.done(w, e, "/c/"+url.PathEscape(e.tag)+"/commission")
}

// itemTaken reads one item of a step; why is not empty where it is not accepted.
func itemTaken(r *http.Request, item plant.StepItem, o *plant.Overview, sys unit.System) (line plant.Item, why collector.Text, err error) {
	line = plant.Item{What: item.What, Result: "ok", Note: r.FormValue("note." + item.ID)}
	if item.Range == nil {
		switch r.FormValue(item.ID) {
		case "ok":
		case "not-ok":
			line.Result, why = "not-ok", collector.Say("%s: not in order", item.What)
		default:
			line.Result, why = "not-done", collector.Say("%s: not looked at", item.What)
		}
		return line, why, nil
	}
	si, ok, err := quantity(r.FormValue(item.ID), item.Kind, itemUnit(item, sys))
	if err != nil {
		return line, why, about(item.ID, item.What, err)
	}
	if !ok {
		line.Result = "not-done"
		return line, collector.Say("%s: not measured", item.What), nil
	}
	line.Value, line.Unit = si, map[unit.Kind]string{unit.KindPressure: "Pa", unit.KindFlow: "m3/s", unit.KindCurrent: "A"}[item.Kind]
	if ok, why = item.Accepts(o.Collector, si); !ok {
		line.Result = "not-ok"
	}
	return line, why, nil
}
