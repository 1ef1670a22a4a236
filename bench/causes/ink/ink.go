// Package ink makes up dust collectors whose world goes by events: jobs arrive with their dust, batches are tipped, shifts
// go home, the compressor loads and unloads, the power dips, valves fire. Between two events the air stands still in a
// network of resistances; the cake on each cartridge is a population of patches that a pulse lets go wholly or not at all. A modern
// controller reports by exception, with a valve card that counts the valves in its own way, or a cheap gateway keeps means. It
// shares no equation with rehearse or the other simulators. Every figure is a guess of what is met in the trade (common
// practice, no source).
package ink

import (
	"fmt"
	"math"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/judge"
)

// Streams of chance, so that what is wrong does not change the week around it.
const (
	streamCause = iota + 11
	streamPlant
	streamCalendar
	streamTrouble
	streamMachine
	streamTwin
	streamLogger
	streamPaper
)

// soundShare is the share of trials in which nothing is wrong; lead how long a machine has run before its log begins;
// draws how many are drawn until one shows what is wrong with it.
const (
	soundShare = 0.4
	lead       = 1.6 * day
	draws      = 40
	longest    = 98 // days of a record
)

func throw(seed, stream uint64) made.Dice { return made.Throw(seed, 7919*stream+13) }

// Draw makes the trial of a seed.
func Draw(seed uint64) (*made.Trial, error) { return drawCause(seed, causeOf(seed), longest) }

// causeOf is what is wrong in the trial of a seed.
func causeOf(seed uint64) judge.Cause {
	d := throw(seed, streamCause)
	if d.Chance(soundShare) {
		return judge.None
	}
	return judge.Cause(made.OneOf(d, made.Causes()...))
}

// drawCause makes a trial of a cause with a record of so many days at the most: of the first machine that was not set up wrong
// and in which it shows.
func drawCause(seed uint64, cause judge.Cause, days float64) (*made.Trial, error) {
	var last error
	for n := range uint64(draws) {
		t, err := once(seed+n<<40, cause, days)
		if err == nil {
			return t, nil
		}
		last = err
	}
	return nil, fmt.Errorf("seed %d: no machine shows %s: %w", seed, cause, last)
}

// once lets one machine run through its record.
func once(seed uint64, cause judge.Cause, days float64) (*made.Trial, error) {
	p := newPlant(throw(seed, streamPlant))
	file, err := p.file(throw(seed, streamPaper))
	if err != nil {
		return nil, err
	}
	if err := made.Flaw(file); err != nil {
		return nil, err
	}
	d := throw(seed, streamCalendar)
	end := math.Round(min(days, d.Spread(14, longest))) * day
	if p.mode != "on-demand" { // as many pulses as can be borne
		end = min(end, max(14*day, 90000*p.interval))
	}
	l := newLogger(throw(seed, streamLogger), p, end/day)
	if l.kind == exception && p.mode != "on-demand" {
		end = min(end, max(14*day, 25000*p.interval))
	}
	cal := plan(d, p, -lead, end, cause == judge.None)
	m := newMachine(throw(seed, streamMachine), p, cal, nil, min(120, max(20, l.spacing)))
	t := &made.Trial{Collector: file, Series: l.s, Truth: string(cause), Story: cal.story}
	if cause == judge.None {
		m.advance(0)
		l.keep(m, nil)
		if restless(m) {
			return nil, fmt.Errorf("it cleans all the time")
		}
	} else if err := befallen(t, m, l, newTrouble(throw(seed, streamTrouble), p, cause, -lead, end), seed); err != nil {
		return nil, err
	}
	t.At = time.Unix(0, l.s.Time[l.s.Len()-1]).UTC()
	return t, nil
}

// befallen lets a machine run through a record in which something goes wrong, with its twin beside it from then on.
func befallen(t *made.Trial, m *machine, l *logger, tr *trouble, seed uint64) error {
	m.tr, m.watched = tr, tr.position
	var w *witness
	along := func() {
		if w == nil && m.t >= tr.onset-2*day {
			w = fork(m, seed)
		}
		if w != nil {
			w.look(m)
		}
	}
	if tr.onset <= 0 {
		w = fork(m, seed)
	}
	m.advance(0)
	l.keep(m, along)
	if w == nil || !w.shows(m) || m.cal.end-m.onset() < 0.45*day {
		return fmt.Errorf("%s does not show", tr.cause)
	}
	if restless(w.twin) {
		return fmt.Errorf("it cleans all the time")
	}
	t.Severity, t.Old = tr.severity, min(m.cal.end, m.cal.end-m.onset())/day
	if e, _ := judge.CauseOf(tr.cause); e.Numbered {
		t.Number = m.p.label[tr.position] + 1
	}
	return nil
}
