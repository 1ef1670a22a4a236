package pastel

import (
	"math"
	"slices"
	"time"

	"dustwright/sense"
)

// instrument is a transmitter, its wiring and its point in the historian. Shares are of its span.
type instrument struct {
	low, high             float64 // its range; alike for what the controller tells itself
	noise, zero, gain     float64
	drift                 float64 // of the zero a day
	steps                 float64 // of the converter
	damping               float64 // [s]
	deadband, heart       float64 // exception report: a smaller change is not kept, but after so long [s]
	frozenFrom, frozenTo  float64 // it keeps its value: the link is lost [s]
	spikes, lost          float64 // chances a row
	state, sum, kept, age float64
	begun, keeps          bool
}

// shows is what a transmitter makes of a figure but for its noise.
func (in *instrument) shows(v float64) float64 {
	return min(in.high, max(in.low, in.gain*v+in.zero*(in.high-in.low)))
}

// figures are one for each channel.
type figures [sense.NumChannels]float64

// historian keeps the log as a plant's does.
type historian struct {
	step, scan, start, due float64 // rows [s], steps of the machine [s], the machine's time at which the log begins and of the next row
	averages, peakHold     bool    // rows are means; the lowest header pressure is caught, else that of a scan a second
	numbered               bool
	jitter                 float64 // of the time stamps [s]
	flutter                float64 // of the dP [Pa]
	inst                   [sense.NumChannels]instrument
	has                    [sense.NumChannels]bool
	down                   [][2]float64 // times without rows
	lostRows               float64
	zero                   time.Time
	luck, drops            luck
	span, low              float64 // time in this row; lowest header pressure
	mass                   float64 // taken away in this row [kg]
	pulses                 []int   // valves fired in this row
	last                   figures
	s                      sense.Series
	rows                   int // there can be
}

// newHistorian draws how a plant keeps its log of so many days.
func newHistorian(l luck, p *plant, days int, seed uint64) *historian {
	h := &historian{step: pick(l, 10.0, 30, 60, 60, 60, 60, 60, 60, 60, 120, 300, 300, 600, 900), averages: l.once(0.5), peakHold: l.once(0.6),
		numbered: l.once(0.9), flutter: l.in(2, 15), start: lead * day, luck: cast(seed, 11), drops: cast(seed, 12),
		lostRows: pick(l, 0, 0, 0, 0.002, 0.01)}
	h.scan, h.due = min(h.step, pick(l, 15.0, 20, 30)), h.start+h.step
	if h.step >= 300 {
		h.scan = 30
	}
	if l.once(0.25) {
		h.jitter = 0.1 * h.step
	}
	h.zero = time.Date(2025, 1, 6+7*l.IntN(75), 0, 0, 0, 0, time.FixedZone("", 3600*(l.IntN(13)-6)))
	for range l.IntN(3) {
		from := h.start + l.in(0, float64(days))*day
		h.down = append(h.down, [2]float64{from, from + l.octaves(0.5, 60)*hour})
	}
	h.instruments(l, p, float64(days)*day)
	for ch := range h.has {
		h.has[ch] = l.once(0.93) || ch == int(sense.DP) || ch == int(sense.Header) || ch == int(sense.Running)
	}
	h.has[sense.Flow] = l.once(0.75)
	h.has[sense.AfterfilterDP] = h.has[sense.AfterfilterDP] && p.after > 0
	h.rows = int(float64(days) * day / h.step)
	h.has[sense.FlowIndex] = h.has[sense.FlowIndex] && l.once(0.7)
	return h
}

// instruments draws the transmitters; those of one plant are of a kind, and looked after alike.
func (h *historian) instruments(l luck, p *plant, span float64) {
	poor, steps := l.octaves(0.4, 2.5), pick(l, 1000.0, 1000, 4000, 4000, 27648)
	reports, frozen := l.once(0.5), l.once(0.2)
	from := h.start + l.in(0.05, 0.95)*span
	amps := 1.6 * math.Hypot(p.amps(1.25*p.shaft), p.magnet)
	ranges := [sense.NumChannels][2]float64{sense.DP: {pick(l, 0.0, 0, 0, -250, -1000), pick(l, 2000.0, 2500, 2500, 5000)}, sense.AfterfilterDP: {0, 1000},
		sense.Flow: {0, 1.6 * p.design}, sense.FlowIndex: {0, 100}, sense.Header: {0, 10 * bar}, sense.HeaderLow: {0, 10 * bar},
		sense.FanCurrent: {0, amps}, sense.FanPower: {0, 2 * p.shaft / p.eta}, sense.InletSP: {-4000, 0}, sense.Damper: {0, 1},
		sense.Temperature: {253.15, 353.15}, sense.Humidity: {0, 1}, sense.Barometer: {80000, 110000}, sense.Emission: {0, 100}, sense.BinLevel: {0, 1}}
	for ch := range h.inst {
		in := &h.inst[ch]
		*in = instrument{low: ranges[ch][0], high: ranges[ch][1], gain: 1, damping: 0.5}
		if in.low == in.high {
			continue
		}
		in.noise, in.zero, in.gain = 0.0015*poor*l.in(0.4, 2), 0.003*poor*l.NormFloat64(), 1+0.008*poor*l.NormFloat64()
		in.drift, in.steps, in.damping = 2.5e-5*poor*min(2, max(-2, l.NormFloat64())), steps, l.octaves(0.5, 20)
		in.lost = pick(l, 0, 0, 0, 0.001)
		if l.once(0.25) {
			in.spikes = l.octaves(1e-5, 3e-4)
		}
		if reports {
			in.deadband, in.heart = l.octaves(0.001, 0.008), pick(l, 600.0, 1800, 3600)
		}
		if frozen && l.once(0.5) {
			in.frozenFrom, in.frozenTo = from, from+12*hour
		}
	}
	h.inst[sense.Header].damping = l.octaves(0.1, 1.5)
	h.inst[sense.HeaderLow] = h.inst[sense.Header]
	h.inst[sense.Emission].damping = l.octaves(0.5, 6)
	h.inst[sense.Flow].gain *= l.in(0.93, 1.07)
	h.inst[sense.BinLevel].noise *= 4
}

