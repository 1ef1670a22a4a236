package sketch

import (
	"math"
	"math/rand/v2"

	"dustwright/sense"
)

// instrument is how a channel reads.
type instrument struct {
	noise   float64 // always
	busy    float64 // on top while the fan runs
	step    float64 // of the display
	gain    float64 // less 1
	offset  float64
	damping float64 // [s]
	lost    float64 // share of readings
	outages float64 // a day, of ten minutes to ten hours
	sticks  float64 // a day, of five minutes to an hour
	spikes  float64 // a day
	spike   float64 // how high
	absent  float64 // chance that the log has no such channel
}

// instruments of one plant, from well kept to messy.
func instruments(r *rand.Rand, m *machine) map[sense.Channel]instrument {
	messy := 1.6 * math.Pow(r.Float64(), 1.5)
	lost := 0.006 * messy * r.Float64()
	gain := func() float64 { return 0.025 * messy * r.NormFloat64() }
	dp := func(absent float64) instrument {
		return instrument{noise: 2 * messy, busy: (4 + 12*messy) * uniform(r, 0.5, 1.5), step: pick(r, 1, 2.5, 2.5, 5, 12.5), gain: gain(), offset: 5 * messy * r.NormFloat64(),
			damping: uniform(r, 0, 40), lost: lost, outages: 0.03 * messy, sticks: 0.03 * messy, spikes: 0.3 * messy, spike: 600, absent: absent}
	}
	gas := func(absent float64) instrument {
		return instrument{noise: 0.4 * psi * messy, step: pick(r, 0.1, 0.5, 1) * psi, gain: gain(), lost: lost, sticks: 0.01 * messy, absent: absent}
	}
	return map[sense.Channel]instrument{
		sense.DP:            dp(0),
		sense.AfterfilterDP: dp(0.15),
		sense.InletSP:       dp(0.1),
		sense.Flow:          {busy: m.flow * 0.02 * (0.4 + messy), step: 0.002, damping: 10, gain: gain(), lost: lost, outages: 0.02 * messy, absent: 0.55},
		sense.FlowIndex:     {busy: 0.2 * (0.3 + messy), step: 0.01, lost: lost, absent: 0.85},
		sense.Header:        gas(0.07),
		sense.HeaderLow:     gas(0.15),
		sense.FanCurrent:    {noise: 0.002 * m.rated * messy, busy: 0.012 * m.rated * (0.2 + messy), step: 0.1, gain: gain(), lost: lost, outages: 0.01 * messy, spikes: 0.5, spike: 0.4 * m.rated, absent: 0.1},
		sense.FanPower:      {busy: 0.015 * m.shaft * (0.2 + messy), step: 10, gain: gain(), lost: lost, absent: 0.75},
		sense.Damper:        {noise: 0.003 * messy, step: 0.01, absent: 0.5},
		sense.Running:       {absent: 0.12},
		sense.Cleaning:      {absent: 0.25},
		sense.Temperature:   {noise: 0.1, step: 0.1, offset: messy * r.NormFloat64(), lost: lost, absent: 0.4},
		sense.Humidity:      {noise: 0.005, step: 0.01, offset: 0.03 * r.NormFloat64(), lost: lost, absent: 0.4},
		sense.Barometer:     {step: 100, absent: 0.8},
		sense.Emission:      {noise: 0.05, busy: 0.3 * (0.3 + messy), step: 0.1, gain: gain(), spikes: messy, spike: 10, absent: 0.4},
		sense.BinLevel:      {noise: 0.005 + 0.015*messy, step: 0.01, sticks: 0.05, absent: 0.4},
		sense.BinMass:       {step: 1, absent: 0.7},
	}
}

// spoil reads the log through the plant's instruments and loses rows.
func spoil(r *rand.Rand, m *machine, s *sense.Series, f fault, tale story) {
	set := instruments(r, m)
	seen := f.cause == "filter-leak" && m.after == 0 || f.cause == "bin-overfull"
	on := append([]float64(nil), s.Col[sense.Running]...)
	for c := range sense.NumChannels {
		in, known := set[c]
		if !known || s.Col[c] == nil {
			continue
		}
		absent := r.Float64() < in.absent
		if seen && c == sense.Emission || tale.trim > 0 && c == sense.Damper {
			absent = false // or nothing would show it
		}
		if absent {
			s.Col[c] = nil
			continue
		}
		in.read(r, s, c, on)
	}
	if r.Float64() < 0.1 {
		s.Col[sense.Pulse], s.Pulses = nil, nil
	}
	thin(r, s, on)
}

