package main

import (
	"errors"
	"fmt"
	"os"

	"dustwright/collector"
	"dustwright/feed"
	"dustwright/plant"
	"dustwright/report/text"
	"dustwright/sense"
)

// importCmd is dustwright import.
type importCmd struct {
	Data      string   `default:"plant" placeholder:"FOLDER" help:"The data folder. It is made where there is none."`
	Collector string   `placeholder:"FILE.toml" help:"A collector file: it is taken into the books, or renews the one that is there."`
	Tag       string   `placeholder:"TAG" help:"Which collector the logs are of; without it the one of --collector, or the only one there is."`
	Mapping   string   `placeholder:"FILE" help:"Column mapping for logs that are spelled another way (docs/logs.md). It is kept with the collector and used again next time."`
	By        string   `default:"import" placeholder:"NAME" help:"Who stands on record for it."`
	Units     string   `enum:"us,si" default:"us" help:"Units of sentences: us or si."`
	Logs      []string `arg:"" optional:"" name:"LOG" help:"Logs: CSV or XLSX, gzip accepted. Several are one history. The same log can be imported again."`
}

// Run imports.
func (c *importCmd) Run(e *env) error {
	p, err := openPlant(e, c.Data, output{Units: c.Units}.system())
	if err != nil {
		return err
	}
	return errors.Join(c.into(e, p), p.close())
}

// into takes file and logs into an open plant.
func (c *importCmd) into(e *env, p *openedPlant) error {
	if c.Collector == "" && len(c.Logs) == 0 {
		return errors.New("nothing to import: name a collector file with --collector, or logs, or both")
	}
	if c.Collector != "" {
		if err := c.enrol(e, p); err != nil {
			return err
		}
	}
	if len(c.Logs) == 0 {
		return nil
	}
	tag, err := c.whose(e, p)
	if err != nil {
		return err
	}
	return c.logs(e, p, tag)
}

// enrol takes the collector file in; the same file again changes nothing.
func (c *importCmd) enrol(e *env, p *openedPlant) error {
	data, err := os.ReadFile(c.Collector)
	if err != nil {
		return fmt.Errorf("the collector file cannot be read: %w", err)
	}
	machine, err := collector.Parse(c.Collector, data)
	if err != nil {
		return err
	}
	if c.Tag != "" && c.Tag != machine.Tag {
		return fmt.Errorf("--tag %s: %s is the file of %s", c.Tag, c.Collector, machine.Tag)
	}
	c.Tag = machine.Tag
	if known, _, err := p.service.Machine(e.ctx, machine.Tag); err == nil && known.TOML == string(data) {
		return nil
	}
	if _, err := p.service.Enrol(e.ctx, data, c.By, plant.NewID()); err != nil {
		return err
	}
	fmt.Fprintf(e.stdout, "%s is in the books.\n", machine.Tag)
	return nil
}

// whose finds the collector the logs are of.
func (c *importCmd) whose(e *env, p *openedPlant) (string, error) {
	if c.Tag != "" {
		return c.Tag, nil
	}
	list, err := p.store.Collectors(e.ctx)
	switch {
	case err != nil:
		return "", err
	case len(list) == 1:
		return list[0].Tag, nil
	case len(list) == 0:
		return "", errors.New("there is no collector in the books yet: give its file with --collector")
	}
	return "", fmt.Errorf("there are %d collectors in the books: say with --tag which one the logs are of", len(list))
}

// logs imports the logs of a collector and says how it stands.
func (c *importCmd) logs(e *env, p *openedPlant, tag string) error {
	opts := feed.Options{Progress: e.progress()}
	if err := c.mapping(e, p, tag, &opts); err != nil {
		return err
	}
	var report *feed.Report
	added, j, err := p.service.Import(e.ctx, tag, func(take func(*sense.Series) error) error {
		var err error
		report, err = feed.Stream(e.ctx, c.Logs, opts, func() func(*sense.Series) error { return take })
		return err
	})
	if report != nil {
		for _, line := range report.Sentences(faultsShown) {
			fmt.Fprintln(e.stderr, line)
		}
	}
	if err != nil {
		return err
	}
	fmt.Fprintf(e.stdout, "%s: %d rows read, %d new readings kept.\n", tag, report.Rows, added)
	return text.Judgement(e.stdout, output{Units: c.Units}.system(), j)
}

// mapping takes the column mapping given, or the one kept from last time.
func (c *importCmd) mapping(e *env, p *openedPlant, tag string, opts *feed.Options) error {
	if c.Mapping != "" {
		m, err := feed.LoadMapping(c.Mapping)
		if err != nil {
			return err
		}
		opts.Mapping = m
		return p.store.PutMapping(e.ctx, tag, m.Text())
	}
	kept, err := p.store.Mapping(e.ctx, tag)
	if err != nil || kept == "" {
		return err
	}
	opts.Mapping, err = feed.ParseMapping("the mapping kept for "+tag, []byte(kept))
	return err
}
