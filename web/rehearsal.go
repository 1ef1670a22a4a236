package web

import (
	"context"
	"errors"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"sync"
	"time"

	"dustwright/collector"
	"dustwright/plant"
	"dustwright/rehearse"
	"dustwright/unit"
)

// rehearsePage shows two futures side by side.
type rehearsePage struct {
	Tag     string
	Sliders []slider
	Present string // the filters as they are now, in words; "" where that is not known
	New     bool   // start from new filters
	Ran     bool
	Rows    [][3]string // name, as it is, changed
	Chart   template.HTML
	Changed string
	Why     string
}

// slider is a setting to change.
type slider struct {
	Key, Label, Unit     string
	Low, High, Step, Now float64
	Was                  float64
}

// slidersOf are the settings of a collector that can be tried; what the file does not say can't be.
func slidersOf(o *plant.Overview, q url.Values, sys unit.System) []slider {
	c := o.Collector
	var out []slider
	add := func(key, label string, kind unit.Kind, symbol [2]string, si, share, step float64) {
		u, err := unit.Lookup(kind, symbol[sys])
		if err != nil || math.IsNaN(si) {
			return
		}
		now := u.From(si)
		s := slider{Key: key, Label: label, Unit: symbol[sys], Low: math.Floor(now*(1-share)/step) * step, High: math.Ceil(now*(1+share)/step) * step, Step: step, Was: round3(now), Now: round3(now)}
		if v, err := unit.Parse(unit.KindNumber, q.Get(key)); err == nil && q.Has(key) {
			s.Now = v
		}
		out = append(out, s)
	}
	fine := [2]float64{0.1, 25}[sys]
	add("setpoints.low", "Low set point", unit.KindPressure, [2]string{"in. w.g.", "Pa"}, float64(c.SetPoints.Low), 0.5, fine)
	add("setpoints.high", "High set point", unit.KindPressure, [2]string{"in. w.g.", "Pa"}, float64(c.SetPoints.High), 0.5, fine)
	add("header.interval", "Pulse interval", unit.KindSeconds, [2]string{"s", "s"}, float64(c.Header.Interval), 0.8, 1)
	add("header.set", "Header pressure", unit.KindPressure, [2]string{"psi", "kPa"}, float64(c.Header.Set), 0.5, [2]float64{1, 10}[sys])
	add("duty.loading", "Dust in the air", unit.KindConcentration, [2]string{"gr/ft3", "g/m3"}, float64(c.Duty.Loading), 0.9, 0.01)
	return out
}

// round3 rounds to what a slider can hold.
func round3(v float64) float64 { return math.Round(v*1000) / 1000 }

// rehearse shows the sliders and, once one is moved, the two futures.
func (s *Server) rehearse(w http.ResponseWriter, r *http.Request) error {
	return s.cached(w, r, func(ctx context.Context, v *plant.View) (*answer, error) {
		o, err := v.Of(r.PathValue("tag"))
		if err != nil {
			return nil, err
		}
		p := s.page(r, o.Machine.Tag)
		p.Sub = "rehearsal"
		body := rehearsePage{Tag: o.Machine.Tag, Sliders: slidersOf(o, r.URL.Query(), p.Units)}
		if j := o.Judgement; j != nil && j.Drag != nil {
			body.Present = unit.Pressure(j.Drag.DPAtDesignFlow).In(p.Units)
		}
		body.New = body.Present == "" || r.URL.Query().Get("filters") == "new"
		if r.URL.Query().Has("run") {
			if err := body.run(ctx, o, p); err != nil {
				body.Why = sentence(err.Error())
			}
		}
		p.Body = body
		return s.html("rehearse", p)
	})
}

// rehearseDays is how much of the future is drawn.
const rehearseDays = 180

