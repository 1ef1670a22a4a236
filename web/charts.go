package web

import (
	"context"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"sort"
	"strconv"
	"time"

	"dustwright/plant"
	"dustwright/sense"
	"dustwright/unit"
)

// How wide a chart can be asked for, and how wide it is for a reader without a script.
const (
	chartLeast, chartMost, chartUsual = 300, 1600, 360
	chartHeight                       = 250
)

// unitOf is the one unit a kind of chart is drawn in, whatever the size of its values.
func unitOf(kind unit.Kind, sys unit.System) unit.Unit {
	symbol := map[unit.Kind][2]string{unit.KindPressure: {"in. w.g.", "Pa"}, unit.KindFlow: {"cfm", "m³/h"}}[kind]
	u, err := unit.Lookup(kind, symbol[sys])
	if err != nil {
		panic("web: a chart's unit is not known: " + err.Error()) // ours, and a test draws every chart
	}
	u.Symbol = symbol[sys]
	return u
}

// stretch is the default stretch of a collector's charts: the last 90 days, and as far ahead as the
// forecast reaches, at most as far again.
func stretch(o *plant.Overview, first time.Time) (from, to time.Time) {
	last := o.Last
	from = last.AddDate(0, 0, -90)
	if first.After(from) {
		from = first
	}
	to = last.Add(last.Sub(from) / 60)
	if j := o.Judgement; j != nil && j.Life != nil && !j.Life.P90.IsZero() {
		to = last.Add(min(max(j.Life.P90.Sub(last)*11/10, 0), max(last.Sub(from), 24*time.Hour)))
	}
	if !to.After(from) {
		to = from.Add(24 * time.Hour)
	}
	return from, to
}

// frame makes a chart for the page; nil where there is nothing to draw.
func (s *Server) frame(ctx context.Context, o *plant.Overview, kind chartKind, p *page) (*chartFrame, error) {
	course, err := s.courseOf(ctx, o)
	if err != nil || course.First.IsZero() {
		return nil, err
	}
	from, to := stretch(o, course.First.In(p.Now.Location()))
	if kind.channel != sense.DP { // nothing is foretold of it
		to = o.Last.Add(max(o.Last.Sub(from)/60, time.Hour))
	}
	c, err := s.chartOf(ctx, o, kind, chartRange{from, to, chartUsual, p.Units})
	if err != nil || len(c.band) == 0 && len(c.line) == 0 {
		return nil, err
	}
	return &chartFrame{Kind: kind.name, Title: kind.title, SVG: template.HTML(c.svg()),
		From: from.Unix(), To: to.Unix(), First: course.First.Unix(), Last: max(to.Unix(), o.Last.Unix())}, nil
}

// chartRange is what part of a chart is wanted.
type chartRange struct {
	from, to time.Time
	width    float64
	units    unit.System
}

// closeLook is the longest stretch in which the dP is drawn reading by reading, the fan standing or not. In a longer
// one the band is that of the days while the fan ran: a stop a night would fill it down to zero.
const closeLook = 14 * 24 * time.Hour

// chartOf gathers what a chart shows.
func (s *Server) chartOf(ctx context.Context, o *plant.Overview, kind chartKind, r chartRange) (*chart, error) {
	n := int(r.width / 2)
	c := &chart{from: r.from, to: r.to, width: r.width, height: chartHeight, unit: unitOf(kind.kind, r.units), step: r.to.Sub(r.from) / time.Duration(n)}
	course, err := s.courseOf(ctx, o)
	if err != nil {
		return nil, err
	}
	from := r.from
	if kind.channel == sense.DP && r.to.Sub(r.from) > closeLook {
		c.band = course.ranBand(r.from, r.to)
		if len(c.band) > 0 { // what came after the last whole hour is drawn as it was read
			from = time.Unix(0, c.band[len(c.band)-1].To+1)
		}
	}
	if from.Before(r.to) {
		rest, err := s.o.Archive.Envelope(ctx, o.Machine.Tag, kind.channel, from, r.to, n)
		if err != nil {
			return nil, err
		}
		c.band = append(c.band, rest...)
	}
	c.step = max(c.step, usualStep(c.band))
	switch kind.channel {
	case sense.DP:
		c.line = course.dragLine(r.from, r.to)
		c.dpLimits(o, r)
		c.alt = "dP over time: band of lowest and highest readings, line of dP after cleaning at design flow, forecast"
	case sense.Flow:
		design := float64(o.Collector.Duty.Flow)
		c.line = course.flowLine(design, r.from, r.to)
		c.limits = append(c.limits, limit{design, "design"})
		c.alt = "Airflow over time against design"
	}
	c.alt += fmt.Sprintf(", %s to %s", r.from.Format("2 January 2006"), r.to.Format("2 January 2006"))
	c.flags, err = s.flags(ctx, o, r)
	return c, err
}

