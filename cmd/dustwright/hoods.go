package main

import (
	"io"
	"strings"

	"dustwright/collector"
	"dustwright/report/data"
	"dustwright/report/text"
	"dustwright/unit"
)

// hoodsCmd is dustwright hoods.
type hoodsCmd struct {
	output
	airFlags
	Collector string   `arg:"" name:"COLLECTOR.toml" help:"The collector's file."`
	Read      []string `sep:"none" placeholder:"BRANCH=SP" help:"Static pressure read with a manometer behind the hood of this branch, such as \"table, zone 1=-1.2 in.w.g.\"; may stand several times. Without any the sheet to fill in is printed."`
}

// Run answers.
func (h *hoodsCmd) Run(e *env) error {
	c, err := collector.Load(h.Collector)
	if err != nil {
		return err
	}
	r, err := h.request(c)
	if err != nil {
		return err
	}
	answer, err := c.Hoods(r)
	if err != nil {
		return err
	}
	return e.emit(h.output, data.NewHoods(c, answer, h.system()), func(w io.Writer, sys unit.System) error {
		return text.Hoods(w, sys, c, answer)
	})
}

// request brings the flags into the question.
func (h *hoodsCmd) request(c *collector.Collector) (collector.HoodRequest, error) {
	var f flags
	r := collector.NewHoodRequest()
	for _, arg := range h.Read {
		cut := strings.LastIndexByte(arg, '=') // a name may hold one too
		if cut < 1 {
			f.fault("--read %q names no branch and reading: write it like --read \"table, zone 1=-1.2 in.w.g.\"", arg)
			continue
		}
		name := strings.TrimSpace(arg[:cut])
		sp := f.quantity("--read "+name, unit.KindPressure, strings.TrimSpace(arg[cut+1:]))
		if strings.TrimSpace(arg[cut+1:]) == "" {
			f.fault("--read %q has no reading: write it like --read \"table, zone 1=-1.2 in.w.g.\"", arg)
		}
		r.Readings = append(r.Readings, collector.HoodReading{Name: name, SP: unit.Pressure(sp)})
	}
	r.Air, r.AirGiven = h.state(&f, c)
	return r, f.err()
}
