package draft

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
)

const (
	healthy  = 0.4    // share of trials without a trouble
	mostRows = 160000 // of a log
	tries    = 60     // machines looked at for one trial
)

// Draw makes a trial; the same seed gives the same one. It returns an error where no file could be made.
func Draw(seed uint64) (*made.Trial, error) {
	r := rand.New(rand.NewPCG(seed, 0xd4af7))
	return drawn(r, seed, pick(r))
}

// pick draws what is wrong, if anything.
func pick(r *rand.Rand) judge.Cause {
	if r.Float64() < healthy {
		return judge.None
	}
	all := made.Causes()
	return judge.Cause(all[r.IntN(len(all))])
}

// drawn looks for a machine that keeps quiet while nothing is wrong, and on which the trouble shows.
func drawn(r *rand.Rand, seed uint64, cause judge.Cause) (*made.Trial, error) {
	var err error
	for try := range uint64(tries) {
		var c *collector.Collector
		s, days := newSetup(r, cause == judge.None)
		if c, err = s.plant.file(r); err != nil {
			return nil, fmt.Errorf("draft: %w", err)
		}
		noise := seed*64 + try
		at := time.Unix(s.first+int64(float64(s.rows)*s.step), 0).UTC()
		trial := &made.Trial{Collector: c, Truth: string(cause), Story: s.story.name, At: at}
		rec := s.run(nil)
		if s.restless(rec) && r.Float64() > 0.08 {
			continue
		}
		if cause == judge.None {
			trial.Series = s.habits.log(s, rec, noise)
			trial.At = last(trial.Series, at)
			return trial, nil
		}
		t := newTrouble(r, cause, s.plant.rows, days)
		bad := s.run(t)
		if !shows(s, t, rec, bad) {
			continue
		}
		trial.Series = s.habits.log(s, bad, noise)
		trial.At = last(trial.Series, at)
		trial.Number, trial.Severity, trial.Old = t.number, t.severity, days-t.from/86400
		return trial, nil
	}
	return nil, fmt.Errorf("draft: no machine of %d shows %s", tries, cause)
}

// last is the time of the log's last row, where rows came late after the time it was to end.
func last(s *sense.Series, at time.Time) time.Time {
	if end := s.When(s.Len() - 1); end.After(at) {
		return end
	}
	return at
}

// newSetup draws a machine, its work, its weather, its story and its historian.
func newSetup(r *rand.Rand, well bool) (*setup, float64) {
	p := build(r)
	step := oneOf(r, 10.0, 15, 30, 60, 60, 60, 60, 120, 300, 300, 600, 900)
	days := math.Round(between(r, 20, 120))
	if days*86400/step > mostRows {
		days = max(20, math.Floor(mostRows*step/86400))
	}
	if days*86400/step > 1.1*mostRows {
		step = 15
	}
	s := &setup{plant: p, step: step, rows: int(days * 86400 / step), begun: 1, age: p.season * between(r, 5, 60), binAt: between(r, 0, p.emptyAt),
		telling: r.Float64() < 0.7}
	s.story = stories(r, days, well)
	if r.Float64() < 0.15 { // the log begins with the commissioning
		s.begun, s.age = 0, 0
	}
	first := time.Date(2024, 1, 1, 0, 0, 0, 0, time.UTC).Unix() + 86400*int64(r.IntN(700))
	s.first = first
	weekday := int(first/86400+3) % 7 // Monday is 0
	s.works = newRota(r).stints(r, int(days), weekday, s.story)
	s.sky = newWeather(r, p, int(days), s.story)
	s.habits = newHabits(r, p)
	return s, days
}

// restless reports that a machine that cleans by dP did so most of the time.
func (s *setup) restless(rec *record) bool {
	if s.plant.control.byTime {
		return false
	}
	ran, cleaned := 0.0, 0.0
	for i, on := range rec.col[sense.Running] {
		if on > 0 {
			ran++
			cleaned += min(1, rec.col[sense.Pulse][i]*s.plant.control.every/s.step)
		}
	}
	return cleaned > 0.3*ran || ran == 0
}

// shows tells whether a trouble can be seen beside the same machine without it: some channel's spread of values while
// the fan runs lies elsewhere by more than the noise, there are more pulses or fewer, or the header falls otherwise in
// rows in which the valve in question fires alone.
func shows(s *setup, t *trouble, well, bad *record) bool {
	from := int(t.from / s.step)
	if a, b := alone(well, t, s), alone(bad, t, s); t.number > 0 && min(a.n, b.n) >= 4 {
		g := &s.habits.tag[sense.HeaderLow]
		if math.Abs(a.mean-b.mean) > 2*(g.noise+g.step/2) {
			return true
		}
	}
	if a, b := float64(since(well, from)), float64(since(bad, from)); s.habits.pulses && math.Abs(a-b) > 0.2*max(a, b)+float64(3*s.plant.rows) {
		return true
	}
	stride := max(1, (s.rows-from)/3000)
	for _, ch := range []sense.Channel{sense.DP, sense.AfterfilterDP, sense.Flow, sense.Header, sense.FanCurrent, sense.InletSP, sense.Emission, sense.BinLevel} {
		if ch == sense.BinLevel && t.cause != judge.BinOverfull || ch == s.habits.missing {
			continue
		}
		a, b := spread(well, ch, from, stride), spread(bad, ch, from, stride)
		if len(a) < 20 {
			return false
		}
		g := &s.habits.tag[ch]
		noise := g.noise + g.rough + g.step/2
		for _, q := range []float64{0.1, 0.3, 0.5, 0.7, 0.9} {
			if math.Abs(a[int(q*float64(len(a)))]-b[int(q*float64(len(b)))]) > 2*noise {
				return true
			}
		}
	}
	return false
}

// spread returns what a channel has while the fan runs, in order.
func spread(rec *record, ch sense.Channel, from, stride int) []float64 {
	var out []float64
	for i := from; i < len(rec.col[ch]); i += stride {
		if rec.col[sense.Running][i] > 0 {
			out = append(out, rec.col[ch][i])
		}
	}
	slices.Sort(out)
	return out
}

// since counts the pulses from a row on.
func since(rec *record, from int) int {
	i, _ := slices.BinarySearchFunc(rec.pulses, from, func(f sense.Firing, row int) int { return int(f.Row) - row })
	return len(rec.pulses) - i
}

// sample is a mean and how many values are behind it.
type sample struct {
	mean float64
	n    int
}

// alone is the lowest header pressure in the rows in which the trouble's valve and no other fired since the onset.
func alone(rec *record, t *trouble, s *setup) sample {
	sum, n := 0.0, 0
	for i, f := range rec.pulses {
		if int(f.Valve) == t.number && rec.when[i] >= t.from+0.5*t.ramp && rec.col[sense.Pulse][f.Row] == 1 {
			sum += rec.col[sense.HeaderLow][f.Row]
			n++
		}
	}
	if !s.habits.pulses || s.habits.missing == sense.HeaderLow {
		n = 0
	}
	return sample{sum / max(1, float64(n)), n}
}
