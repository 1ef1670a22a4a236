// Package pastel is a simulator of dust collectors as a physics engineer builds one: ordinary differential equations
// integrated in small steps. Each row has a cake and a residual layer that grip and are shed by a Weibull distribution of
// adhesion; fan, ducts, damper and filters meet anew in every step; the header is a tank fed through regulator and orifice
// and emptied through choked valves; the gauge hangs on two lines. A historian keeps what comes of it as plants do: damped
// transmitters, converters, exception reports, links that fail. It shares nothing with package rehearse or the other
// simulators. Every figure is a guess of what is met in the trade (common practice, no source).
package pastel

import (
	"fmt"
	"strings"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/collector"
	"dustwright/judge"
)

// Shares of sound trials, and of sound and faulty ones that have a story.
const (
	soundShare = 0.4
	soundTales = 0.85
	illTales   = 0.4
	longest    = 120 // days
	tries      = 60  // machines looked at for one on which a trouble shows
)

// Draw makes one collector with its log. The same seed gives the same trial. The error is that of the collector's file, or
// that no machine was found on which the trouble shows.
func Draw(seed uint64) (*made.Trial, error) { return drawCause(seed, causeOf(seed), longest) }

// causeOf is what is wrong in a trial.
func causeOf(seed uint64) judge.Cause {
	l := cast(seed, 1)
	if l.once(soundShare) {
		return judge.None
	}
	return judge.Cause(pick(l, made.Causes()...))
}

// drawCause draws machines until one runs as people let them run, and the trouble shows beside the same machine without it;
// the log is of so many days at most.
func drawCause(seed uint64, cause judge.Cause, most int) (*made.Trial, error) {
	for try := range uint64(tries) {
		c := newTrial(seed, try, cause, most)
		well, ill := c.run()
		if !c.calm(well) || ill != nil && !c.shows(&well.log.s, &ill.log.s) {
			continue
		}
		t := well
		if ill != nil {
			t = ill
		}
		file, err := c.plant.file(cast(seed, 200+try))
		if err != nil {
			return nil, fmt.Errorf("the collector's file: %w", err)
		}
		if made.Flaw(file) != nil {
			continue
		}
		t.log.s.Zone, t.log.s.Source = t.log.zero.Location(), "pastel"
		c.out.Collector, c.out.Series = file, &t.log.s
		return &c.out, nil
	}
	return nil, fmt.Errorf("no machine shows %s", cause)
}

// trial is a machine with its days, before it is run.
type trial struct {
	seed, try uint64
	out       made.Trial
	plant     *plant
	slots     []slot
	days      int
	trouble   trouble
}

func newTrial(seed, try uint64, cause judge.Cause, most int) *trial {
	l := cast(seed, 100+try)
	c := &trial{seed: seed, try: try, plant: newPlant(l), days: min(most, 30+l.IntN(longest-29))}
	log := c.historian()
	switch {
	case log.step < 30:
		c.days = 30
	case log.step < 60:
		c.days = min(c.days, 45)
	case c.plant.mode == collector.Continuous:
		c.days = min(c.days, 45) // it gives very many pulses
	}
	cal := newCalendar(l)
	c.slots = cal.write(l, c.plant, c.days)
	n := len(c.slots) - l.IntN(perDay)
	for !c.slots[n-1].run { // somebody looks while it runs
		n--
	}
	c.slots = c.slots[:n]
	end := float64(n) * slotTime
	c.out.Truth, c.out.Story, c.out.At = string(cause), "quiet", log.zero.Add(time.Duration((end-log.start)*1e9))
	tales := soundTales
	c.trouble.cause = cause
	if cause != judge.None {
		t := newTrouble(l, c.plant, cause, log.start, end)
		c.trouble, tales = t, illTales
		c.out.Number, c.out.Severity, c.out.Old = t.number, t.severity, (end-t.onset)/day
	}
	if l.once(tales) {
		c.out.Story = c.tell(l)
	}
	return c
}

// tell puts one story or two into the slots, and leaves an hour of work at the end.
func (c *trial) tell(l luck) string {
	var names []string
	for range 1 + l.IntN(2) {
		s := stories[l.IntN(len(stories))]
		at := lead*perDay + int(l.in(0.1, 0.98)*float64(len(c.slots)-lead*perDay))
		s.tell(l, c.slots[at:len(c.slots)-6])
		names = append(names, s.name)
	}
	return strings.Join(names, ", ")
}

// historian draws the same one each time it is asked.
func (c *trial) historian() *historian {
	return newHistorian(cast(c.seed, 300+c.try), c.plant, c.days, c.seed)
}

// run integrates the machine without a trouble, and from the onset on with it too, where there is one.
func (c *trial) run() (well, ill *runner) {
	log := c.historian()
	well = &runner{p: c.plant, m: newMachine(cast(c.seed, 400+c.try), c.plant), slots: c.slots, log: log, noise: cast(c.seed, 13)}
	well.trouble.cause = judge.None
	onset := len(c.slots)
	if c.trouble.cause != judge.None {
		onset = int(c.trouble.onset / slotTime)
	}
	well.run(0, onset)
	if onset < len(c.slots) {
		ill = well.copied()
		ill.trouble = c.trouble
		ill.run(onset, len(c.slots))
		well.run(onset, len(c.slots))
	}
	return well, ill
}

// calm reports whether the machine does not clean on demand for most of the time, and by the clock keeps the dP below the
// high set point; somebody would have set it otherwise.
func (c *trial) calm(r *runner) bool {
	if c.plant.mode == collector.OnDemand {
		return r.cleaned < 0.35*r.on
	}
	return r.above < 0.1*r.on
}
