// Package tint is a simulator of dust collectors as a service technician has them in mind: no balance of forces that is
// followed through time, but rules of thumb that say what an event (a pulse, a start, a turn of the damper) does to what
// the gauges show. Each machine draws its rules from families: how dP goes with the flow, what a pulse takes off, how the
// header falls and comes back, how the fan's current follows. A trouble is as large as technicians see it on the gauge,
// and may come and go. The log is that of cheap panel gauges and small data loggers. It shares nothing with package
// rehearse or the other simulators. Every figure is a guess of what is met in the trade (common practice, no source).
package tint

import (
	"fmt"
	"math"
	"slices"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
	"dustwright/solve"
)

// Shares of sound trials, and of sound and faulty ones that have a story; tries are the machines looked at for one on
// which a trouble shows.
const (
	soundShare      = 0.4
	storyShareSound = 0.85
	storyShareIll   = 0.35
	reactShare      = 0.25
	tries           = 60
	leastReach      = 0.12 // a damper that can bring no more air is no trouble when it stands open
)

// Draw makes one collector with its log. The same seed gives the same trial. The error says that no machine was found on
// which the trouble shows.
func Draw(seed uint64) (*made.Trial, error) { return drawCause(seed, causeOf(seed)) }

// causeOf is what is wrong in a trial.
func causeOf(seed uint64) judge.Cause {
	d := made.Throw(seed, 1)
	if d.Chance(soundShare) {
		return judge.None
	}
	return judge.Cause(made.OneOf(d, made.Causes()...))
}

// drawCause draws machines until one is run as people run them, and the trouble shows beside the same machine without it.
func drawCause(seed uint64, cause judge.Cause) (*made.Trial, error) {
	for try := range uint64(tries) {
		d := made.Throw(seed, 100+try)
		c := newCase(d, cause)
		sheet, err := c.machine.file(d)
		if err != nil {
			return nil, err
		}
		if c.Collector = sheet; made.Flaw(sheet) != nil || cause == judge.AirflowHigh && c.machine.reach() < leastReach {
			continue
		}
		sound := c.logger.write(seed, c.machine, c.hours, 0)
		if !usual(sound.s) {
			continue
		}
		c.take(sound)
		if cause == judge.None {
			return &c.Trial, nil
		}
		c.fault.write(d, c.machine, c.hours)
		if d.Chance(reactShare) {
			react(d, c.fault, c.hours)
		}
		ill := c.logger.write(seed, c.machine, c.hours, c.Number)
		if c.take(ill); c.shows(sound, ill) {
			return &c.Trial, nil
		}
	}
	return nil, fmt.Errorf("no machine shows %s", cause)
}

// drawn is a trial with what it is made from; the hours are those before anything is wrong.
type drawn struct {
	made.Trial
	machine *machine
	hours   []hour
	fault   *fault
	logger  *logger
}

// newCase draws a machine, its people and its instruments, and what is to go wrong.
func newCase(d made.Dice, cause judge.Cause) *drawn {
	c := &drawn{machine: newMachine(d)}
	days := int(d.Between(30, 121))
	c.logger = newLogger(d, c.machine, days)
	days = min(days, c.logger.most(c.machine))
	c.hours = newWeek(d).plain(d, c.machine, days)
	for n := len(c.hours); c.hours[n-1].to == 0; n-- { // somebody looks while it runs
		c.hours = c.hours[:n-1]
	}
	c.hours = c.hours[:len(c.hours)-d.IntN(5)]
	habits(d, c.hours)
	often := storyShareSound
	c.Truth, c.Story = string(cause), "quiet"
	if cause != judge.None {
		f := newFault(d, cause, len(c.hours), c.machine.rows)
		c.fault, often = f, storyShareIll
		c.Number, c.Severity, c.Old = f.number, f.severity, float64(len(c.hours)-f.onset)/24
	}
	for d.Chance(often) {
		s := made.OneOf(d, stories...)
		if s.mends(cause) {
			continue
		}
		s.tell(d, c.hours)
		if often = 0.25; c.Story == "quiet" {
			c.Story = s.name
		} else {
			c.Story += ", " + s.name
		}
		if s.name == "gauge drifts" {
			c.logger.gauges[made.OneOf(d, sense.DP, sense.DP, sense.Header, sense.FanCurrent, sense.InletSP)].slips(d)
		}
	}
	return c
}

// slips has an instrument drift by some per cent of its range in a month.
func (g *gauge) slips(d made.Dice) { g.drift = (g.most - g.least) / 30 * d.Between(-0.03, 0.03) }

// most is the most days of a log that is kept in short rows or of very many pulses.
func (l *logger) most(m *machine) int {
	switch {
	case l.step < 30:
		return 30
	case l.step < 60 || m.mode == collector.Continuous:
		return 45
	case l.step < 120:
		return 75
	}
	return 120
}

// take makes a record the trial's log.
func (c *drawn) take(r *recorder) {
	c.Series = r.out
	c.At = time.Unix(0, r.start).In(r.out.Zone).Add(time.Duration(len(c.hours)) * time.Hour)
}

// usual reports that a sound machine does not clean most of the time on demand, and cleans at all; somebody would have
// set it otherwise.
func usual(s *state) bool {
	return s.m.mode != collector.OnDemand || s.cleaned < 0.4*s.ran && s.count > 4*s.m.rows
}

// shows reports that a channel differs from the sound machine's by more than its scale and noise since the onset, or that
// there are other pulses. The spreads of the readings are compared: a sawtooth that has moved in time is no sign.
func (c *drawn) shows(sound, ill *recorder) bool {
	since := ill.start + int64(c.fault.onset)*int64(time.Hour)
	a, b := ill.s.count, sound.s.count
	if math.Abs(float64(a-b)) > 0.05*float64(b)+5 {
		return true
	}
	for _, valve := range []int{0, c.Number} {
		for ch, g := range c.logger.gauges {
			if g.most == g.least || !g.there || ill.out.Col[ch] == nil || sense.Channel(ch) == sense.BinLevel && c.fault.cause != judge.BinOverfull {
				continue
			}
			x, y := ill.readings(sense.Channel(ch), since, valve), sound.readings(sense.Channel(ch), since, valve)
			for _, q := range []float64{0.02, 0.25, 0.5, 0.75, 0.98} {
				if math.Abs(solve.Quantile(x, q)-solve.Quantile(y, q)) > 3*g.noise+1.1*g.step+0.005*(g.most-g.least) {
					return true
				}
			}
		}
	}
	return false
}

// readings are some thousand of a channel with the fan on since a time, in rising order; with a valve, of the rows it
// fired in.
func (r *recorder) readings(ch sense.Channel, since int64, valve int) []float64 {
	s := r.out
	fired := make([]bool, s.Len())
	for _, f := range s.Pulses {
		fired[f.Row] = fired[f.Row] || int(f.Valve) == valve
	}
	var out []float64
	first, _ := slices.BinarySearch(s.Time, since)
	stride := 1 + (s.Len()-first)/8000
	if valve > 0 {
		stride = 1
	}
	for i := first; i < s.Len(); i += stride {
		if v := s.Col[ch][i]; !math.IsNaN(v) && r.running[i] && (valve == 0 || fired[i]) {
			out = append(out, v)
		}
	}
	slices.Sort(out)
	return out
}
