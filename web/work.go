package web

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"dustwright/collector"
	"dustwright/plant"
	"dustwright/unit"
)

// trimPage says where the damper goes and takes where it went.
type trimPage struct {
	Tag      string
	New      bool // right after new filters
	Says     string
	After    string // how the after-filter stands
	Steps    []trimStep
	Why      string // why no trim can be given
	Warnings []string
	From     string
	Target   string // what to set now [%]
	Flow     string // unit of flow
}

// trimStep is one line of the schedule.
type trimStep struct{ DP, Open, Flow string }

// trim shows the trim now, with new filters, and as they age.
func (s *Server) trim(w http.ResponseWriter, r *http.Request) error {
	o, p, err := s.about(r, "trim of the damper")
	if err != nil {
		return err
	}
	body := trimPage{Tag: o.Machine.Tag, New: r.URL.Query().Has("new"), Flow: symbolOf(unit.KindFlow, p.Units)}
	j := o.Judgement
	req := j.TrimRequest()
	if j != nil && j.Reading != nil && j.Trim != nil && !body.New {
		req.FilterDP = unit.Pressure(j.Reading.Value)
	}
	t, err := o.Collector.Trim(req)
	if err != nil {
		body.Why = sentence(err.Error())
	} else {
		body.fill(t, o, p.Units)
	}
	if j != nil && j.AfterFilter != nil {
		body.After = fmt.Sprintf("Reckoned with the after-filter as it is read, %s at design flow.", unit.Pressure(j.AfterFilter.DPAtDesignFlow).In(p.Units))
	}
	if body.New {
		p.Told = deeds["filters"]
	}
	p.Body = body
	return s.render(w, http.StatusOK, "trim", p)
}

// fill puts a trim into the page.
func (b *trimPage) fill(t *collector.Trim, o *plant.Overview, sys unit.System) {
	now := t.New
	what := "With new filters"
	if t.Now != nil {
		now, what = *t.Now, "With the filters as they are"
	}
	j := o.Judgement
	if !b.New && j != nil && j.Trim != nil { // the judgement knows where the damper stands
		now.Open, now.Held = unit.Share(j.Trim.Open), j.Trim.Holds
	}
	switch {
	case !b.New && j != nil && j.Trim == nil && j.Reading != nil && !math.IsNaN(float64(now.Open)):
		b.Says = sentence(lacking(j, "damper")) // the dP is no guide
	case math.IsNaN(float64(now.Open)):
		b.Says = what + " the position can't be given: the file has no damper points. Commissioning takes them."
	case !now.Held:
		b.Says = what + " even the fully open damper falls short of design flow."
		b.Target = "100"
	default:
		b.Says = fmt.Sprintf("%s: damper %s open for %s.", what, now.Open.In(sys), t.Flow.In(sys))
		b.Target = fmt.Sprintf("%.0f", 100*float64(now.Open))
	}
	for _, step := range t.Steps {
		open := step.Open.In(sys)
		if math.IsNaN(float64(step.Open)) {
			open = "not known"
		}
		b.Steps = append(b.Steps, trimStep{step.FilterDP.In(sys), open, step.Point.Flow.In(sys)})
	}
	for _, f := range t.Warnings {
		b.Warnings = append(b.Warnings, sentence(f.Text.In(sys)))
	}
}

// lacking is what the judgement says it can't answer for want of a channel; "" where it says nothing of it.
func lacking(j *plant.Judgement, channel string) string {
	for _, m := range j.Missing {
		if m.Channel == channel {
			return m.Costs
		}
	}
	return ""
}

// moveDamper takes a damper's new place on record, with the airflow measured after.
func (s *Server) moveDamper(w http.ResponseWriter, r *http.Request) error {
	e, err := s.entryOf(w, r)
	if err != nil {
		return err
	}
	move := plant.DamperMove{From: -1, Why: r.FormValue("why")}
	to, ok, err := quantity(r.FormValue("to"), unit.KindShare, "%")
	if err != nil {
		return about("to", "Damper now", err)
	}
	if !ok {
		return in("to", wrong("Enter how far the damper stands open now, such as 54 %."))
	}
	move.To = unit.Share(to)
	if from, ok, err := quantity(r.FormValue("from"), unit.KindShare, "%"); err != nil {
		return about("from", "Stood before", err)
	} else if ok {
		move.From = unit.Share(from)
	}
	flow, ok, err := quantity(r.FormValue("flow"), unit.KindFlow, symbolOf(unit.KindFlow, s.unitsOf(r)))
	if err != nil {
		return about("flow", "Airflow measured after", err)
	}
	if ok {
		move.Flow = unit.Flow(flow)
	}
	if err := move.Valid(); err != nil {
		return in("to", wrong(sentence(err.Error())))
	}
	if err := e.add(move); err != nil {
		return err
	}
	if err := s.take(e); err != nil {
		return err
	}
	return s.done(w, e, "/c/"+url.PathEscape(e.tag)+"/done?did=trim")
}

// filtersPage guides a filter change.
type filtersPage struct {
	Tag, Unit string
	Rows      []int
	Each      int
	Look      []string
}

// filterLook is what is inspected and cleaned while the collector is open. Common practice, no source.
var filterLook = []string{"Tube sheet and gaskets clean and whole", "Blow tubes straight and tight", "Clean side free of dust", "Old filters bagged, none knocked out",
	"Covers shut, gaskets seated, bolts tight"}

// filters shows the page.
func (s *Server) filters(w http.ResponseWriter, r *http.Request) error {
	o, p, err := s.about(r, "change of filters")
	if err != nil {
		return err
	}
	body := filtersPage{Tag: o.Machine.Tag, Unit: symbolOf(unit.KindPressure, p.Units), Each: o.Collector.Filters.PerRow, Look: filterLook}
	for i := range o.Collector.Filters.Rows {
		body.Rows = append(body.Rows, i+1)
	}
	p.Body = body
	return s.render(w, http.StatusOK, "filters", p)
}

