package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"dustwright/collector"
	"dustwright/rehearse"
	"dustwright/report/data"
	"dustwright/report/plot"
	"dustwright/report/text"
	"dustwright/unit"
)

// rehearseCmd is dustwright rehearse.
type rehearseCmd struct {
	output
	Collector string   `arg:"" name:"COLLECTOR.toml" help:"The collector's file."`
	Days      *float64 `placeholder:"N" help:"Length of the log in days, 120 without it; with --advise how far a run goes at most for the filters' life, 1098 without it."`
	Start     string   `placeholder:"DATE" help:"First day, such as 2026-03-02; without it the day the filters went in."`
	Seed      uint64   `default:"1" help:"What chance is drawn from; the same seed gives the same run."`
	Set       []string `sep:"none" placeholder:"KEY=VALUE" help:"Change a key of the collector file, such as setpoints.high='3.5 in.w.g.'; may stand several times."`
	Against   []string `sep:"none" placeholder:"KEY=VALUE" help:"Run a second time with this changed too, and show both side by side until a limit of the filters' life binds."`
	Advise    bool     `help:"Look for the low, high, interval and header pressure that cost least over the filters' life, and show them beside today's; nothing is applied."`
	Fault     []string `sep:"none" placeholder:"CAUSE[:N][@TIME][:SEVERITY]" help:"Something goes wrong, such as valve-dead:3@60d or fan-weak@2026-05-01:0.5; may stand several times."`
	Every     string   `default:"1m" help:"Time between rows of the log, 0.1s to 24h."`
	Hand      bool     `help:"The rows are readings by hand, one every so often, or as soon as the fan runs again."`
	Channels  []string `placeholder:"CHANNEL" help:"Channels of the log, such as dp,running,pulse, or all; without it those a collector is usually wired for."`
	Spread    float64  `help:"How far this machine lies from the usual one: 0 not at all, 1 as far as machines differ."`
	Out       string   `placeholder:"LOG.csv" help:"Write the log here, and what was really so beside it (LOG.truth.json)."`
	Plot      string   `placeholder:"FILE.svg" help:"Draw the dP over time here."`
}

// plotColumns is how many columns the envelope of a drawing has.
const plotColumns = 952

// rehearsal is one run with what it is run with.
type rehearsal struct {
	name     string
	c        *collector.Collector
	opts     rehearse.Options
	logged   []rehearse.Channel // columns of the log
	result   *rehearse.Result
	envelope *plot.Envelope
}

// Run answers.
func (r *rehearseCmd) Run(e *env) error {
	if r.Advise {
		return r.advise(e)
	}
	runs, err := r.prepare()
	if err != nil {
		return err
	}
	log, err := r.openLog(&runs[0])
	if err != nil {
		return err
	}
	defer log.discard()
	for i := range runs {
		x := &runs[i]
		if r.Plot != "" {
			x.envelope = plot.NewEnvelope(x.opts.Start, x.opts.Start.Add(x.opts.Length), plotColumns)
		}
		x.opts.Recorder = recorders{x.envelope, log.recorder(i)}
		if x.result, err = rehearse.Run(e.ctx, x.c, x.opts); err != nil {
			return err
		}
	}
	if err := log.keep(runs[0].result); err != nil {
		return err
	}
	if err := r.draw(runs); err != nil {
		return err
	}
	return r.print(e, runs)
}

// prepare reads file and flags.
func (r *rehearseCmd) prepare() ([]rehearsal, error) {
	c, err := collector.Load(r.Collector)
	if err != nil {
		return nil, err
	}
	if err := setKeys(c, r.Set); err != nil {
		return nil, err
	}
	opts, err := r.options(c)
	if err != nil {
		return nil, err
	}
	if r.Out == "" && r.Plot == "" {
		opts.Sample = 0 // nobody reads the rows
	}
	one := rehearsal{c: c, opts: opts, logged: opts.Channels}
	if r.Plot != "" { // the drawing needs these two, wherever the log does not
		one.opts.Channels = append(slices.Clone(opts.Channels), rehearse.DP, rehearse.Running)
	}
	if len(r.Against) == 0 {
		return []rehearsal{one}, nil
	}
	other, err := collector.Load(r.Collector)
	if err != nil {
		return nil, err
	}
	if err := setKeys(other, append(append([]string(nil), r.Set...), r.Against...)); err != nil {
		return nil, err
	}
	one.name, one.opts.Horizon = "as it is", 3*366*24*time.Hour
	two := one
	two.name, two.c = strings.Join(r.Against, ", "), other
	return []rehearsal{one, two}, nil
}

// setKeys changes keys of a collector file and looks whether the whole still fits.
func setKeys(c *collector.Collector, list []string) error {
	for _, kv := range list {
		key, value, ok := strings.Cut(kv, "=")
		if !ok {
			return fmt.Errorf("%q is no KEY=VALUE; write for example setpoints.high=\"3.5 in.w.g.\"", kv)
		}
		if err := c.Set(strings.TrimSpace(key), strings.TrimSpace(value)); err != nil {
			return err
		}
	}
	if len(list) == 0 {
		return nil
	}
	return c.Validate()
}

