package draft

import (
	"math"
	"math/rand/v2"

	"dustwright/sense"
)

// habits are how a plant's instruments, controller and historian come by their values.
type habits struct {
	mean  [sense.NumChannels]bool
	tag   [sense.NumChannels]tag
	far   float64 // time constant of a header transmitter at the end of a long line [s], 0 none
	late  float64 // share of the drop that has come back when the header is looked at
	once  bool    // the header is looked at once a row
	latch bool    // the cleaning flag stands for the whole row
	index float64 // flow index at design flow

	pulses         bool
	delay          int     // rows by which pulses are logged late
	lost           float64 // share of pulses that are not logged
	shift, shiftTo float64 // share of the log between which numbers are one too high
	jitter, tardy  float64 // of the rows' times over the step; share of rows that come late
	outages        int
	blocks         int
	missing        sense.Channel // a channel this plant has not, NumChannels none
}

// tag is one channel of the historian.
type tag struct {
	lag          float64 // damping of the transmitter [s]
	gain, zero   float64
	noise        float64 // at any time
	rough        float64 // while the fan runs
	step         float64 // of the converter
	low, high    float64 // range
	band, beat   float64 // dead band, and the longest time a value is held [s]
	spikes, lost float64 // share of rows
	stuck        int     // stretches in which nothing moves
	changes      bool    // cells stay empty until the value moves
}

// newHabits draws them.
func newHabits(r *rand.Rand, p *plant) *habits {
	h := &habits{late: between(r, 0, 0.25), latch: r.Float64() < 0.6, index: oneOf(r, 1.0, 100, 63, 12), pulses: r.Float64() < 0.9,
		jitter: oneOf(r, 0.0, 0, 0.01, 0.05), missing: sense.NumChannels}
	messy := logBetween(r, 0.25, 2)
	for ch := range h.mean {
		h.mean[ch] = r.Float64() < 0.5
	}
	for _, ch := range []sense.Channel{sense.Running, sense.Cleaning, sense.Damper, sense.BinLevel, sense.Temperature, sense.Humidity, sense.Barometer} {
		h.mean[ch] = false
	}
	switch u := r.Float64(); {
	case u < 0.12:
		h.far = between(r, 3, 15)
	case u < 0.2:
		h.once = true
	}
	switch u := r.Float64(); {
	case u < 0.15:
		h.delay = 1
	case u < 0.22:
		h.delay = 2 + r.IntN(2)
	}
	if r.Float64() < 0.25 {
		h.lost = between(r, 0.002, 0.04)
	}
	if r.Float64() < 0.04 {
		h.shift = between(r, 0.1, 0.9)
		h.shiftTo = h.shift + between(r, 0.02, 0.08)
	}
	if r.Float64() < 0.3 {
		h.tardy = logBetween(r, 0.0005, 0.02)
	}
	if r.Float64() < 0.35 {
		h.outages = 1 + r.IntN(4)
	}
	if r.Float64() < 0.4 {
		h.blocks = 1 + r.IntN(6)
	}
	if r.Float64() < 0.2 {
		h.missing = oneOf(r, sense.AfterfilterDP, sense.Flow, sense.FanPower, sense.InletSP, sense.Damper, sense.Emission, sense.BinLevel,
			sense.Humidity, sense.FanCurrent, sense.HeaderLow, sense.Cleaning)
	}
	h.tags(r, p, messy)
	return h
}

