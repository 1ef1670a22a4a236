// Command dustwright is the working tool for pulse-jet dust collectors: it reads a collector's file and
// its logs and answers in a page or in JSON. This package holds flags and wiring only: one file for
// each command, and no judgement of its own.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime/debug"
	"syscall"
	"time"

	"github.com/alecthomas/kong"
)

// cli is the list of commands; each stands in the file of its name.
type cli struct {
	Demo demoCmd `cmd:"" help:"Show an invented plant of five collectors after a season in which things went wrong: its pages, or on paper."`

	Serve  serveCmd  `cmd:"" help:"Serve the pages for rounds, commissioning, valves, filter changes and records from one data folder."`
	Import importCmd `cmd:"" help:"Take a collector's file and its logs into the data folder."`

	Judge      judgeCmd      `cmd:"" help:"Judge a collector from its log: standing, likely causes, next check, airflow, life of the filters."`
	Traverse   traverseCmd   `cmd:"" help:"Say how much air a pitot traverse measured and how surely, or print the sheet of points to measure."`
	Point      pointCmd      `cmd:"" help:"Say how much air the fan moves under given conditions, and what takes the pressure."`
	Trim       trimCmd       `cmd:"" help:"Say where to set the damper for design flow: now, with new filters, and as they age."`
	Hoods      hoodsCmd      `cmd:"" help:"Say whether the hoods still draw the air that commissioning asked for, from static pressures read behind them; or print the sheet."`
	Air        airCmd        `cmd:"" help:"Say whether the compressed air is good enough: use, recovery, supply, leaks, pipe, water, cost."`
	Check      checkCmd      `cmd:"" help:"Say what looks wrong in a collector's file, and what can and can't be answered from it."`
	Header     headerCmd     `cmd:"" help:"Say of each pulse valve from a header-pressure trace: fired or not, ok, weak, dead or stuck open, and why."`
	Listen     listenCmd     `cmd:"" help:"Say which valves fire, weakly, not at all or without end, from a sound recording of the cleaning cycle."`
	BenchCheck benchCheckCmd `cmd:"" help:"Ask step by step until it is clear whether pilot, diaphragm, hose, wiring or supply is at fault."`
	Rehearse   rehearseCmd   `cmd:"" help:"Run the collector forward in simulation, with faults, and write its log; or two settings side by side."`
}

// env is what a command gets from the world around it.
type env struct {
	ctx            context.Context
	stdin          io.Reader
	stdout, stderr io.Writer
	now            func() time.Time
}

// garbage is how far the memory in use may grow, in percent, before it is collected: histories are read,
// judged and let go, and little is kept. GOGC overrides it.
const garbage = 300

func main() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(garbage)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop) // a second Ctrl-C ends the program at once
	code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// Exit codes. There are only these two.
const (
	exitDone     = 0
	exitUnusable = 2 // the input can't be used; what to do stands on stderr
)

// leave is how the command line library asks to end, for example after --help; run catches it.
type leave struct{ code int }

// run is the whole program: it reads args, does one command and returns the exit code. It writes
// results to stdout, and to stderr what went wrong and what to do. When ctx ends, it stops soon and
// says so.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) (code int) {
	defer func() {
		if r := recover(); r != nil {
			l, ok := r.(leave)
			if !ok {
				panic(r)
			}
			code = l.code
		}
	}()
	parser, err := kong.New(&cli{}, kong.Name("dustwright"), kong.Description(about), kong.Writers(stdout, stderr),
		kong.Exit(func(code int) { panic(leave{code}) }), kong.UsageOnError(),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 100}))
	if err != nil {
		panic(fmt.Sprintf("dustwright: the list of commands is wrong: %v", err))
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	command, err := parser.Parse(args)
	if err != nil {
		return complain(stderr, fmt.Errorf("%w; see dustwright --help, or --help after a command", err))
	}
	if err := command.Run(&env{ctx: ctx, stdin: stdin, stdout: stdout, stderr: stderr, now: time.Now}); err != nil {
		return complain(stderr, err)
	}
	return exitDone
}

// complain prints an error as the person should read it and returns the exit code.
func complain(stderr io.Writer, err error) int {
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		err = errors.New("stopped before it was done; run the same command again to start over")
	}
	fmt.Fprintf(stderr, "dustwright: %v\n", err)
	return exitUnusable
}

const about = `The working tool for pulse-jet cartridge dust collectors. It reads what is known of a collector from a
text file (COLLECTOR.toml) and answers in a page that is read in one breath, or in JSON.

It informs a qualified person. It never starts, stops or resets a machine. Local codes, the equipment's own
manual and licensed practice come first.`