// run runs both futures.
func (b *rehearsePage) run(ctx context.Context, o *plant.Overview, p *page) error {
	other, err := collector.Parse(o.Machine.Tag, []byte(o.Machine.TOML))
	if err != nil {
		return err
	}
	for _, sl := range b.Sliders {
		if math.Abs(sl.Now-sl.Was) < 1e-9 {
			continue
		}
		if err := other.Set(sl.Key, fmt.Sprintf("%g %s", sl.Now, sl.Unit)); err != nil {
			return err
		}
		if b.Changed != "" {
			b.Changed += ", "
		}
		b.Changed += fmt.Sprintf("%s %g %s", uncapital(sl.Label), sl.Now, sl.Unit)
	}
	if err := other.Validate(); err != nil {
		return err
	}
	opts := rehearse.NewOptions(o.Collector)
	opts.Start, opts.Length, opts.Sample, opts.Horizon = midnight(p.Now), rehearseDays*24*time.Hour, 0, 3*365*24*time.Hour
	if !b.New {
		if opts.Aged, err = agedTo(ctx, o.Collector, opts, o.Judgement.Drag.DPAtDesignFlow); err != nil {
			return err
		}
	}
	var runs [2]*rehearse.Result
	var errs [2]error
	var group sync.WaitGroup
	for i, c := range []*collector.Collector{o.Collector, other} {
		group.Go(func() { runs[i], errs[i] = rehearse.Run(ctx, c, opts) })
	}
	group.Wait()
	if err := errors.Join(errs[:]...); err != nil {
		return err
	}
	b.Ran, b.Rows = true, compare(runs[0].Summary, runs[1].Summary, o.Collector.Cost.Currency, p.Units)
	b.Chart = template.HTML(futures(runs, o, p))
	return nil
}

// agedTo finds how much of their life filters have behind them whose dP just after cleaning, at design flow, is that of
// now [Pa]; what lies beyond the oldest that can be rehearsed is taken for that.
func agedTo(ctx context.Context, c *collector.Collector, opts rehearse.Options, now float64) (unit.Share, error) {
	opts.Length, opts.Horizon = agedProbe, 0
	low, high := 0.0, 2.0
	for high-low > 0.01 {
		opts.Aged = unit.Share((low + high) / 2)
		r, err := rehearse.Run(ctx, c, opts)
		if err != nil {
			return 0, err
		}
		if float64(r.Summary.AfterClean) < now {
			low = float64(opts.Aged)
		} else {
			high = float64(opts.Aged)
		}
	}
	return unit.Share((low + high) / 2), nil
}

// agedProbe is how long aged filters are run to see their dP: a working week.
const agedProbe = 7 * 24 * time.Hour

// compare puts two summaries side by side.
func compare(a, b rehearse.Summary, currency string, sys unit.System) [][3]string {
	days := func(s rehearse.Summary) string {
		if d := float64(s.LifeDays); d > 0 {
			return fmt.Sprintf("%.0f days, then %s", d, map[string]string{"dp": "their dP", "flow": "the airflow", "air": "the pulse air", "afterfilter": "the after-filter"}[s.Limit])
		}
		return "more than three years"
	}
	money := func(s rehearse.Summary) string {
		if c := float64(s.CostPerYear); c > 0 {
			return fmt.Sprintf("%.0f %s", c, currency)
		}
		return "not known without prices"
	}
	ran := func(s rehearse.Summary) float64 { return max(s.Ran, 1) }
	return [][3]string{
		{"Life of the filters from today", days(a), days(b)},
		{"dP just after cleaning, last week", a.AfterClean.In(sys), b.AfterClean.In(sys)},
		{"Mean airflow", a.MeanFlow.In(sys), b.MeanFlow.In(sys)},
		{"Lowest airflow", a.LowestFlow.In(sys), b.LowestFlow.In(sys)},
		{"Pulses an hour", fmt.Sprintf("%.1f", float64(a.Pulses)/ran(a)), fmt.Sprintf("%.1f", float64(b.Pulses)/ran(b))},
		{"Cost a year: air, electricity, filters", money(a), money(b)},
	}
}

// futures draws the dP after cleaning of both runs.
func futures(runs [2]*rehearse.Result, o *plant.Overview, p *page) []byte {
	start := midnight(p.Now)
	c := &chart{from: start, to: start.AddDate(0, 0, rehearseDays), width: 720, height: chartHeight, unit: unitOf(unit.KindPressure, p.Units),
		alt: "dP just after cleaning over the coming half year: solid as it is, dashed as changed"}
	for i, run := range runs {
		for _, d := range run.Truth.Daily {
			if d.Ran > 0 && d.Date.Before(c.to) {
				pt := point{at: d.Date, v: float64(d.AfterClean)}
				if i == 0 {
					c.line = append(c.line, pt)
				} else {
					c.other = append(c.other, pt)
				}
			}
		}
	}
	if most := float64(o.Collector.Filters.MaxDP); most > 0 {
		c.limits = append(c.limits, limit{most, "end of the filters' life"})
	}
	return c.svg()
}
