// Package fold makes up dust collectors with their logs and a trouble that is known, to score the judgement on
// machines it has not seen. It shares no equation and no figure with the rehearsal or the other simulators: the
// fan is a cubic, a row is two patches of cake in parallel, a pulse bares a part of its area, the header is solved
// between events in closed form, and production sets the dust by mass rather than by concentration. Every figure
// is a guess of what is met in the trade (common practice, no source).
package fold

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
)

// Bounds of what is drawn.
const (
	leastDays, mostDays  = 25, 100 // length of a log
	leastSevere          = 0.25
	leastOld, mostOld    = 0.15, 28 // days since the onset
	none                 = string(judge.None)
	day                  = 86400.0
	attempts             = 60
	shareSound           = 0.4
	shareStorySound      = 0.82
	shareStoryTroubled   = 0.33
	shareFromStart       = 0.1
	warmUp               = 1.6 * day // run before the first row
	leastHoursAfterOnset = 1.2
)

// order is what is asked of a draw; the zero value leaves all to chance.
type order struct {
	cause    string
	severity float64
	brief    bool // a short log of sparse rows
}

// Draw makes up one collector with its log. The same seed gives the same trial. It returns an error where no
// trial came of many attempts, which does not happen for the figures of this package.
func Draw(seed uint64) (*made.Trial, error) {
	ill, _, err := draft(seed, order{})
	if err != nil {
		return nil, err
	}
	return ill.trial(), nil
}

// draft draws until the trouble shows beside the same machine without it, and returns both.
func draft(seed uint64, o order) (ill, well *run, err error) {
	if o.cause == "" {
		o.cause = truth(seed)
	}
	last := fmt.Errorf("no attempt")
	for try := range uint64(attempts) {
		s := hash(seed, 77, try)
		well, err := attempt(s, o, false)
		if err != nil {
			last = err
			continue
		}
		if err := well.fit(); err != nil {
			last = err
			continue
		}
		if o.cause == none {
			return well, well, nil
		}
		ill, err := attempt(s, o, true)
		if err != nil {
			last = err
			continue
		}
		if shows(ill, well) {
			return ill, well, nil
		}
		last = fmt.Errorf("%s does not show", o.cause)
	}
	return nil, nil, fmt.Errorf("fold: no trial for seed %d: %w", seed, last)
}

// truth draws what is wrong, so that every trouble is equally likely whatever it takes to draw it.
func truth(seed uint64) string {
	if dice(seed, 1, 0) < shareSound {
		return none
	}
	c := made.Causes()
	return c[int(dice(seed, 2, 0)*float64(len(c)))]
}

// numbered reports whether a cause carries the number of a valve or row.
func numbered(cause string) bool {
	e, ok := judge.CauseOf(judge.Cause(cause))
	return ok && e.Numbered
}

// run is one machine with all that was drawn for it and, after the simulation, its log.
type run struct {
	m         *mill
	cal       *calendar
	tale      *tale
	fault     *fault // nil for a sound one
	rec       *recorder
	sim       *sim
	collector *collector.Collector
	series    *sense.Series
	severity  float64
	start     time.Time
	days      float64
	onset     float64 // when the trouble began [s since the start], as the plant's clock has it
}

// fit is an error where a machine without trouble is not fit for its duty, since then something else is wrong.
func (r *run) fit() error {
	s := r.sim
	if s.ran < 3600 {
		return fmt.Errorf("it hardly runs")
	}
	if share := s.moved / s.ran / r.m.flow; share < 0.75 || share > 1.25 {
		return fmt.Errorf("moves %.2f of design flow when sound", share)
	}
	if r.m.timer.mode == collector.OnDemand && s.busy > 0.45*s.ran {
		return fmt.Errorf("cleans all the time when sound")
	}
	if s.x > 2*r.m.timer.high {
		return fmt.Errorf("too little cleaning when sound")
	}
	return nil
}

// attempt draws a machine, runs it with or without its trouble and keeps its log.
func attempt(seed uint64, o order, ill bool) (*run, error) {
	stream := func(k uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, k)) }
	r := &run{}
	g := stream(1)
	shape := drawLogging(g)
	if o.brief {
		shape = logging{step: 120, days: leastDays + 3}
	}
	r.days = shape.days
	r.start = time.Date(2023+g.IntN(3), time.Month(1+g.IntN(12)), 1+g.IntN(28), 0, 0, 0, 0, time.UTC)
	r.m = drawMill(stream(2), hash(seed, 5, 5))
	troubled := o.cause != none
	r.tale = drawTale(stream(3), r, troubled)
	r.cal = drawCalendar(stream(4), r, shape)
	r.days = r.cal.end / day
	r.m.fitBin(stream(11), r.cal.meanLoad)
	if troubled {
		f, err := drawFault(stream(6), r, o)
		if err != nil {
			return nil, err
		}
		r.fault, r.severity, r.onset = f, f.severity, f.onset
	}
	c, err := r.m.paper(stream(7), r)
	if err != nil {
		return nil, err
	}
	r.collector = c
	r.rec = newRecorder(stream(8), r, shape)
	s := newSim(r)
	r.sim = s
	if !ill {
		s.fault = nil
	}
	if err := s.play(); err != nil {
		return nil, err
	}
	if r.fault != nil && s.fault != nil {
		if s.skipped > 0 { // the bin's trouble begins when its emptying is left out
			r.onset = s.skipped
		}
		if r.fault.way.cause == string(judge.BinOverfull) && s.carryLate < 0.05 {
			return nil, fmt.Errorf("the bin did not get full")
		}
	}
	r.series = r.rec.log()
	if r.series.Len() < 500 {
		return nil, fmt.Errorf("only %d rows", r.series.Len())
	}
	return r, nil
}

// trial is what is handed over.
func (r *run) trial() *made.Trial {
	n := r.series.Len()
	t := &made.Trial{Collector: r.collector, Series: r.series, Truth: none, Story: r.tale.name(), At: time.Unix(0, r.series.Time[n-1]).UTC()}
	if r.fault == nil {
		return t
	}
	t.Truth, t.Number, t.Severity = r.fault.way.cause, r.fault.number, r.severity
	began := float64(r.rec.stamp(r.onset)) / 1e9
	if r.fault.fromStart {
		began = float64(r.series.Time[0]) / 1e9
	}
	t.Old = math.Max(0.1, (float64(t.At.UnixNano())/1e9-began)/day)
	return t
}
