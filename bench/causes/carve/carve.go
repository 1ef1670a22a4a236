// Package carve makes up pulse-jet cartridge collectors that run with their process: shifts, bursts
// of dust, hoods that open and close, humid seasons, compressed air shared with others, and people
// who act on what they see. Each row of a log is one quasi-steady balance of fan, ducts, filters and
// header; there is no smaller step but the pulses. It shares nothing with package rehearse nor with
// the other simulators. All figures: common practice, no source. Units are SI; NaN is a reading that
// was lost.
package carve

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/judge"
	"dustwright/sense"
)

// healthy is the share of trials with nothing wrong.
const healthy = 0.4

// tries is how often a trial is drawn anew before it is given up.
const tries = 60

// Draw makes up a collector with its log. The same seed gives the same trial. The error says that no
// machine drawn would have been built, or no trouble showed.
func Draw(seed uint64) (*made.Trial, error) {
	r, s := open(seed)
	well := s.f == nil
	var cause judge.Cause
	if !well {
		cause = s.f.cause
	}
	for range tries {
		if !well {
			for s.f.cause != cause { // a cause that is hard to see comes as often as others
				s.f = newTrouble(r, s.p, s.book.days)
			}
			s.place()
		}
		t, err := s.trial()
		if !errors.Is(err, errFile) && !errors.Is(err, errHidden) {
			return t, err
		}
		s = newScene(r, well)
	}
	return nil, fmt.Errorf("carve: nothing fit to show in %d tries", tries)
}

// open draws whether all is well, and the first scene.
func open(seed uint64) (*rand.Rand, *scene) {
	r := rand.New(rand.NewPCG(seed, 0xca7e))
	return r, newScene(r, r.Float64() < healthy)
}

// scene is a machine with all that will happen to it.
type scene struct {
	p     *plant
	book  *book
	story *story
	crew  crew
	f     *trouble
	seed  uint64
}

// newScene draws one.
func newScene(r *rand.Rand, well bool) *scene {
	s := &scene{p: newPlant(r), story: &story{name: "quiet"}, seed: r.Uint64()}
	s.book = newBook(r, s.p)
	if well && r.Float64() < 0.85 || r.Float64() < 0.3 {
		s.story = newStory(r, s.book.days, s.p.calendar)
		s.story.from += s.book.start
		s.story.until += s.book.start
	}
	if s.story.name == "slow drift" {
		s.book.gauges[sense.DP].drift = 2500 * between(r, -0.06, 0.06)
	}
	s.crew = newCrew(r, s.story)
	if !well {
		s.f = newTrouble(r, s.p, s.book.days)
	}
	return s
}

// place counts the trouble's onset from the log's own zero.
func (s *scene) place() {
	if s.f.from > 0 {
		s.f.from += s.book.start
	}
}

// trial runs the scene.
func (s *scene) trial() (*made.Trial, error) {
	c, err := s.p.paper(rand.New(rand.NewPCG(s.seed, 1)))
	if err != nil {
		return nil, err
	}
	ms := s.moments()
	l := s.run(ms, s.f)
	t := &made.Trial{Collector: c, Truth: string(judge.None)}
	if s.f != nil {
		if !s.shows(ms, l, s.run(ms, nil)) {
			return nil, errHidden
		}
		t.Truth, t.Number, t.Severity, t.Old = string(s.f.cause), s.f.number, s.f.severity, s.f.old
	}
	if s.story.name != "quiet" || s.f == nil {
		t.Story = s.story.name
	}
	times := make([]int64, len(ms))
	for i := range ms {
		times[i] = ms[i].at
	}
	r := rand.New(rand.NewPCG(s.seed, 2))
	t.Series = s.book.write(l, times, s.book.kept(ms, s.story, r), r)
	t.At = time.Unix(0, times[len(times)-1]).In(t.Series.Zone)
	return t, nil
}

// moments are the rows as process and weather make them.
func (s *scene) moments() []moment {
	b := s.book
	h := newHabits(rand.New(rand.NewPCG(s.seed, 3)), s.p, b.base)
	n := int(b.days * day / b.step)
	ms := make([]moment, n)
	for i := range ms {
		t := b.start + float64(i+1)*b.step
		ms[i] = h.next(t, b.step, s.story)
		ms[i].at = (int64(b.base)*86400 + int64(t) - int64(b.zone)) * 1e9
	}
	return ms
}

// run takes the machine through the rows, with a trouble or without.
func (s *scene) run(ms []moment, f *trouble) *log {
	m := newRun(s.p, f, s.story, s.crew, s.seed)
	m.t, m.mean = s.book.start, s.book.form == "average"
	for i, w := range ms {
		m.step(i, w)
	}
	return m.log
}
