package main

import (
	"io"

	"dustwright/collector"
	"dustwright/report/data"
	"dustwright/report/text"
	"dustwright/unit"
)

// trimCmd is dustwright trim.
type trimCmd struct {
	output
	airFlags
	Collector   string `arg:"" name:"COLLECTOR.toml" help:"The collector's file."`
	Filters     string `default:"new" help:"State of the filters: new, now, or the dP read across them, such as \"3.2 in.w.g.\"."`
	Damper      string `placeholder:"SHARE" help:"Opening of the damper when that dP was read, such as \"47 %\"; with it the flow of that moment is worked out too."`
	Flow        string `placeholder:"FLOW" help:"Flow to be held, such as \"4000 cfm\"; without it the design flow."`
	AfterFilter string `name:"after-filter" placeholder:"DP" help:"dP across the after-filter at design flow; without it the after-filter counts as new."`
	gateFlags
}

// Run answers.
func (t *trimCmd) Run(e *env) error {
	c, err := collector.Load(t.Collector)
	if err != nil {
		return err
	}
	r, err := t.request(c)
	if err != nil {
		return err
	}
	answer, err := c.Trim(r)
	if err != nil {
		return err
	}
	return e.emit(t.output, data.NewTrim(c, answer, t.system()), func(w io.Writer, sys unit.System) error {
		return text.Trim(w, sys, c, answer)
	})
}

// request brings the flags into the question.
func (t *trimCmd) request(c *collector.Collector) (collector.TrimRequest, error) {
	var f flags
	r := collector.NewTrimRequest()
	switch t.Filters {
	case "new":
		if t.Damper != "" {
			f.fault("--damper needs the dP that was read at that opening: add --filters \"3.2 in.w.g.\"")
		}
	case "now":
		f.fault("--filters now needs to know the dP: read the gauge and give it, such as --filters \"3.2 in.w.g.\", with --damper where the position is known")
	default:
		r.FilterDP = unit.Pressure(f.quantity("--filters", unit.KindPressure, t.Filters))
	}
	r.Damper = unit.Share(f.quantity("--damper", unit.KindShare, t.Damper))
	r.Flow = unit.Flow(f.quantity("--flow", unit.KindFlow, t.Flow))
	r.AfterFilterDP = unit.Pressure(f.quantity("--after-filter", unit.KindPressure, t.AfterFilter))
	r.Step = text.ScheduleStep(t.system(), c.Filters.MaxDP)
	r.Air, r.AirGiven = t.state(&f, c)
	if _, err := c.Ducts(t.Shut...); err != nil {
		f.fault("--shut: %w", err)
	}
	r.Shut = t.Shut
	return r, f.err()
}
