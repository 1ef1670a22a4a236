// Package outline draws made-up collectors and their logs with a known trouble, or none: a further simulator,
// beside package rehearse, bench/causes/sketch and bench/causes/rough, to train and to test the judgement on
// what it has not seen. It shares no equations with them. A row of filters is a handful of patches; a pulse
// cleans each of them or leaves it, as luck has it; their cake is squeezed by the pressure over it, and part
// of what comes off goes back to the neighbours. Fan and resistances are sums of linear and quadratic terms,
// so that flow comes out of a quadratic. The header is a tank that empties by a polytropic law at every
// pulse and fills no faster than its supply brings. It goes in steps of at most a minute with the pulses
// resolved inside.
//
// How bad a trouble is goes by what comes of it and not by what was turned: most are sized by running the
// machine for a day with and without them, and a trouble that no channel of the log shows beside the same
// machine without it is drawn again.
//
// All its figures, and all its ways to fail, are guesses of what is met in the trade (common practice, no
// source). It leaves out what happens within a pulse, heat, and the length of ducts.
package outline

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/sense"
)

// Shares of sound trials, of sound and of faulty ones that have a story, and of faults that were there
// from the first reading; bounds of the logs' lengths [days].
const (
	soundShare = 0.4
	taleShare  = 0.88
	bothShare  = 0.35
	startShare = 0.1
	leastDays  = 25
	mostDays   = 100
	none       = "none"
	tries      = 60
)

// wish fixes what a test wants fixed; zero values leave it to the draw.
type wish struct {
	cause    string
	severity float64
	logic    logic
	well     bool // the trouble is left out: the same collector as it would have been
}

// Draw makes the trial of a seed.
func Draw(seed uint64) (*made.Trial, error) {
	t, _, err := draft(seed, wish{})
	return t, err
}

var errUnseen = errors.New("nobody would notice")

// draft tries until a trial is fit to be judged, and says which attempt was.
func draft(seed uint64, want wish) (*made.Trial, uint64, error) {
	r := rand.New(rand.NewPCG(seed, 0x07))
	if want.cause == "" {
		want.cause = none
		if r.Float64() >= soundShare {
			want.cause = pick(r, causes()...)
		}
	}
	if want.logic == 0 {
		want.logic = pick(r, untilLow, untilLow, untilLow, untilLow, untilLow, somePasses, somePasses, somePasses, timer, always)
	}
	for range tries {
		from := r.Uint64()
		t, err := attempt(from, want)
		if errors.Is(err, errUnfit) || errors.Is(err, errUnseen) {
			continue
		}
		return t, from, err
	}
	return nil, 0, fmt.Errorf("no machine shows %s in %d tries", want.cause, tries)
}

// attempt makes one trial.
func attempt(seed uint64, want wish) (*made.Trial, error) {
	r := rand.New(rand.NewPCG(seed, 0x11))
	m := build(r, want.logic)
	if err := m.trim(r, seed); err != nil {
		return nil, err
	}
	days := within(r, leastDays, mostDays)
	rec := newRecorder(seed, m, 0)
	if rec.base < minute {
		days = leastDays + (days-leastDays)*rec.base/150
	}
	rec = newRecorder(seed, m, days*day)
	w := newWorld(m, seed)
	w.cal = drawCalendar(r, m, days)
	days = w.cal.stop(days, within(r, 0, 5)) / day
	rec.length = days * day
	w.s.bin = within(r, 0, 0.5) * m.bin.volume * m.dust.bulk
	w.s.afterGain = within(r, 0, 120)
	tell := story{name: ""}
	if p := bothShare; r.Float64() < p || want.cause == none && r.Float64() < (taleShare-p)/(1-p) {
		tell = tale(r, m, days*day)
	}
	if tell.own != nil {
		tell.own(rec)
	}
	if tell.name == "more shifts" {
		lengthen(w.cal, days*day*within(r, 0.5, 0.9))
	}
	out := &made.Trial{Truth: none, Story: tell.name, Collector: paper(r, m, days*day, w.cal)}
	var bad *trouble
	if want.cause != none {
		var err error
		if bad, err = trial(r, w, want, out, days); err != nil {
			return nil, err
		}
	}
	rec.s = rec.blank()
	rec.start = w.cal.start
	out.Series = rec.s
	out.At = w.cal.start.Add(time.Duration(days * day * 1e9))
	if err := record(w, rec, tell, bad, want.well); err != nil {
		return nil, err
	}
	if share := w.s.cleaned / max(w.s.ran, 1); m.control.logic.demand() && w.s.ran > day && (share < 0.01 || share > 0.42 || w.s.busy > 0.6) {
		return nil, errUnfit
	}
	return out, nil
}

