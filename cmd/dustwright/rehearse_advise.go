package main

import (
	"io"
	"os"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"

	"dustwright/collector"
	"dustwright/rehearse"
	"dustwright/report/data"
	"dustwright/report/text"
	"dustwright/unit"
)

// advise answers with --advise.
func (r *rehearseCmd) advise(e *env) error {
	c, err := collector.Load(r.Collector)
	if err != nil {
		return err
	}
	if err := setKeys(c, r.Set); err != nil {
		return err
	}
	var f flags
	for _, x := range []struct {
		name  string
		given bool
	}{{"--against", len(r.Against) > 0}, {"--out", r.Out != ""}, {"--plot", r.Plot != ""}} {
		if x.given {
			f.fault("--advise compares many runs and keeps none of them: leave %s out, and rehearse the advised set points with --set or --against", x.name)
		}
	}
	if err := f.err(); err != nil {
		return err
	}
	opts, err := r.options(c)
	if err != nil {
		return err
	}
	if r.Days != nil {
		opts.Horizon = opts.Length
	}
	lim := rehearse.UsualLimits()
	show, finish := e.runs()
	lim.Progress = show
	a, err := rehearse.Advise(e.ctx, c, opts, lim)
	finish()
	if err != nil {
		return err
	}
	return e.emit(r.output, data.NewAdvice(c, r.system(), &a), func(w io.Writer, sys unit.System) error {
		return text.Advice(w, sys, c, &a)
	})
}

// runs draws a bar of runs on stderr when that is a terminal, and nothing otherwise; finish takes it away.
func (e *env) runs() (show func(done, most int), finish func()) {
	f, ok := e.stderr.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return nil, func() {}
	}
	bar := progressbar.NewOptions(1, progressbar.OptionSetWriter(f), progressbar.OptionSetDescription("rehearsing"),
		progressbar.OptionShowCount(), progressbar.OptionClearOnFinish())
	show = func(done, most int) {
		bar.ChangeMax(most + 1) // it is full only when it is finished
		_ = bar.Set(done)       // a bar that can't be drawn must not stop the work
	}
	return show, func() { _ = bar.Finish() }
}
