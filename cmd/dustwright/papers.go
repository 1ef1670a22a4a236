package main

import (
	"context"
	"io"
	"time"

	"dustwright/collector"
	"dustwright/feed"
	"dustwright/plant"
	"dustwright/report/export"
	"dustwright/report/paper"
	"dustwright/sense"
	"dustwright/unit"
	"dustwright/web"
)

// papers lists what the pages can print and hand over.
func (p *openedPlant) papers() []web.Paper {
	const pdf = "application/pdf"
	x := printer{p, p.service.Zone()}
	return []web.Paper{
		{Name: "certificate.pdf", Title: "Commissioning certificate", Type: pdf, Write: x.certificate},
		{Name: "month.pdf", Title: "Pressure-drop log of a month", Type: pdf, Write: x.month},
		{Name: "filter-change.pdf", Title: "Filter-change record", Type: pdf, Of: plant.KindFilterChange, Write: x.filterChange},
		{Name: "valve-check.pdf", Title: "Valve check", Type: pdf, Of: plant.KindValveCheck, Write: x.valveCheck},
		{Name: "inspections.pdf", Title: "Inspection history", Type: pdf, Write: x.inspections},
		{Name: "damage.pdf", Title: "Damage on arrival", Type: pdf, Of: plant.KindArrival, Write: x.damage},
		{Name: "readings.csv", Title: "Readings as CSV", Type: "text/csv; charset=utf-8", Write: x.csv},
		{Name: "readings.xlsx", Title: "Readings as a spreadsheet", Type: "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", Write: x.xlsx},
		{Name: "readings.parquet", Title: "Readings as Parquet", Type: "application/vnd.apache.parquet", Write: x.parquet},
		{Name: "round.pdf", Title: "Round sheet to fill in by hand", Type: pdf, Whole: true, Write: x.round},
		{Name: "labels.pdf", Title: "QR labels", Type: pdf, Whole: true, Write: x.labels},
		{Name: "tasks.ics", Title: "Calendar of tasks", Type: "text/calendar; charset=utf-8", Whole: true, Write: x.calendar},
	}
}

// printer prints from an open plant.
type printer struct {
	*openedPlant
	zone *time.Location
}

// setup is how the sheets are made.
func (x printer) setup(ctx context.Context, r web.PaperRequest) (paper.Setup, error) {
	s := paper.Setup{Format: paper.A4, Units: r.Units, Zone: x.zone, Made: x.service.Now()}
	if r.Paper == "letter" || r.Paper == "" && r.Units == unit.US {
		s.Format = paper.Letter
	}
	_, head, err := x.store.Verify(ctx)
	s.Chain = head
	return s, err
}

// about is what most sheets need: their setup, the collector, and its records of some kinds.
func (x printer) about(ctx context.Context, r web.PaperRequest, kinds ...plant.Kind) (paper.Setup, *collector.Collector, []plant.Record, error) {
	s, err := x.setup(ctx, r)
	if err != nil {
		return s, nil, nil, err
	}
	_, c, err := x.service.Machine(ctx, r.Tag)
	if err != nil {
		return s, nil, nil, err
	}
	records, err := x.store.Records(ctx, plant.RecordQuery{Collector: r.Tag, Kinds: kinds})
	return s, c, records, err
}

func (x printer) certificate(ctx context.Context, w io.Writer, r web.PaperRequest) error {
	s, c, records, err := x.about(ctx, r, plant.KindCommissioning, plant.KindHoodReading)
	if err != nil {
		return err
	}
	return paper.Certificate(w, s, c, records)
}

func (x printer) month(ctx context.Context, w io.Writer, r web.PaperRequest) error {
	s, c, records, err := x.about(ctx, r)
	if err != nil {
		return err
	}
	y, m, _ := r.Month.In(x.zone).Date()
	from := time.Date(y, m, 1, 0, 0, 0, 0, x.zone)
	to := from.AddDate(0, 1, 0)
	month := paper.Month{Collector: c, First: from, Records: records}
	hours := int(to.Sub(from).Hours())
	if month.Hourly, err = x.store.Envelope(ctx, r.Tag, sense.DP, from, to, hours); err != nil {
		return err
	}
	for day := from; day.Before(to); day = day.AddDate(0, 0, 1) { // days are of 23 to 25 hours
		b, err := x.store.Envelope(ctx, r.Tag, sense.DP, day, day.AddDate(0, 0, 1), 1)
		if err != nil {
			return err
		}
		month.Daily = append(month.Daily, b...)
	}
	return paper.MonthLog(w, s, month)
}

