package trace

import (
	"math"
	"slices"

	"dustwright/header"
	"dustwright/unit"
)

// conclude turns the work into the result.
func (w *work) conclude(sp Spec) Result {
	r := Result{Relative: w.relative, Marked: w.marked, Interval: unit.Seconds(w.interval), Cycles: float64(len(w.turns)) / float64(w.n),
		Drop: unit.Pressure(w.centre.drop), Expected: unit.Pressure(math.NaN()), Level: unit.Pressure(w.centre.ref), Set: unit.Pressure(math.NaN()),
		Rate: w.s.rate, Noise: unit.Pressure(w.s.noise[0] * math.Sqrt(math.Max(1, w.s.rate*w.s.dt)))}
	if known(w.hint.drop) {
		r.Expected = unit.Pressure(w.hint.drop)
	}
	if known(w.set) {
		r.Set = sp.Set
	}
	rel := relatives(w.turns, w.centre.scaling)
	tank := tankOf(sp)
	for pos := range w.n {
		r.Valves = append(r.Valves, w.valve(pos, rel, tank))
	}
	r.DropSD = w.centreSD(r.Valves)
	slices.SortFunc(r.Valves, func(a, b Valve) int { return a.Number - b.Number })
	r.Course = usualCourse(r.Valves)
	r.Pulses = w.pulses(rel)
	r.Refill = w.refill(tank, r.Valves)
	r.Bleed = w.bleeding(tank, r.Valves)
	if w.silent { // nothing in the trace says what a pulse takes or how the supply puts it back
		nan := math.NaN()
		r.Drop, r.DropSD = unit.Pressure(nan), unit.Pressure(nan)
		r.Refill = Refill{Recovered: nan, Recovery: unit.Seconds(nan), Flow: unit.StdFlow(nan), Sigma: unit.StdFlow(nan)}
	}
	w.explain(&r)
	return r
}

// tankOf is the header of the spec, nil where its volume is not known.
func tankOf(sp Spec) *header.Tank {
	if !known(float64(sp.Volume)) || !known(float64(sp.Set)) {
		return nil
	}
	t := &header.Tank{Volume: sp.Volume, WallHeat: header.DefaultWallHeat(sp.Volume), Ambient: sp.Ambient}
	if t.Check() != nil {
		return nil
	}
	return t
}

// valve puts the figures of one position together.
func (w *work) valve(pos int, rel []float64, tank *header.Tank) Valve {
	b := w.beliefs[pos]
	v := Valve{Number: w.order.number[pos], Drop: unit.Pressure(math.NaN()), DropSD: unit.Pressure(math.NaN()), Share: math.NaN(),
		Air: unit.Volume(math.NaN()), AirSD: unit.Volume(math.NaN()), Open: unit.Seconds(math.NaN()), Recovery: unit.Seconds(math.NaN()), Recovered: math.NaN()}
	v.State, v.Probability = b.state()
	mean, sd := w.meanShare(pos, rel, b)
	for j, t := range w.turns {
		if t.index%w.n != pos {
			continue
		}
		v.Due++
		if w.fired(t, rel[j], mean, b) {
			v.Count++
		}
		v.Doubles += len(t.extra)
	}
	v.Count += v.Doubles
	v.Late = b.kind[isLong] > 0.5*(b.kind[isOK]+b.kind[isLong]) && v.State == OK
	v.Unsure = v.Probability < 0.8 || b.looks == 0
	if !math.IsNaN(mean) {
		v.Share = mean
		v.Drop, v.DropSD = unit.Pressure(mean*w.centre.drop), unit.Pressure(sd*w.centre.drop)
		v.Air, v.AirSD = w.air(tank, float64(v.Drop), float64(v.DropSD))
	}
	v.Open = w.openTime(pos)
	v.Recovery, v.Recovered = w.recovery(pos)
	v.Course = w.course(pos)
	return v
}

