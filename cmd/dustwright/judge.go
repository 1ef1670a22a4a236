package main

import (
	"cmp"
	"fmt"
	"io"
	"os"
	"slices"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"

	"dustwright/collector"
	"dustwright/feed"
	"dustwright/judge"
	"dustwright/life"
	"dustwright/plant"
	"dustwright/report/text"
	"dustwright/sense"
	"dustwright/unit"
)

// judgeCmd is dustwright judge.
type judgeCmd struct {
	output
	Collector string   `arg:"" name:"COLLECTOR.toml" help:"The collector's file. Or all of a plant, worst first: a folder of such files with their logs beside them, or a data folder that serve, import or demo keeps, which is only read, also while it is being served."`
	Logs      []string `arg:"" optional:"" name:"LOG" help:"Its logs: CSV or XLSX, gzip accepted. Several are one history."`
	At        string   `placeholder:"TIME" help:"Judge as of this time, such as 2026-06-11T10:32:00-06:00 or 2026-06-11; without it as of the last reading."`
	Mapping   string   `placeholder:"FILE" help:"Column mapping for logs that are spelled another way (docs/logs.md)."`

	Experience string `placeholder:"FILE" help:"What the plant knows better than the lists of causes and checks (docs/experience.md); a folder's own experience.toml is read without it."`
}

// Run answers.
func (j *judgeCmd) Run(e *env) error {
	if info, err := os.Stat(j.Collector); err == nil && info.IsDir() {
		return j.plant(e)
	}
	c, err := collector.Load(j.Collector)
	if err != nil {
		return err
	}
	if len(j.Logs) == 0 {
		return fmt.Errorf("no log given for %s; write dustwright judge %s LOG.csv", j.Collector, j.Collector)
	}
	known, err := j.experience("")
	if err != nil {
		return err
	}
	answer, _, err := j.answer(e, c, j.Logs, known, nil)
	if err != nil {
		return err
	}
	return e.emit(j.output, answer, func(w io.Writer, sys unit.System) error { return text.Judgement(w, sys, answer) })
}

// answer judges one collector from its logs, by the lives of its sisters' filters too, and returns those of its own that ended.
func (j *judgeCmd) answer(e *env, c *collector.Collector, logs []string, known judge.Experience, sisters []life.Record) (*plant.Judgement, []life.Record, error) {
	rec, err := readHistory(e, c, logs, source{mapping: j.Mapping, at: j.At})
	if err != nil {
		return nil, nil, err
	}
	at, err := moment(j.At, rec.zone)
	if err != nil {
		return nil, nil, err
	}
	answer, past := plant.JudgeAndPast(plant.JudgeInput{Collector: c, History: rec.history, At: at, Experience: known, Zone: rec.zone, Sisters: sisters})
	return answer, past, nil
}

// record is a collector's history read from logs.
type record struct {
	history *sense.History
	zone    *time.Location
}

// faultsShown is how many unreadable cells are told one by one.
const faultsShown = 10

// source says how logs are read.
type source struct {
	mapping string // file of a column mapping; "" none
	at      string // rows after this time are left out; "" none are
}

// readHistory reduces logs to a history, row by row as they are read. What could not be read goes to
// stderr as sentences; reading goes on. Rows after src.at are left out here and not later, since the
// hour that is running then is known row by row only while it is the last one.
func readHistory(e *env, c *collector.Collector, logs []string, src source) (record, error) {
	opts := feed.Options{Progress: e.progress()}
	if src.mapping != "" {
		m, err := feed.LoadMapping(src.mapping)
		if err != nil {
			return record{}, err
		}
		opts.Mapping = m
	}
	var reducer *sense.Reducer
	var first int64 // reading of all, whether left out or not
	rec := record{zone: time.UTC}
	report, err := feed.Stream(e.ctx, logs, opts, func() func(*sense.Series) error {
		reducer, first = sense.NewReducer(c), 0
		return func(s *sense.Series) error {
			if s.Zone != nil {
				rec.zone = s.Zone
			}
			at, err := moment(src.at, rec.zone)
			if err != nil {
				return err
			}
			if len(s.Time) > 0 && (first == 0 || s.Time[0] < first) {
				first = s.Time[0]
			}
			reducer.Add(until(s, at))
			return e.ctx.Err()
		}
	})
	if err != nil {
		return record{}, err
	}
	for _, line := range report.Sentences(faultsShown) {
		fmt.Fprintln(e.stderr, line)
	}
	rec.history = reducer.History()
	if rec.history.Rows == 0 && first != 0 {
		return record{}, fmt.Errorf("--at %s lies before the first reading, %s; choose a later time", src.at, time.Unix(0, first).In(rec.zone).Format(time.RFC3339))
	}
	if rec.history.Rows == 0 {
		return record{}, fmt.Errorf("%s: no row could be read; see docs/logs.md for how a log is laid out", logs[0])
	}
	return rec, nil
}

// until returns the rows of a series up to a time; a zero time leaves all of them.
func until(s *sense.Series, at time.Time) *sense.Series {
	if at.IsZero() {
		return s
	}
	n, _ := slices.BinarySearch(s.Time, at.UnixNano()+1)
	if n == len(s.Time) {
		return s
	}
	cut := *s
	cut.Time = s.Time[:n]
	for c, col := range s.Col {
		if col != nil {
			cut.Col[c] = col[:n]
		}
	}
	k, _ := slices.BinarySearchFunc(s.Pulses, int32(n), func(f sense.Firing, row int32) int { return cmp.Compare(f.Row, row) })
	cut.Pulses = s.Pulses[:k]
	return &cut
}

// progress draws a bar of bytes read on stderr when that is a terminal, and nothing otherwise.
func (e *env) progress() func(done, total int64) {
	return e.bar(progressbar.OptionSetDescription("reading"), progressbar.OptionShowBytes(true))
}

// bar draws a bar on stderr when that is a terminal; nil otherwise.
func (e *env) bar(looks ...progressbar.Option) func(done, total int64) {
	f, ok := e.stderr.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return nil
	}
	looks = append(looks, progressbar.OptionSetWriter(f), progressbar.OptionThrottle(100*time.Millisecond), progressbar.OptionClearOnFinish())
	var bar *progressbar.ProgressBar
	return func(done, total int64) {
		if bar == nil {
			bar = progressbar.NewOptions64(total, looks...)
		}
		bar.ChangeMax64(total)
		_ = bar.Set64(done) // a bar that can't be drawn must not stop the work
	}
}

// moment reads a time a person gave; zero for "". A time without an offset is the site's.
func moment(text string, zone *time.Location) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	for _, layout := range []string{time.RFC3339Nano, "2006-01-02T15:04:05", "2006-01-02 15:04:05", "2006-01-02T15:04", "2006-01-02 15:04", time.DateOnly} {
		if t, err := time.ParseInLocation(layout, text, zone); err == nil {
			return t, nil
		}
	}
	return time.Time{}, fmt.Errorf("--at %q is no time; write it as 2026-06-11T10:32:00-06:00, \"2026-06-11 10:32\" or 2026-06-11", text)
}
