package trace

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// sharpen replaces the fitted drops of plain pulses by what is read off the trace: level before less
// lowest level. The fit assumes one shape for all; a valve that opens too short or closes late has
// another. It does so only where the noise is small against a usual drop, and leaves silent turns alone.
func (w *work) sharpen() {
	s := w.s
	_, usual := typical(w.turns)
	m := 1
	for m < 4 && s.meanNoise(float64(m)) > 0.01*usual {
		m++
	}
	noise := s.meanNoise(float64(m))
	if noise > 0.02*usual || float64(m)*s.dt > 0.11 {
		return
	}
	for j := range w.turns {
		t := &w.turns[j]
		if t.hidden || t.drop < 6*t.sigma || t.drop < 0.1*usual {
			continue
		}
		before, low, ok := s.readOff(*t, m)
		if !ok {
			continue
		}
		t.before, t.drop = before, before-low
		t.sigma = math.Hypot(noise, 0.1*(t.sigma+noise)) * 1.2
	}
}

// readOff reads the level just before a pulse and the lowest after it, as means over m bins.
func (s *signal) readOff(t turn, m int) (before, low float64, ok bool) {
	from, to := s.at(t.at-0.4), s.at(t.at+0.65)
	if len(t.extra) > 0 {
		to = min(to, s.at(t.extra[0]-0.03))
	}
	if from < s.bins(0.4) || to+m >= len(s.y) || to <= from {
		return 0, 0, false
	}
	low, at := math.Inf(1), from
	for i := s.at(t.at); i <= to; i++ {
		if v := stat.Mean(s.y[i:i+m], nil); v < low {
			low, at = v, i
		}
	}
	rough := stat.Mean(s.y[from-s.bins(0.3):from+1], nil)
	edge := at // where the fall begins: the last moment within a tenth of the level before
	for edge > from && s.y[edge] < rough-0.1*(rough-low) {
		edge--
	}
	edge -= max(1, s.bins(0.03))
	first := edge - s.bins(0.35)
	if first < 0 || edge-first < 3 {
		return 0, 0, false
	}
	start, end := s.time(first), s.time(edge)
	before = s.level(start, end)
	if slope := s.slope(start, end); math.Abs(slope)*0.35 > 3*s.meanNoise(float64(edge-first)/3) {
		before += slope * ((end-start)/2 + 0.03)
	}
	return before, low, before > low
}
