// Package quill makes collectors up as one who trains service technicians would tell of them: a service with its typical
// figures and their spread, a machine built for it, what happened to it, and the log that cheap instruments kept. All
// parts are lumped and joined like an electrical network: resistances, capacitors, sources. Every figure is a guess of
// what is met in the trade (common practice, no source); no equation or figure is shared with the other simulators. SI
// throughout; NaN is a reading that is missing.
package quill

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/judge"
	"dustwright/sense"
)

const (
	healthyShare    = 0.4
	mostTries       = 40      // a trial is drawn again where its trouble can't be seen
	mostRows        = 120_000 // in a log
	dayLong         = 86400.0 // [s]
	atmosphere      = 1.0e5   // outside, for what compressed air does [Pa]
	motorEfficiency = 0.92
)

// kind draws what is the matter. The first of the judgement's causes is that nothing is.
func kind(seed uint64) judge.Cause {
	r := chance(seed, ofKind)
	return either(r.Float64() < healthyShare, judge.None, pick(r, judge.Causes()[1:]...).Name)
}

// Draw makes one trial. The same seed gives the same trial. The error says that no trouble drawn could be seen, or that
// the file is not valid.
func Draw(seed uint64) (*made.Trial, error) {
	cause := kind(seed)
	for try := range uint64(mostTries) {
		s := draft(seed*mostTries+try, cause)
		log, t := s.play(s.trouble), s.trouble
		if t != nil && !s.shows(log, s.play(nil)) {
			continue
		}
		c, err := s.rig.file(chance(s.seed, ofFile))
		if err != nil {
			return nil, fmt.Errorf("made-up collector: %w", err)
		}
		out := &made.Trial{Collector: c, Series: log, Truth: string(cause), Story: s.name, At: log.When(log.Len() - 1)}
		if t != nil {
			out.Number, out.Severity, out.Old = t.number, t.severity, float64(s.days)-t.onset/dayLong
		}
		return out, nil
	}
	return nil, fmt.Errorf("%s could not be seen in %d machines", cause, mostTries)
}

// shows reports whether a log differs from that of its twin without the trouble by more than noise: in a channel's mean
// or spread since the onset, or in the rows in which the valve concerned fired.
func (s *scene) shows(log, twin *sense.Series) bool {
	since := s.hall.start.UnixNano() + int64(s.trouble.onset*1e9)
	for ch, g := range s.gauges {
		for _, valve := range []int{0, s.trouble.number} {
			mean, sd := spread(log, sense.Channel(ch), since, valve)
			mean2, sd2 := spread(twin, sense.Channel(ch), since, valve)
			least := math.Hypot(g.noise, g.step)
			if least > 0 && (math.Abs(mean-mean2) > max(least, 0.15*sd2) || math.Abs(sd-sd2) > max(least, 0.3*sd2)) {
				return true
			}
		}
	}
	return false
}

// spread returns mean and standard deviation of a channel while the fan runs since a time [unix ns], in the rows in which a
// valve fired, or in all for valve 0; NaN where there are none.
func spread(s *sense.Series, ch sense.Channel, since int64, valve int) (mean, sd float64) {
	var n, sum, squares float64
	fired := s.Pulses
	for i, v := range s.Col[ch] {
		hit := valve == 0
		for ; len(fired) > 0 && int(fired[0].Row) == i; fired = fired[1:] {
			hit = hit || int(fired[0].Valve) == valve
		}
		if hit && s.Time[i] >= since && s.Col[sense.Running][i] == 1 && !math.IsNaN(v) {
			n++
			sum += v
			squares += v * v
		}
	}
	return sum / n, math.Sqrt(max(0, squares/n-sum/n*sum/n))
}

// Streams of chance, each of its own so that twins share them as long as they do the same. Each channel has one more.
const ofKind, ofDesign, ofLuck, ofTurbulence, ofFile, ofGauges = 1, 2, 3, 4, 5, 6

// chance is one stream of it.
func chance(seed, stream uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, stream)) }

// scene is all that happens at one machine but for chance.
type scene struct {
	seed         uint64
	rig          *rig
	hall         *hall
	days         int
	step, age    float64 // from one row to the next [s], of the filters when the log begins [d]
	trouble      *trouble
	name         string // of the story
	events       []event
	gaps         []span
	creep        span    // when the dP transmitter begins to drift, and how fast [Pa/s]
	wrong, reset float64 // what the logger's clock gains [s/d], and how long until it is set right [s]
	gauges       [sense.NumChannels]gauge
}