// pick is the record of an id, or the newest, or plant.ErrNoRecord; later are those after it.
func pick(records []plant.Record, id string, kind plant.Kind) (at plant.Record, later []plant.Record, err error) {
	for i := len(records) - 1; i >= 0; i-- {
		if records[i].Kind == kind && (id == "" || records[i].ID == id) {
			return records[i], records[i+1:], nil
		}
	}
	return at, nil, plant.ErrNoRecord
}

func (x printer) filterChange(ctx context.Context, w io.Writer, r web.PaperRequest) error {
	s, c, records, err := x.about(ctx, r, plant.KindFilterChange, plant.KindDamperMove)
	if err != nil {
		return err
	}
	change, later, err := pick(records, r.ID, plant.KindFilterChange)
	if err != nil {
		return err
	}
	return paper.FilterChange(w, s, c, change, later)
}

func (x printer) valveCheck(ctx context.Context, w io.Writer, r web.PaperRequest) error {
	s, c, records, err := x.about(ctx, r, plant.KindValveCheck)
	if err != nil {
		return err
	}
	check, _, err := pick(records, r.ID, plant.KindValveCheck)
	if err != nil {
		return err
	}
	return paper.ValveCheck(w, s, c, check)
}

func (x printer) inspections(ctx context.Context, w io.Writer, r web.PaperRequest) error {
	s, c, records, err := x.about(ctx, r, plant.KindInspection, plant.KindArrival)
	if err != nil {
		return err
	}
	return paper.Inspections(w, s, c, records)
}

func (x printer) damage(ctx context.Context, w io.Writer, r web.PaperRequest) error {
	s, c, records, err := x.about(ctx, r, plant.KindArrival)
	if err != nil {
		return err
	}
	arrival, _, err := pick(records, r.ID, plant.KindArrival)
	if err != nil {
		return err
	}
	return paper.Damage(w, s, c, arrival, func(name string) (io.ReadCloser, error) { return x.store.Blob(name) })
}

// year is the stretch of readings an export hands over, up to now.
func (x printer) year(ctx context.Context, r web.PaperRequest) (*sense.Series, error) {
	now := x.service.Now()
	s, err := x.store.Series(ctx, r.Tag, now.AddDate(-1, 0, 0), now.Add(time.Minute))
	if err == nil {
		s.Zone = x.zone
	}
	return s, err
}

func (x printer) csv(ctx context.Context, w io.Writer, r web.PaperRequest) error {
	s, err := x.year(ctx, r)
	if err != nil {
		return err
	}
	return feed.WriteCSV(w, s, r.Units)
}

func (x printer) xlsx(ctx context.Context, w io.Writer, r web.PaperRequest) error {
	s, err := x.year(ctx, r)
	if err != nil {
		return err
	}
	return export.XLSX(w, s, x.zone, func(c sense.Channel) (string, unit.Unit, error) { return feed.Column(c, r.Units) })
}

func (x printer) parquet(ctx context.Context, w io.Writer, r web.PaperRequest) error {
	s, err := x.year(ctx, r)
	if err != nil {
		return err
	}
	return export.Parquet(w, s)
}

// stops are the collectors in walking order, with the address of each one's page.
func (x printer) stops(ctx context.Context, r web.PaperRequest) ([]paper.Stop, error) {
	v, err := x.service.View(ctx)
	if err != nil {
		return nil, err
	}
	var out []paper.Stop
	for _, c := range v.Walk {
		out = append(out, paper.Stop{Collector: c.Collector, Judgement: c.Judgement, Address: r.Base + "/c/" + c.Collector.Tag})
	}
	return out, nil
}

func (x printer) round(ctx context.Context, w io.Writer, r web.PaperRequest) error {
	return x.walk(ctx, w, r, paper.RoundSheet)
}

func (x printer) labels(ctx context.Context, w io.Writer, r web.PaperRequest) error {
	return x.walk(ctx, w, r, paper.Labels)
}

// walk prints a paper of all collectors in walking order.
func (x printer) walk(ctx context.Context, w io.Writer, r web.PaperRequest, print func(io.Writer, paper.Setup, []paper.Stop) error) error {
	s, err := x.setup(ctx, r)
	if err != nil {
		return err
	}
	stops, err := x.stops(ctx, r)
	if err != nil {
		return err
	}
	return print(w, s, stops)
}

func (x printer) calendar(ctx context.Context, w io.Writer, r web.PaperRequest) error {
	v, err := x.service.View(ctx)
	if err != nil {
		return err
	}
	var tasks []plant.Task
	for _, c := range v.Walk {
		tasks = append(tasks, c.Tasks...)
	}
	return export.Calendar(w, plant.TasksIn(tasks, r.Units), r.Base, x.zone, x.service.Now())
}
