package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"dustwright/air"
	"dustwright/collector"
	"dustwright/duct"
	"dustwright/plant"
	"dustwright/unit"
)

// traversePage is where a traverse is laid out and entered.
type traversePage struct {
	Tag        string
	Ask        url.Values // what was chosen
	Length     string     // unit of lengths
	Rules      []string
	Plan       *duct.Plan
	Says       string // how many points
	Notes      []string
	Drawing    template.HTML
	Points     []traversePoint
	VP, Static string // units
	Temp       string
}

// traversePoint is one place to hold the probe.
type traversePoint struct {
	Name  string // of the field
	Label string
	Depth string
}

// moistAir is what package air knows, as package duct wants it.
func moistAir() duct.AirModel {
	return duct.AirModel{
		Density: air.MixtureDensity,
		HumidityRatio: func(t unit.Temperature, p unit.AbsPressure, rh unit.Share) unit.Share {
			return air.State{T: t, P: p, RH: rh}.HumidityRatio()
		},
		FromWetBulb: air.HumidityRatioFromWetBulb,
		Barometer:   air.StandardPressure,
	}
}

// planOf lays out the points of the duct and rule chosen in a form.
func planOf(q url.Values, sys unit.System) (duct.Plan, error) {
	length := func(name string) (unit.Length, error) {
		v, ok, err := quantity(q.Get(name), unit.KindLength, symbolOf(unit.KindLength, sys))
		if err != nil || !ok {
			return unit.Length(math.NaN()), in(name, err)
		}
		return unit.Length(v), nil
	}
	var req duct.PlanRequest
	var err error
	if req.Rule, err = duct.ParseRule(q.Get("rule")); err != nil {
		return duct.Plan{}, in("rule", wrong(sentence(err.Error())))
	}
	names := []string{"diameter", "width", "height"}
	var size [3]unit.Length
	for i, n := range names {
		if size[i], err = length(n); err != nil {
			return duct.Plan{}, err
		}
		if math.IsNaN(float64(size[i])) {
			size[i] = 0
		}
	}
	req.Section = duct.Round(size[0])
	if q.Get("shape") == "rect" {
		req.Section = duct.Rect(size[1], size[2])
	}
	if req.Before, err = length("before"); err != nil {
		return duct.Plan{}, err
	}
	if req.After, err = length("after"); err != nil {
		return duct.Plan{}, err
	}
	plan, err := duct.NewPlan(req)
	if err != nil {
		return plan, in(map[bool]string{true: "width", false: "diameter"}[q.Get("shape") == "rect"], wrong(sentence(told(err, sys))))
	}
	return plan, nil
}

// told is what an error says, in the reader's units where it can be.
func told(err error, sys unit.System) string {
	var in interface{ In(unit.System) string }
	if errors.As(err, &in) {
		return in.In(sys)
	}
	return err.Error()
}

// traverse shows the form, or the points in order once duct and rule are chosen.
func (s *Server) traverse(w http.ResponseWriter, r *http.Request) error {
	o, p, err := s.about(r, "traverse")
	if err != nil {
		return err
	}
	q := r.URL.Query()
	body := traversePage{Tag: o.Machine.Tag, Ask: q, Length: symbolOf(unit.KindLength, p.Units), VP: symbolOf(unit.KindPressure, p.Units), Static: symbolOf(unit.KindPressure, p.Units),
		Temp: symbolOf(unit.KindTemperature, p.Units), Rules: []string{duct.LogTchebycheff.String(), duct.Method1.String(), duct.LogLinear.String()}}
	if q.Has("rule") {
		plan, err := planOf(q, p.Units)
		if err != nil {
			p.Body = body
			was := s.asProblem(r, err)
			return s.renderFilled(w, http.StatusOK, "traverse", p, filled{http.MethodGet, r.URL.Path, q, nil, was.says, was.faults})
		}
		body.lay(plan, p.Units)
	}
	p.Body = body
	return s.render(w, http.StatusOK, "traverse", p)
}

// lay fills in the points of a plan.
func (b *traversePage) lay(plan duct.Plan, sys unit.System) {
	b.Plan, b.Drawing = &plan, drawPoints(plan)
	for _, note := range plan.Notes {
		b.Notes = append(b.Notes, collector.Marked(note).In(sys))
	}
	b.Says = fmt.Sprintf("%s of %d points. Points count from the near wall at each port.", plural(len(plan.Lines), "line", "lines"), len(plan.Points)/len(plan.Lines))
	for i, pt := range plan.Points {
		b.Points = append(b.Points, traversePoint{"p" + strconv.Itoa(i), fmt.Sprintf("Port %d, point %d", pt.Line, pt.Number), duct.Mark(pt.FromWall, sys).In(sys)})
	}
}

