package main

import (
	"io"

	"dustwright/collector"
	"dustwright/report/data"
	"dustwright/report/text"
	"dustwright/unit"
)

// airCmd is dustwright air.
type airCmd struct {
	output
	Collector    string `arg:"" name:"COLLECTOR.toml" help:"The collector's file."`
	PipeDiameter string `placeholder:"D" help:"Inside diameter of the pipe to the header, such as \"3/4 in\"; with --pipe-length its loss is worked out."`
	PipeLength   string `placeholder:"L" help:"Length of that pipe, fittings included, such as \"60 ft\"."`
	LinePressure string `placeholder:"P" help:"Pressure before the regulator, such as \"90 psi\"; with it the receiver is checked."`
	Receiver     string `placeholder:"V" help:"Size of the receiver near the collector, such as \"30 gal\"."`
	DewPoint     string `placeholder:"T" help:"Pressure dew point in the line, such as \"38 degF\"."`
	Coldest      string `placeholder:"T" help:"Coldest place the line or the header stands in, such as \"20 degF\"."`
	Leak         string `placeholder:"FLOW" help:"Measured leak, such as \"3 scfm\"; without it a tenth of the supply is set aside."`
}

// Run answers.
func (a *airCmd) Run(e *env) error {
	c, err := collector.Load(a.Collector)
	if err != nil {
		return err
	}
	r, err := a.request()
	if err != nil {
		return err
	}
	use, err := c.AirUse(r)
	if err != nil {
		return err
	}
	return e.emit(a.output, data.NewAir(c, use, a.system()), func(w io.Writer, sys unit.System) error {
		return text.Air(w, sys, c, use)
	})
}

// request brings the flags into the question.
func (a *airCmd) request() (collector.AirRequest, error) {
	var f flags
	r := collector.AirRequest{
		PipeBore:     unit.Length(f.quantity("--pipe-diameter", unit.KindLength, a.PipeDiameter)),
		PipeLength:   unit.Length(f.quantity("--pipe-length", unit.KindLength, a.PipeLength)),
		LinePressure: unit.Pressure(f.quantity("--line-pressure", unit.KindPressure, a.LinePressure)),
		Receiver:     unit.Volume(f.quantity("--receiver", unit.KindVolume, a.Receiver)),
		DewPoint:     unit.Temperature(f.quantity("--dew-point", unit.KindTemperature, a.DewPoint)),
		Coldest:      unit.Temperature(f.quantity("--coldest", unit.KindTemperature, a.Coldest)),
		Leak:         unit.StdFlow(f.quantity("--leak", unit.KindStdFlow, a.Leak)),
	}
	if (a.PipeDiameter == "") != (a.PipeLength == "") {
		f.fault("--pipe-diameter and --pipe-length go together: give both, such as --pipe-diameter \"3/4 in\" --pipe-length \"60 ft\"")
	}
	if a.Receiver != "" && a.LinePressure == "" {
		f.fault("--receiver needs the pressure before the regulator: add --line-pressure \"90 psi\"")
	}
	if r.PipeBore <= 0 || r.PipeLength < 0 || r.LinePressure <= 0 {
		f.fault("--pipe-diameter, --pipe-length and --line-pressure must be above zero")
	}
	return r, f.err()
}
