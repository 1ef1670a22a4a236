package carve

import (
	"errors"
	"math"

	"dustwright/judge"
	"dustwright/sense"
)

// errHidden says that the trouble is not to be seen beside the same machine without it.
var errHidden = errors.New("the trouble does not show")

// sight is what one log shows of a channel from the trouble's later part on.
type sight struct{ mean, spread float64 }

// look sums up a channel over the rows that count.
func look(col []float64, rows []int) sight {
	var n, sum, square float64
	for _, i := range rows {
		if v := col[i]; !math.IsNaN(v) {
			n++
			sum += v
			square += v * v
		}
	}
	if n == 0 {
		return sight{}
	}
	mean := sum / n
	return sight{mean, math.Sqrt(max(0, square/n-mean*mean))}
}

// shows reports that a log differs from its twin's by more than the noise of one reading, in the mean
// or the spread of a channel, in how often it is cleaned, or at the valve in question.
func (s *scene) shows(ms []moment, l, twin *log) bool {
	rows, all := s.late(ms)
	if len(rows) < 3 || s.f.number > 0 && s.f.cause != judge.FilterLeak && l.asked(s.f.number, int32(all[0])) < 2 {
		return false
	}
	pulses, usual := look(l.col[sense.Pulse], all).mean, look(twin.col[sense.Pulse], all).mean
	n := float64(len(all))
	cycles := usual * n / float64(s.p.rows)
	for ch, g := range s.book.gauges {
		if g == nil || l.col[ch] == nil || sense.Channel(ch) == sense.BinMass || sense.Channel(ch) == sense.Barometer {
			continue
		}
		noise := math.Hypot(math.Hypot(g.noise, g.work)/g.gain, g.step/2)
		a, b := look(l.col[ch], rows), look(twin.col[ch], rows)
		apart := 1.2 * noise
		switch sense.Channel(ch) {
		case sense.Header, sense.HeaderLow, sense.Emission, sense.BinLevel, sense.Damper:
		default: // two saws out of step differ by chance
			apart += 0.7 * b.spread / math.Sqrt(1+cycles)
		}
		if math.Abs(a.mean-b.mean) > apart || math.Abs(a.spread-b.spread) > 1.5*noise+0.3*b.spread {
			return true
		}
	}
	if math.Abs(pulses-usual)*n > 25+0.15*usual*n {
		return true
	}
	return s.f.number > 0 && s.book.numbers && s.valve(l, twin, all)
}

// late are the rows of the trouble's later part with the fan on, and all of them.
func (s *scene) late(ms []moment) (running, all []int) {
	end := s.book.start + s.book.days*day
	from := max(s.f.from, s.book.start)
	from = max(from+0.4*(end-from), min(s.f.from+0.8*s.f.ramp, end-0.1*(end-from)))
	for i := range ms {
		if t := s.book.start + float64(i+1)*s.book.step; t > from {
			all = append(all, i)
			if ms[i].on {
				running = append(running, i)
			}
		}
	}
	return running, all
}

// valve reports that the header or the leak detector is another one in rows in which few valves
// fired and the one in question did.
func (s *scene) valve(l, twin *log, rows []int) bool {
	from := int32(rows[0])
	for _, ch := range []sense.Channel{sense.HeaderLow, sense.Emission} {
		a, b := look(l.col[ch], l.fired(s.f.number, from)), look(twin.col[ch], twin.fired(s.f.number, from))
		g := s.book.gauges[ch]
		if b.mean > 0 && a.mean > 0 && math.Abs(a.mean-b.mean) > math.Hypot(math.Hypot(g.noise, g.work)/g.gain, g.step/2) {
			return true
		}
	}
	return false
}

// asked is how often a valve was told to open from a row on.
func (l *log) asked(valve int, from int32) int {
	n := 0
	for _, f := range l.pulses {
		if f.Row >= from && int(f.Valve) == valve {
			n++
		}
	}
	return n
}

// fired are the rows after one in which a valve fired beside at most two others.
func (l *log) fired(valve int, from int32) []int {
	var out []int
	for i := 0; i < len(l.pulses); {
		j, hit := i, false
		for ; j < len(l.pulses) && l.pulses[j].Row == l.pulses[i].Row; j++ {
			hit = hit || int(l.pulses[j].Valve) == valve
		}
		if hit && j-i <= 3 && l.pulses[i].Row >= from {
			out = append(out, int(l.pulses[i].Row))
		}
		i = j
	}
	return out
}
