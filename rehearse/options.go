package rehearse

import (
	"errors"
	"fmt"
	"math"
	"time"

	"dustwright/collector"
	"dustwright/unit"
)

// Options say what is run. Get them from NewOptions and change what is different.
type Options struct {
	Seed   uint64
	Start  time.Time     // of the run; its location is the site's clock
	Length time.Duration // of the log
	// Horizon lets the machine run on without a log until the first limit of DESIGN.md "Life" binds, at most this long
	// after Start; 0 stops with the log.
	Horizon time.Duration

	Sample   time.Duration // between rows; 0 writes no log
	Hand     bool          // rows are readings by hand: at about Start's time of day every Sample, or once the fan runs again
	Channels []Channel     // that are instrumented; nil = UsualChannels
	Keep     bool          // the rows are kept in Result.Series; else only handed to Recorder
	Recorder Recorder      // gets every row as it is made; nil = none
	// Instruments replaces the usual instrument of a channel.
	Instruments map[Channel]Instrument

	Faults []Fault
	Events []Event

	// Spread is how far this machine lies from the usual one: 0 the usual machine, 1 as far as machines
	// differ (one standard deviation of each figure is drawn from the seed).
	Spread float64
	// Damper is the position at the start; NaN trims it for design flow with the filters as they are.
	Damper unit.Share
	// TrimEvery is how often somebody looks at the airflow and re-trims the damper when it is more than 3 % off; 0 never.
	TrimEvery time.Duration
	// Aged starts with filters that have passed this share of an ordinary life's dust; 0 is new filters.
	Aged unit.Share
	// ChangeAtLimit changes the filters in the night after the dp limit binds, and the run goes on.
	ChangeAtLimit bool
	// Physics changes figures of the machine that the collector file does not hold; nil changes none.
	Physics func(*Physics)
}

// NewOptions returns a run of 120 days from 2026-03-02 06:00 UTC, or from the day the filters went in, a row a minute,
// the damper trimmed at the start and once in four weeks.
func NewOptions(c *collector.Collector) Options {
	start := time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)
	if !c.Filters.Installed.IsZero() {
		y, m, d := c.Filters.Installed.Date()
		start = time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
	}
	return Options{Seed: 1, Start: start, Length: 120 * 24 * time.Hour, Sample: time.Minute,
		Damper: unit.Share(math.NaN()), TrimEvery: 28 * 24 * time.Hour}
}

// UsualChannels are those of the contract's log: what a collector of some age is usually wired for.
func UsualChannels() []Channel {
	return []Channel{Running, Cleaning, DP, Header, HeaderLow, Pulse, FanCurrent, InletSP, Damper, Temperature, Humidity}
}

// AllChannels are all there are.
func AllChannels() []Channel {
	out := make([]Channel, NumChannels)
	for i := range out {
		out[i] = Channel(i)
	}
	return out
}

// longest is the longest run: beyond it seconds lose their grip on microseconds.
const longest = 40 * 366 * 24 * time.Hour

// check says what is wrong with the options for a collector.
func (o *Options) check(c *collector.Collector) error {
	var errs []error
	bad := func(format string, args ...any) { errs = append(errs, fmt.Errorf(format, args...)) }
	if o.Start.IsZero() {
		bad("the run needs a start")
	}
	if o.Length < 0 || o.Length > longest || o.Horizon < 0 || o.Horizon > longest {
		bad("the length of a run must lie between 0 and 40 years; it is %v", max(o.Length, o.Horizon))
	}
	if o.Sample < 0 || o.Sample > 0 && o.Sample < 100*time.Millisecond {
		bad("rows can lie 0.1 s or more apart; %v was asked for", o.Sample)
	}
	if !(o.Spread >= 0 && o.Spread <= 3) {
		bad("the spread between machines must lie between 0 and 3; it is %g", o.Spread)
	}
	if d := float64(o.Damper); d < 0 || d > 1 {
		bad("the damper position is a share from 0 to 1; it is %g", d)
	}
	if !(o.Aged >= 0 && o.Aged <= 2) {
		bad("the age of the filters is a share of their life from 0 to 2; it is %g", float64(o.Aged))
	}
	for _, ch := range o.Channels {
		if ch >= NumChannels {
			bad("there is no channel %d", ch)
		}
	}
	for i := range o.Faults {
		if err := o.Faults[i].check(c.Filters.Rows); err != nil {
			errs = append(errs, err)
		}
	}
	for _, e := range o.Events {
		if err := e.check(); err != nil {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}
