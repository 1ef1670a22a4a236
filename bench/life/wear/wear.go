// Package wear makes up whole lives of the filters of pulse-jet cartridge collectors: from new filters to the first
// limit that ends them, as the log of a plant would show it. The laws of media, cake, cleaning, fan, damper and
// after-filter are its own and shared with nothing that is scored by it; proportions are common practice, no source.
// It leaves out faults: everything but the filters is sound, and wears as sound things do; but for the histories of DrawRepaired.
package wear

import (
	"errors"
	"fmt"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/collector"
	"dustwright/sense"
)

// The limits that end a life. Source: DESIGN.md section 4, life.
const (
	ByDP          = "dp"          // the low end of a week's dP at design flow reaches the filters' most
	ByFlow        = "flow"        // with that dP the fully open damper lets less than 95 % of design flow pass
	ByAir         = "air"         // a week's pulses take more than 80 % of the compressed air supplied
	ByAfterfilter = "afterfilter" // the after-filter's dP at design flow reaches its own most
)

// The ways in which filters age.
const (
	Steady  = "steady"   // nearly in proportion to the dust that came
	Slowing = "slowing"  // ever less for the same dust
	Late    = "late"     // gathers pace as the media close
	Steps   = "steps"    // a slow creep with bad weeks and humid spells
	TwoDust = "two dust" // another dust from some day on
)

// History is one set of filters from new to the first limit, as the plant's log shows it. Earlier sets may stand
// before it in the same record.
type History struct {
	Collector *collector.Collector
	Series    *sense.Series
	Start     time.Time   // of the last set of filters
	End       time.Time   // the first limit binds, by the truth
	Limit     string      // which
	Ageing    string      // in which way the last set aged
	Noted     []time.Time // changes of filters that somebody wrote down
}

// Shortest and longest life [s].
const (
	shortest = 42 * day
	longest  = 1096 * day
)

// rowsMost is how many rows a series has at most.
const rowsMost = 60000

var errNoLife = errors.New("wear: no life of a length that is wanted")

// Draw makes a history; the same seed makes the same one.
func Draw(seed uint64) (*History, error) {
	h, _, err := draw(seed)
	return h, err
}

// draw returns also what really happened.
func draw(seed uint64) (*History, *run, error) {
	const tries = 60
	var err error
	for i := range uint64(tries) {
		d := made.Throw(seed, 0x3ea7+i)
		var h *History
		var r *run
		if h, r, err = attempt(d); err == nil {
			return h, r, nil
		}
	}
	return nil, nil, fmt.Errorf("seed %d: %w", seed, err)
}

// attempt makes a plant, runs it, and writes file and log.
func attempt(d made.Dice) (*History, *run, error) { return live(d, newPlant(d), nil) }

// live runs a plant, with a trouble or nil.
func live(d made.Dice, p *plant, x *trouble) (*History, *run, error) {
	c, err := p.paper()
	if err != nil {
		return nil, nil, err
	}
	l := newLogger(d, p)
	r := newRun(d, p, l.step)
	r.trouble = x
	if err := r.lives(); err != nil {
		return nil, nil, err
	}
	h := &History{Collector: c, Start: p.when(r.start), End: p.when(r.end), Limit: r.limit, Ageing: r.sets[len(r.sets)-1].kind}
	for _, s := range r.sets {
		if s.from > 0 && d.Chance(p.writes) {
			h.Noted = append(h.Noted, p.when(s.from))
		}
	}
	if d.Chance(0.35) {
		c.Filters.Installed = h.Start.UTC().Truncate(24 * time.Hour)
	}
	h.Series = l.series(r)
	if n := h.Series.Len(); n > rowsMost || n < 20 {
		return nil, nil, fmt.Errorf("wear: %d rows", n)
	}
	return h, r, nil
}
