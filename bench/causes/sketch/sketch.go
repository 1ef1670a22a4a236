// Package sketch draws made-up collectors and their logs with a known trouble, or none, to test the
// judgement on something that does not share the equations of package rehearse. It is built
// differently on purpose: a fixed step of half a minute to two minutes, the filters as two
// compartments (one row, and all others mixed), a cake that follows a power law, a quadratic fan
// against a quadratic system, a header that falls by a fixed share a pulse. All its figures are guesses of what is met in the
// trade (common practice, no source).
package sketch

import (
	"fmt"
	"math/rand/v2"
	"time"

	"dustwright/bench/causes/made"
)

// Share of healthy trials, of faulty ones that have a story too, and of faults that were there from
// the first reading; bounds of the logs' lengths in days.
const (
	healthyShare = 0.4
	storyShare   = 0.4
	startShare   = 0.1
	leastDays    = 25
	mostDays     = 90
)

// wish fixes what a test wants fixed; zero values leave it to the draw.
type wish struct {
	cause    string
	severity float64
	old      float64 // days
	quiet    bool    // a short log without story, with all channels and perfect instruments; one pulse a minute on demand
}

// Draw makes the trial of a seed: the same seed makes the same trial. It returns an error where the
// collector's file does not pass.
func Draw(seed uint64) (*made.Trial, error) { return draw(seed, wish{}) }

// draw takes every matter from a stream of its own, so that two trials of one seed differ only in
// what is wished differently.
func draw(seed uint64, want wish) (*made.Trial, error) {
	stream := func(matter uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 7000+matter)) }
	m := newMachine(stream(1), want)
	c, err := m.file(stream(2), want.quiet)
	if err != nil {
		return nil, fmt.Errorf("sketch, seed %d: %w", seed, err)
	}
	r := stream(3)
	days := leastDays + r.Float64()*(mostDays-leastDays)
	if want.quiet {
		days = leastDays
	}
	clock := drawClock(r, days, want.quiet)
	days = clock.length()
	f := drawFault(stream(4), m, want)
	tale := noStory(days)
	if r := stream(5); !want.quiet && (f.cause == none || r.Float64() < storyShare) {
		tale = drawStory(r, m, days, f)
	}
	shifts := drawShifts(stream(8), m, clock, tale)
	for clock.steps > 1 && !shifts.on[clock.steps-1] { // a log ends when somebody looks
		clock.steps--
	}
	f = f.placed(clock, shifts)
	rec := newRecord(clock)
	run := &run{m: m, f: f, tale: tale, clock: clock, out: rec, shifts: shifts, r: stream(6)}
	run.weather = drawWeather(stream(7), clock, tale)
	run.all()
	s := rec.series()
	if !want.quiet {
		spoil(stream(9), m, s, f, tale)
	}
	return &made.Trial{Collector: c, Series: s, Truth: f.cause, Number: f.number, Severity: f.severity, Old: f.old,
		Story: tale.name, At: time.Unix(0, s.Time[len(s.Time)-1]).UTC()}, nil
}

// uniform draws between two bounds.
func uniform(r *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }

// pick draws one of several.
func pick[T any](r *rand.Rand, of ...T) T { return of[r.IntN(len(of))] }

// clock is how the simulation steps and how often the log keeps a row.
type clock struct {
	start time.Time
	step  float64 // [s]
	every int     // steps a row
	steps int
}

func drawClock(r *rand.Rand, days float64, quiet bool) clock {
	c := clock{start: time.Date(2023, 1, 2, 0, 0, 0, 0, time.UTC).AddDate(0, 0, r.IntN(900)).Add(time.Duration(r.IntN(86400)) * time.Second)}
	kind := r.IntN(10)
	if quiet {
		kind = 2
	}
	switch kind {
	case 0:
		c.step, c.every = 20, 1
	case 1:
		c.step, c.every = 30, 1
	case 2, 3, 4, 5:
		c.step, c.every = 60, 1
	case 6, 7:
		c.step, c.every = 120, 1
	case 8:
		c.step, c.every = 60, 5
	case 9:
		c.step, c.every = 120, 5
	}
	if c.step < 60 {
		days = min(days, 35)
	}
	c.steps = int(days * 86400 / c.step)
	return c
}

// days of a step's beginning since the start.
func (c clock) days(i int) float64 { return float64(i) * c.step / 86400 }

// length of the log in days.
func (c clock) length() float64 { return c.days(c.steps) }
