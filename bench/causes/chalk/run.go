package chalk

import (
	"math"
	"math/rand/v2"
	"slices"

	"dustwright/collector"
	"dustwright/sense"
)

// longStep is how long nothing need be looked at [s].
const longStep = 60.0

// plan is all that a run follows from.
type plan struct {
	d       *design
	cal     *calendar
	changes []change
	flutter *rand.Rand
}

// shot is a pulse in a row of the log.
type shot struct {
	row   int
	valve int
}

// record is what perfect instruments would write.
type record struct {
	d       *design
	time    []float64
	col     [sense.NumChannels][]float64
	blank   []bool // nothing is logged
	shots   []shot
	cleaned float64 // since the last row [s]
	emptied float64 // [kg]
	peak    float64 // of the emission since the last row
}

// run takes the machine through its days.
func (p *plan) run() *record {
	d := p.d
	rec := &record{d: d}
	m := newMachine(d, p.stand(0))
	end, looked, row := d.days*day, 0.0, d.every
	fired, emptying := 0, 0.0
	for t := 0.0; t < end; {
		if t-looked >= 20 {
			looked, m.k = t, p.stand(t)
		}
		was := m.running
		m.running = (p.cal.runs(t) || m.k.work) && !m.k.stop
		if was && !m.running {
			for i := range m.cloths { // what hangs loosely falls when the air stops
				m.bin += m.cloths[i].shed()
			}
		}
		if m.k.life != m.life {
			m.life = m.k.life
			m.fit(0)
		}
		m.blows()
		m.control(t, was)
		step := min(longStep, row-t)
		if m.cleaning {
			step = min(step, max(m.due-t, 0))
			rec.cleaned += step
		}
		m.passTime(t, step)
		t += step
		if m.pending >= 30 {
			m.layDust()
		}
		if m.cleaning && t >= m.due {
			m.layDust()
			if v := m.fire(t); v > 0 {
				fired++
				rec.shots = append(rec.shots, shot{len(rec.time), v})
			}
		}
		rec.peak = max(rec.peak, m.emission())
		if t >= emptying { // the crew looks into the bin in the morning
			emptying = (math.Floor(t/day)+1)*day + 9*hour
			if m.bin > 0.5*d.bin && !m.k.unemptied {
				rec.emptied, m.bin = 0.95*m.bin, 0.05*m.bin
			}
		}
		if t >= row {
			rec.write(t, m, fired, p.flutter.NormFloat64())
			fired = 0
			row += d.every
		}
	}
	return rec
}

// write adds a row.
func (rec *record) write(t float64, m *machine, fired int, flutter float64) {
	running := 0.0
	if m.running {
		running = 1
	}
	lag := max(m.k.lag[0], m.k.lag[1])
	level := min(m.level(), 1)
	if m.k.bridged {
		level = min(level, 0.3)
	}
	mass := math.NaN()
	if rec.emptied > 0 {
		mass = rec.emptied
	}
	emission := m.emission()
	if m.d.peaks {
		emission = rec.peak
	}
	electric := m.w.shaft / m.d.efficiency
	row := [sense.NumChannels]float64{
		sense.DP:            m.seen() + m.k.zero + 0.015*m.w.dp*flutter/math.Sqrt(1+lag/20),
		sense.AfterfilterDP: m.w.after, sense.Flow: m.w.flow, sense.FlowIndex: m.w.flow,
		sense.Header: m.b.p - atmosphere, sense.HeaderLow: min(m.b.lowest, m.b.p) - atmosphere,
		sense.FanPower: electric, sense.FanCurrent: amps(electric), sense.InletSP: m.w.inlet,
		sense.Damper: clamp(m.k.shown, 0, 1), sense.Running: running, sense.Cleaning: rec.cleaned / rec.d.every,
		sense.Pulse: float64(fired), sense.Temperature: 273.15 + m.k.temp + 6*running, sense.Humidity: m.k.humid,
		sense.Barometer: m.k.baro, sense.Emission: emission, sense.BinLevel: level, sense.BinMass: mass}
	for ch, v := range row {
		rec.col[ch] = append(rec.col[ch], v)
	}
	rec.time = append(rec.time, t)
	rec.blank = append(rec.blank, m.k.blank)
	rec.cleaned, rec.emptied, rec.peak, m.b.lowest = 0, 0, m.emission(), math.Inf(1)
}

// restless reports that an on-demand machine cleaned most of the time it ran: somebody would have set it otherwise.
func (rec *record) restless(until float64) bool {
	if rec.d.mode != collector.OnDemand {
		return false
	}
	var ran, cleaned float64
	for i := 0; i < len(rec.time) && rec.time[i] < until; i++ {
		ran += rec.col[sense.Running][i]
		cleaned += rec.col[sense.Running][i] * rec.col[sense.Cleaning][i]
	}
	return cleaned > 0.4*ran
}

// noise is what an ordinary instrument can't tell apart: a share of the reading and a least.
var noise = map[sense.Channel]struct{ share, least float64 }{
	sense.DP: {0.03, 15}, sense.AfterfilterDP: {0.03, 10}, sense.Flow: {0.02, 0}, sense.Header: {0.01, 4000}, sense.HeaderLow: {0.02, 5000},
	sense.FanCurrent: {0.015, 0.1}, sense.InletSP: {0.02, 10}, sense.Damper: {0, 0.02}, sense.Cleaning: {0.1, 0.02}, sense.Pulse: {0.1, 0.02},
	sense.Humidity: {0, 0.05}, sense.Emission: {0.1, 0.1}, sense.BinLevel: {0, 0.05}}

// shows reports that a record differs from that of the well machine since a time by more than noise, in a low, the middle or a
// high of one channel, while the fan runs. A valve's trouble must have had a few of its pulses to show in; 0 is no valve.
func (rec *record) shows(well *record, from float64, valve int) bool {
	first, _ := slices.BinarySearch(rec.time, from)
	if valve > 0 {
		at, _ := slices.BinarySearchFunc(rec.shots, first, func(s shot, row int) int { return s.row - row })
		if len(rec.shots)-at < 4*rec.d.rows {
			return false
		}
	}
	for ch, n := range noise {
		a, b := rec.levels(ch, first), well.levels(ch, first)
		for i := range a {
			if math.Abs(a[i]-b[i]) > n.least+n.share*math.Abs(b[i]) {
				return true
			}
		}
	}
	return false
}

// levels are what 95, 50 and 5 per cent of the rows with the fan on exceed, and their mean; zeros where it stood.
func (rec *record) levels(ch sense.Channel, first int) (out [4]float64) {
	var all []float64
	for i := first; i < len(rec.time); i += 1 + (len(rec.time)-first)/4000 {
		if rec.col[sense.Running][i] == 1 {
			all = append(all, rec.col[ch][i])
			out[3] += rec.col[ch][i]
		}
	}
	if len(all) == 0 {
		return out
	}
	slices.Sort(all)
	for i, share := range [3]float64{0.05, 0.5, 0.95} {
		out[i] = all[int(share*float64(len(all)-1))]
	}
	out[3] /= float64(len(all))
	return out
}
