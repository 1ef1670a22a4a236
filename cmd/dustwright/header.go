package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"

	"dustwright/collector"
	"dustwright/report/data"
	"dustwright/report/plot"
	"dustwright/report/text"
	"dustwright/sense/trace"
	"dustwright/unit"
)

// headerCmd is dustwright header.
type headerCmd struct {
	output
	Trace     string `arg:"" name:"TRACE.csv" help:"The header-pressure trace, 20 readings a second or more: time_s,header[psi] and, where known, pulse. - reads standard input."`
	Collector string `arg:"" optional:"" name:"COLLECTOR.toml" help:"The collector's file."`
	Valves    int    `placeholder:"N" help:"Number of pulse valves, where there is no collector file."`
	Interval  string `placeholder:"TIME" help:"Time from one pulse to the next, such as 10s, where there is no collector file."`
	Plot      string `placeholder:"FILE.svg" help:"Draw the cycle valve by valve here."`
}

// Run answers.
func (h *headerCmd) Run(e *env) error {
	c, spec, err := h.machine()
	if err != nil {
		return err
	}
	tr, err := h.read(e)
	if err != nil {
		return err
	}
	r, err := trace.Analyse(tr, spec)
	if err != nil {
		return err
	}
	for _, n := range tr.Notes {
		r.Notes = append(r.Notes, collector.Say("%s", n))
	}
	if err := h.draw(c, &r); err != nil {
		return err
	}
	return e.emit(h.output, data.NewHeader(c, &r, cautionTexts(text.HeaderCautions(&r), h.system()), h.system()), func(w io.Writer, sys unit.System) error {
		return text.Header(w, sys, c, &r)
	})
}

// machine is what is known of the collector: its file, or the two flags.
func (h *headerCmd) machine() (*collector.Collector, trace.Spec, error) {
	var f flags
	nan := math.NaN()
	spec := trace.Spec{Interval: unit.Seconds(nan), Volume: unit.Volume(nan), ValveFlow: unit.Conductance(nan), OnTime: unit.Seconds(nan),
		Set: unit.Pressure(nan), SupplyFlow: unit.StdFlow(nan)}
	var c *collector.Collector
	if h.Collector != "" {
		var err error
		if c, err = collector.Load(h.Collector); err != nil {
			return nil, spec, err
		}
		spec = trace.SpecOf(c)
	}
	if h.Valves != 0 {
		spec.Valves, spec.Order = h.Valves, nil
	}
	if h.Valves < 0 || h.Valves > 255 {
		f.fault("--valves: a collector has 1 to 255 pulse valves, not %d", h.Valves)
	}
	if h.Interval != "" {
		if spec.Interval = unit.Seconds(f.quantity("--interval", unit.KindSeconds, h.Interval)); spec.Interval <= 0 {
			f.fault("--interval must be above zero, such as 10s")
		}
	}
	return c, spec, f.err()
}

// read reads the trace.
func (h *headerCmd) read(e *env) (*trace.Trace, error) {
	if h.Trace == "-" {
		return trace.Read(e.stdin, "standard input")
	}
	return trace.Load(h.Trace)
}

// draw writes the plot, whole or not at all.
func (h *headerCmd) draw(c *collector.Collector, r *trace.Result) error {
	if h.Plot == "" {
		return nil
	}
	if !strings.HasSuffix(h.Plot, ".svg") {
		return errors.New("--plot draws SVG: give a name that ends in .svg")
	}
	title := ""
	if c != nil {
		title = c.Tag
	}
	var b strings.Builder
	if err := plot.Header(&b, h.system(), title, r); err != nil {
		return err
	}
	if err := os.WriteFile(h.Plot, []byte(b.String()), 0o644); err != nil {
		return fmt.Errorf("the plot cannot be written: %w", err)
	}
	return nil
}
