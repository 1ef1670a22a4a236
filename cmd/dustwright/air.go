package main

import (
	"errors"
	"io"

	"dustwright/collector"
	"dustwright/report/data"
	"dustwright/report/text"
	"dustwright/unit"
)

// airCmd is dustwright air.
type airCmd struct {
	output
	Collector         string `arg:"" name:"COLLECTOR.toml" help:"The collector's file."`
	PipeDiameter      string `placeholder:"D" help:"Inside diameter of the pipe to the header, such as \"3/4 in\"; with --pipe-length its loss is worked out."`
	PipeLength        string `placeholder:"L" help:"Length of that pipe, fittings included, such as \"60 ft\"."`
	LinePressure      string `placeholder:"P" help:"Pressure before the regulator, such as \"90 psi\"; with it the receiver is checked."`
	Receiver          string `placeholder:"V" help:"Size of the receiver near the collector, such as \"30 gal\"."`
	DewPoint          string `placeholder:"T" help:"Pressure dew point in the line, such as \"38 degF\"."`
	Coldest           string `placeholder:"T" help:"Coldest place the line or the header stands in, such as \"20 degF\"."`
	Leak              string `placeholder:"FLOW" help:"Leak measured by a meter, such as \"3 scfm\"; it counts before that of --decay. Without either a tenth of the supply is set aside."`
	Decay             string `placeholder:"TEST" help:"Leak test of the header, its supply shut and cleaning off, such as \"60 psi to 45 psi in 90 s\"."`
	Recovery          string `placeholder:"TEST" help:"One pulse by gauge and watch: before it, the lowest, until it is nearly back, such as \"60 psi to 38 psi, back in 4 s\"."`
	CompressorLeak    string `placeholder:"TEST" help:"Times of the compressor with no user on, such as \"loaded 2 min, unloaded 8 min\"."`
	CompressorFlow    string `placeholder:"FLOW" help:"What the compressor delivers on load, such as \"100 scfm\"."`
	CompressorPower   string `placeholder:"P" help:"Electricity it draws then, such as \"20 kW\"; without it 22 kW per 100 cfm are taken."`
	IntakeTemperature string `placeholder:"T" help:"Of the air the compressor draws, such as \"86 degF\"; with --intake-humidity the water is worked out."`
	IntakeHumidity    string `placeholder:"RH" help:"Its relative humidity, such as \"60 %\"."`
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
		PipeBore:        unit.Length(f.quantity("--pipe-diameter", unit.KindLength, a.PipeDiameter)),
		PipeLength:      unit.Length(f.quantity("--pipe-length", unit.KindLength, a.PipeLength)),
		LinePressure:    unit.Pressure(f.quantity("--line-pressure", unit.KindPressure, a.LinePressure)),
		Receiver:        unit.Volume(f.quantity("--receiver", unit.KindVolume, a.Receiver)),
		DewPoint:        unit.Temperature(f.quantity("--dew-point", unit.KindTemperature, a.DewPoint)),
		Coldest:         unit.Temperature(f.quantity("--coldest", unit.KindTemperature, a.Coldest)),
		Leak:            unit.StdFlow(f.quantity("--leak", unit.KindStdFlow, a.Leak)),
		CompressorFlow:  unit.StdFlow(f.quantity("--compressor-flow", unit.KindStdFlow, a.CompressorFlow)),
		CompressorPower: unit.Power(f.quantity("--compressor-power", unit.KindPower, a.CompressorPower)),
		Intake:          unit.Temperature(f.quantity("--intake-temperature", unit.KindTemperature, a.IntakeTemperature)),
		IntakeHumidity:  unit.Share(f.quantity("--intake-humidity", unit.KindShare, a.IntakeHumidity)),
	}
	open := collector.NewAirRequest()
	r.Decay, r.Back, r.Loaded, r.Unloaded = open.Decay, open.Back, open.Loaded, open.Unloaded
	var err error
	if a.Decay != "" {
		if r.Decay, err = collector.ParseFall(a.Decay); err != nil {
			f.fault("--decay: %w", err)
		}
	}
	if a.Recovery != "" {
		if r.Back, err = collector.ParseFall(a.Recovery); err != nil {
			f.fault("--recovery: %w", err)
		}
	}
	if a.CompressorLeak != "" {
		if r.Loaded, r.Unloaded, err = collector.ParseLoad(a.CompressorLeak); err != nil {
			f.fault("--compressor-leak: %w", err)
		}
	}
	if err := f.err(); err != nil {
		return r, err
	}
	return r, a.faults(r)
}

// faults says what of the question cannot be.
func (a *airCmd) faults(r collector.AirRequest) error {
	var f flags
	if (a.PipeDiameter == "") != (a.PipeLength == "") {
		f.fault("--pipe-diameter and --pipe-length go together: give both, such as --pipe-diameter \"3/4 in\" --pipe-length \"60 ft\"")
	}
	if a.Receiver != "" && a.LinePressure == "" {
		f.fault("--receiver needs the pressure before the regulator: add --line-pressure \"90 psi\"")
	}
	if (a.IntakeTemperature == "") != (a.IntakeHumidity == "") {
		f.fault("--intake-temperature and --intake-humidity go together: give both, such as --intake-temperature \"86 degF\" --intake-humidity \"60 %%\"")
	}
	if a.CompressorPower != "" && a.CompressorFlow == "" {
		f.fault("--compressor-power needs what the compressor delivers: add --compressor-flow \"100 scfm\"")
	}
	if f.err() == nil {
		for _, fault := range r.Faults() {
			f.faults = append(f.faults, errors.New(fault.Text.In(a.system())))
		}
	}
	return f.err()
}
