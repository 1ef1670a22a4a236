package trace

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"dustwright/header"
	"dustwright/unit"
)

// foldWait is the mean course of the header around a valve's turns, from 0.6 s before the onset; nil
// where no turn shows it whole. Turns with further openings count only where all is asked for.
func (w *work) foldWait(pos int, all bool) []float64 {
	pre, length := w.s.bins(0.6), math.MaxInt
	var starts []int
	for _, t := range w.turns {
		i := w.s.at(t.at) - pre
		if t.index%w.n != pos || t.hidden || i < 0 || len(t.extra) > 0 && !all {
			continue
		}
		starts = append(starts, i)
		length = min(length, pre+w.s.bins(t.next-t.at-0.06), len(w.s.y)-i)
	}
	if len(starts) == 0 || length < pre+w.s.bins(0.8) {
		return nil
	}
	mean := make([]float64, length)
	col := make([]float64, len(starts))
	for l := range mean {
		for r, i := range starts {
			col[r] = w.s.y[i+l]
		}
		mean[l] = middle(col)
	}
	return mean
}

// recovery reads off a valve's mean wait how long the supply takes to put 95 % of the drop back, and
// what share is back at the end. NaN where there is no drop to speak of.
func (w *work) recovery(pos int) (unit.Seconds, float64) {
	mean := w.foldWait(pos, false)
	nan := math.NaN()
	if mean == nil {
		return unit.Seconds(nan), nan
	}
	pre := w.s.bins(0.6)
	before := stat.Mean(mean[:max(1, pre-1)], nil)
	low, at := math.Inf(1), pre
	for i := pre; i < min(len(mean), pre+w.s.bins(0.8)); i++ {
		if mean[i] < low {
			low, at = mean[i], i
		}
	}
	drop := before - low
	if drop < 0.1*w.centre.drop || drop < 5*w.s.noise[0] {
		return unit.Seconds(nan), nan
	}
	tail := stat.Mean(mean[max(at, len(mean)-max(2, w.s.bins(0.4))):], nil)
	share := (tail - low) / drop
	// One bin reads with noise; the crossing is taken where the mean of a quarter second has passed.
	m := max(1, w.s.bins(0.25))
	for i := at; i+m <= len(mean); i++ {
		if stat.Mean(mean[i:i+m], nil) >= low+0.95*drop {
			return unit.Seconds((float64(i-at) + float64(m-1)/2) * w.s.dt), share
		}
	}
	return unit.Seconds(nan), share
}

// coursePoints is how many points a course has at most.
const coursePoints = 240

// course is a valve's mean wait, thinned.
func (w *work) course(pos int) Course {
	mean := w.foldWait(pos, true)
	each := 1 + w.s.bins(w.interval+0.6)/coursePoints // alike for all valves
	c := Course{Start: unit.Seconds(-float64(w.s.bins(0.6)) * w.s.dt), Step: unit.Seconds(float64(each) * w.s.dt)}
	for i := 0; i+each <= len(mean); i += each {
		c.Pressure = append(c.Pressure, stat.Mean(mean[i:i+each], nil))
	}
	return c
}

// usualCourse is the middle of the sound valves' courses.
func usualCourse(valves []Valve) Course {
	var out Course
	length := math.MaxInt
	var of []Course
	for _, v := range valves {
		if v.State == OK && !v.Late && len(v.Course.Pressure) > 0 {
			of = append(of, v.Course)
			length = min(length, len(v.Course.Pressure))
		}
	}
	if len(of) == 0 {
		return out
	}
	out = Course{Start: of[0].Start, Step: of[0].Step}
	col := make([]float64, len(of))
	for i := range length {
		for k, c := range of {
			col[k] = c.Pressure[i]
		}
		out.Pressure = append(out.Pressure, middle(col))
	}
	return out
}

// openTime is the drop over the steepest fall, from all of a valve's pulses laid over one another at
// their half-way point: how long the valve would have to stand wide open. NaN below 100 readings a
// second or where the noise hides it.
func (w *work) openTime(pos int) unit.Seconds {
	nan := unit.Seconds(math.NaN())
	if w.s.rate < 95 {
		return nan
	}
	cell := math.Max(0.005, 1/w.s.rate)
	const before, after = 0.1, 0.5
	n := int((before + after) / cell)
	sum, count := make([]float64, n), make([]int, n)
	pulses := 0
	for _, t := range w.turns {
		if t.index%w.n != pos || t.hidden || t.drop < 0.13*w.centre.drop {
			continue
		}
		half, ok := w.halfWay(t)
		if !ok {
			continue
		}
		pulses++
		i, _ := slices.BinarySearch(w.time, half-before)
		for ; i < len(w.time) && w.time[i] < half+after; i++ {
			if k := int((w.time[i] - half + before) / cell); k >= 0 && k < n {
				sum[k] += w.raw[i] - t.before
				count[k]++
			}
		}
	}
	if pulses == 0 {
		return nan
	}
	return steepest(sum, count, cell, w.s.noise[0]*math.Sqrt(math.Max(1, w.s.dt/cell)/float64(pulses)))
}

