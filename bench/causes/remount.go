package main

import (
	"math"
	"math/rand/v2"
	"slices"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

// remounted is the trial of the same machine as another plant would have it on record: other instruments, another logger,
// another hand that wrote the file. What happened stays. Every simulator has instruments of its own; what is learned from is
// not to lean on one machine always being read by the same ones.
func remounted(t *trial) *trial {
	r := rand.New(rand.NewPCG(t.seed, 13))
	out := *t
	out.collector = filedAnew(r, t.collector)
	out.series = relogged(r, t.series)
	reread(r, out.series)
	refired(r, out.series)
	return &out
}

// clone copies a log.
func clone(s *sense.Series) *sense.Series {
	out := *s
	out.Time, out.Pulses = slices.Clone(s.Time), slices.Clone(s.Pulses)
	for ch, col := range s.Col {
		out.Col[ch] = slices.Clone(col)
	}
	return &out
}

// filedAnew is the collector's file as somebody else measured and rounded it.
func filedAnew(r *rand.Rand, c *collector.Collector) *collector.Collector {
	out := *c
	other := func(spread float64) float64 {
		if r.Float64() < 0.5 {
			return 1
		}
		return math.Exp(spread * r.NormFloat64())
	}
	out.Filters.CleanDP *= unit.Pressure(other(0.15))
	out.Duty.InletSP *= unit.Pressure(other(0.1))
	out.Duty.Loading *= unit.Concentration(other(0.3))
	return &out
}

// slowest is the longest interval of a log [s].
const slowest = 600

// relogged is a copy of a log, mostly with fewer rows: of several the last, or their mean.
func relogged(r *rand.Rand, s *sense.Series) *sense.Series {
	by, mean := []int{1, 1, 1, 2, 3, 5, 10}[r.IntN(7)], r.Float64() < 0.5
	if n := s.Len(); n > 1 {
		for by > 1 && float64(s.Time[n-1]-s.Time[0])/1e9/float64(n-1)*float64(by) > slowest {
			by--
		}
	}
	if by == 1 {
		return clone(s)
	}
	out := &sense.Series{Zone: s.Zone, Source: s.Source}
	for from := 0; from+by <= s.Len(); from += by {
		out.Time = append(out.Time, s.Time[from+by-1])
		for ch, col := range s.Col {
			if col != nil {
				out.Col[ch] = append(out.Col[ch], merged(sense.Channel(ch), col[from:from+by], mean))
			}
		}
	}
	for _, f := range s.Pulses {
		if row := int(f.Row) / by; row < out.Len() {
			out.Pulses = append(out.Pulses, sense.Firing{Row: int32(row), Valve: f.Valve})
		}
	}
	return out
}

// merged is what one row shows of several.
func merged(ch sense.Channel, rows []float64, mean bool) float64 {
	known := slices.DeleteFunc(slices.Clone(rows), math.IsNaN)
	if len(known) == 0 {
		return math.NaN()
	}
	sum := 0.0
	for _, v := range known {
		sum += v
	}
	switch {
	case ch == sense.Pulse || ch == sense.BinMass:
		return sum
	case ch == sense.HeaderLow:
		return slices.Min(known)
	case ch == sense.Cleaning && mean:
		return math.Round(sum / float64(len(known)))
	case mean:
		return sum / float64(len(known))
	}
	return rows[len(rows)-1]
}

// dial is what another instrument does to a channel.
type dial struct {
	gain, offset, noise, step, hold float64
	lag                             float64 // share of the reading before that is kept
	loss                            float64 // share of the rows
}

// Channels of which nothing is wanted but that they are there, and those that a plant can lack.
var (
	untouched = []sense.Channel{sense.Damper, sense.Running, sense.Cleaning, sense.Pulse, sense.BinMass}
	optional  = []sense.Channel{sense.AfterfilterDP, sense.Flow, sense.FanPower, sense.Damper, sense.Temperature, sense.Humidity,
		sense.Barometer, sense.Emission, sense.BinLevel}
)

// lacking is how often an optional channel is not there.
const lacking = 0.07

// reread puts other instruments before the log.
func reread(r *rand.Rand, s *sense.Series) {
	for _, ch := range optional {
		if r.Float64() < lacking {
			s.Col[ch] = nil
		}
	}
	messy := 2 * r.Float64() * r.Float64()
	header := 1 + 0.03*messy*r.NormFloat64() // one transmitter for both channels of the header
	for i, col := range s.Col {
		ch := sense.Channel(i)
		size := usually(ch, col)
		if len(col) == 0 || size == 0 || slices.Contains(untouched, ch) {
			continue
		}
		d := dial{
			gain: 1 + 0.03*messy*r.NormFloat64(), offset: 0.01 * messy * size * r.NormFloat64(), noise: 0.01 * messy * size * r.Float64(),
			step: []float64{0, 0, 0.005, 0.01, 0.02, 0.04}[r.IntN(6)] * size, loss: 0.01 * messy * r.Float64(),
		}
		if r.Float64() < 0.15 {
			d.hold = (0.005 + 0.025*r.Float64()) * size
		}
		if r.Float64() < 0.25 && ch != sense.HeaderLow {
			d.lag = 0.7 * r.Float64()
		}
		switch ch {
		case sense.Header, sense.HeaderLow:
			d.gain, d.offset = header, 0
		case sense.Temperature, sense.Barometer:
			d.gain = 1
		}
		d.read(r, col)
		if r.Float64() < 0.1 {
			outage(r, s, col)
		}
		if low, high := bounds(ch); high > low {
			for j, v := range col {
				col[j] = min(max(v, low), high) // NaN stays
			}
		}
	}
}

// usually is by what the readings of a channel are measured: their median without sign; 0 where there are none.
func usually(ch sense.Channel, col []float64) float64 {
	switch ch {
	case sense.Temperature:
		return 10
	case sense.Barometer:
		return 1000
	}
	var some []float64
	for i := 0; i < len(col); i += 1 + len(col)/500 {
		if v := math.Abs(col[i]); v > 0 {
			some = append(some, v)
		}
	}
	if len(some) == 0 {
		return 0
	}
	slices.Sort(some)
	return some[len(some)/2]
}

// bounds is between what a channel reads; none where both are the same.
func bounds(ch sense.Channel) (low, high float64) {
	switch ch {
	case sense.Humidity, sense.BinLevel:
		return 0, 1
	case sense.Header, sense.HeaderLow, sense.Flow, sense.FlowIndex, sense.FanCurrent, sense.FanPower, sense.Emission:
		return 0, math.MaxFloat64
	}
	return 0, 0
}

// read passes a channel through the instrument, in place.
func (d *dial) read(r *rand.Rand, col []float64) {
	slow, shown := math.NaN(), math.NaN()
	for i, v := range col {
		if math.IsNaN(v) {
			continue
		}
		if math.IsNaN(slow) {
			slow = v
		}
		slow = d.lag*slow + (1-d.lag)*v
		x := slow*d.gain + d.offset + d.noise*r.NormFloat64()
		if d.step > 0 {
			x = d.step * math.Round(x/d.step)
		}
		if !(math.Abs(x-shown) < d.hold) {
			shown = x
		}
		col[i] = shown
		if r.Float64() < d.loss {
			col[i] = math.NaN()
		}
	}
}

// outage takes the readings of some hours.
func outage(r *rand.Rand, s *sense.Series, col []float64) {
	from := r.IntN(len(col))
	until := s.Time[from] + int64((2+46*r.Float64())*3600e9)
	for i := from; i < len(col) && s.Time[i] < until; i++ {
		col[i] = math.NaN()
	}
}

// refired is how another logger catches pulses: some are lost, or all stand a row late.
func refired(r *rand.Rand, s *sense.Series) {
	lost, late := 0.0, r.Float64() < 0.1
	if r.Float64() < 0.2 {
		lost = 0.1 * r.Float64()
	}
	kept := s.Pulses[:0]
	for _, f := range s.Pulses {
		if r.Float64() < lost {
			if col := s.Col[sense.Pulse]; col != nil && col[f.Row] > 0 {
				col[f.Row]--
			}
			continue
		}
		if late {
			f.Row = min(f.Row+1, int32(s.Len()-1))
		}
		kept = append(kept, f)
	}
	s.Pulses = kept
	if col := s.Col[sense.Pulse]; late && len(col) > 1 {
		copy(col[1:], col[:len(col)-1])
		col[0] = 0
	}
}