// meanShare is the weighted mean of a valve's drops over the usual one, over the turns on which it
// fired, or over all where it never does; with its standard deviation.
func (w *work) meanShare(pos int, rel []float64, b belief) (mean, sd float64) {
	var sw, sx float64
	dead := b.kind[isDead] > 0.5
	for j, t := range w.turns {
		if t.index%w.n != pos || t.hidden || rel[j] <= 0.02 {
			continue
		}
		x := t.drop / (w.centre.drop * rel[j])
		s := math.Hypot(t.sigma/(w.centre.drop*rel[j]), 0.02)
		if !dead && x < 0.1 && x < 3*s {
			continue
		}
		sw += 1 / (s * s)
		sx += x / (s * s)
	}
	if sw == 0 {
		return math.NaN(), math.NaN()
	}
	return sx / sw, 1 / math.Sqrt(sw)
}

// fired tells whether a turn shows the valve's pulse.
func (w *work) fired(t turn, rel, mean float64, b belief) bool {
	if b.kind[isDead] > 0.5 {
		return false
	}
	if t.hidden || math.IsNaN(mean) || rel <= 0 {
		return !math.IsNaN(mean) && mean > 0.13 // what this turn did not show, the others do
	}
	expect := w.centre.drop * rel * mean
	if b.stuck > 0.5 {
		return t.drop > 0.1*w.centre.drop*rel && t.drop > 3*t.sigma
	}
	hit := normal(t.drop, expect, math.Hypot(t.sigma, 0.06*expect)) * (1 - missRate)
	miss := normal(t.drop, 0, math.Hypot(t.sigma, 0.02*w.centre.drop*rel)) * missRate
	return hit > miss || t.drop > expect
}

// centreSD is the uncertainty of the group's usual drop: the spread of the sound valves over their number.
func (w *work) centreSD(valves []Valve) unit.Pressure {
	var sum, n float64
	for _, v := range valves {
		if v.State == OK && !math.IsNaN(v.Share) {
			sum += sq(v.Share - 1)
			n++
		}
	}
	if n < 2 {
		return unit.Pressure(0.1 * w.centre.drop)
	}
	return unit.Pressure(w.centre.drop * math.Max(0.01, math.Sqrt(sum/n/n)))
}

// pulses lists every turn and every opening beyond it.
func (w *work) pulses(rel []float64) []Pulse {
	var out []Pulse
	means := make([]float64, w.n)
	for pos := range means {
		means[pos], _ = w.meanShare(pos, rel, w.beliefs[pos])
	}
	for j, t := range w.turns {
		pos := t.index % w.n
		p := Pulse{At: unit.Seconds(t.at), Valve: w.order.number[pos], Before: unit.Pressure(t.before), Drop: unit.Pressure(t.drop)}
		p.Fired = w.fired(t, rel[j], means[pos], w.beliefs[pos])
		if t.hidden {
			p.Drop = unit.Pressure(math.NaN())
		}
		out = append(out, p)
		for _, e := range t.extra {
			out = append(out, Pulse{At: unit.Seconds(e), Valve: p.Valve, Fired: true, Extra: true, Before: unit.Pressure(w.s.level(e-0.2, e-0.02)), Drop: unit.Pressure(math.NaN())})
		}
	}
	return out
}

// air is the free air behind a drop from the usual level: that of the valve which in a tank of this
// size gives this drop, cooling and warming of the air included. Source: package header; the width
// adds a tenth for the tank's true volume.
func (w *work) air(tank *header.Tank, drop, sd float64) (air, width unit.Volume) {
	nan := unit.Volume(math.NaN())
	if tank == nil || drop <= 0 || drop >= 0.98*w.centre.ref {
		return nan, nan
	}
	start := header.State{P: unit.AbsPressure(w.centre.ref + w.ambient), T: 293.15}
	lo, hi := math.Log(1e-10), math.Log(1e-4)
	var p header.Pulse
	for range 40 {
		mid := (lo + hi) / 2
		p, _ = tank.Pulse(start, header.DefaultValve(unit.Conductance(math.Exp(mid)), unit.Seconds(w.on)), 1)
		if float64(p.Drop()) < drop {
			lo = mid
		} else {
			hi = mid
		}
	}
	air = header.StdVolume(p.Air)
	return air, unit.Volume(float64(air) * math.Hypot(sd/drop, 0.1))
}
