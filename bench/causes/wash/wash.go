// Package wash makes up dust collectors for the causes bench from a maintenance engineer's sheet of a whole plant: hour
// by hour what is made, what the weather and the shop air are, when the fan runs and who walks past. The collector is then
// worked through the sheet: bands of media that hold on to their cake each in its own way and let go of what its own mass
// pulls loose, a wheel by Euler's line and the similarity laws, a header of one tank, two sensing lines that hold what
// they hold. A machine with trouble leaves a copy of itself behind at the onset, to which nothing happens; a trouble
// that does not show in the hours' books of the two is drawn on another machine. All of it is from first principles or
// from memory; it shares nothing with the physics of the project.
package wash

import (
	"errors"
	"math"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/collector"
	"dustwright/judge"
)

const (
	soundShare = 0.4
	settling   = 4.0 // days a machine runs before its record begins
)

// Draw makes up the trial of a seed: the same seed gives the same trial.
func Draw(seed uint64) (*made.Trial, error) { return drawCause(seed, causeOf(seed), 0) }

// causeOf is what is the matter in the trial of a seed.
func causeOf(seed uint64) judge.Cause {
	d := made.Throw(seed, 77)
	if d.Chance(soundShare) {
		return judge.None
	}
	return judge.Cause(made.OneOf(d, made.Causes()...))
}

// drawCause makes up a trial of a cause, over so many days or, where that is 0, as many as come.
func drawCause(seed uint64, c judge.Cause, days float64) (*made.Trial, error) {
	for try := range uint64(60) {
		if t := attempt(made.Throw(seed, 1000+try), c, days); t != nil {
			return t, nil
		}
	}
	return nil, errors.New("no machine shows " + string(c))
}

// attempt is one machine worked through its sheet; nil where nobody would have built it, it would not be let run like
// that, or what is the matter does not show.
func attempt(d made.Dice, c judge.Cause, days float64) *made.Trial {
	if days == 0 {
		days = d.Spread(14, 96)
	}
	p := newPlant(d)
	file, err := p.file(d)
	if err != nil || made.Flaw(file) != nil {
		return nil
	}
	from := settling * day
	end := from + math.Round(days*24)*hour + d.Between(0, 0.9)*hour
	s := newSheet(d, int(end/day)+2, p)
	end = s.awake(d, end)
	told := tale{name: "quiet"}
	if well := c == judge.None; well && d.Chance(0.85) || !well && d.Chance(0.3) {
		told = newTale(d, p, s, from, end)
	}
	m := newMachine(p, s, d.Between(0, 1.2))
	m.deeds = told.deeds
	w := newScribe(d, p, s, from, end)
	if told.write != nil {
		told.write(w)
	}
	start := time.Date(2024, 1, 1+7*d.IntN(110), 0, 0, 0, 0, time.UTC)
	w.base = float64(start.Unix())
	t := &made.Trial{Collector: file, Series: w.out, Truth: string(c), Story: told.name}
	if c != judge.None {
		m.ill = newTrouble(d, c, p, from, end)
	}
	if !m.live(d, w, from, end) {
		return nil
	}
	if c != judge.None {
		t.Number, t.Severity, t.Old = m.ill.number, m.ill.severity, (end-m.ill.onset)/day
	}
	w.finish()
	t.At = start.Add(time.Duration((end + w.shifted(end)) * 1e9))
	if len(w.out.Time) < 20 {
		return nil
	}
	return t
}

// live works the machine to the end of its record, and with a trouble a copy of it without; it reports whether that is a
// record worth keeping.
func (m *machine) live(d made.Dice, w *scribe, from, end float64) bool {
	m.work(from, nil, nil)
	if m.ill.fills() {
		m.fillUp(from, end, w)
		if end-m.ill.onset < 0.4*day {
			return false
		}
	}
	onset := end
	if m.ill.cause != "" {
		onset = max(from, m.ill.onset)
	}
	m.work(max(from, onset-4*day), nil, w)
	m.ranFor, m.cleanedFor = 0, 0
	m.work(onset, nil, w)
	if m.p.mode == collector.OnDemand && m.cleanedFor > 0.4*m.ranFor && !d.Chance(0.08) {
		return false
	}
	if m.ill.cause == "" {
		return true
	}
	well := m.clone()
	well.ill = &trouble{}
	mine, other := newBook(m.p, onset, end), newBook(m.p, onset, end)
	well.work(end, other, nil)
	m.work(end, mine, w)
	return mine.against(other, m.p) >= 1
}

// fillUp lets the bin fill while nobody sees to it. What is wrong begins when it is nearly full, if it comes to that.
func (m *machine) fillUp(from, end float64, w *scribe) {
	m.work(max(from, m.ill.onset-forgotten), nil, w)
	for m.bin < 0.86*m.p.bin*m.p.bulk && m.t < end-hour {
		m.work(m.t+hour, nil, w)
		m.ill.onset = max(m.ill.onset, m.t)
	}
	m.ill.onset = m.t
}

// shifted is what the log's clock is off by at a time [s].
func (w *scribe) shifted(at float64) float64 {
	if at >= w.jumps {
		return w.jump
	}
	return 0
}

// awake moves the end to a time at which somebody would ask: mostly while the fan runs.
func (s *sheet) awake(d made.Dice, end float64) float64 {
	if d.Chance(0.1) {
		return end
	}
	for _, r := range s.runs {
		if r.off > end {
			return max(end, min(r.on+d.Between(1, 4)*hour, r.off))
		}
	}
	return end
}
