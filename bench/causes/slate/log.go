package slate

import (
	"math"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/sense"
)

// instrument is a transmitter with its faults, all as shares of its span but for lost.
type instrument struct {
	low, high                 float64 // ends of its range
	noise, zero, drift, scale float64 // drift of the zero a day
	bits                      float64 // steps of the range
	lost                      float64 // share of readings that do not arrive
	flatFrom, flatTo          float64 // it keeps its value [s]
}

// logger is how the plant keeps its log.
type logger struct {
	step, scan        float64 // [s]
	spot, highest     bool    // rows are spot values, else means; of dP and leak detector the highest of the interval
	peakHold          bool    // header_low catches every pulse; else it is the lowest of the scans
	numbers, late     bool    // pulses come with their valve; pulses come in the row after
	labels            int     // the numbers go round after this one
	puffs             float64 // how long the leak detector sees a pulse [s]
	instruments       [sense.NumChannels]instrument
	lostRow, changeAt float64 // share of rows; when the clock changes [s]
	doubles           bool    // the hour comes twice then, else it is lost
	indexAt           float64 // flow index at design flow
	seed              uint64
	start             time.Time
}

func newLogger(d made.Dice, p *plant, seed uint64, days int) *logger {
	l := &logger{step: made.OneOf(d, 60.0, 60, 60, 120, 120, 180, 300, 300, 600, 900), spot: d.Chance(0.4), highest: d.Chance(0.2), peakHold: d.Chance(0.65),
		numbers: d.Chance(0.8), labels: p.rows, late: d.Chance(0.15), puffs: d.Between(6, 45), indexAt: d.Between(20, 90),
		lostRow: made.OneOf(d, 0, 0, 0.001, 0.01), changeAt: float64(d.IntN(2*days))*24*hourSec + 2*hourSec, doubles: d.Chance(0.5), seed: seed}
	l.scan = max(15, l.step/6)
	if p.rows > 8 && d.Chance(0.15) {
		l.labels = 8
	}
	l.start = time.Date(2025, 1, 6+7*d.IntN(70), 0, 0, 0, 0, time.FixedZone("", 3600*(d.IntN(12)-6)))
	poor := d.Spread(0.3, 2.5) // a plant that looks after one transmitter looks after all
	spans := map[sense.Channel][2]float64{
		sense.DP: {made.OneOf(d, 0.0, 0, -250), made.OneOf(d, 2000.0, 2500, 2500, 3000)}, sense.AfterfilterDP: {0, 1000},
		sense.Flow: {0, 1.6 * p.design}, sense.FlowIndex: {0, 1.7 * l.indexAt}, sense.Header: {0, 10 * bar}, sense.HeaderLow: {0, 10 * bar},
		sense.FanCurrent: {0, 2 * p.amps}, sense.FanPower: {0, 3.4 * p.amps * p.voltage * p.cosPhi}, sense.InletSP: {-2500, 0},
		sense.Damper: {0, 1}, sense.Temperature: {253, 333}, sense.Humidity: {0, 1}, sense.Barometer: {85000, 107000},
		sense.Emission: {0, 100}, sense.BinLevel: {0, 1}}
	for ch := range sense.NumChannels { // in order, or the same seed would not give the same log
		span, ok := spans[ch]
		if !ok {
			continue
		}
		l.instruments[ch] = instrument{low: span[0], high: span[1], noise: 0.002 * poor * d.Between(0.5, 2), zero: 0.003 * poor * d.NormFloat64(),
			drift: 1e-4 * poor * d.NormFloat64(), scale: 1 + 0.012*poor*d.NormFloat64(), bits: made.OneOf(d, 250.0, 1000, 4000, 4000), lost: made.OneOf(d, 0, 0, 0.0005, 0.005)}
		if d.Chance(0.08) {
			from := d.Between(0, float64(days)*24*hourSec)
			l.instruments[ch].flatFrom, l.instruments[ch].flatTo = from, from+d.Between(2, 20)*hourSec
		}
	}
	l.instruments[sense.HeaderLow] = l.instruments[sense.Header] // one transmitter
	l.instruments[sense.Flow].scale *= d.Between(0.92, 1.08)     // a meter in a short straight run
	return l
}

// scanned is one scan or one row, a figure for each channel.
type scanned [sense.NumChannels]float64

// reader goes through the books once, forward in time.
type reader struct {
	l     *logger
	sheet []hour
	books *balance
	phase int
	pulse int   // first one after the time read last
	last  pulse // the one before
}

// at is what could be seen at a time.
func (r *reader) at(t float64) scanned {
	for r.phase+1 < len(r.books.phases) && r.books.phases[r.phase].to < t {
		r.phase++
	}
	for r.pulse < len(r.books.pulses) && r.books.pulses[r.pulse].at <= t {
		r.last = r.books.pulses[r.pulse]
		r.pulse++
	}
	i := min(int(t/hourSec), len(r.sheet)-1)
	h, ph := &r.sheet[i], &r.books.phases[r.phase]
	u := (t - ph.from) / max(1e-9, ph.to-ph.from)
	if !ph.cleaned && ph.running {
		u = math.Pow(u, r.books.p.dustExp)
	}
	x := ph.flow0 + (ph.flow1-ph.flow0)*u
	hood := x / (1 + h.inleak)
	var s scanned
	s[sense.DP] = ph.dp0 + (ph.dp1-ph.dp0)*u
	s[sense.AfterfilterDP] = r.books.afts[i] * x
	s[sense.Flow], s[sense.FlowIndex] = x*r.books.p.design, x*r.l.indexAt
	s[sense.InletSP] = -r.books.p.duct * h.duct * h.density * hood * hood
	if ph.running {
		s[sense.FanCurrent], s[sense.Running] = r.books.p.current(x, h.speed, h.density), 1
	}
	s[sense.FanPower] = math.Sqrt(3) * r.books.p.voltage * r.books.p.cosPhi * s[sense.FanCurrent]
	if ph.cleaned {
		s[sense.Cleaning] = 1
	}
	s[sense.Damper], s[sense.Temperature], s[sense.Humidity], s[sense.Barometer] = h.open, h.kelvin, h.damp, h.baro
	s[sense.BinLevel] = max(h.heap, r.books.bins[i]/(r.books.p.binVolume*r.books.p.bulk))
	s[sense.Header] = r.books.p.recovered(h, r.last.after, t-r.last.at)
	s[sense.Emission] = x * (r.books.p.emission*(0.7+0.3*h.feed) + 12*h.hole + r.puff(h, t))
	return s
}

