package web

import (
	"context"
	"html/template"
	"net/http"
	"slices"
	"time"

	"dustwright/judge"
	"dustwright/plant"
	"dustwright/sense"
	"dustwright/unit"
)

// collectorPage is the page of one collector.
type collectorPage struct {
	Tag      string
	Service  string
	Standing judge.Standing
	Tube     template.HTML
	Say      string
	Remedy   string
	Measure  string // what of the compressed air to measure for it; "" none
	Since    string
	Facts    []fact
	Causes   []causeLine
	Reasons  []string
	Ducts    string // the slowest now and at the end of the filters' life; "" without branches
	Next     *judge.Check
	Bench    int          // valve to take through the bench check now; 0 none
	Answers  []answerLine // what was found so far
	Charts   []chartFrame
	Tasks    []taskLine
	Changes  []changeLine
	Missing  []judge.Missing
	Judged   template.HTML
	Papers   []Paper

	MonthBefore string // the last one read, "2026-05"; "" where nothing was read
}

// causeLine is a cause with its share.
type causeLine struct {
	Says  string
	Share string
	Width int // of its bar [%]
}

// answerLine is a check that was done.
type answerLine struct {
	Check         string // to answer again; "" where that can't be
	Number        int
	Text, Finding string
	Found, When   string
}

// changeLine is work done or found.
type changeLine struct {
	When template.HTML
	Text string
}

// chartFrame is a chart with what its script needs to move it.
type chartFrame struct {
	Kind, Title string
	SVG         template.HTML
	Source      string // address without the stretch of time
	From, To    int64  // shown, unix s
	First, Last int64  // there is, unix s
}

// airMeasures are causes that a measurement on the page of the compressed air narrows down.
var airMeasures = map[judge.Cause]string{
	judge.HeaderPressureLow: "Leak or supply? Measure it at the header",
	judge.CakeDamp:          "Is the pulse air wet? Hold its dew point against the coldest place",
}

// causesShown is how many causes a page lists.
const causesShown = 5

// collector shows one collector.
func (s *Server) collector(w http.ResponseWriter, r *http.Request) error {
	return s.cached(w, r, func(ctx context.Context, v *plant.View) (*answer, error) {
		o, err := v.Of(r.PathValue("tag"))
		if err != nil {
			return nil, err
		}
		if wantsJSON(r) {
			return s.collectorJSON(o, s.unitsOf(r))
		}
		p := s.page(r, o.Machine.Tag)
		p.Sub = o.Collector.Service
		body, err := s.collectorBody(ctx, o, p)
		if err != nil {
			return nil, err
		}
		p.Body = body
		return s.html("collector", p)
	})
}

// collectorBody puts the page's content together.
func (s *Server) collectorBody(ctx context.Context, o *plant.Overview, p *page) (*collectorPage, error) {
	b := &collectorPage{Tag: o.Machine.Tag, Service: o.Collector.Service, Standing: o.Standing(), Tube: gaugeOf(o, p.Units, true).svg(),
		Say: say(p.Now, o.Judgement, p.Units), Facts: factsOf(o, p.Now, p.Units)}
	for _, t := range o.Tasks {
		if len(b.Tasks) < 8 {
			b.Tasks = append(b.Tasks, lineOf(t, p.Now, p.Units))
		}
	}
	var err error
	if b.Papers, err = s.papersOf(ctx, o.Machine.Tag); err != nil {
		return nil, err
	}
	if !o.Last.IsZero() {
		b.MonthBefore = o.Last.AddDate(0, 0, -o.Last.Day()).Format("2006-01") // its last day
	}
	if j := o.Judgement; j != nil {
		b.judged(j, p)
		list, err := s.answersOf(ctx, o, p)
		if err != nil {
			return nil, err
		}
		b.Answers = list
		for _, kind := range chartKinds {
			f, err := s.frame(ctx, o, kind, p)
			if err != nil {
				return nil, err
			}
			if f != nil {
				b.Charts = append(b.Charts, *f)
			}
		}
	}
	return b, nil
}

// papersOf lists what there is to print of a collector.
func (s *Server) papersOf(ctx context.Context, tag string) ([]Paper, error) {
	var out []Paper
	for _, paper := range s.o.Papers {
		if paper.Whole {
			continue
		}
		if paper.Of != "" {
			list, err := s.o.Archive.Records(ctx, plant.RecordQuery{Collector: tag, Kinds: []plant.Kind{paper.Of}, Limit: 1})
			if err != nil {
				return nil, err
			}
			if len(list) == 0 {
				continue
			}
		}
		out = append(out, paper)
	}
	return out, nil
}

