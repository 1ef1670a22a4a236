// Package slate is a simulator of dust collectors kept like a plant balance on a spreadsheet: one line an hour with all
// that acts on the machine, and a balance of dust, air and pressure that is solved in closed form from one switching to the
// next. The log's rows are drawn from the shapes between. It shares nothing with package rehearse or the other simulators.
// Every figure is a guess of what is met in the trade (common practice, no source).
package slate

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

// Shares of sound trials, and of sound and faulty ones that have a story.
const (
	soundShare      = 0.4
	storyShareSound = 0.85
	storyShareIll   = 0.4
	tries           = 60 // machines looked at for one on which a trouble shows
)

// Draw makes one collector with its log. The same seed gives the same trial. The error is that of the collector's file, or
// that no machine was found on which the trouble shows.
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
		c := newCase(seed, d, cause)
		b := reckon(c.plant, c.sheet, 0)
		if !calm(b) {
			continue
		}
		c.Series = c.logger.write(c.sheet, b)
		if cause != judge.None {
			sound := c.Series
			c.trouble.write(made.Throw(seed, 3), c.sheet)
			c.Series = c.logger.write(c.sheet, reckon(c.plant, c.sheet, c.Number))
			if !c.shows(sound) {
				continue
			}
		}
		var err error
		c.Collector, err = c.plant.file(d)
		return &c.Trial, err
	}
	return nil, fmt.Errorf("no machine shows %s", cause)
}

// drawn is a trial with what it is made from; the sheet is that before anything is wrong.
type drawn struct {
	made.Trial
	plant   *plant
	sheet   []hour
	trouble trouble
	logger  *logger
}

func newCase(seed uint64, d made.Dice, cause judge.Cause) *drawn {
	c := &drawn{plant: newPlant(d)}
	days := int(d.Between(20, 120))
	if c.plant.mode == collector.Continuous {
		days = min(days, 70) // it gives very many pulses
	}
	c.logger = newLogger(d, c.plant, seed, days)
	if c.logger.step == 60 {
		days = min(days, 60)
	}
	cal := newCalendar(d)
	c.sheet = cal.blank(d, c.plant, days)
	for n := len(c.sheet); c.sheet[n-1].to == 0; n-- { // somebody looks while it runs
		c.sheet = c.sheet[:n-1]
	}
	c.sheet = c.sheet[:len(c.sheet)-d.IntN(6)]
	retouch(d, c.sheet)
	hours, often := len(c.sheet), storyShareSound
	c.Truth, c.Story, c.At = string(cause), "quiet", c.logger.start.Add(time.Duration(hours)*time.Hour)
	if cause != judge.None {
		f := newTrouble(d, cause, hours, min(c.plant.rows, c.logger.labels))
		c.trouble, often = f, storyShareIll
		c.Number, c.Severity, c.Old = f.number, f.severity, float64(hours-f.onset)/24
	}
	if d.Chance(often) {
		s := made.OneOf(d, stories...)
		s.tell(d, c.sheet)
		c.Story = s.name
	}
	if c.Story == "drift" {
		c.logger.instruments[sense.DP].drift = d.Between(-1e-3, 1e-3)
	}
	return c
}

// calm reports that a sound machine does not clean most of the time on demand; somebody would have set it otherwise.
func calm(b *balance) bool {
	ran := 0.0
	for _, ph := range b.phases {
		ran += ph.flow1 * (ph.to - ph.from)
	}
	return b.p.mode != collector.OnDemand || float64(len(b.pulses))*b.p.interval < 0.35*ran
}

// shows reports that a channel differs from the sound machine's by more than its noise since the onset. The spreads of
// the readings are compared, not row by row: a sawtooth that has moved in time is no sign, nor is the day a bin is emptied.
func (c *drawn) shows(sound *sense.Series) bool {
	since := c.logger.start.Add(time.Duration(c.trouble.onset) * time.Hour).UnixNano()
	for _, valve := range []int{0, c.Number} {
		for ch, in := range c.logger.instruments {
			if in.high == in.low || sound.Col[ch] == nil || sense.Channel(ch) == sense.BinLevel && c.trouble.cause != judge.BinOverfull {
				continue
			}
			a, b := readings(c.Series, sense.Channel(ch), since, valve), readings(sound, sense.Channel(ch), since, valve)
			for _, q := range []float64{0.02, 0.25, 0.5, 0.75, 0.98} {
				if math.Abs(solve.Quantile(a, q)-solve.Quantile(b, q)) > (3*in.noise+1/in.bits+0.005)*(in.high-in.low) {
					return true
				}
			}
		}
	}
	return false
}

// readings are those of a channel with the fan on since a time, in rising order; with a valve, of the rows it fired in.
func readings(s *sense.Series, ch sense.Channel, since int64, valve int) []float64 {
	fired := make([]bool, s.Len())
	for _, f := range s.Pulses {
		fired[f.Row] = fired[f.Row] || int(f.Valve) == valve
	}
	var out []float64
	for i, v := range s.Col[ch] {
		if !math.IsNaN(v) && s.Time[i] >= since && s.Col[sense.Running][i] > 0.5 && (valve == 0 || fired[i]) {
			out = append(out, v)
		}
	}
	slices.Sort(out)
	return out
}
