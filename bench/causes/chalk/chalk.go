// Package chalk makes up pulse-jet collectors to try a judgement on, written by somebody who trusts no model: filters are
// populations of pores that plug and are freed, the header is a bottle with choked outflow, the fan a parabola, the ducts
// branches with gates, and the gauge two air lines, each with its own lag. The instruments are those of a plant in which
// nobody has time for them, and the operators do things for no reason. Faults act on the mechanism, and the channels follow.
//
// Every figure in the package is a guess of what is met in the trade: common practice, no source.
package chalk

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/collector"
	"dustwright/judge"
)

const (
	healthyShare = 0.4
	startShare   = 0.125 // of the troubles are there from the first reading
	attempts     = 60    // at a machine with a trouble that shows
	shortest     = 3.0 / 24
	longest      = 35.0 // days a trouble lasts at most, unless it was there from the first reading
)

// streams of random numbers: each part of a trial has its own, so that a trouble does not change the weather.
const (
	streamCause = iota + 101
	streamMachine
	streamDays
	streamEvents
	streamTrouble
	streamFlutter
	streamGauges
)

func stream(seed uint64, attempt, which int) *rand.Rand {
	return rand.New(rand.NewPCG(seed, uint64(attempt)<<16|uint64(which)))
}

// Draw makes a collector, its log and what is the matter with it. The same seed gives the same trial. It returns an error
// where no machine with a trouble that shows was found.
func Draw(seed uint64) (*made.Trial, error) {
	for attempt := range attempts {
		t, err := try(seed, attempt)
		if err != nil || t != nil {
			return t, err
		}
	}
	return nil, fmt.Errorf("no trouble showed in %d machines", attempts)
}

// draw says what is the matter. That depends on the seed alone: a cause that is hard to show must not become rare.
func draw(seed uint64) string {
	r := stream(seed, 0, streamCause)
	if r.Float64() < healthyShare {
		return string(judge.None)
	}
	return pick(r, made.Causes()...)
}

// try makes one trial; nil where the machine can't be, or the trouble doesn't show.
func try(seed uint64, attempt int) (*made.Trial, error) {
	cause := draw(seed)
	r := stream(seed, attempt, streamMachine)
	d := newDesign(r)
	c, err := d.file(r)
	if err != nil {
		return nil, fmt.Errorf("the file of the machine: %w", err)
	}
	if unfit(c) {
		return nil, nil
	}
	cal := newCalendar(stream(seed, attempt, streamDays), d)
	story, changes := happenings(stream(seed, attempt, streamEvents), d, cause == string(judge.None))
	t := &made.Trial{Collector: c, Truth: cause, Story: story}
	p := plan{d: d, cal: cal, changes: changes, flutter: stream(seed, attempt, streamFlutter)}
	if cause == string(judge.None) {
		rec := p.run()
		if rec.restless(d.days * day) {
			return nil, nil
		}
		t.Series, t.At = rec.written(d, stream(seed, attempt, streamGauges))
		return t, nil
	}
	well := p.run()
	x := newTrouble(judge.Cause(cause), stream(seed, attempt, streamTrouble), d)
	if well.restless(x.from) {
		return nil, nil
	}
	p.changes = append(changes, x.change)
	p.flutter = stream(seed, attempt, streamFlutter)
	ill := p.run()
	if !ill.shows(well, x.from, x.number) {
		return nil, nil
	}
	t.Series, t.At = ill.written(d, stream(seed, attempt, streamGauges))
	t.Number, t.Severity, t.Old = x.number, x.severity, d.days-x.from/day
	return t, nil
}

// unfit reports that the collector's own checks find something in the file that can't be.
func unfit(c *collector.Collector) bool {
	_, err := c.AirPath()
	return err != nil || made.Flaw(c) != nil
}

// begin is the first row's day: any year does.
var begin = time.Date(2025, 2, 3, 0, 0, 0, 0, time.UTC)

const (
	hour = 3600.0
	day  = 24 * hour
)

// between draws evenly from low to high.
func between(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

// spread draws evenly in the logarithm.
func spread(r *rand.Rand, low, high float64) float64 { return low * math.Pow(high/low, r.Float64()) }

// clamp holds x within low and high.
func clamp(x, low, high float64) float64 { return max(low, min(high, x)) }

// chance is true in a share of the draws.
func chance(r *rand.Rand, share float64) bool { return r.Float64() < share }

// some is in half of the draws zero and in the others evenly drawn up to most.
func some(r *rand.Rand, most float64) float64 { return most * max(0, between(r, -1, 1)) }

// pick draws evenly among the choices.
func pick[T any](r *rand.Rand, from ...T) T { return from[r.IntN(len(from))] }
