package carve

import (
	"math"
	"math/rand/v2"
	"time"

	"dustwright/sense"
)

// gauge is one instrument and how its readings are kept.
type gauge struct {
	noise, step  float64 // of a reading; what it is rounded to
	work         float64 // noise while the fan runs, on top
	gain, offset float64
	drift        float64 // offset gained over the log
	band         float64 // change that is stored, 0 every row
	lost         float64 // share of readings lost
	least        float64 // below it the instrument shows it
	most         float64
	outFrom, out float64 // an outage, as shares of the log
}

// book is the plant's way of logging.
type book struct {
	form    string // "instant", "average", "change", "rounds"
	step    float64
	days    float64
	numbers bool // the log says which valves fired
	gauges  [sense.NumChannels]*gauge
	start   float64 // of the log, after a Monday's midnight [s]
	base    int     // that Monday, in days from 1970
	zone    int     // [s east]
}

// newBook draws it.
func newBook(r *rand.Rand, p *plant) *book {
	b := &book{numbers: r.Float64() < 0.88, start: 7 * day * r.Float64(), zone: 1800 * (r.IntN(37) - 16)}
	b.base = 19723 + 7*r.IntN(80)
	for (b.base+3)%7 != 0 {
		b.base++
	}
	switch u := r.Float64(); {
	case u < 0.36:
		b.form = "instant"
	case u < 0.66:
		b.form = "average"
	case u < 0.94:
		b.form = "change"
	default:
		b.form, b.numbers = "rounds", false
	}
	b.step = []float64{20, 30, 60, 60, 60, 60, 120, 300, 300, 300, 600, 600, 900, 900}[r.IntN(14)]
	b.days = between(r, 20, 120)
	switch {
	case b.form == "rounds":
		b.step = 600
	case b.step <= 30:
		b.days = between(r, 20, 32)
	case b.step == 60:
		b.days = between(r, 20, 75)
	}
	b.start = math.Floor(b.start/b.step) * b.step
	b.hang(r, p)
	return b
}

// hang draws the instruments.
func (b *book) hang(r *rand.Rand, p *plant) {
	rough := between(r, 0.3, 2)
	of := func(ch sense.Channel, g gauge) {
		g.lost = 0.004 * rough * r.Float64()
		if r.Float64() < 0.06 {
			g.outFrom, g.out = between(r, 0.1, 0.9), between(r, 0.002, 0.02)
		}
		if b.form == "average" {
			g.noise, g.work = g.noise/2, g.work/3
		}
		if b.form != "change" {
			g.band = 0
		}
		b.gauges[ch] = &g
	}
	gain := func(s float64) float64 { return 1 + s*rough*r.NormFloat64() }
	steps := []float64{1, 2.5, 5, 10}
	dp := func(full float64) gauge {
		g := gauge{noise: 1.5 * rough, work: between(r, 4, 14) * rough, step: steps[r.IntN(4)], gain: gain(0.012),
			offset: 0.004 * full * rough * r.NormFloat64(), drift: 0.004 * full * r.NormFloat64(), least: -full, most: full, band: between(r, 0.004, 0.015) * full}
		if r.Float64() < 0.4 {
			g.least = -0.03 * full
		}
		return g
	}
	if b.form == "rounds" {
		steps = []float64{10, 20, 25, 50}
	}
	of(sense.DP, dp(2500))
	of(sense.AfterfilterDP, dp(1000))
	of(sense.InletSP, dp(4000))
	b.gauges[sense.InletSP].least, b.gauges[sense.InletSP].most = -4000, 200
	of(sense.Flow, gauge{work: p.flow * between(r, 0.008, 0.03), step: p.flow / 400, gain: gain(0.03), most: 3 * p.flow, band: 0.02 * p.flow})
	bar := []float64{1e3, 5e3, 1e4}[r.IntN(3)]
	air := gain(0.01)
	of(sense.Header, gauge{noise: 2500 * rough, step: bar, gain: air, most: 10e5, band: between(r, 5e3, 2e4)})
	of(sense.HeaderLow, gauge{noise: 4000 * rough, step: bar, gain: air, most: 10e5, band: between(r, 5e3, 2e4)})
	of(sense.FanCurrent, gauge{work: 0.01 * p.amps * rough, step: 0.1, gain: gain(0.015), most: 3 * p.amps, band: 0.015 * p.amps})
	of(sense.FanPower, gauge{work: 0.012 * p.motor * rough, step: 10, gain: gain(0.015), most: 3 * p.motor, band: 0.015 * p.motor})
	of(sense.Damper, gauge{noise: 0.002, step: 0.01, gain: 1, most: 1, band: 0.01})
	of(sense.Temperature, gauge{noise: 0.1, step: 0.1, gain: 1, offset: r.NormFloat64(), most: 400, band: 0.5})
	of(sense.Humidity, gauge{noise: 0.005, step: 0.01, gain: 1, offset: 0.03 * r.NormFloat64(), most: 1, band: 0.02})
	of(sense.Barometer, gauge{noise: 20, step: 100, gain: 1, most: 1.2e5, band: 100})
	of(sense.Emission, gauge{noise: 0.05 * rough, work: 0.12 * rough, step: []float64{0.01, 0.1}[r.IntN(2)], gain: spread(r, 0.5, 2), offset: between(r, 0, 0.4), most: 500, band: 0.1})
	of(sense.BinLevel, gauge{noise: between(r, 0.003, 0.02), step: []float64{0.01, 0.05}[r.IntN(2)], gain: 1, most: 1, band: 0.02})
	of(sense.BinMass, gauge{noise: 0.5, step: 1, gain: 1, most: 1e6})
	b.gauges[sense.BinMass].lost, b.gauges[sense.BinMass].out = 0, 0
}