// copied is the historian as it stands; what it writes from now on is its own.
func (h *historian) copied() *historian {
	o := *h
	o.luck, o.drops, o.pulses = h.luck.copied(), h.drops.copied(), slices.Clone(h.pulses)
	o.s.Pulses = slices.Clone(h.s.Pulses)
	o.s.Time = append(make([]int64, 0, h.rows), h.s.Time...)
	for ch := range h.s.Col {
		if h.has[ch] {
			o.s.Col[ch] = append(make([]float64, 0, h.rows), h.s.Col[ch]...)
		}
	}
	return &o
}

// take is one scan, over the last dt.
func (h *historian) take(dt float64, v *figures) {
	if h.span == 0 {
		h.low = v[sense.HeaderLow]
	}
	h.low = min(h.low, v[sense.HeaderLow])
	for ch := range h.inst {
		in := &h.inst[ch]
		if !in.begun {
			in.state, in.begun = v[ch], true
		}
		in.state += (v[ch] - in.state) * dt / (dt + in.damping)
		in.sum += in.state * dt
	}
	h.span += dt
	h.last = *v
}

// row is what the historian puts together of the scans since the last row.
func (h *historian) row() figures {
	var row figures
	for ch := range h.inst {
		in := &h.inst[ch]
		row[ch] = in.state
		if h.averages {
			row[ch] = in.sum / h.span
		}
		in.sum = 0
	}
	row[sense.HeaderLow] = h.low
	row[sense.Running], row[sense.Cleaning] = h.last[sense.Running], h.last[sense.Cleaning]
	if len(h.pulses) > 0 {
		row[sense.Cleaning] = 1
	}
	row[sense.Pulse], row[sense.BinMass] = float64(len(h.pulses)), h.mass
	if h.mass == 0 {
		row[sense.BinMass] = math.NaN()
	}
	h.span, h.mass = 0, 0
	return row
}

// emit writes a row at a time.
func (h *historian) emit(now float64, gap bool) {
	h.due += h.step
	row := h.row()
	fired := h.pulses
	h.pulses = h.pulses[:0]
	for ch := range row {
		row[ch] = h.reported(sense.Channel(ch), row[ch], now)
	}
	stamp := now - h.start - h.jitter*h.drops.Float64()
	gap = h.drops.once(h.lostRows) || gap
	for _, d := range h.down {
		gap = gap || now > d[0] && now < d[1]
	}
	if gap {
		return
	}
	for _, valve := range fired {
		if h.numbered {
			h.s.Pulses = append(h.s.Pulses, sense.Firing{Row: int32(len(h.s.Time)), Valve: uint8(valve)})
		}
	}
	h.s.Time = append(h.s.Time, h.zero.UnixNano()+int64(math.Round(stamp*10))*1e8)
	for ch, v := range row {
		if h.has[ch] {
			h.s.Col[ch] = append(h.s.Col[ch], v)
		}
	}
}

// reported is what comes of a figure through transmitter, converter and exception report.
func (h *historian) reported(ch sense.Channel, v, now float64) float64 {
	in := &h.inst[ch]
	span := in.high - in.low
	if span == 0 {
		return v
	}
	noise, chance := h.luck.NormFloat64(), h.luck.Float64()
	u := (in.gain*v-in.low)/span + in.zero + in.drift*(now-h.start)/day + in.noise*noise
	v = in.low + span*math.Round(min(1, max(0, u))*in.steps)/in.steps
	switch {
	case chance < in.lost:
		return math.NaN()
	case chance < in.lost+in.spikes:
		return pick(h.luck, in.low, in.high, in.low+span*h.luck.Float64())
	case in.keeps && now > in.frozenFrom && now < in.frozenTo:
		return in.kept
	}
	if in.age += h.step; !in.keeps || in.age >= in.heart || math.Abs(v-in.kept) > in.deadband*span {
		in.kept, in.age, in.keeps = v, 0, true
	}
	return in.kept
}