// read spoils one column.
func (in instrument) read(r *rand.Rand, s *sense.Series, c sense.Channel, on []float64) {
	col := s.Col[c]
	was := math.NaN()
	outTo, stickTo, stuck := int64(0), int64(0), 0.0
	for i, v := range col {
		dt := 0.0
		if i > 0 {
			dt = float64(s.Time[i]-s.Time[i-1]) / 1e9
		}
		if in.damping > 0 && was == was && dt < 3600 {
			v = was + (v-was)*(1-math.Exp(-dt/in.damping))
		}
		was = v
		day := dt / 86400
		if r.Float64() < in.outages*day {
			outTo = s.Time[i] + int64(uniform(r, 600, 36000)*1e9)
		}
		if r.Float64() < in.sticks*day {
			stickTo, stuck = s.Time[i]+int64(uniform(r, 300, 3600)*1e9), v
		}
		if s.Time[i] < stickTo {
			v = stuck
		} else {
			v += v*in.gain + in.offset + (in.noise+in.busy*on[i])*r.NormFloat64()
		}
		if in.spikes > 0 && r.Float64() < in.spikes*day {
			v += in.spike * (2*r.Float64() - 0.5)
		}
		if in.step > 0 {
			v = math.Round(v/in.step) * in.step
		}
		if s.Time[i] < outTo || in.lost > 0 && r.Float64() < in.lost {
			v = math.NaN()
		}
		col[i] = bounded(c, v)
	}
}

// bounded keeps a reading to what the channel can show.
func bounded(c sense.Channel, v float64) float64 {
	switch c {
	case sense.Flow, sense.FlowIndex, sense.Header, sense.HeaderLow, sense.FanCurrent, sense.FanPower, sense.Emission:
		return max(0, v)
	case sense.Damper, sense.Humidity, sense.BinLevel:
		return min(max(0, v), 1)
	}
	return v
}

// thin takes rows away as loggers do: one now and then, a stretch now and then, in some plants all
// while the fan stands; and it shakes the clock.
func thin(r *rand.Rand, s *sense.Series, on []float64) {
	jitter := pick(r, 0, 0, 0.02, 0.1) // share of a step
	slow := 1 + 2e-5*r.NormFloat64()
	miss, holes := 0.003*r.Float64(), 0.1*r.Float64()
	standing := r.Float64() < 0.08 // the logger stops with the fan
	var hole int64
	n := 0
	first, fire := s.Time[0], 0
	last := int64(math.MinInt64)
	pulses := s.Pulses[:0:0]
	for i := range s.Time {
		step := 60e9
		if i > 0 {
			step = float64(s.Time[i] - s.Time[i-1])
		}
		if r.Float64() < holes*step/86400e9 {
			hole = s.Time[i] + int64(uniform(r, 600, 14400)*1e9)
		}
		gone := s.Time[i] < hole || r.Float64() < miss || standing && on[i] == 0 && i > 0
		from := fire
		for fire < len(s.Pulses) && s.Pulses[fire].Row == int32(i) {
			fire++
		}
		t := first + int64(float64(s.Time[i]-first)*slow) + int64(jitter*min(step, 600e9)*(r.Float64()-0.5))
		t -= t % 1e9
		if gone && i < len(s.Time)-1 || t <= last {
			continue
		}
		last = t
		for _, p := range s.Pulses[from:fire] {
			pulses = append(pulses, sense.Firing{Row: int32(n), Valve: p.Valve})
		}
		s.Time[n] = t
		for c := range s.Col {
			if s.Col[c] != nil {
				s.Col[c][n] = s.Col[c][i]
			}
		}
		n++
	}
	s.Time = s.Time[:n]
	for c := range s.Col {
		if s.Col[c] != nil {
			s.Col[c] = s.Col[c][:n]
		}
	}
	if s.Pulses != nil {
		s.Pulses = pulses
	}
}