// judged fills in what the judgement says.
func (b *collectorPage) judged(j *plant.Judgement, p *page) {
	j = j.In(p.Units)
	top := j.Causes[0]
	if top.Cause != judge.None && j.Standing != judge.Steady {
		b.Remedy, b.Measure = sentence(remedyOf(top).In(p.Units)), airMeasures[top.Cause]
	}
	for i, c := range j.Causes {
		if i == causesShown || i > 0 && c.P < 0.01 {
			break
		}
		b.Causes = append(b.Causes, causeLine{dashed(causeSays(c)), percent(c.P), int(100*c.P + 0.5)})
	}
	for _, reason := range j.Reasons {
		b.Reasons = append(b.Reasons, sentence(reason.In(p.Units)))
	}
	if j.Ducts != nil {
		b.Ducts = sentence(j.Ducts.Says(p.Units))
	}
	switch top.Cause {
	case judge.ValveDead, judge.ValveWeak, judge.ValveStuckOpen:
		if j.NextCheck == nil && j.Standing != judge.Steady {
			b.Bench = top.Number
		}
	}
	b.Next, b.Missing, b.Judged = j.NextCheck, j.Missing, stamp(p.Now, j.At)
	for _, c := range j.Changes {
		b.Changes = append(b.Changes, changeLine{stamp(p.Now, c.At), sentence(c.Text.In(p.Units))})
	}
}

// answersOf lists the answers to checks that count, newest first.
func (s *Server) answersOf(ctx context.Context, o *plant.Overview, p *page) ([]answerLine, error) {
	records, err := s.o.Archive.Records(ctx, plant.RecordQuery{Collector: o.Machine.Tag, Kinds: plant.AnswerKinds, Limit: answerRecords})
	if err != nil {
		return nil, err
	}
	at := p.Now
	if o.Judgement != nil {
		at = o.Judgement.At // the judgement weighs those that count then
	}
	var out []answerLine
	for _, a := range slices.Backward(plant.Answered(records, at, s.o.Service.Experience())) {
		entry, ok := s.o.Service.Experience().CheckOf(a.Check)
		line := answerLine{Check: a.Check, Number: a.Number, Text: entry.Do(a.Number).In(p.Units), Finding: entry.Finds(a.Number).In(p.Units), Found: "No", When: clock(p.Now, a.At) + ", " + a.By}
		if !ok { // the plant's own, and no longer in its file
			line.Text, line.Finding, line.Check = "Check "+a.Check, "", ""
		}
		if a.Yes {
			line.Found = "Yes"
		}
		out = append(out, line)
	}
	return out, nil
}

// answerRecords is among how many records the answers that count are looked for.
const answerRecords = 100

// collectorJSON is the same content for programs.
func (s *Server) collectorJSON(o *plant.Overview, sys unit.System) (*answer, error) {
	return jsonAnswer(overviewJSON(o, true, sys))
}

// overviewOut is a collector in JSON.
type overviewOut struct {
	Tag       string           `json:"tag"`
	Service   string           `json:"service,omitempty"`
	Standing  judge.Standing   `json:"standing"`
	Last      *time.Time       `json:"lastReading"`
	BinDue    *time.Time       `json:"binDue"`
	Judgement *plant.Judgement `json:"judgement"`
	Tasks     []plant.Task     `json:"tasks"`
	File      string           `json:"file,omitempty"` // the collector file
}

// overviewJSON shapes a collector; sentences are in the units of sys.
func overviewJSON(o *plant.Overview, file bool, sys unit.System) overviewOut {
	out := overviewOut{Tag: o.Machine.Tag, Service: o.Collector.Service, Standing: o.Standing(), Judgement: o.Judgement.In(sys), Tasks: plant.TasksIn(o.Tasks, sys)}
	if !o.Last.IsZero() {
		out.Last = &o.Last
	}
	if !o.BinDue.IsZero() {
		out.BinDue = &o.BinDue
	}
	if file {
		out.File = o.Machine.TOML
	}
	return out
}

// chartKinds are the charts of a collector's page.
var chartKinds = []chartKind{
	{"dp", "dP", sense.DP, unit.KindPressure},
	{"air", "Airflow", sense.Flow, unit.KindFlow},
}

// chartKind is one kind of chart.
type chartKind struct {
	name, title string
	channel     sense.Channel
	kind        unit.Kind
}