// steepest is the drop over the greatest fall within 20 ms [s].
func steepest(sum []float64, count []int, cell, noise float64) unit.Seconds {
	nan := unit.Seconds(math.NaN())
	y := make([]float64, len(sum))
	for k := range y {
		if count[k] == 0 {
			return nan
		}
		y[k] = sum[k] / float64(count[k])
	}
	m := max(1, int(math.Round(0.02/cell)))
	low, fall := math.Inf(1), 0.0
	for k := range y {
		low = math.Min(low, y[k])
		if k+m < len(y) {
			fall = math.Max(fall, y[k]-y[k+m])
		}
	}
	drop := stat.Mean(y[:max(1, len(y)/8)], nil) - low
	if fall < 6*noise || drop < 10*noise {
		return nan
	}
	return unit.Seconds(drop * float64(m) * cell / fall)
}

// halfWay is when the pressure passes the middle of a turn's drop [s].
func (w *work) halfWay(t turn) (float64, bool) {
	level := t.before - t.drop/2
	i, _ := slices.BinarySearch(w.time, t.at-0.08)
	for ; i < len(w.time) && w.time[i] < t.at+0.4; i++ {
		if i > 0 && w.raw[i] < level && w.raw[i-1] >= level {
			f := (w.raw[i-1] - level) / (w.raw[i-1] - w.raw[i])
			return w.time[i-1] + f*(w.time[i]-w.time[i-1]), true
		}
	}
	return 0, false
}

// refill is what the supply does after usual pulses. The flow is the steady fit's rise at the bottom of
// a pulse times the tank; warming air feigns part of it, hence the width of a quarter.
func (w *work) refill(tank *header.Tank, valves []Valve) Refill {
	nan := math.NaN()
	r := Refill{Recovered: nan, Recovery: unit.Seconds(nan), Flow: unit.StdFlow(nan), Sigma: unit.StdFlow(nan)}
	var share, back []float64
	for _, v := range valves {
		if v.State != OK || math.IsNaN(v.Recovered) {
			continue
		}
		share = append(share, v.Recovered)
		if !math.IsNaN(float64(v.Recovery)) {
			back = append(back, float64(v.Recovery))
		}
	}
	if len(share) > 0 {
		slices.Sort(share)
		r.Recovered = share[len(share)/2]
	}
	if 2*len(back) > len(share) {
		slices.Sort(back)
		r.Recovery = unit.Seconds(back[len(back)/2])
	}
	if f, ok := w.steady(); ok && tank != nil {
		low := math.Max(0, w.centre.ref-w.centre.drop)
		rise := f.rate * f.supply.law.share(low, f.supply.level, w.ambient)
		r.Flow = unit.StdFlow(w.freeFlow(tank, rise))
		r.Sigma = unit.StdFlow(0.25 * math.Abs(float64(r.Flow)))
	}
	return r
}

// freeFlow is the free air flow behind a rate of change of the header's pressure, slow enough for the
// walls to keep it at 293 K: V/(R T) dp/dt over the density of free air.
func (w *work) freeFlow(tank *header.Tank, rise float64) float64 {
	return float64(tank.Volume) / (unit.GasConstantDryAir * 293.15) * rise / unit.ScfDensity
}

// steady is the best fit that a sound valve may have.
func (w *work) steady() (balance, bool) {
	if len(w.fits) == 0 {
		return balance{}, false
	}
	return w.fits[0], true
}

// bleeding is what leaves the header between pulses.
func (w *work) bleeding(tank *header.Tank, valves []Valve) Bleed {
	nan := math.NaN()
	b := Bleed{Flow: unit.StdFlow(nan), Sigma: unit.StdFlow(nan), Level: unit.Pressure(nan)}
	var stuck *Valve
	for i := range valves {
		if valves[i].State == StuckOpen && (stuck == nil || valves[i].Probability > stuck.Probability) {
			stuck = &valves[i]
		}
	}
	f, ok := w.steady()
	if stuck != nil {
		b.Valve, b.Possible = stuck.Number, true
		for _, x := range w.fits {
			if x.kind != tight && x.kind != drawn && (x.valve < 0 || w.order.number[x.valve] == stuck.Number) {
				f = x
				break
			}
		}
	}
	g := slices.Max(f.bleed[:])
	if !ok || g <= 0 || f.kind == tight || f.kind == drawn {
		return b
	}
	level := w.centre.ref
	if f.kind != always {
		level = settled(f, g, w.ambient)
		b.Level = unit.Pressure(level)
	}
	b.Possible = true
	if tank != nil {
		b.Flow = unit.StdFlow(w.freeFlow(tank, g*outflow(level, w.ambient)))
		b.Sigma = unit.StdFlow(0.3 * float64(b.Flow))
	}
	return b
}

// settled is the gauge pressure at which the supply's rise and a bleed g balance [Pa].
func settled(f balance, g, ambient float64) float64 {
	lo, hi := 0.0, f.supply.level
	for range 40 {
		mid := (lo + hi) / 2
		if f.rate*f.supply.law.share(mid, f.supply.level, ambient) > g*outflow(mid, ambient) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}
