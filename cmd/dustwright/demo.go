package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"time"

	"dustwright/cmd/dustwright/scenario"
	"dustwright/plant"
	"dustwright/rehearse"
	"dustwright/report/text"
	"dustwright/unit"
)

// demoCmd is dustwright demo.
type demoCmd struct {
	output
	Folder string `default:"demo" placeholder:"FOLDER" help:"Where the invented plant is kept."`
	Print  bool   `help:"Judge the plant on paper instead of serving its pages, and write a collector file and a log for each collector into FOLDER. --json does it too."`
	httpsFlags
}

// Run shows the plant: in pages until Ctrl-C, or on paper.
func (d *demoCmd) Run(e *env) error {
	if err := d.check(); err != nil {
		return err
	}
	if err := os.MkdirAll(d.Folder, 0o755); err != nil {
		return fmt.Errorf("the demo's folder cannot be made: %w", err)
	}
	if d.Print || d.JSON {
		return d.paper(e)
	}
	return d.pages(e)
}

// paper writes the plant, judges it and prints it, worst first.
func (d *demoCmd) paper(e *env) error {
	end := seasonEnd(e.now())
	var list []*plant.Judgement
	for _, m := range scenario.Plant() {
		j, err := d.machine(e, m, end)
		if err != nil {
			return err
		}
		list = append(list, j)
	}
	sort.SliceStable(list, func(a, b int) bool { return plant.Worse(list[a], list[b]) })
	return e.emit(d.output, list, func(w io.Writer, sys unit.System) error {
		if err := text.Plant(w, sys, list); err != nil {
			return err
		}
		_, err := fmt.Fprintf(w, "\nThe plant is invented; its files are in %s. Judge one yourself, or see its pages:\n  dustwright judge %s %s\n  dustwright demo\n", d.Folder,
			filepath.Join(d.Folder, "dc-3.toml"), filepath.Join(d.Folder, "dc-3.csv"))
		return err
	})
}

// seasonEnd is when the demo's season ends: three in the afternoon of the last working day gone by.
func seasonEnd(now time.Time) time.Time {
	y, m, d := now.Date()
	end := time.Date(y, m, d, 15, 0, 0, 0, now.Location())
	for end.After(now) || end.Weekday() == time.Saturday || end.Weekday() == time.Sunday {
		end = end.AddDate(0, 0, -1)
	}
	return end
}

// machine simulates one collector into the folder and judges it from what was written.
func (d *demoCmd) machine(e *env, m scenario.Machine, end time.Time) (*plant.Judgement, error) {
	fmt.Fprintln(e.stderr, "simulating a season: "+m.Story)
	base := filepath.Join(d.Folder, m.Base())
	if err := os.WriteFile(base+".toml", []byte(m.TOML), 0o644); err != nil {
		return nil, fmt.Errorf("the demo's collector file cannot be written: %w", err)
	}
	res, err := writeSeason(e, m, end, base+".csv", d.system())
	if err != nil {
		return nil, err
	}
	var truth strings.Builder
	if err := res.WriteTruth(&truth); err != nil {
		return nil, fmt.Errorf("the demo's truth cannot be written: %w", err)
	}
	if err := os.WriteFile(base+".truth.json", []byte(truth.String()), 0o644); err != nil {
		return nil, fmt.Errorf("the demo's truth cannot be written: %w", err)
	}
	c, err := m.Collector()
	if err != nil {
		return nil, err
	}
	rec, err := readHistory(e, c, []string{base + ".csv"}, source{})
	if err != nil {
		return nil, err
	}
	return plant.Judge(plant.JudgeInput{Collector: c, History: rec.history, Zone: rec.zone}), nil
}

// writeSeason simulates one collector's season into a log.
func writeSeason(e *env, m scenario.Machine, end time.Time, path string, sys unit.System) (res *rehearse.Result, err error) {
	f, err := os.Create(path)
	if err != nil {
		return nil, fmt.Errorf("the demo's log cannot be written: %w", err)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	buf := bufio.NewWriterSize(f, 1<<16)
	csv, err := rehearse.NewCSV(buf, m.Wired(), sys, end.Location())
	if err != nil {
		return nil, err
	}
	if res, err = m.Run(e.ctx, end, csv); err != nil {
		return nil, err
	}
	if err := buf.Flush(); err != nil {
		return nil, fmt.Errorf("the demo's log cannot be written: %w", err)
	}
	return res, nil
}