// drawPoints draws the duct's section with its points in order.
func drawPoints(plan duct.Plan) template.HTML {
	var b strings.Builder
	sec := plan.Section
	wide, high := 200.0, 200.0
	if !sec.IsRound() {
		k := 200 / math.Max(float64(sec.Width), float64(sec.Height))
		wide, high = k*float64(sec.Width), k*float64(sec.Height)
	}
	fmt.Fprintf(&b, `<svg class="section" viewBox="-24 -24 %g %g" role="img" aria-label="Section of the duct with %d points in order">`, wide+48, high+48, len(plan.Points))
	if sec.IsRound() {
		b.WriteString(`<circle cx="100" cy="100" r="100"/>`)
	} else {
		fmt.Fprintf(&b, `<rect width="%g" height="%g"/>`, wide, high)
	}
	for i, pt := range plan.Points {
		line := plan.Lines[pt.Line-1]
		share := float64(pt.FromWall) / float64(line.Depth)
		x, y := wide*float64(line.Offset)/math.Max(float64(sec.Width), 1e-9), high*share
		if sec.IsRound() {
			a := (line.Angle - 90) * math.Pi / 180
			x, y = 100+100*(1-2*share)*math.Cos(a), 100+100*(1-2*share)*math.Sin(a)
		}
		fmt.Fprintf(&b, `<circle class="p" cx="%.1f" cy="%.1f" r="5"/><text x="%.1f" y="%.1f">%d</text>`, x, y, x+7, y-5, i+1)
	}
	b.WriteString(`</svg>`)
	return template.HTML(b.String())
}

// measured puts a form's readings into a traverse.
func measured(r *http.Request, plan duct.Plan, o *plant.Overview, sys unit.System) (duct.Traverse, error) {
	t := duct.NewTraverse()
	t.Tag, t.Section, t.Rule, t.Design = o.Machine.Tag, plan.Section, plan.Rule, o.Collector.Duty.Flow
	t.Air.Elevation = o.Collector.Site.Elevation
	get := func(name string, kind unit.Kind) (float64, error) {
		v, ok, err := quantity(r.FormValue(name), kind, symbolOf(kind, sys))
		if !ok {
			v = math.NaN()
		}
		return v, in(name, err)
	}
	var errs [4]error
	var temp, static, rh float64
	temp, errs[0] = get("temperature", unit.KindTemperature)
	static, errs[1] = get("static", unit.KindPressure)
	rh, errs[2] = get("humidity", unit.KindShare)
	t.Air.Temperature, t.Air.Static, t.Air.Humidity = unit.Temperature(temp), unit.Pressure(static), unit.Share(rh)
	if text := strings.TrimSpace(r.FormValue("cp")); text != "" {
		cp, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		if err != nil || !(cp > 0 && cp < 2) {
			return t, in("cp", wrong(fmt.Sprintf("Probe coefficient: %q is none; a standard pitot tube has about 1, an S-type tube about 0.84.", text)))
		}
		t.Instrument.Coefficient = cp
	}
	for _, err := range errs {
		if err != nil {
			return t, err
		}
	}
	for i, pt := range plan.Points {
		vp, err := get("p"+strconv.Itoa(i), unit.KindPressure)
		if err != nil {
			return t, about("p"+strconv.Itoa(i), fmt.Sprintf("Port %d, point %d", pt.Line, pt.Number), err)
		}
		t.Readings = append(t.Readings, duct.Reading{Line: pt.Line, Number: pt.Number, Position: pt.FromWall, VP: unit.Pressure(vp), Velocity: unit.Velocity(math.NaN()), Swirl: math.NaN(), Counts: pt.Counts})
	}
	return t, nil
}

// flowOut is the result of a traverse in JSON.
type flowOut struct {
	Flow     float64  `json:"flow"`  // m3/s
	Sigma    float64  `json:"sigma"` // m3/s, standard uncertainty
	Share    *float64 `json:"designShare"`
	Says     string   `json:"says"`
	Readings int      `json:"readings"`
	Flags    []string `json:"flags"`
}

// traversed works out a traverse; with dry=1 it only answers, else the result goes on record.
func (s *Server) traversed(w http.ResponseWriter, r *http.Request) error {
	if err := parseForm(r); err != nil {
		return err
	}
	o, p, err := s.about(r, "traverse")
	if err != nil {
		return err
	}
	plan, err := planOf(r.Form, p.Units)
	if err != nil {
		return err
	}
	t, err := measured(r, plan, o, p.Units)
	if err != nil {
		return err
	}
	res, err := t.Evaluate(moistAir())
	if err != nil {
		return wrong(sentence(err.Error()))
	}
	out := flowOf(res, p.Units)
	if r.FormValue("dry") == "1" {
		s.json(w, http.StatusOK, out)
		return nil
	}
	e, err := s.entryOf(w, r)
	if err != nil {
		return err
	}
	if err := e.cautioned(s.cautionOf(r, routeOf(r).caution), r.URL.Path); err != nil {
		return err
	}
	text, err := json.Marshal(out)
	if err != nil {
		return fmt.Errorf("the traverse can't be written: %w", err)
	}
	if err := e.add(plant.Traverse{Flow: res.Flow, Sigma: unit.Flow(out.Sigma), Result: text}); err != nil {
		return err
	}
	if err := s.take(e); err != nil {
		return err
	}
	return s.done(w, e, "/c/"+url.PathEscape(e.tag)+"/trim")
}

// flowOf says a traverse's result.
func flowOf(res duct.TraverseResult, sys unit.System) flowOut {
	out := flowOut{Flow: float64(res.Flow), Sigma: res.Relative * float64(res.Flow), Readings: res.Used, Flags: []string{},
		Says: fmt.Sprintf("%s, between %s and %s", res.Flow.In(sys), res.Low.In(sys), res.High.In(sys))}
	if !math.IsNaN(res.DesignShare) {
		share := res.DesignShare
		out.Share = &share
		out.Says += ", " + ofDesign(share) + " of design"
	}
	for _, f := range res.Flags {
		out.Flags = append(out.Flags, sentence(fmt.Sprintf("port %d, point %d: %s", f.Line, f.Number, f.Why)))
	}
	out.Says += "."
	return out
}