// changeFilters takes a filter change on record and goes on to the trim.
func (s *Server) changeFilters(w http.ResponseWriter, r *http.Request) error {
	e, err := s.entryOf(w, r)
	if err != nil {
		return err
	}
	_, c, err := s.o.Service.Machine(r.Context(), e.tag)
	if err != nil {
		return err
	}
	change := plant.FilterChange{Reason: r.FormValue("reason"), Note: r.FormValue("note")}
	for row := 1; row <= c.Filters.Rows; row++ {
		get := func(name string) string { return strings.TrimSpace(r.FormValue(name + strconv.Itoa(row))) }
		if get("new") != "" || get("row") == "yes" {
			change.Rows = append(change.Rows, plant.RowChange{Row: row, OldLot: get("old"), NewLot: get("new"), OldState: get("state")})
		}
	}
	if len(change.Rows) == 0 {
		return in("row1", wrong("Tick at least one row that got new filters, or enter its new lot."))
	}
	for _, name := range [...]string{"before", "after"} { // of two faults always the same is told
		to := map[string]*unit.Pressure{"before": &change.DPBefore, "after": &change.DPAfter}[name]
		v, ok, err := quantity(r.FormValue(name), unit.KindPressure, symbolOf(unit.KindPressure, s.unitsOf(r)))
		if err != nil {
			return about(name, "dP "+name, err)
		}
		if ok {
			*to = unit.Pressure(v)
		}
	}
	seen := plant.Inspection{Task: "filter-change"}
	for i, what := range filterLook {
		result := "not-done"
		if v := r.FormValue("look" + strconv.Itoa(i)); v == "ok" || v == "not-ok" {
			result = v
		}
		seen.Items = append(seen.Items, plant.Item{What: what, Result: result})
	}
	if err := e.add(seen); err != nil {
		return err
	}
	if err := e.add(change); err != nil {
		return err
	}
	if err := s.take(e); err != nil {
		return err
	}
	return s.done(w, e, "/c/"+url.PathEscape(e.tag)+"/trim?new=1")
}

// binPage is about the bin.
type binPage struct{ Tag, Due, Mass string }

// bin shows the page.
func (s *Server) bin(w http.ResponseWriter, r *http.Request) error {
	o, p, err := s.about(r, "bin")
	if err != nil {
		return err
	}
	due := "It is not known when the bin is due: that needs its volume, the dust's bulk density and the loading, or two weighings."
	if !o.BinDue.IsZero() {
		due = "The bin reaches two thirds " + inDays(p.Now, o.BinDue) + ". Never let it get past that."
	}
	p.Body = binPage{o.Machine.Tag, due, symbolOf(unit.KindMass, p.Units)}
	return s.render(w, http.StatusOK, "bin", p)
}

// emptyBin takes an emptied bin on record.
func (s *Server) emptyBin(w http.ResponseWriter, r *http.Request) error {
	e, err := s.entryOf(w, r)
	if err != nil {
		return err
	}
	var b plant.BinEmptied
	mass, _, err := quantity(r.FormValue("mass"), unit.KindMass, symbolOf(unit.KindMass, s.unitsOf(r)))
	if err != nil {
		return about("mass", "Weighed", err)
	}
	level, _, err := quantity(r.FormValue("level"), unit.KindShare, "%")
	if err != nil {
		return about("level", "How full it was", err)
	}
	b.Mass, b.Level = unit.Mass(mass), unit.Share(level)
	if err := b.Valid(); err != nil {
		field := "level"
		if !(b.Mass >= 0) {
			field = "mass"
		}
		return in(field, wrong(sentence(err.Error())))
	}
	if err := e.add(b); err != nil {
		return err
	}
	if err := s.take(e); err != nil {
		return err
	}
	return s.done(w, e, "/c/"+url.PathEscape(e.tag)+"/done?did=bin")
}

// inspectLook is the six-monthly inspection. Common practice, no source.
var inspectLook = []string{"Filters and their seals", "Clean side: no dust", "Fan wheel clean and sound", "Belts: tension and wear", "Guards on", "Damper blade, linkage and mark",
	"Ducts and hatches", "Doors, gaskets, bin seal", "Header drained: no water or oil", "Sensing lines tight and free"}

// inspect shows the six-monthly inspection.
func (s *Server) inspect(w http.ResponseWriter, r *http.Request) error {
	o, p, err := s.about(r, "inspection")
	if err != nil {
		return err
	}
	p.Body = struct {
		Tag  string
		Look []string
	}{o.Machine.Tag, inspectLook}
	return s.render(w, http.StatusOK, "inspect", p)
}

// inspected takes an inspection on record.
func (s *Server) inspected(w http.ResponseWriter, r *http.Request) error {
	e, err := s.entryOf(w, r)
	if err != nil {
		return err
	}
	seen := plant.Inspection{Task: "six-month"}
	photo, err := s.photo(r, "photo")
	if err != nil {
		return err
	}
	for i, what := range inspectLook {
		n := strconv.Itoa(i)
		item := plant.Item{What: what, Result: "not-done", Note: r.FormValue("note" + n)}
		if v := r.FormValue("look" + n); v == "ok" || v == "not-ok" {
			item.Result = v
		}
		if i == 0 {
			item.Photo = photo
		}
		seen.Items = append(seen.Items, item)
	}
	if err := e.add(seen); err != nil {
		return err
	}
	if err := s.take(e); err != nil {
		return err
	}
	return s.done(w, e, "/c/"+url.PathEscape(e.tag)+"/done?did=inspection")
}