// puff is the dust that comes through after the last pulses, a half sine each; the row with a hole lets most through then.
func (r *reader) puff(h *hour, t float64) float64 {
	sum := 0.0
	for k := r.pulse - 1; k >= 0 && t-r.books.pulses[k].at < r.l.puffs; k-- {
		peak := r.books.p.puff
		if r.books.pulses[k].valve == r.books.number {
			peak += 60 * h.hole
		}
		sum += peak * math.Sin(math.Pi*(t-r.books.pulses[k].at)/r.l.puffs)
	}
	return sum
}

// row puts the scans of an interval together.
func (r *reader) row(from, to float64) (scanned, []pulse) {
	first := r.pulse
	var sum, top scanned
	low, n := math.Inf(1), 0.0
	for t := from + r.l.scan; t <= to; t += r.l.scan {
		s := r.at(t)
		for ch, v := range s {
			if sum[ch] += v; n == 0 || v > top[ch] {
				top[ch] = v
			}
		}
		low = min(low, s[sense.Header])
		n++
		if r.l.spot {
			sum, n = s, 1
		}
	}
	for ch := range sum {
		sum[ch] /= n
	}
	if r.l.highest && !r.l.spot {
		sum[sense.DP], sum[sense.Emission] = top[sense.DP], top[sense.Emission]
	}
	sum[sense.Cleaning] = math.Ceil(sum[sense.Cleaning])
	fired := r.books.pulses[first:r.pulse]
	for k := 0; k < len(fired) && r.l.peakHold; k++ {
		low = min(low, fired[k].after)
	}
	sum[sense.HeaderLow], sum[sense.Pulse], sum[sense.BinMass] = low, float64(len(fired)), math.NaN()
	if i := int(from / hourSec); from-float64(i)*hourSec < r.l.step && r.books.emptied[i] > 0 {
		sum[sense.BinMass] = r.books.emptied[i]
	}
	return sum, fired
}

// write keeps the log.
func (l *logger) write(sheet []hour, b *balance) *sense.Series {
	r := &reader{l: l, sheet: sheet, books: b, last: pulse{after: b.p.set}}
	s := &sense.Series{Zone: l.start.Location(), Source: "slate"}
	d := made.Throw(l.seed, 11)
	var noise [sense.NumChannels]made.Dice // one each, so that a trouble changes no other channel's noise
	for ch := range noise {
		noise[ch] = made.Throw(l.seed, uint64(20+ch))
	}
	add := func(at float64, row *scanned) {
		s.Time = append(s.Time, l.start.UnixNano()+int64(at)*1e9)
		for ch, v := range row {
			s.Col[ch] = append(s.Col[ch], v)
		}
	}
	late := 0
	for k := range int(float64(len(sheet)) * hourSec / l.step) {
		from := float64(k) * l.step
		to := from + l.step
		row, fired := r.row(from, to)
		changing := from >= l.changeAt && from < l.changeAt+hourSec
		if d.Chance(l.lostRow) || sheet[int(from/hourSec)].lost || changing && !l.doubles {
			continue
		}
		for ch := range noise {
			row[ch] = l.shown(sense.Channel(ch), row[ch], to, noise[ch])
			if in := &l.instruments[ch]; to > in.flatFrom && to < in.flatTo && s.Len() > 0 {
				row[ch] = s.Col[ch][s.Len()-1]
			}
		}
		add(to, &row)
		if l.late {
			fired, late = b.pulses[late:r.pulse-len(fired)], r.pulse-len(fired)
		}
		if l.numbers {
			for _, f := range fired {
				s.Pulses = append(s.Pulses, sense.Firing{Row: int32(s.Len() - 1), Valve: uint8(1 + (f.valve-1)%l.labels)})
			}
		}
		if changing {
			row[sense.Pulse], row[sense.BinMass] = 0, math.NaN()
			add(to+1, &row)
		}
	}
	if b.p.after == 0 {
		s.Col[sense.AfterfilterDP] = nil
	}
	return s
}

// shown is what a transmitter makes of a figure; what the controller tells needs none.
func (l *logger) shown(ch sense.Channel, v, t float64, d made.Dice) float64 {
	in := &l.instruments[ch]
	span := in.high - in.low
	if span == 0 {
		return v
	}
	chance, noise := d.Float64(), d.NormFloat64()
	share := in.scale*v/span + in.zero + in.drift*t/(24*hourSec) + in.noise*noise
	share = math.Round(share*in.bits) / in.bits
	if chance < in.lost {
		return math.NaN()
	}
	return min(in.high, max(in.low, share*span))
}
