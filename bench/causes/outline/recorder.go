package outline

import (
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"dustwright/sense"
)

// instrument is one transmitter with its habits.
type instrument struct {
	there                bool
	noise, share         float64 // standard deviation: fixed, and of the reading while running
	gain, offset         float64
	wander               float64 // offset gained over the log
	lag                  float64 // of its filter [s]
	step                 float64 // quantum
	low, high            float64 // it clips
	lost                 float64 // share of readings lost
	spike                float64 // share of readings that are nonsense
	stuck                [2]float64
	r                    *rand.Rand
	held, last           float64
	drifts, drift        float64 // from when, Pa or so over the rest
	stepAt, stepGain, by float64
}

// recorder writes the log.
type recorder struct {
	of     [sense.NumChannels]instrument
	base   float64 // usual step [s]
	jitter float64 // share of a step
	ragged bool    // steps of any length
	mean   bool    // some channels are means since the last row
	gaps   [][2]float64
	length float64
	r      *rand.Rand
	rowAt  float64
	s      *sense.Series
	start  time.Time
	meter  bool // the flow meter sits in the inlet duct and sees the hoods' air only
}

// rates are the steps loggers are set to [s].
var rates = []float64{10, 15, 20, 30, 30, 60, 60, 60, 60, 60, 120, 120, 300, 300, 600}

func newRecorder(seed uint64, m *machine, length float64) *recorder {
	r := rand.New(rand.NewPCG(seed, 991))
	rec := &recorder{r: r, base: pick(r, rates...), length: length, mean: r.Float64() < 0.3, ragged: r.Float64() < 0.1, meter: r.Float64() < 0.15}
	rec.jitter = pick(r, 0, 0, 0, 0.01, 0.05, 0.2)
	messy := 0.15 + 1.6*r.Float64()*r.Float64()
	for range r.IntN(3) {
		if r.Float64() < messy {
			from := length * r.Float64()
			rec.gaps = append(rec.gaps, [2]float64{from, from + logWithin(r, 0.5, 40)*hour})
		}
	}
	for c := range sense.NumChannels {
		rec.of[c] = draw(r, c, m, messy)
		rec.of[c].r = rand.New(rand.NewPCG(seed, 2000+uint64(c)))
		rec.of[c].held = math.NaN()
		if r.Float64() < 0.06*messy {
			at := length * r.Float64()
			rec.of[c].stuck = [2]float64{at, at + logWithin(r, 0.3, 12)*hour}
		}
	}
	if !m.after.fitted {
		rec.of[sense.AfterfilterDP].there = false
	}
	if m.duct.damper == noDamper {
		rec.of[sense.Damper].there = false
	}
	return rec
}

// draw makes the instrument of a channel.
func draw(r *rand.Rand, c sense.Channel, m *machine, messy float64) instrument {
	i := instrument{there: r.Float64() < within(r, 0.6, 0.9), gain: 1 + 0.015*messy*r.NormFloat64(), low: math.Inf(-1), high: math.Inf(1), lost: 0.004 * messy * r.Float64(), lag: pick(r, 0, 1, 3, 5, 10, 20.0)}
	if r.Float64() < 0.25 {
		i.spike = 2e-4 * messy * r.Float64()
	}
	pressure := func(span float64) {
		i.noise, i.share = 0.0015*span*messy*r.Float64(), 0.004+0.02*messy*r.Float64()
		i.step, i.offset = pick(r, 1, 2.5, 5, 12.5, 25)*span/2500, 0.003*span*messy*r.NormFloat64()
		i.wander = 0.006 * span * messy * r.NormFloat64()
		i.low, i.high = -pick(r, 0, 0.05, 1)*span, span
	}
	switch c {
	case sense.DP:
		i.there = true
		pressure(pick(r, 2000, 2500, 2500, 3735.0))
	case sense.AfterfilterDP:
		pressure(pick(r, 750, 1250.0))
	case sense.InletSP:
		pressure(2500)
		i.low, i.high = -pick(r, 2500, 4000.0), 100
	case sense.Flow, sense.FlowIndex:
		i.there = r.Float64() < 0.6
		i.share, i.step = 0.006+0.03*messy*r.Float64(), pick(r, 0.001, 0.01, 0.02)
		i.gain += 0.03 * r.NormFloat64()
		if c == sense.FlowIndex {
			scale := pick(r, 1, 100, 37.0)
			i.gain, i.step = i.gain*scale, i.step*scale
		}
	case sense.Header, sense.HeaderLow:
		i.noise, i.step = psi*(0.1+0.5*messy*r.Float64()), pick(r, 0.1, 0.5, 1)*psi
		i.offset, i.lag = 0.4*psi*messy*r.NormFloat64(), 0
		i.low, i.high = 0, pick(r, 100, 150, 160.0)*psi
	case sense.FanCurrent:
		i.share, i.step = 0.003+0.012*messy*r.Float64(), pick(r, 0.01, 0.1, 0.1)*max(1, m.fan.full/50)
		i.low = 0
	case sense.FanPower:
		i.share, i.step, i.low = 0.003+0.012*messy*r.Float64(), pick(r, 10, 100.0), 0
	case sense.Damper:
		i.noise, i.step, i.low, i.high = 0.002*messy, 0.01, 0, 1
	case sense.Temperature:
		i.noise, i.step, i.offset, i.gain, i.spike = 0.2, 0.1, 0.7*r.NormFloat64(), 1, 0
	case sense.Humidity:
		i.noise, i.step, i.offset, i.low, i.high = 0.01, 0.01, 0.03*r.NormFloat64(), 0.02, 1
	case sense.Barometer:
		i.noise, i.step, i.gain, i.spike = 20, 10, 1, 0
	case sense.Emission:
		i.noise, i.share, i.step, i.gain, i.low, i.high, i.lag = 0.05, 0.1, 0.05, pick(r, 0.3, 1, 8.0), 0, 400, 3
	case sense.BinLevel:
		i.noise, i.step, i.low, i.high = 0.005+0.02*messy*r.Float64(), 0.01, 0, 1.1
	case sense.Running, sense.Cleaning, sense.Pulse:
		i.gain, i.spike, i.lag = 1, 0, 0
	case sense.BinMass:
		i.there = false
	}
	return i
}