// draft draws a scene with a trouble of a kind.
func draft(seed uint64, cause judge.Cause) *scene {
	r := chance(seed, ofDesign)
	s := &scene{seed: seed, step: pick(r, 15.0, 30, 60, 60, 60, 120, 120, 300, 300, 600, 900)}
	s.days = min(int(20*math.Pow(6, r.Float64())), int(mostRows*s.step/dayLong))
	s.age = either(r.Float64() > 0.2, between(r, 5, 300), 0) // some logs begin with commissioning
	s.rig = build(r, s.age+float64(s.days))
	s.hall, s.gauges = newHall(r, s.rig, s.days), gauges(r, s.rig, s.step)
	s.wrong, s.reset = 3*r.NormFloat64()*(1-s.rig.care), between(r, 10, 50)*dayLong
	length := float64(s.days) * dayLong
	for r.Float64() < 0.4*(1-s.rig.care) {
		at := length * r.Float64()
		s.gaps = append(s.gaps, span{at, at + 3600*between(r, 0.5, 12)})
	}
	if cause != judge.None {
		s.trouble = goWrong(r, cause, s.rig.rows, length)
	}
	if r.Float64() < either(cause == judge.None, 0.85, 0.3) {
		s.tell(r, length*between(r, 0.35, 0.95))
	}
	return s
}

// play runs the scene, with a trouble or without, and keeps the log.
func (s *scene) play(t *trouble) *sense.Series {
	g := *s.rig // a story may change set points
	m := newMachine(&g)
	turbulent := chance(s.seed, ofTurbulence)
	m.start(turbulent, s.age)
	m.luck, m.spans = chance(s.seed, ofLuck), s.hall.spans
	log := &sense.Series{Source: "made-up log", Zone: time.UTC}
	events := s.events
	for begin := 0.0; begin < float64(s.days)*dayLong; begin += s.step {
		m.k = t.at(begin)
		for ; len(events) > 0 && events[0].at <= begin; events = events[1:] {
			events[0].do(m)
		}
		m.air = now(s.hall.weight, begin) / 287 / (now(s.hall.warmth, begin) + m.heat)
		for done := 0.0; done < s.step; {
			h := min(m.stride(begin+done), s.step-done)
			m.advance(s.hall, begin+done, h)
			m.clean(begin+done, h)
			done += h
		}
		s.write(log, begin+s.step, m.row(s.hall, begin+s.step, s.step, turbulent), m.fired)
		m.fired = m.fired[:0]
	}
	s.instrument(log)
	return log
}

// stride switches the fan as the hours want it and returns how long the next step may be [s]: it grows while nothing happens.
func (m *machine) stride(t float64) float64 {
	for len(m.spans) > 0 && m.spans[0].to <= t {
		m.spans = m.spans[1:]
	}
	on, edge := false, math.Inf(1)
	if len(m.spans) > 0 {
		if edge = m.spans[0].from; edge <= t {
			on, edge = true, m.spans[0].to
		}
	}
	m.pace = either(m.cleaning, max(m.wait, 0.1), min(2*m.pace, 240))
	if on != m.working {
		m.working, m.pace, m.left = on, 2, either(on, 0, m.downtime*m.rows)
	}
	return max(min(m.pace, edge-t), 0.01)
}

// write keeps a row, unless the logger is off or its clock was set back.
func (s *scene) write(log *sense.Series, t float64, v [sense.NumChannels]float64, fired []uint8) {
	shown := t + s.wrong*math.Mod(t, s.reset)/dayLong
	at, row := s.hall.start.Add(time.Duration(shown)*time.Second).UnixNano(), log.Len()
	off := slices.ContainsFunc(s.gaps, func(g span) bool { return t > g.from && t < g.to })
	if off || row > 0 && at <= log.Time[row-1] {
		return
	}
	v[sense.DP] += s.creep.to * max(0, t-s.creep.from)
	log.Time = append(log.Time, at)
	for ch := range v {
		log.Col[ch] = append(log.Col[ch], v[ch])
	}
	for _, valve := range fired {
		log.Pulses = append(log.Pulses, sense.Firing{Row: int32(row), Valve: valve})
	}
}

// instrument has the plant's gauges read what is in the log, and takes out what it has none for.
func (s *scene) instrument(log *sense.Series) {
	for ch := range log.Col {
		g, r := s.gauges[ch], chance(s.seed, ofGauges+uint64(ch))
		log.Col[ch] = either(g.lost == 1, nil, log.Col[ch])
		for i, v := range log.Col[ch] {
			log.Col[ch][i] = g.read(v, s.step, i, r)
		}
	}
	log.Pulses = either(log.Col[sense.Pulse] == nil, nil, log.Pulses)
}