// trial draws the trouble and when it came.
func trial(r *rand.Rand, w *world, want wish, out *made.Trial, days float64) (*trouble, error) {
	severity := within(r, 0.25, 1)
	if want.severity > 0 {
		severity = want.severity
	}
	old := min(logWithin(r, 0.125, 28), days-8)
	start := r.Float64() < startShare
	bad, severity, fits := arrange(r, w, want.cause, severity)
	if !fits {
		return nil, errUnseen
	}
	if bad.way.creeps && !start {
		old = max(old, within(r, 1, 6))
	}
	severity, seen := bad.size(w, severity)
	if !seen {
		return nil, errUnseen
	}
	if start {
		old = days
	}
	bad.from = (days - old) * day
	if bad.way.creeps && !start {
		bad.ramp = old * day * within(r, 0.2, 0.8)
	}
	out.Truth, out.Severity, out.Old = want.cause, severity, old
	if bad.row >= 0 {
		out.Number = bad.row + 1
	}
	return bad, nil
}

// record runs the machine and writes its log; with a trouble it runs a twin without it from the onset on.
func record(w *world, rec *recorder, tell story, bad *trouble, well bool) error {
	base := tell.turn
	if base == nil {
		base = func(*world, *knobs) {}
	}
	turn := func(w *world, k *knobs) {
		base(w, k)
		bad.turning(w, k)
	}
	w.turn = base
	y := &tally{from: rec.length}
	if bad == nil {
		rec.run(w, rec.length, y)
		return nil
	}
	rec.run(w, bad.from, y)
	w.s.ill = true
	y.from = max(bad.from+bad.ramp, rec.length-3*day)
	twin := w.clone()
	blank := *rec
	blank.s, blank.r = nil, rand.New(rand.NewPCG(1, 1))
	sound := &tally{from: y.from}
	blank.run(twin, rec.length, sound)
	if !well {
		w.turn = turn
		rec.run(w, rec.length, y)
		if moved(y, sound, rec, bad) < 1.5 {
			return errUnseen
		}
		return nil
	}
	rec.run(w, rec.length, y)
	return nil
}

// blank is a log with room for what will come.
func (rec *recorder) blank() *sense.Series {
	s := &sense.Series{Source: "outline"}
	n := int(rec.length/rec.base*1.05) + 100
	s.Time = make([]int64, 0, n)
	for c := range sense.NumChannels {
		if rec.of[c].there {
			s.Col[c] = make([]float64, 0, n)
		}
	}
	return s
}

// run goes on until a time and writes rows as they come; without a log it only tallies.
func (rec *recorder) run(w *world, until float64, y *tally) {
	var now, sums [sense.NumChannels]float64
	weight := 0.0
	due := rec.next(w.s.t)
	for w.s.t < until {
		most := 600.0
		if w.s.running || w.s.cleaning {
			most = minute
		}
		dt := min(due-w.s.t, most, until-w.s.t)
		if e := w.cal.ends(w.s.slot, w.s.t); e > 0.5 {
			dt = min(dt, e)
		}
		dt = math.Max(dt, 0.5)
		w.step(dt)
		k := &w.now
		full := w.s.t >= due-0.25
		if !full && !rec.mean {
			continue
		}
		rec.truth(w, k, &now)
		if rec.mean {
			for c := range sense.NumChannels {
				if averaged(c) {
					sums[c] += now[c] * dt
				}
			}
			weight += dt
		}
		if !full {
			continue
		}
		if rec.mean {
			for c := range sense.NumChannels {
				if averaged(c) {
					now[c] = sums[c] / weight
					sums[c] = 0
				}
			}
			weight = 0
		}
		y.take(w, &now)
		if rec.s != nil {
			rec.write(w, &now)
		} else {
			w.fired, w.low, w.peak = w.fired[:0], w.s.header, 0
		}
		due = rec.next(w.s.t)
	}
}
