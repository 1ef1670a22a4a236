package stencil

import (
	"math"
	"math/rand/v2"
	"time"

	"dustwright/sense"
)

// logger writes the rows.
type logger struct {
	every     float64 // [s]
	jitter    float64 // share of it
	skips     float64 // chance that a row is missing
	mean      bool    // rows are means, of the running time alone or of all
	whole     bool
	atPulse   float64 // how much a pulse pulls the dP of a row taken in its moment [Pa]
	valves    int     // 0 the log names them, 1 it counts them, 2 neither
	byHand    bool    // the damper's position is what somebody wrote down
	wrote     float64
	scale     float64 // of the leak detector [1/(g/m3)]
	index     bool
	cleanedAt float64 // when the pitot was last cleaned [days]
	meters    [sense.NumChannels]meter
	r         *rand.Rand
	sum       [sense.NumChannels]float64
	weight    float64
	ran, all  float64
}

// averaged are the channels of which a logger may write means.
var averaged = []sense.Channel{sense.DP, sense.AfterfilterDP, sense.Flow, sense.InletSP, sense.FanCurrent, sense.FanPower, sense.Emission, sense.Header}

// newLogger draws a logger.
func newLogger(r *rand.Rand, s *shop, seed uint64) *logger {
	l := &logger{every: pick(r, 10.0, 30, 60, 60, 60, 120, 120, 300, 300, 600, 900), meters: bench(r, s), r: rand.New(rand.NewPCG(seed, 23))}
	u := r.Float64()
	if u < 0.35 {
		l.jitter, l.skips = 0.35*r.Float64(), 0.12*r.Float64()
	}
	l.mean, l.whole = r.Float64() < 0.4, r.Float64() < 0.4
	if r.Float64() < 0.4 {
		l.atPulse = 20 + 160*r.Float64()
	}
	switch v := r.Float64(); {
	case v < 0.14:
		l.valves = 1
	case v < 0.2:
		l.valves = 2
	}
	l.byHand, l.wrote = r.Float64() < 0.3, s.trim
	l.scale = (2 + 8*r.Float64()) / (s.gram * s.fine * 0.25)
	l.index = r.Float64() < 0.4
	return l
}

// truth is what each channel would show now if nothing erred.
func (w *world) truth(l *logger) [sense.NumChannels]float64 {
	var v [sense.NumChannels]float64
	v[sense.DP] = w.gauge.port
	v[sense.AfterfilterDP] = w.now.after
	v[sense.Flow] = w.now.flow
	v[sense.FlowIndex] = math.Pow(w.now.flow/w.design, 0.95)
	v[sense.Header] = w.header
	v[sense.FanCurrent] = w.now.current
	v[sense.FanPower] = w.now.electric
	v[sense.InletSP] = -w.now.suction
	if w.running {
		v[sense.Emission] = (w.clear + w.smoke) * l.scale
	}
	return v
}

// note takes part in a row's means, after a step of dt.
func (l *logger) note(w *world, dt float64) {
	l.all += dt
	if w.running {
		l.ran += dt
	}
	if !l.mean {
		return
	}
	k := dt
	if !l.whole && !w.running {
		k = 1e-9 * dt
	}
	v := w.truth(l)
	for _, c := range averaged {
		l.sum[c] += k * v[c]
	}
	l.weight += k
}

// write adds a row, with the readings of the instruments, and begins the next.
func (l *logger) write(w *world, out *sense.Series, start time.Time) {
	v := w.truth(l)
	if l.mean && l.weight > 0 {
		for _, c := range averaged {
			v[c] = l.sum[c] / l.weight
		}
	}
	day := w.t / 86400
	if day > l.cleanedAt+25 {
		l.cleanedAt = day
	}
	v[sense.Flow] *= 1 - w.tale.dirtiesFlow*(day-l.cleanedAt)/10
	if !l.mean && w.spike > 0 {
		v[sense.DP] -= min(l.atPulse*w.spike, 0.3*math.Abs(v[sense.DP]))
	}
	if w.fault == lineOff && v[sense.DP] < 0 && w.kind < 0.3 {
		v[sense.DP] = 0
	}
	if w.tale.name == "drift" && day > w.tale.at/2 {
		v[sense.DP] += w.tale.value * (day - w.tale.at/2) / (w.days - w.tale.at/2)
	}
	v[sense.HeaderLow] = min(w.least, w.header)
	pos := w.position()
	if l.byHand {
		pos = l.wrote
	}
	v[sense.Damper] = pos
	v[sense.Temperature], v[sense.Humidity], v[sense.Barometer] = w.air.temperature, w.air.humidity, w.air.barometer
	v[sense.BinLevel] = w.binKg / (w.heap * w.bin)
	l.append(w, out, v)
	n := len(out.Time)
	out.Time = append(out.Time, start.UnixNano()+int64(w.t*1e9))
	if l.valves == 0 {
		for _, f := range w.fired {
			out.Pulses = append(out.Pulses, sense.Firing{Row: int32(n), Valve: f})
		}
	}
	l.rest(w)
}