// read is a reading of a true value.
func (g *gauge) read(r *rand.Rand, v, share float64, on bool) float64 {
	n, m, lost := r.NormFloat64(), r.NormFloat64(), r.Float64()
	if lost < g.lost || g.out > 0 && share > g.outFrom && share < g.outFrom+g.out {
		return math.NaN()
	}
	noise := g.noise * n
	if on {
		noise = math.Hypot(g.noise, g.work) * (n + 0.3*m) / 1.044
	}
	v = v*g.gain + g.offset + g.drift*share + noise
	return math.Round(min(g.most, max(g.least, v))/g.step) * g.step
}

// log takes the true values through the instruments into a series. A row in keep is written; what
// fell in rows between goes to the next one kept.
func (b *book) write(l *log, times []int64, keep []bool, r *rand.Rand) *sense.Series {
	s := &sense.Series{Source: "carve", Zone: time.FixedZone("", b.zone)}
	to := make([]int32, len(times))
	for i, k := range keep {
		to[i] = int32(len(s.Time))
		if k {
			s.Time = append(s.Time, times[i])
		}
	}
	running := l.col[sense.Running]
	for ch := range sense.NumChannels {
		in := l.col[ch]
		if in == nil || ch == sense.Pulse && b.numbers {
			continue
		}
		q := rand.New(rand.NewPCG(r.Uint64(), uint64(ch)))
		out := make([]float64, 0, len(s.Time))
		held, since, g := math.NaN(), 0.0, b.gauges[ch]
		for i, v := range in {
			since = gather(ch, since, v)
			if !keep[i] {
				continue
			}
			switch {
			case ch == sense.Pulse || ch == sense.HeaderLow || ch == sense.BinMass:
				v, since = since, 0
				if ch == sense.BinMass && v == 0 {
					v = math.NaN()
				}
			}
			if g != nil && !math.IsNaN(v) {
				v = g.read(q, v, float64(i)/float64(len(in)), running[i] == 1)
				if g.band > 0 && !math.IsNaN(v) && math.Abs(v-held) < g.band {
					v = held
				}
				held = v
			}
			out = append(out, v)
		}
		s.Col[ch] = out
	}
	if b.numbers {
		for _, f := range l.pulses {
			if row := to[f.Row]; int(row) < len(s.Time) {
				s.Pulses = append(s.Pulses, sense.Firing{Row: row, Valve: f.Valve})
			}
		}
	}
	return s
}

// gather adds a row to what stands for all rows since the last one kept.
func gather(ch sense.Channel, since, v float64) float64 {
	switch ch {
	case sense.Pulse, sense.BinMass:
		if math.IsNaN(v) {
			return since
		}
		return since + v
	case sense.HeaderLow:
		if since == 0 {
			return v
		}
		return min(since, v)
	}
	return 0
}

// kept says which rows are written: all but those of a gap, and of a round those somebody walked.
func (b *book) kept(ms []moment, s *story, r *rand.Rand) []bool {
	keep := make([]bool, len(ms))
	t, next := b.start, 0.0
	for i, m := range ms {
		t += m.span
		hour := math.Mod(t, day) / 3600
		keep[i] = s.name != "gap" || !s.in(t)
		if b.form == "rounds" {
			next -= m.span
			if keep[i] = keep[i] && m.on && next <= 0 && hour > 6 && hour < 22; keep[i] {
				next = 3600 * between(r, 1, 5)
			}
		}
	}
	return keep
}