// usualStep is the middle distance of neighbouring buckets: for readings by hand it is far larger than
// the drawing's own.
func usualStep(band []plant.Bucket) time.Duration {
	var d []int64
	for i := 1; i < len(band); i++ {
		d = append(d, band[i].From-band[i-1].To)
	}
	if len(d) == 0 {
		return 0
	}
	sort.Slice(d, func(i, j int) bool { return d[i] < d[j] })
	return time.Duration(d[len(d)/2])
}

// dpLimits adds the filters' limit and the forecast that leads to it.
func (c *chart) dpLimits(o *plant.Overview, r chartRange) {
	for _, l := range []limit{{float64(o.Collector.SetPoints.High), "high set point"}, {float64(o.Collector.SetPoints.Low), "low set point"}} {
		if !math.IsNaN(l.v) {
			c.limits = append(c.limits, l)
		}
	}
	j := o.Judgement
	most := float64(o.Collector.Filters.MaxDP)
	if j == nil || j.Life == nil || !r.to.After(o.Last) {
		return
	}
	for _, p := range j.Life.Fan {
		c.fan = append(c.fan, fanPoint{p.At, p.P10, p.P50, p.P90})
	}
	if len(c.fan) > 0 && !math.IsNaN(most) {
		c.limits = append(c.limits, limit{most, "end of the filters' life"})
	}
}

// flagWords are the words of marks on charts, by kind of record.
var flagWords = map[plant.Kind]string{plant.KindFilterChange: "filters", plant.KindDamperMove: "damper", plant.KindValveRepair: "valve",
	plant.KindBinEmptied: "bin", plant.KindSetPointChange: "set points", plant.KindTraverse: "traverse", plant.KindCommissioning: "commissioned"}

// flags are the marks for work: on record, or found in the readings.
func (s *Server) flags(ctx context.Context, o *plant.Overview, r chartRange) ([]flag, error) {
	kinds := make([]plant.Kind, 0, len(flagWords))
	for k := range flagWords {
		kinds = append(kinds, k)
	}
	sort.Slice(kinds, func(i, j int) bool { return kinds[i] < kinds[j] })
	records, err := s.o.Archive.Records(ctx, plant.RecordQuery{Collector: o.Machine.Tag, Kinds: kinds, Since: r.from, Limit: 200})
	if err != nil {
		return nil, err
	}
	var out []flag
	for _, rec := range records {
		if rec.At.Before(r.to) {
			out = append(out, flag{rec.At, flagWords[rec.Kind], flagWords[rec.Kind] + ", " + rec.At.Format("2 January 15:04") + ", " + rec.By, rec.Kind == plant.KindBinEmptied})
		}
	}
	if o.Judgement != nil {
		for _, ch := range o.Judgement.Changes {
			word := map[string]string{"filters": "filters", "damper": "damper"}[ch.Kind]
			if word != "" && !ch.Logged && ch.At.After(r.from) && ch.At.Before(r.to) {
				out = append(out, flag{ch.At, word, ch.Text.In(r.units) + ", " + ch.At.Format("2 January 15:04"), false})
			}
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].at.Before(out[j].at) })
	return out, nil
}