// append puts the values of one row into the columns.
func (l *logger) append(w *world, out *sense.Series, v [sense.NumChannels]float64) {
	flow := w.now.flow / w.design
	put := func(c sense.Channel, x float64) { out.Col[c] = append(out.Col[c], x) }
	read := func(c sense.Channel) {
		f := flow
		if c == sense.DP || c == sense.Flow || c == sense.FanCurrent {
			f = min(2, flow)
		}
		put(c, l.meters[c].read(l.r, v[c], f, w.air.temperature))
	}
	for _, c := range []sense.Channel{sense.DP, sense.Flow, sense.Header, sense.FanCurrent, sense.FanPower, sense.InletSP,
		sense.Temperature, sense.Humidity, sense.Barometer, sense.Emission, sense.BinLevel} {
		read(c)
	}
	if w.after > 0 {
		read(sense.AfterfilterDP)
	}
	if l.index {
		read(sense.FlowIndex)
	}
	if l.byHand {
		put(sense.Damper, math.Round(v[sense.Damper]*20)/20)
	} else {
		put(sense.Damper, min(1, max(0, l.meters[sense.Damper].read(l.r, v[sense.Damper], flow, 293))))
	}
	put(sense.HeaderLow, l.meters[sense.HeaderLow].read(l.r, v[sense.HeaderLow], flow, w.air.temperature))
	if i := len(out.Time); out.Col[sense.HeaderLow][i] > out.Col[sense.Header][i] { // it is one sensor
		out.Col[sense.HeaderLow][i] = out.Col[sense.Header][i]
	}
	on := 0.0
	if l.mean && l.whole {
		on = math.Round(l.ran/l.all*100) / 100
	} else if w.running {
		on = 1
	}
	put(sense.Running, on)
	busy := 0.0
	if w.cleaning && (w.fault != silent || w.kind < 0.4 || !w.idleOutput()) {
		busy = 1
	}
	if len(w.fired) > 0 {
		busy = 1
	}
	put(sense.Cleaning, busy)
	if l.valves < 2 {
		put(sense.Pulse, float64(len(w.fired)))
	}
	mass := math.NaN()
	if w.taken > 0 {
		mass = max(0, l.meters[sense.BinMass].read(l.r, w.taken, 0, 293))
		w.taken = 0
	}
	put(sense.BinMass, mass)
	for _, c := range []sense.Channel{sense.BinLevel, sense.Humidity} {
		i := len(out.Col[c]) - 1
		out.Col[c][i] = min(1, out.Col[c][i])
	}
}

// rest begins the next row.
func (l *logger) rest(w *world) {
	l.sum, l.weight, l.ran, l.all = [sense.NumChannels]float64{}, 0, 0, 0
	w.fired = w.fired[:0]
	w.least = w.header
}

// run writes the whole log of a world.
func (l *logger) run(w *world, start time.Time) *sense.Series {
	out := &sense.Series{Source: "stencil", Zone: start.Location()}
	end := w.days * 86400
	for at := 0.0; at < end; {
		at += l.every * (1 + l.jitter*(l.r.Float64()-0.5))
		for w.t < at-1e-3 {
			dt := w.stride(at - w.t)
			w.step(dt)
			l.note(w, dt)
		}
		lost := l.r.Float64() < l.skips
		day := w.t / 86400
		for _, g := range w.tale.gaps {
			if day > g.from && day < g.to {
				lost = true
				w.fired = w.fired[:0]
			}
		}
		if !lost {
			l.write(w, out, start)
		}
	}
	return out
}