// options brings the flags into the run's options.
func (r *rehearseCmd) options(c *collector.Collector) (rehearse.Options, error) {
	var f flags
	o := rehearse.NewOptions(c)
	o.Seed, o.Hand, o.Spread = r.Seed, r.Hand, r.Spread
	switch {
	case r.Days == nil:
	case !(*r.Days > 0 && *r.Days <= 14600):
		f.fault("--days: a run lasts more than 0 and at most 14600 days; %g was asked for", *r.Days)
	default:
		o.Length = time.Duration(*r.Days * 24 * float64(time.Hour))
	}
	if r.Start != "" {
		t, err := time.Parse(time.DateOnly, r.Start)
		if err != nil {
			if t, err = time.Parse(time.RFC3339, r.Start); err != nil {
				f.fault("--start: %q is no date; write it as 2026-03-02 or 2026-03-02T06:00:00-06:00", r.Start)
			}
		}
		o.Start = t
	}
	every, err := time.ParseDuration(r.Every)
	if err != nil || every < 100*time.Millisecond || every > 24*time.Hour {
		f.fault("--every: %q is no time between rows; write for example 1m, 10s or 24h", r.Every)
	}
	o.Sample = every
	o.Channels = r.channels(&f, c)
	for _, text := range r.Fault {
		x, err := rehearse.ParseFault(text, o.Start)
		if err != nil {
			f.fault("--fault: %w", err)
		}
		o.Faults = append(o.Faults, x)
	}
	return o, f.err()
}

// channels are those asked for and wired, without a name twice.
func (r *rehearseCmd) channels(f *flags, c *collector.Collector) []rehearse.Channel {
	var list []rehearse.Channel
	switch {
	case len(r.Channels) == 0:
		list = rehearse.UsualChannels()
	case len(r.Channels) == 1 && r.Channels[0] == "all":
		list = rehearse.AllChannels()
	default:
		for _, name := range r.Channels {
			ch, ok := rehearse.ParseChannel(name)
			if !ok {
				hint := "; channels are " + strings.Join(rehearse.ChannelNames(), ", ")
				if near := unit.Nearest(name, rehearse.ChannelNames()); near != "" {
					hint = "; did you mean " + near
				}
				f.fault("--channels: there is no channel %q%s", name, hint)
				continue
			}
			list = append(list, ch)
		}
	}
	return rehearse.Wired(c, list)
}

// recorders hands a row to each of them that is there.
type recorders struct {
	envelope *plot.Envelope
	csv      *rehearse.CSV
}

// Record hands the row on.
func (r recorders) Record(row *rehearse.Row) error {
	if r.envelope != nil {
		if err := r.envelope.Record(row); err != nil {
			return err
		}
	}
	if r.csv != nil {
		return r.csv.Record(row)
	}
	return nil
}

// logFile is the log while it is written: under a temporary name until it is whole. The zero value writes nothing.
type logFile struct {
	path string
	file *os.File
	buf  *bufio.Writer
	csv  *rehearse.CSV
}

func (r *rehearseCmd) openLog(x *rehearsal) (*logFile, error) {
	l := &logFile{path: r.Out}
	if r.Out == "" {
		return l, nil
	}
	var err error
	if l.file, err = os.CreateTemp(filepath.Dir(r.Out), ".rehearse-*"); err != nil {
		return l, fmt.Errorf("the log cannot be written: %w", err)
	}
	l.buf = bufio.NewWriterSize(l.file, 1<<16)
	l.csv, err = rehearse.NewCSV(l.buf, x.logged, r.system(), x.opts.Start.Location())
	return l, err
}

// recorder is the log's recorder for run i; only the first run is logged.
func (l *logFile) recorder(i int) *rehearse.CSV {
	if i > 0 {
		return nil
	}
	return l.csv
}

// keep gives the whole log its name and writes the truth beside it.
func (l *logFile) keep(r *rehearse.Result) error {
	if l.file == nil {
		return nil
	}
	if err := errors.Join(l.buf.Flush(), l.file.Chmod(0o644), l.file.Close(), os.Rename(l.file.Name(), l.path)); err != nil {
		return fmt.Errorf("the log cannot be written: %w", err)
	}
	l.file = nil
	var b strings.Builder
	if err := r.WriteTruth(&b); err != nil {
		return fmt.Errorf("the truth cannot be written: %w", err)
	}
	path := strings.TrimSuffix(l.path, filepath.Ext(l.path)) + ".truth.json"
	if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
		return fmt.Errorf("the truth cannot be written: %w", err)
	}
	return nil
}

// discard takes away a log that did not become whole.
func (l *logFile) discard() {
	if l.file != nil {
		_ = l.file.Close()           // the run failed already, and said why
		_ = os.Remove(l.file.Name()) // likewise
	}
}

// draw writes the plot.
func (r *rehearseCmd) draw(runs []rehearsal) error {
	if r.Plot == "" {
		return nil
	}
	var list []plot.Rehearsal
	for _, x := range runs {
		list = append(list, plot.Rehearsal{Name: x.name, Collector: x.c, Result: x.result, Envelope: x.envelope})
	}
	var b strings.Builder
	if err := plot.Rehearsals(&b, r.system(), list); err != nil {
		return err
	}
	if err := os.WriteFile(r.Plot, []byte(b.String()), 0o644); err != nil {
		return fmt.Errorf("the plot cannot be written: %w", err)
	}
	return nil
}

// print writes the answer.
func (r *rehearseCmd) print(e *env, runs []rehearsal) error {
	out := data.Rehearsals{}
	var list []text.Rehearsed
	for _, x := range runs {
		out.Runs = append(out.Runs, data.NewRehearsal(x.c, x.name, x.result, r.system()))
		list = append(list, text.Rehearsed{Setting: x.name, Result: x.result})
	}
	return e.emit(r.output, out, func(w io.Writer, sys unit.System) error {
		if len(list) == 1 {
			return text.Rehearsal(w, sys, runs[0].c, list[0].Result)
		}
		return text.Rehearsals(w, sys, runs[0].c, list)
	})
}
