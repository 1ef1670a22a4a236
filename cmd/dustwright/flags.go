package main

import (
	"errors"
	"fmt"
	"math"

	"dustwright/air"
	"dustwright/collector"
	"dustwright/unit"
)

// flags reads quantities out of flags and keeps every fault, so that all are told at once.
type flags struct{ faults []error }

// fault notes what is wrong.
func (f *flags) fault(format string, args ...any) {
	f.faults = append(f.faults, fmt.Errorf(format, args...))
}

// err is all faults, nil if there are none.
func (f *flags) err() error { return errors.Join(f.faults...) }

// quantity reads one flag's value; NaN for an empty or a faulty one.
func (f *flags) quantity(name string, kind unit.Kind, value string) float64 {
	if value == "" {
		return math.NaN()
	}
	v, err := unit.Parse(kind, value)
	if err != nil {
		f.fault("%s: %w", name, err)
		return math.NaN()
	}
	return v
}

// airFlags describe the air at the fan.
type airFlags struct {
	Temperature string `placeholder:"T" help:"Temperature of the air, such as \"95 degF\"; without it 20 degC."`
	Humidity    string `placeholder:"RH" help:"Relative humidity of the air, such as \"60 %\"; without it 50 %."`
	Barometer   string `placeholder:"P" help:"Barometric pressure at the place, such as \"29.2 inHg\"; without it that of the standard atmosphere at the file's elevation."`
}

// gateFlags say which gates are shut.
type gateFlags struct {
	Shut []string `sep:"none" placeholder:"BRANCH" help:"The gate of this branch is shut, such as --shut \"table, zone 1\"; may stand several times."`
}

// state is the air the flags describe; given says whether any was.
func (a airFlags) state(f *flags, c *collector.Collector) (s air.State, given bool) {
	s = c.SiteAir(unit.Temperature(f.quantity("--temperature", unit.KindTemperature, a.Temperature)),
		unit.Share(f.quantity("--humidity", unit.KindShare, a.Humidity)))
	if a.Barometer != "" {
		s.P = unit.AbsPressure(f.quantity("--barometer", unit.KindAbsPressure, a.Barometer))
	}
	given = a.Temperature != "" || a.Humidity != "" || a.Barometer != ""
	if given && len(f.faults) == 0 && !(s.Density() > 0) {
		f.fault("--temperature, --humidity and --barometer do not describe air that can be; write them like \"95 degF\", \"60 %%\" and \"29.2 inHg\"")
	}
	return s, given
}
