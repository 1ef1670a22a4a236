package sense

import (
	"math"
)

// addCycle takes a finished cycle in and sums up the day before when it is the first of its day.
func (h *History) addCycle(c Cycle) {
	h.Cycles = append(h.Cycles, c)
	n := len(h.Cycles)
	if n >= 2 && h.day(h.Cycles[n-2].Start/1e9) < h.day(c.Start/1e9) {
		h.sumDay(n - 1)
	}
	if n >= 2*MaxCycles+MaxCycles/2 {
		h.Cycles = append([]Cycle(nil), h.Cycles[n-MaxCycles:]...)
	}
}

// closeDay sums up the day that the last cycle belongs to.
func (h *History) closeDay() {
	if n := len(h.Cycles); n > 0 {
		h.sumDay(n)
	}
}

// sumDay sums up the day of the cycles that end before index to.
func (h *History) sumDay(to int) {
	day := h.day(h.Cycles[to-1].Start / 1e9)
	if n := len(h.Passes); n > 0 && h.Passes[n-1].Day >= day {
		return
	}
	from := to
	for from > 0 && h.day(h.Cycles[from-1].Start/1e9) == day {
		from--
	}
	if p, ok := passesOf(h.Cycles[from:to]); ok {
		p.Day = day
		h.Passes = append(h.Passes, p)
	}
}

// passesOf sums cycles up that are shown by the best of their sources; false where none counts. For
// cycles that the dP itself shows, only those count that begin near the highest levels: the others
// are falls of the airflow.
func passesOf(cycles []Cycle) (Passes, bool) {
	best := ByStop
	for _, c := range cycles {
		if c.By != NoCycles && c.By < best {
			best = c.By
		}
	}
	if best == ByStop {
		return Passes{}, false
	}
	m := newMedians(len(cycles))
	var before []float64
	for _, c := range cycles {
		if c.By == best {
			before = append(before, float64(c.Before[0]))
		}
	}
	floor := math.Inf(-1)
	if best == BySawtooth {
		floor = triggerShare * quantileOf(known(before), 0.9)
	}
	p := Passes{By: best}
	for i := range cycles {
		c := &cycles[i]
		if c.By != best || float64(c.Before[0]) < floor {
			continue
		}
		switch {
		case c.Cut:
			p.Cut++
			continue
		case c.Long:
			p.Long++
			continue
		}
		p.N++
		m.add(c)
	}
	m.fill(&p)
	return p, p.N+p.Long+p.Cut > 0
}

// triggerShare is how near to the day's highest levels a fall must begin to count as cleaning.
const triggerShare = 0.75

// medians gathers the cycles of a day.
type medians struct {
	before, after            [len(readingChannels)][]float64
	pulses, duration, filter []float64
	beforeSD, afterSD        []float64
	rise, bend, fall         []float64
}

func newMedians(n int) *medians {
	m := new(medians)
	for i := range m.before {
		m.before[i], m.after[i] = make([]float64, 0, n), make([]float64, 0, n)
	}
	return m
}

// add takes one cycle in.
func (m *medians) add(c *Cycle) {
	for i := range c.Before {
		m.before[i] = append(m.before[i], float64(c.Before[i]))
		m.after[i] = append(m.after[i], float64(c.After[i]))
	}
	if c.Pulses > 0 {
		m.pulses = append(m.pulses, float64(c.Pulses))
	}
	m.beforeSD, m.afterSD = append(m.beforeSD, float64(c.BeforeSD)), append(m.afterSD, float64(c.AfterSD))
	m.duration = append(m.duration, float64(c.End-c.Start)*1e-9)
	m.filter = append(m.filter, float64(c.Filtering))
	m.rise = append(m.rise, float64(c.Rise))
	if c.RiseEarly > 0 {
		m.bend = append(m.bend, min(10, max(0.1, float64(c.RiseLate/c.RiseEarly)))) // flat at first: beyond ten it says no more
	}
	m.fall = append(m.fall, float64(c.Before[0]-c.After[0]))
}

// With fewer than fewCycles cycles a day their scatter is not known: it is taken as that of their
// readings, and at least fewShare of the level. Common practice, no source.
const (
	fewCycles = 4
	fewShare  = 0.02
)

// fill writes the medians and their scatter into p.
func (m *medians) fill(p *Passes) {
	for i := range m.before {
		p.Before[i], p.After[i] = float32(medianOf(m.before[i])), float32(medianOf(m.after[i]))
	}
	sd := func(v []float64) float32 { return float32(spreadOf(v)) }
	p.BeforeSD, p.AfterSD = sd(m.before[0]), sd(m.after[0])
	if p.N < fewCycles { // too few to show their own scatter
		p.BeforeSD = float32(hypot(float64(max(p.BeforeSD, fewShare*p.Before[0])), medianOf(m.beforeSD)))
		p.AfterSD = float32(hypot(float64(max(p.AfterSD, fewShare*p.After[0])), medianOf(m.afterSD)))
	}
	if len(m.pulses) > 0 {
		p.Pulses = float32(medianOf(m.pulses))
	}
	p.Duration, p.Filtering = float32(medianOf(m.duration)), float32(medianOf(m.filter))
	p.Rise, p.RiseSD, p.Bend = float32(medianOf(m.rise)), sd(m.rise), float32(medianOf(m.bend))
	p.Fall, p.FallSD = float32(medianOf(m.fall)), sd(m.fall)
}
