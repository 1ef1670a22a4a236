package main

import (
	"context"
	"fmt"
	"os"
	"strings"
	"time"

	"dustwright/collector"
	"dustwright/plant"
	"dustwright/rehearse"
	"dustwright/sense"
	"dustwright/store"
)

// kinds is how many different histories the fleet has.
const kinds = 4

func tagOf(i int) string { return fmt.Sprintf("B-%04d", i) }

// build keeps the fleet's readings and judges nothing: a few histories of the simulation, entered again and again
// under other tags, and a year of one more collector.
func build(ctx context.Context, s *store.Store, service *plant.Service, o options) error {
	list, err := s.Collectors(ctx)
	if err != nil || len(list) == o.fleet+1 {
		return err
	}
	if len(list) > 0 {
		return fmt.Errorf("%s holds %d collectors, not the %d of this run and the one of a year; give another folder", o.dir, len(list), o.fleet)
	}
	text, err := os.ReadFile(o.file)
	if err != nil {
		return err
	}
	c, err := collector.Parse(o.file, text)
	if err != nil {
		return err
	}
	enter := func(tag string, log *sense.Series) error {
		own := strings.Replace(string(text), `"`+c.Tag+`"`, `"`+tag+`"`, 1)
		if _, err := service.Enrol(ctx, []byte(own), "bench", plant.NewID()); err != nil {
			return err
		}
		_, err := s.AddSeries(ctx, tag, log)
		return err
	}
	began := time.Now()
	var logs [kinds]*sense.Series
	for i := range o.fleet {
		log := &logs[i%kinds]
		if *log == nil {
			if *log, err = history(ctx, c, recording{o.channels, o.days, uint64(i)}); err != nil {
				return err
			}
		}
		if err := enter(tagOf(i), *log); err != nil {
			return err
		}
	}
	long, err := history(ctx, c, recording{o.channels, 365, kinds})
	if err != nil {
		return err
	}
	if err := enter(yearTag, long); err != nil {
		return err
	}
	fmt.Printf("built %d collectors of %d days and one of 365 in %.0f s\n", o.fleet, o.days, time.Since(began).Seconds())
	return nil
}

// recording says what is logged, and how long.
type recording struct {
	channels string
	days     int
	seed     uint64
}

// quiet is how long ago the fleet's readings end, so that a kept folder can be given new hours again and again.
const quiet = 30 * 24 * time.Hour

// history simulates one log.
func history(ctx context.Context, c *collector.Collector, r recording) (*sense.Series, error) {
	opts := rehearse.NewOptions(c)
	opts.Seed, opts.Spread, opts.Keep, opts.ChangeAtLimit = r.seed, 1, true, true
	opts.Length = time.Duration(r.days) * 24 * time.Hour
	opts.Start = time.Now().Truncate(time.Hour).Add(-quiet - opts.Length)
	var wanted []rehearse.Channel
	for name := range strings.SplitSeq(r.channels, ",") {
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

// hour is an hour of new readings.
type hour struct{ series *sense.Series }

func (h hour) hand(take func(*sense.Series) error) error { return take(h.series) }

// nextHour makes the hour that follows a collector's last reading: the readings of its last hour again.
func nextHour(ctx context.Context, s *store.Store, tag string) (hour, error) {
	was, err := s.Conclusion(ctx, tag)
	if err != nil {
		return hour{}, err
	}
	end := time.Unix(0, was.UpTo+1)
	series, err := s.Series(ctx, tag, end.Add(-time.Hour), end)
	if err != nil {
		return hour{}, err
	}
	for i := range series.Time {
		series.Time[i] += int64(time.Hour)
	}
	series.Zone = time.UTC
	return hour{series}, nil
}
