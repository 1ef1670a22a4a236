package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"

	"dustwright/air"
	"dustwright/duct"
	"dustwright/report/data"
	"dustwright/report/text"
	"dustwright/unit"
)

// traverseCmd is dustwright traverse.
type traverseCmd struct {
	output
	File       string `arg:"" optional:"" name:"FILE.csv" help:"The readings (format: docs/traverse.md), - for standard input."`
	Points     string `enum:",round,rect" default:"" placeholder:"SHAPE" help:"Print the sheet of points for a duct instead: round or rect."`
	Diameter   string `placeholder:"D" help:"With --points round: inside diameter, such as \"12 in\"."`
	Width      string `placeholder:"W" help:"With --points rect: inside width, the side the ports are drilled in."`
	Height     string `placeholder:"H" help:"With --points rect: inside height, the way the probe goes."`
	Rule       string `default:"method1" help:"With --points: method1, log-linear or log-tchebycheff."`
	Upstream   string `placeholder:"L" help:"With --points: straight duct before the place, such as \"9 ft\" or \"8 D\"."`
	Downstream string `placeholder:"L" help:"With --points: straight duct after the place."`
	CSV        bool   `name:"csv" help:"With --points: print only the form to fill in, which is read as FILE.csv."`
}

// Run answers.
func (t *traverseCmd) Run(e *env) error {
	switch {
	case t.Points != "" && t.File != "":
		return errors.New("either a file of readings or --points, not both")
	case t.CSV && t.JSON:
		return errors.New("either --csv or --json, not both")
	case t.Points != "":
		return t.sheet(e)
	case t.Diameter+t.Width+t.Height+t.Upstream+t.Downstream != "" || t.CSV:
		return errors.New("--diameter, --width, --height, --upstream, --downstream and --csv go with --points round or --points rect")
	case t.File == "":
		return errors.New("name a file of readings, FILE.csv, or ask for the points to measure: --points round --diameter \"12 in\"")
	}
	content, err := t.read(e)
	if err != nil {
		return err
	}
	tr, err := duct.ParseTraverse(t.File, content)
	if err != nil {
		return err
	}
	r, err := tr.Evaluate(moistAir())
	if err != nil {
		return fmt.Errorf("%s: %w", t.File, err)
	}
	costs := func(m duct.MissingInput) string { return text.TraverseCost(m, t.system()) }
	return e.emit(t.output, data.NewTraverse(tr, r, costs, t.system()), func(w io.Writer, sys unit.System) error {
		return text.Traverse(w, sys, tr, r)
	})
}

// read reads the file of readings, or standard input.
func (t *traverseCmd) read(e *env) (content []byte, err error) {
	const most = 8 << 20 // the reader says what is wrong with more
	from := e.stdin
	if t.File != "-" {
		f, err := os.Open(t.File)
		if err != nil {
			return nil, fmt.Errorf("the readings cannot be opened: %w", err)
		}
		defer func() { err = errors.Join(err, f.Close()) }()
		from = f
	}
	content, err = io.ReadAll(io.LimitReader(from, most))
	if err != nil {
		return nil, fmt.Errorf("the readings cannot be read: %w", err)
	}
	return content, nil
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

// sheet prints the points to measure.
func (t *traverseCmd) sheet(e *env) error {
	req, err := t.request()
	if err != nil {
		return err
	}
	plan, err := duct.NewPlan(req)
	if err != nil {
		return err
	}
	return e.emit(t.output, data.NewPoints(plan, text.SheetCautions(t.system()), t.system()), func(w io.Writer, sys unit.System) error {
		if t.CSV {
			return duct.WriteTraverse(w, plan.Blank(sys), sys)
		}
		return text.TraverseSheet(w, sys, plan)
	})
}

// request brings the flags into a request for points.
func (t *traverseCmd) request() (duct.PlanRequest, error) {
	var f flags
	var req duct.PlanRequest
	side := func(name, value string, needed bool) unit.Length {
		switch {
		case needed && value == "":
			f.fault("--points %s needs %s, such as %s \"12 in\"", t.Points, name, name)
		case !needed && value != "":
			f.fault("--points %s has no %s", t.Points, name)
		case needed:
			x := f.quantity(name, unit.KindLength, value)
			if !math.IsNaN(x) && !(x > 0 && x <= 20) {
				f.fault("%s: a duct's size is above zero and at most 20 m", name)
			}
			return unit.Length(x)
		}
		return 0
	}
	round := t.Points == "round"
	req.Section = duct.Section{Diameter: side("--diameter", t.Diameter, round), Width: side("--width", t.Width, !round), Height: side("--height", t.Height, !round)}
	rule, err := duct.ParseRule(t.Rule)
	if err != nil {
		f.fault("--rule: %w", err)
	}
	req.Rule = rule
	straight := func(name, value string) unit.Length {
		if value == "" {
			return unit.Length(math.NaN())
		}
		l, err := duct.ParseStraight(value, req.Section.Hydraulic())
		if err != nil {
			f.fault("%s: %w", name, err)
		}
		return l
	}
	req.Before, req.After = straight("--upstream", t.Upstream), straight("--downstream", t.Downstream)
	return req, f.err()
}