// tags draws the transmitters: their ranges are those one can buy, some much too wide.
func (h *habits) tags(r *rand.Rand, p *plant, messy float64) {
	wide := func(full float64, sizes ...float64) float64 {
		i := 0
		for i < len(sizes)-1 && sizes[i] < full {
			i++
		}
		return sizes[min(i+oneOf(r, 0, 0, 0, 1, 2), len(sizes)-1)]
	}
	analog := func(low, high float64) tag {
		span := high - low
		t := tag{lag: oneOf(r, 0.0, 0, 1, 2, 5, 16, 30), gain: 1 + 0.008*messy*r.NormFloat64(), zero: 0.002 * messy * span * r.NormFloat64(),
			noise: 0.0004 * messy * span, rough: 0.0008 * messy * span, step: span / oneOf(r, 250.0, 1000, 1000, 4000, 27648),
			low: low - 0.0125*span, high: high + 0.025*span, beat: 3600 * between(r, 0.3, 8)}
		if r.Float64() < 0.6 {
			t.band = span * oneOf(r, 0.0005, 0.001, 0.002, 0.005, 0.01)
		}
		if r.Float64() < 0.25 {
			t.spikes = logBetween(r, 1e-5, 1e-3)
		}
		if r.Float64() < 0.25 {
			t.lost = logBetween(r, 1e-4, 1e-2)
		}
		if r.Float64() < 0.15 {
			t.stuck = 1 + r.IntN(3)
		}
		return t
	}
	full := wide(p.control.high*1.8, 1500, 2500, 4000, 5000, 7500)
	h.tag[sense.DP] = analog(0, full)
	h.tag[sense.DP].rough = (0.006 + 0.01*messy) * p.control.low
	h.tag[sense.AfterfilterDP] = analog(0, wide(p.after*p.flow*2, 500, 750, 1250, 2500))
	h.tag[sense.Flow] = analog(0, p.flow*wide(1.3, 1.4, 1.8, 2.5))
	h.tag[sense.Flow].rough = (0.004 + 0.012*messy) * p.flow
	h.tag[sense.FlowIndex] = analog(0, h.index*2)
	h.tag[sense.FlowIndex].rough = (0.004 + 0.012*messy) * h.index
	h.tag[sense.Header] = analog(0, oneOf(r, 8e5, 1e6, 1e6, 1.6e6))
	h.tag[sense.HeaderLow] = h.tag[sense.Header]
	h.tag[sense.HeaderLow].lag, h.tag[sense.HeaderLow].band = 0, 0
	h.tag[sense.Header].lag = 0
	amps := analog(0, p.fan.full*wide(1.1, 1.2, 2, 4))
	amps.rough = 0.006 * messy * p.fan.full
	h.tag[sense.FanCurrent] = amps
	h.tag[sense.FanPower] = analog(0, p.fan.rated*1.5)
	h.tag[sense.InletSP] = analog(-oneOf(r, 2500.0, 2500, 4000), 0)
	h.tag[sense.InletSP].rough = (0.004 + 0.01*messy) * p.duct * p.flow * p.flow
	h.tag[sense.InletSP].high = oneOf(r, 30.0, 60, 250)
	h.tag[sense.Damper] = tag{gain: 1, zero: 0.01 * r.NormFloat64(), step: 0.01, high: 1}
	h.tag[sense.Temperature] = analog(233, 373)
	h.tag[sense.Humidity] = analog(0.02, 1)
	h.tag[sense.Humidity].high = 1
	h.tag[sense.Barometer] = analog(75000, 110000)
	h.tag[sense.Emission] = analog(0, p.haze*logBetween(r, 12, 60))
	h.tag[sense.BinLevel] = analog(0, 1)
	h.tag[sense.BinLevel].noise, h.tag[sense.BinLevel].low, h.tag[sense.BinLevel].high = 0.004+0.01*messy, 0, 1
	for _, ch := range []sense.Channel{sense.Temperature, sense.Barometer, sense.Humidity} {
		h.tag[ch].changes = r.Float64() < 0.1
	}
}

// through passes a column through transmitter, converter and historian.
func (t *tag) through(r *rand.Rand, col, running []float64, step float64) {
	if t.high == t.low {
		return
	}
	n := len(col)
	keep := 0.0
	if t.lag > 0 {
		keep = math.Exp(-step / t.lag)
	}
	seen := col[0]
	for i, v := range col {
		seen = v + (seen-v)*keep
		noise := t.noise
		if running[i] > 0 {
			noise += t.rough
		}
		x := t.gain*seen + t.zero + noise*r.NormFloat64()
		if t.spikes > 0 && r.Float64() < t.spikes {
			x += (t.high - t.low) * between(r, -0.5, 0.8)
		}
		if t.step > 0 {
			x = math.Round(x/t.step) * t.step
		}
		col[i] = min(max(x, t.low), t.high)
	}
	for range t.stuck {
		from := r.IntN(n)
		for i := from; i < min(n, from+int(3600*logBetween(r, 0.5, 20)/step)+1); i++ {
			col[i] = col[from]
		}
	}
	t.keep(r, col, step)
}