// drift lets the dP transmitter wander off from a time on, step sets it anew.
func (rec *recorder) drift(from, by float64) {
	rec.of[sense.DP].drifts, rec.of[sense.DP].drift = from, by
}
func (rec *recorder) step(at, gain, by float64) {
	d := &rec.of[sense.DP]
	d.stepAt, d.stepGain, d.by = at, gain, by
}

// next is when the next row is written after t.
func (rec *recorder) next(t float64) float64 {
	dt := rec.base
	if rec.ragged {
		dt *= within(rec.r, 0.5, 2)
	}
	return t + max(5, math.Round(dt*(1+rec.jitter*(rec.r.Float64()-0.5))))
}

// truth is what a channel would read if its instrument were perfect.
func (rec *recorder) truth(w *world, k *knobs, out *[sense.NumChannels]float64) {
	s, m := &w.s, w.m
	out[sense.DP] = s.line
	out[sense.AfterfilterDP] = s.wind.after
	flow := s.wind.fan
	if rec.meter {
		flow = s.wind.hoods
	}
	out[sense.Flow] = flow * m.design
	out[sense.FlowIndex] = flow
	out[sense.Header] = s.header
	out[sense.HeaderLow] = w.low
	out[sense.FanCurrent], out[sense.FanPower] = 0, 0
	if s.running {
		out[sense.FanCurrent] = m.fan.amps(s.wind.shaft)
		out[sense.FanPower] = s.wind.shaft / m.fan.eff
	}
	out[sense.InletSP] = s.wind.tap
	out[sense.Damper] = k.open
	out[sense.Running], out[sense.Cleaning] = flag(s.running), flag(s.cleaning)
	out[sense.Pulse] = float64(len(w.fired))
	out[sense.Temperature] = 293.15
	out[sense.Barometer], out[sense.Humidity] = atmosphere, w.rh
	if w.cal != nil {
		air := w.cal.weather(s.t)
		out[sense.Temperature], out[sense.Barometer] = air.temp, air.baro
		if s.running {
			out[sense.Temperature] += m.process
		}
	}
	out[sense.Emission] = w.past(k)
	if rec.mean {
		out[sense.Emission] = max(w.peak, out[sense.Emission])
	}
	out[sense.BinLevel] = min(1.05, s.bin/(m.bin.volume*m.dust.bulk))
}

