package main

import (
	"context"
	"fmt"
	"os"
	"time"

	"dustwright/bench/madeup"
	"dustwright/plant"
	"dustwright/sense"
	"dustwright/store"
)

// quiet is how long ago the fleet's readings end, so that a kept folder can be given new hours again and again.
const quiet = 30 * 24 * time.Hour

// build keeps the fleet's readings, and a year of one more collector, and judges nothing.
func build(ctx context.Context, s *store.Store, service *plant.Service, o options) error {
	list, err := s.Collectors(ctx)
	if err != nil || len(list) == o.fleet+1 {
		return err
	}
	if len(list) > 0 {
		return fmt.Errorf("%s holds %d collectors, not the %d of this run and the one of a year; give another folder", o.dir, len(list), o.fleet)
	}
	fleet := madeup.Fleet{File: madeup.File, Collectors: o.fleet, Days: o.days, Channels: o.channels, End: time.Now().Add(-quiet)}
	if o.file != "" {
		text, err := os.ReadFile(o.file)
		if err != nil {
			return err
		}
		fleet.File = string(text)
	}
	keep := func(ctx context.Context, tag string, log *sense.Series) error {
		_, err := s.AddSeries(ctx, tag, log)
		return err
	}
	began := time.Now()
	if err := fleet.Build(ctx, service, keep); err != nil {
		return err
	}
	fleet.Days = 365
	if err := fleet.One(ctx, service, yearTag, keep); err != nil {
		return err
	}
	fmt.Printf("built %d collectors of %d days and one of 365 in %.0f s\n", o.fleet, o.days, time.Since(began).Seconds())
	return nil
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