// keep is the historian's part: what has not moved is not written, and some is lost.
func (t *tag) keep(r *rand.Rand, col []float64, step float64) {
	held, since := col[0], 0.0
	for i, v := range col {
		since += step
		moved := math.Abs(v-held) > t.band || since > t.beat
		if t.band > 0 && moved || t.band == 0 {
			held, since = v, 0
		}
		col[i] = held
		if t.changes && !moved && i > 0 || t.lost > 0 && r.Float64() < t.lost {
			col[i] = math.NaN()
		}
	}
}

// log makes of a record what the historian would hand out.
func (h *habits) log(s *setup, rec *record, seed uint64) *sense.Series {
	out := &sense.Series{Source: "draft", Col: rec.col}
	running := rec.col[sense.Running]
	for ch := range rec.col {
		h.tag[ch].through(rand.New(rand.NewPCG(seed, uint64(100+ch))), rec.col[ch], running, s.step)
	}
	r := rand.New(rand.NewPCG(seed, 99))
	for range h.blocks {
		ch := sense.Channel(r.IntN(int(sense.BinMass)))
		from := r.IntN(s.rows)
		if ch == sense.Running || ch == sense.Pulse {
			continue
		}
		for i := from; i < min(s.rows, from+int(3600*logBetween(r, 1, 60)/s.step)); i++ {
			out.Col[ch][i] = math.NaN()
		}
	}
	h.pulsesOf(out, rec, s, r)
	if h.missing < sense.NumChannels {
		out.Col[h.missing] = nil
	}
	if s.plant.after == 0 {
		out.Col[sense.AfterfilterDP] = nil
	}
	if !h.pulses {
		out.Col[sense.Pulse], out.Pulses = nil, nil
	}
	h.times(out, s, r)
	h.outage(out, s, r)
	return out
}

// pulsesOf writes the valves down, late or under another number in some plants.
func (h *habits) pulsesOf(out *sense.Series, rec *record, s *setup, r *rand.Rand) {
	count := out.Col[sense.Pulse]
	clear(count)
	for _, f := range rec.pulses {
		row := int(f.Row) + h.delay
		if row >= s.rows || h.lost > 0 && r.Float64() < h.lost {
			continue
		}
		if at := float64(row) / float64(s.rows); at >= h.shift && at < h.shiftTo {
			f.Valve = f.Valve%uint8(s.plant.rows) + 1
		}
		f.Row = int32(row)
		count[row]++
		out.Pulses = append(out.Pulses, f)
	}
}

// times stamps the rows, each at the end of what it stands for.
func (h *habits) times(out *sense.Series, s *setup, r *rand.Rand) {
	step := int64(s.step * 1e9)
	for i := range s.rows {
		at := s.first*1e9 + int64(i+1)*step + int64(h.jitter*s.step*1e9*r.Float64())
		if h.tardy > 0 && r.Float64() < h.tardy {
			at += int64(0.8 * r.Float64() * s.step * 1e9)
		}
		at -= at % 1e6
		if i > 0 {
			at = max(at, out.Time[i-1]+1e6)
		}
		out.Time = append(out.Time, at)
	}
}

// outage takes out the rows in which the logger stood; what fired then is not known.
func (h *habits) outage(out *sense.Series, s *setup, r *rand.Rand) {
	gone := make([]bool, s.rows)
	strike := func(from, to int) {
		for i := max(0, from); i < min(to, s.rows-1); i++ {
			gone[i] = true
		}
	}
	for range h.outages {
		from := r.IntN(s.rows)
		strike(from, from+int(3600*logBetween(r, 0.3, 40)/s.step))
	}
	if s.story.name == "gap" {
		strike(int(s.story.at/s.step), int(s.story.until/s.step))
	}
	to := make([]int32, s.rows)
	n := 0
	for i := range gone {
		to[i] = int32(n)
		if gone[i] {
			continue
		}
		out.Time[n] = out.Time[i]
		for ch, col := range out.Col {
			if col != nil {
				out.Col[ch][n] = col[i]
			}
		}
		n++
	}
	out.Time = out.Time[:n]
	for ch, col := range out.Col {
		if col != nil {
			out.Col[ch] = col[:n]
		}
	}
	kept := out.Pulses[:0]
	for _, f := range out.Pulses {
		if !gone[f.Row] {
			f.Row = to[f.Row]
			kept = append(kept, f)
		}
	}
	out.Pulses = kept
}
