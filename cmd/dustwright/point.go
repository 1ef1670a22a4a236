package main

import (
	"fmt"
	"io"
	"math"

	"dustwright/collector"
	"dustwright/report/data"
	"dustwright/report/text"
	"dustwright/unit"
)

// pointCmd is dustwright point.
type pointCmd struct {
	output
	airFlags
	Collector   string `arg:"" name:"COLLECTOR.toml" help:"The collector's file."`
	Filters     string `default:"new" help:"State of the filters: new, or the dP read across them, such as \"3.2 in.w.g.\"."`
	AfterFilter string `name:"after-filter" placeholder:"DP" help:"dP across the after-filter at design flow; without it the after-filter counts as new."`
	Damper      string `placeholder:"SHARE" help:"Opening of the damper, such as \"47 %\"; without it the damper counts as fully open."`
	Speed       string `placeholder:"SPEED" help:"Speed of the fan, such as \"3550 rpm\"; without it the one in the file."`
	gateFlags
}

// Run answers.
func (p *pointCmd) Run(e *env) error {
	c, err := collector.Load(p.Collector)
	if err != nil {
		return err
	}
	path, err := c.AirPath()
	if err != nil {
		return err
	}
	cond, given, err := p.conditions(c, path.Conditions())
	if err != nil {
		return err
	}
	ducts, err := c.Ducts(p.Shut...)
	if err != nil {
		return fmt.Errorf("--shut: %w", err)
	}
	est, err := c.EstimateWith(cond, given, ducts)
	if err != nil {
		return err
	}
	return e.emit(p.output, data.NewPoint(c, est, p.system()), func(w io.Writer, sys unit.System) error {
		return text.Point(w, sys, c, est)
	})
}

// conditions brings the flags into the conditions of the question.
func (p *pointCmd) conditions(c *collector.Collector, cond collector.Conditions) (collector.Conditions, collector.Given, error) {
	var f flags
	var g collector.Given
	if p.Filters != "new" {
		cond.FilterDP = unit.Pressure(f.quantity("--filters", unit.KindPressure, p.Filters))
		g.Reading = true
	}
	if p.AfterFilter != "" {
		cond.AfterFilterDP = unit.Pressure(f.quantity("--after-filter", unit.KindPressure, p.AfterFilter))
		g.AfterFilterDP = true
	}
	if p.Damper != "" {
		cond.Damper = unit.Share(f.quantity("--damper", unit.KindShare, p.Damper))
	}
	if p.Speed != "" {
		cond.Speed = unit.Speed(f.quantity("--speed", unit.KindSpeed, p.Speed))
		if math.IsNaN(float64(c.Fan.Speed)) {
			f.fault("--speed needs the curve's own speed to compare with: add speed = \"3550 rpm\" under [fan]")
		}
	}
	if a, given := p.state(&f, c); given {
		cond, g.Air = cond.In(a), true
	}
	return cond, g, f.err()
}
