package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"os"

	"dustwright/collector"
	"dustwright/feed/sound"
	"dustwright/report/data"
	"dustwright/report/plot"
	"dustwright/report/text"
	"dustwright/sense/ear"
	"dustwright/unit"
)

// listenCmd is dustwright listen.
type listenCmd struct {
	output
	Clip      string `arg:"" name:"CLIP" help:"The recording: WAV, FLAC, MP3 or Ogg Vorbis, of at least one whole cleaning cycle."`
	Collector string `arg:"" optional:"" name:"COLLECTOR.toml" help:"The collector's file; without it give --valves."`
	Valves    int    `placeholder:"N" help:"Pulse valves in a cycle, where there is no collector file."`
	Interval  string `placeholder:"TIME" help:"Time from one pulse to the next, such as \"10 s\"; without it it is found from the sound."`
	Plot      string `placeholder:"FILE.svg" help:"Draw the cycle valve by valve here."`
}

// Run answers.
func (l *listenCmd) Run(e *env) error {
	spec, c, err := l.spec()
	if err != nil {
		return err
	}
	f, err := os.Open(l.Clip)
	if err != nil {
		return fmt.Errorf("%s: the recording cannot be opened; check the name and the folder", l.Clip)
	}
	defer f.Close() // read only
	clip, err := sound.Read(f, l.Clip)
	if err != nil {
		return err
	}
	r, err := ear.Analyse(clip.Samples, clip.Rate, spec)
	if err != nil {
		if clip.Cut {
			err = fmt.Errorf("%w (the file was cut off; only %.0f s of it could be read)", err, clip.Seconds())
		}
		return fmt.Errorf("%s: %w", l.Clip, err)
	}
	if clip.Cut {
		r.Notes = append(r.Notes, fmt.Sprintf("the file was cut off; %.0f s of it could be read", clip.Seconds()))
	}
	if l.Plot != "" {
		title := ""
		if c != nil {
			title = c.Tag
		}
		var b bytes.Buffer
		if err := plot.Listen(&b, title, r); err != nil {
			return fmt.Errorf("the drawing cannot be made: %w", err)
		}
		if err := os.WriteFile(l.Plot, b.Bytes(), 0o644); err != nil {
			return fmt.Errorf("the drawing cannot be written: %w", err)
		}
	}
	return e.emit(l.output, data.NewListen(c, r, cautionTexts(text.ListenCautions(r), l.system())), func(w io.Writer, sys unit.System) error {
		return text.Listen(w, sys, c, r)
	})
}

// spec is what is known of the cycle, from the collector's file and the flags; flags count more.
func (l *listenCmd) spec() (ear.Spec, *collector.Collector, error) {
	s := ear.Spec{Valves: l.Valves, Interval: math.NaN()}
	var c *collector.Collector
	if l.Collector != "" {
		var err error
		if c, err = collector.Load(l.Collector); err != nil {
			return s, nil, err
		}
		if s.Valves == 0 {
			s.Valves = c.Filters.Rows
		}
		s.Interval, s.Order = float64(c.Header.Interval), c.FiringOrder()
	}
	var f flags
	if l.Interval != "" {
		s.Interval = f.quantity("--interval", unit.KindSeconds, l.Interval)
	}
	switch {
	case s.Valves < 0 || s.Valves > 200:
		f.fault("--valves: a cycle has from 1 to 200 valves; %d was given", s.Valves)
	case s.Valves == 0:
		return s, c, errors.Join(f.err(), errors.New("how many valves fire in a cycle is not known: give the collector's file, or --valves 6"))
	case s.Interval <= 0:
		f.fault("--interval: the time between pulses is above zero; write for example \"10 s\"")
	}
	return s, c, f.err()
}
