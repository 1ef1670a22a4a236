// Package feed brings readings in from what a plant has: logs as CSV, gzip and spreadsheets, in the
// wide format of the tool or, through a saved column mapping, as any logger writes them. It turns
// bytes into SI readings and says, with file, line and column, what it could not read; it judges
// nothing. Several logs of one collector are one history. Formats: docs/logs.md.
package feed

import (
	"context"
	"strings"
	"time"

	"dustwright/sense"
)

// Options say how logs are read. The zero value reads the tool's own format.
type Options struct {
	Mapping *Mapping
	// Zone is the zone of times without an offset, and the one in which the series is shown. nil: this
	// computer's for the former, the log's own for the latter.
	Zone *time.Location
	// Progress is told the bytes read so far and those there are in all files; total is 0 where that is
	// not known. It is called from the goroutine that called Read.
	Progress func(done, total int64)
	MaxLine  int // longest line [bytes]; 0: 1 MiB
	Faults   int // unreadable cells kept in the report, the others are only counted; 0: 100
	Workers  int // goroutines that parse; 0: one per processor
}

const (
	defaultMaxLine = 1 << 20
	defaultFaults  = 100
)

func (o *Options) maxLine() int {
	if o.MaxLine > 0 {
		return o.MaxLine
	}
	return defaultMaxLine
}

func (o *Options) keep() int {
	if o.Faults > 0 {
		return o.Faults
	}
	return defaultFaults
}

// Read reads the logs of one collector into one series, in SI and in order of time. Rows with the same
// time become one: for each channel the last reading counts, and a later file in paths counts as
// later. A cell that can't be read is NaN in the series and a Fault in the report; a file that can't
// be understood at all is an *Error, and then there is no series. Cancelling ctx ends the reading
// with an error that wraps ctx's. Memory: the series, and a few blocks of the file.
func Read(ctx context.Context, paths []string, opts Options) (*sense.Series, *Report, error) {
	r := newReading(paths, &opts)
	t := &table{}
	for _, path := range paths {
		if err := r.file(ctx, path, &wholeFile{r: r, t: t}); err != nil {
			return nil, r.report, err
		}
	}
	if len(paths) == 0 {
		return nil, r.report, &Error{File: "no log", Why: "none was named", Do: "give one or more CSV or .xlsx files"}
	}
	s := r.finish(t)
	return s, r.report, nil
}

// finish turns the table of all files into the series.
func (r *reading) finish(t *table) *sense.Series {
	t.settle(r.report)
	s := t.series()
	s.Zone, s.Source = r.seriesZone(), strings.Join(r.paths, ", ")
	r.report.Rows = s.Len()
	return s
}

// wholeFile is the sink that gathers a file's rows into the table of all files.
type wholeFile struct {
	r    *reading
	t    *table
	from int
	sum  fileSum
}

func (w *wholeFile) begin(lay *layout, rows int) error {
	w.from, w.sum = len(w.t.times), fileSum{}
	w.t.reserve(lay, rows)
	return nil
}

func (w *wholeFile) take(lay *layout, b *batch) error {
	w.t.add(lay, b)
	w.sum.add(b)
	return nil
}

func (w *wholeFile) end(lay *layout) error {
	if err := w.r.noRows(lay, &w.sum); err != nil {
		return err
	}
	if lay.counted {
		if err := w.r.countRows(w.t.times[w.from:], lay); err != nil {
			return err
		}
	}
	if err := w.t.settleTimes(w.from, lay, w.sum.marks, w.r.report); err != nil {
		return err
	}
	times := w.t.times[w.from:]
	w.r.tellOrderOfRows(times, lay)
	w.sum.first, w.sum.last = span(times)
	w.r.tellFile(lay, &w.sum)
	return nil
}
