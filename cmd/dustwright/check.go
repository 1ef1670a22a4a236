package main

import (
	"io"

	"dustwright/collector"
	"dustwright/report/data"
	"dustwright/report/text"
	"dustwright/unit"
)

// checkCmd is dustwright check.
type checkCmd struct {
	output
	Collector string `arg:"" name:"COLLECTOR.toml" help:"The collector's file."`
}

// Run answers.
func (k *checkCmd) Run(e *env) error {
	c, err := collector.Load(k.Collector)
	if err != nil {
		return err
	}
	found, answers := c.Check(), c.Answers()
	return e.emit(k.output, data.NewCheck(c, found, answers, k.system()), func(w io.Writer, sys unit.System) error {
		return text.Check(w, sys, c, found, answers)
	})
}