// chartRequest reads which chart is wanted out of an address.
func (s *Server) chartRequest(r *http.Request, v *plant.View) (*plant.Overview, chartKind, chartRange, error) {
	var want chartRange
	o, err := v.Of(r.PathValue("tag"))
	if err != nil {
		return nil, chartKind{}, want, err
	}
	q := r.URL.Query()
	kind := chartKinds[0]
	for _, k := range chartKinds {
		if k.name == q.Get("kind") {
			kind = k
		}
	}
	zone := s.o.Service.Zone()
	want.from, want.to = stretch(o, o.Last.AddDate(0, 0, -90))
	for name, at := range map[string]*time.Time{"from": &want.from, "to": &want.to} {
		if text := q.Get(name); text != "" {
			unix, err := strconv.ParseInt(text, 10, 64)
			if err != nil {
				return nil, kind, want, wrong(name + " is no time; it is seconds since 1970, such as 1781600000")
			}
			*at = time.Unix(unix, 0)
		}
		*at = at.In(zone)
	}
	if span := want.to.Sub(want.from); span < time.Minute || span > 100*366*24*time.Hour {
		return nil, kind, want, wrong("the stretch of time ends before it begins, or is shorter than a minute")
	}
	want.width, want.units = chartUsual, s.unitsOf(r)
	if w, err := strconv.ParseFloat(q.Get("w"), 64); err == nil && w == w {
		want.width = math.Round(min(max(w, chartLeast), chartMost))
	}
	return o, kind, want, nil
}

// chartSVG draws a chart for the stretch of time asked for.
func (s *Server) chartSVG(w http.ResponseWriter, r *http.Request) error {
	return s.cached(w, r, func(ctx context.Context, v *plant.View) (*answer, error) {
		o, kind, want, err := s.chartRequest(r, v)
		if err != nil {
			return nil, err
		}
		c, err := s.chartOf(ctx, o, kind, want)
		if err != nil {
			return nil, err
		}
		return newAnswer("image/svg+xml", c.svg()), nil
	})
}

// tablePage is a chart as a table.
type tablePage struct {
	Tag, Title, Unit string
	Rows             []tableRow
	Line             []tableRow
	LineTitle        string
}

// tableRow is one stretch of it.
type tableRow struct {
	At             template.HTML
	N              int
	Low, Mean, Top string
}

// tableRows is about how many stretches a table has.
const tableRows = 48

// chartTable gives a chart as a table, or in JSON as numbers.
func (s *Server) chartTable(w http.ResponseWriter, r *http.Request) error {
	return s.cached(w, r, func(ctx context.Context, v *plant.View) (*answer, error) {
		o, kind, want, err := s.chartRequest(r, v)
		if err != nil {
			return nil, err
		}
		want.width = 2 * tableRows
		c, err := s.chartOf(ctx, o, kind, want)
		if err != nil {
			return nil, err
		}
		p := s.page(r, o.Machine.Tag+", "+kind.title)
		p.Sub = want.from.Format("2 January 2006") + " to " + want.to.Format("2 January 2006")
		p.Body = c.table(o.Machine.Tag, kind, p.Now)
		return s.html("table", p)
	})
}

// table puts a chart's numbers into rows.
func (c *chart) table(tag string, kind chartKind, now time.Time) tablePage {
	t := tablePage{Tag: tag, Title: kind.title, Unit: c.unit.Symbol, LineTitle: "Airflow day by day"}
	if kind.channel == sense.DP {
		t.LineTitle = "dP after cleaning, at design flow"
	}
	write := func(v float64) string {
		if v = c.unit.From(v); v != v {
			return "not known"
		}
		if math.Abs(v) >= 100 {
			return fmt.Sprintf("%.0f", v)
		}
		return fmt.Sprintf("%.2f", v)
	}
	for _, b := range c.band {
		t.Rows = append(t.Rows, tableRow{stamp(now, time.Unix(0, b.From)), b.N, write(b.Min), write(b.Mean()), write(b.Max)})
	}
	every := max(1, len(c.line)/tableRows)
	for i := 0; i < len(c.line); i += every {
		p := c.line[i]
		t.Line = append(t.Line, tableRow{At: stamp(now, p.at), Low: write(p.v - 1.28*p.sd), Mean: write(p.v), Top: write(p.v + 1.28*p.sd)})
	}
	return t
}
