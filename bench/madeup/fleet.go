// Package madeup makes fleets of collectors for the measurements: a few histories of the simulation, entered again and
// again under other tags.
package madeup

import (
	"context"
	_ "embed"
	"fmt"
	"strings"
	"time"

	"dustwright/collector"
	"dustwright/plant"
	"dustwright/rehearse"
	"dustwright/sense"
)

// File is the collector of which a fleet is made as a rule.
//
//go:embed collector.toml
var File string

// kinds is how many different histories a fleet has.
const kinds = 4

// Fleet says what is made up: how many collectors with how many days of history, a row a minute.
type Fleet struct {
	File             string // the collector of which it is made
	Collectors, Days int
	Channels         string    // of each log, with commas between
	End              time.Time // of the logs
}

// Tag is the tag of the fleet's collector i, counted from 0.
func Tag(i int) string { return fmt.Sprintf("B-%04d", i) }

// Keep takes the log of a collector that is in the books.
type Keep func(ctx context.Context, tag string, log *sense.Series) error

// Build enters the fleet into the books of service and hands the logs to keep.
func (f Fleet) Build(ctx context.Context, service *plant.Service, keep Keep) error {
	var logs [kinds]*sense.Series
	for i := range f.Collectors {
		log := &logs[i%kinds]
		if *log == nil {
			var err error
			if *log, err = f.log(ctx, uint64(i)); err != nil {
				return err
			}
		}
		if err := f.enrol(ctx, service, Tag(i)); err != nil {
			return err
		}
		if err := keep(ctx, Tag(i), *log); err != nil {
			return err
		}
	}
	return nil
}

// One enters one more collector under a tag, with a history unlike the fleet's.
func (f Fleet) One(ctx context.Context, service *plant.Service, tag string, keep Keep) error {
	log, err := f.log(ctx, kinds)
	if err != nil {
		return err
	}
	if err := f.enrol(ctx, service, tag); err != nil {
		return err
	}
	return keep(ctx, tag, log)
}

// enrol takes the collector into the books under another tag.
func (f Fleet) enrol(ctx context.Context, service *plant.Service, tag string) error {
	c, err := collector.Parse("collector file", []byte(f.File))
	if err != nil {
		return err
	}
	_, err = service.Enrol(ctx, []byte(strings.Replace(f.File, `"`+c.Tag+`"`, `"`+tag+`"`, 1)), "bench", plant.NewID())
	return err
}

// log simulates one log.
func (f Fleet) log(ctx context.Context, seed uint64) (*sense.Series, error) {
	c, err := collector.Parse("collector file", []byte(f.File))
	if err != nil {
		return nil, err
	}
	opts := rehearse.NewOptions(c)
	opts.Seed, opts.Spread, opts.Keep, opts.ChangeAtLimit = seed, 1, true, true
	opts.Length = time.Duration(f.Days) * 24 * time.Hour
	opts.Start = f.End.Truncate(time.Hour).Add(-opts.Length)
	var wanted []rehearse.Channel
	for name := range strings.SplitSeq(f.Channels, ",") {
		ch, ok := rehearse.ParseChannel(name)
		if !ok {
			return nil, fmt.Errorf("there is no channel %q", name)
		}
		wanted = append(wanted, ch)
	}
	opts.Channels = rehearse.Wired(c, wanted)
	res, err := rehearse.Run(ctx, c, opts)
	if err != nil {
		return nil, err
	}
	return &sense.Series{Time: res.Series.Time, Zone: time.UTC, Col: res.Series.Col}, nil
}