func flag(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// averaged tells of the channels that some loggers give as means.
func averaged(c sense.Channel) bool {
	switch c {
	case sense.DP, sense.AfterfilterDP, sense.Flow, sense.FlowIndex, sense.FanCurrent, sense.FanPower, sense.InletSP:
		return true
	}
	return false
}

// write takes a row.
func (rec *recorder) write(w *world, truth *[sense.NumChannels]float64) {
	t := w.s.t
	lost := false
	for _, g := range rec.gaps {
		lost = lost || t >= g[0] && t < g[1]
	}
	if !lost {
		rec.row(w, truth)
	}
	w.fired, w.low, w.peak = w.fired[:0], w.s.header, 0
	rec.rowAt = t
}

func (rec *recorder) row(w *world, truth *[sense.NumChannels]float64) {
	t, s := w.s.t, rec.s
	row := int32(len(s.Time))
	s.Time = append(s.Time, rec.start.UnixNano()+int64(t*1e9))
	for c := range sense.NumChannels {
		i := &rec.of[c]
		if !i.there {
			continue
		}
		v := i.read(truth[c], t, t-rec.rowAt, rec.length)
		if !w.s.running && (c == sense.Flow || c == sense.FlowIndex) && !math.IsNaN(v) {
			v = max(v, 0)
		}
		s.Col[c] = append(s.Col[c], v)
	}
	if rec.of[sense.Pulse].there {
		for _, v := range w.fired {
			s.Pulses = append(s.Pulses, sense.Firing{Row: row, Valve: v})
		}
		s.Col[sense.Pulse][row] = float64(len(w.fired))
	}
}

// read is the chain from the truth to the log.
func (i *instrument) read(v, t, dt, length float64) float64 {
	if t >= i.stuck[0] && t < i.stuck[1] {
		return i.last
	}
	if dt < 8*i.lag && !math.IsNaN(i.held) {
		v = i.held + (v-i.held)*(1-math.Exp(-dt/i.lag))
	}
	i.held = v
	if i.noise > 0 || i.share > 0 {
		v += (i.noise + i.share*math.Abs(v)) * i.r.NormFloat64()
	}
	v = v*i.gain + i.offset + i.wander*t/length
	if i.drift != 0 && t > i.drifts {
		v += i.drift * (t - i.drifts) / max(length-i.drifts, day)
	}
	if i.stepAt > 0 && t > i.stepAt {
		v = v*(1+i.stepGain) + i.by
	}
	if i.lost > 0 && i.r.Float64() < i.lost {
		return math.NaN()
	}
	if i.spike > 0 && i.r.Float64() < i.spike {
		v *= 1 + 2*i.r.Float64()
	}
	if i.step > 0 {
		v = math.Round(v/i.step) * i.step
	}
	i.last = min(i.high, max(i.low, v)) + 0 // no negative nought
	return i.last
}

// tally sums up what the channels truly did in the last days of a log, to hold a trouble against its twin.
type tally struct {
	from  float64
	of    [sense.NumChannels][]float64
	valve [mostRows]float64 // fall of the header in rows that end with this valve
	times [mostRows]float64
	fired [mostRows]float64
}

func (y *tally) take(w *world, truth *[sense.NumChannels]float64) {
	if w.s.t < y.from || !w.s.running {
		return
	}
	for c := range sense.NumChannels {
		y.of[c] = append(y.of[c], truth[c])
	}
	for _, v := range w.fired {
		y.fired[v-1]++
	}
	if n := len(w.fired); n > 0 {
		v := w.fired[n-1] - 1
		y.valve[v] += truth[sense.HeaderLow]
		y.times[v]++
	}
}

// silent reports that a channel cannot show a trouble but by chance.
func silent(c sense.Channel, cause string) bool {
	switch c {
	case sense.Temperature, sense.Humidity, sense.Barometer, sense.Running:
		return true
	case sense.Emission, sense.AfterfilterDP:
		return false
	}
	return cause == "filter-leak"
}

// moved tells how many times its own unrest the channel that a trouble moved most went from its twin.
func moved(ill, sound *tally, rec *recorder, bad *trouble) float64 {
	best, row := 0.0, bad.row
	if len(ill.of[sense.DP]) < 8 || len(sound.of[sense.DP]) < 8 {
		return 0
	}
	for c := range sense.NumChannels {
		i := &rec.of[c]
		if !i.there || silent(c, bad.way.cause) {
			continue
		}
		a, b := slices.Clone(ill.of[c]), slices.Clone(sound.of[c])
		slices.Sort(a)
		slices.Sort(b)
		level := math.Abs(mean(b))
		unit := max(0.7*(i.noise+i.share*level), 0.5*i.step, 0.02*level)
		if c == sense.Pulse || c == sense.Cleaning {
			unit = 0.25*level + 0.002
		}
		if c == sense.Emission {
			unit = 0.3 * level
		}
		if c == sense.BinLevel {
			unit = 0.2
		}
		best = max(best, math.Abs(mean(a)-mean(b))/unit)
		if c != sense.Pulse && c != sense.Cleaning && c != sense.Emission {
			for _, q := range []float64{0.1, 0.9} {
				best = max(best, math.Abs(a[int(q*float64(len(a)-1))]-b[int(q*float64(len(b)-1))])/unit/1.3)
			}
		}
	}
	if row >= 0 && bad.way.cause != "filter-leak" && rec.of[sense.HeaderLow].there && rec.of[sense.Pulse].there && ill.times[row] > 5 && sound.times[row] > 5 {
		i := &rec.of[sense.HeaderLow]
		diff := math.Abs(ill.valve[row]/ill.times[row] - sound.valve[row]/sound.times[row])
		best = max(best, diff/max(0.7*i.noise, 0.5*i.step, 2000))
	}
	return best
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(max(1, len(v)))
}
