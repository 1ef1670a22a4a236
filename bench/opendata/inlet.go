package main

import (
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"time"

	"dustwright/collector"
	"dustwright/feed"
	"dustwright/sense"
)

// bench knows where the data and their column mappings are.
type bench struct {
	data, mappings string
	forecasts      bool // some ten seconds
}

// inletYears are the files of the inlet filter in order, and inletNotes the renewals that the
// data's README lists, as year and data row counted from 1. Source: the README of
// gas-turbine-inlet-filter, "our own reading of the shared years".
var (
	inletYears = []int{2011, 2012, 2013}
	inletNotes = []place{{2011, 2176}, {2012, 2641}, {2012, 6666}, {2013, 5635}}
)

// place is a data row of a year.
type place struct{ year, row int }

// inlet is what sense finds in the inlet filter's record.
type inlet struct {
	rows     []int // data rows of each year
	history  *sense.History
	c        *collector.Collector
	features *sense.Features
	renewals []sense.Change
	places   []place
}

// inletCollector is the filter as far as it is known: never pulsed, flow in a unit of its own.
func inletCollector() *collector.Collector {
	c := collector.New()
	c.Tag = "inlet filter"
	c.Duty.RunPerWeek = week * 3600
	c.Duty.Flow = 1 // the log's flow index has no unit: everything is carried to its median
	c.Filters.Rows, c.Filters.PerRow, c.Filters.AreaEach = 1, 1, 1
	c.Cleaning.Mode = collector.None
	return c
}

// readInlet reads the three years as they are, through their mapping.
func (b bench) readInlet(ctx context.Context) (*inlet, error) {
	folder := filepath.Join(b.data, "gas-turbine-inlet-filter")
	m, err := feed.LoadMapping(filepath.Join(b.mappings, "gas-turbine-inlet-filter.toml"))
	if err != nil {
		return nil, err
	}
	in := &inlet{}
	var paths []string
	for _, y := range inletYears {
		path := filepath.Join(folder, fmt.Sprintf("gt_%d.csv", y))
		s, _, err := feed.Read(ctx, []string{path}, feed.Options{Mapping: m})
		if err != nil {
			return nil, err
		}
		in.rows = append(in.rows, s.Len())
		paths = append(paths, path)
	}
	s, report, err := feed.Read(ctx, paths, feed.Options{Mapping: m})
	if err != nil {
		return nil, err
	}
	for _, line := range report.Sentences(3) {
		fmt.Fprintln(os.Stderr, line)
	}
	c := inletCollector()
	r := sense.NewReducer(c)
	r.Add(s)
	in.history, in.c = r.History(), c
	in.features = sense.At(in.history, c, time.Time{})
	for _, ch := range in.features.Changes {
		if ch.Kind == sense.FilterChange {
			in.renewals = append(in.renewals, ch)
			in.places = append(in.places, in.place(s, ch.At))
		}
	}
	return in, nil
}

// place finds the data row of a time.
func (in *inlet) place(s *sense.Series, t time.Time) place {
	row, _ := slices.BinarySearch(s.Time, t.UnixNano())
	for i, n := range in.rows {
		if row < n {
			return place{inletYears[i], row + 1}
		}
		row -= n
	}
	return place{}
}

// nearest returns the note nearest to a place in the same year, and how many rows off it is.
func (p place) nearest(notes []place) (place, int, bool) {
	best, off, ok := place{}, math.MaxInt, false
	for _, n := range notes {
		if d := p.row - n.row; n.year == p.year && abs(d) < abs(off) {
			best, off, ok = n, d, true
		}
	}
	return best, off, ok
}

func abs(i int) int { return max(i, -i) }

// printInlet prints renewals and forecasts.
func (b bench) printInlet(ctx context.Context, w io.Writer) error {
	in, err := b.readInlet(ctx)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "Inlet filter, %d operating hours, never pulsed\n\n", sum(in.rows))
	fmt.Fprintln(w, "Renewals found      dP at one flow and density      noted in the README   rows off")
	for i, ch := range in.renewals {
		note, off, ok := in.places[i].nearest(inletNotes)
		noted := "not noted"
		if ok {
			noted = fmt.Sprintf("%d row %d", note.year, note.row)
		}
		fmt.Fprintf(w, "  %d row %-5d     %5.0f Pa to %4.0f Pa (%.2f)        %-18s %8d\n", in.places[i].year, in.places[i].row,
			ch.Before, ch.After, ch.After/ch.Before, noted, off)
	}
	fmt.Fprintf(w, "  %d found, %d noted\n\n", len(in.renewals), len(inletNotes))
	if b.forecasts {
		in.printForecasts(w)
	}
	return nil
}

// printForecasts prints naive forecasts and ours.
func (in *inlet) printForecasts(w io.Writer) {
	fmt.Fprintln(w, "Forecast of the weekly median of the reduced dP, mean relative error")
	fmt.Fprintln(w, "  weeks ahead   forecasts   last week stays   line through 4 weeks   line through 8 weeks   as of then, by life")
	ahead := []int{4, 8}
	own := ours(in.history, in.c, in.features.Lives, ahead)
	for i, a := range ahead {
		n := naive(in.features.Lives, a)
		fmt.Fprintf(w, "  %11d   %9d   %13.1f %%   %18.1f %%   %18.1f %%   %17.1f %%\n", a, n.count, 100*n.stays, 100*n.line4, 100*n.line8, 100*own[i])
	}
	fmt.Fprintln(w)
}

func sum(v []int) (s int) {
	for _, x := range v {
		s += x
	}
	return s
}
