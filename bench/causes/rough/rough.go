// Package rough draws made-up collectors and their logs with a known trouble, or none: a third simulator,
// beside package rehearse and bench/causes/sketch, to train and to test the judgement on what it has not
// seen. It shares no equations with them. Every row of filters has a loose layer, a packed layer and a seat
// of its own, and a pulse takes off what sticks less than a threshold; fan and damper are tables joined by
// straight lines; hoods open and shut with the machines they serve; the header hangs on a plant net with a
// compressor that loads and unloads; the log is written by instruments that drift, hold, clip, miss and lie.
// It goes in steps of at most three quarters of a minute. All its figures, and all its ways to fail, are
// guesses of what is met in the trade (common practice, no source). It leaves out what happens within a
// second and within a row.
package rough

import (
	"fmt"
	"math/rand/v2"

	"dustwright/bench/causes/made"
)

// Share of healthy trials, of faulty ones that have a story too, and of faults that were there from the
// first reading; bounds of the logs' lengths [days].
const (
	healthyShare = 0.4
	storyShare   = 0.35
	startShare   = 0.1
	leastDays    = 25
	mostDays     = 90
	none         = "none"
)

const (
	minute = 60.0
	hour   = 3600.0
	day    = 86400.0
)

// wish fixes what a test wants fixed; zero values leave it to the draw.
type wish struct {
	cause    string
	way      int // 1 is the first way of the cause
	severity float64
	old      float64 // days
	quiet    bool    // steady production without story, all channels by perfect instruments, cleaning on demand
}

// Draw makes the trial of a seed: the same seed makes the same trial. It returns an error where the
// collector's file does not pass.
func Draw(seed uint64) (*made.Trial, error) {
	t, _, err := draw(seed, wish{})
	return t, err
}

// draw takes every matter from a stream of its own. It returns the scene as it stands at the end, too.
func draw(seed uint64, want wish) (*made.Trial, *scene, error) {
	stream := func(matter uint64) *rand.Rand { return rand.New(rand.NewPCG(matter*1_000_003+17, seed)) }
	p := newPlan(stream(1), want.quiet)
	book := newBook(stream(2), p, want.quiet)
	days := between(stream(3), leastDays, mostDays)
	if want.quiet {
		days = 14
	} else if book.every < 30 {
		days = min(days, 34)
	}
	cal := newCalendar(stream(4), days, want.quiet)
	f := newTrouble(stream(5), p, cal, want)
	tale := tale{kind: quietTale}
	if r := stream(6); !want.quiet && (f.cause == none || r.Float64() < storyShare) {
		tale = newTale(r, cal, p)
	}
	s := newScene(p, cal, stream(7), want.quiet)
	s.settle(f, tale)
	s.trouble, s.tale, s.book = f, tale, book
	book.open(int(cal.end / book.every))
	s.play(0, cal.end)
	c, err := p.paper(stream(8), cal.start, want.quiet)
	if err != nil {
		return nil, nil, fmt.Errorf("rough, seed %d: %w", seed, err)
	}
	t := &made.Trial{Collector: c, Series: book.series(stream(9), cal, tale), Truth: f.cause, Number: f.number,
		Severity: f.severity, Old: f.old, Story: tale.kind}
	if t.Series.Len() == 0 {
		return nil, nil, fmt.Errorf("rough, seed %d: the log is empty", seed)
	}
	t.At = t.Series.When(t.Series.Len() - 1)
	return t, s, nil
}
