package ink

import (
	"math"

	"dustwright/judge"
	"dustwright/sense"
)

// witness sees the machine and its sound twin go through the same days side by side, every reading of both, and tells
// whether what is wrong shows.
type witness struct {
	twin   *machine
	rows   float64
	a, b   [sense.NumChannels]float64 // sums over the time in which the trouble was there
	apart  float64                    // sum of how far the gauges differ
	pulsed pulsed                     // of the machine when the twin was made
}

// fork makes the twin.
func fork(m *machine, seed uint64) *witness {
	w := &witness{twin: m.twin(throw(seed, streamTwin)), pulsed: m.pulsed}
	w.twin.watched, w.twin.pulsed = m.watched, pulsed{}
	return w
}

// look brings the twin to the machine's time and compares.
func (w *witness) look(m *machine) {
	w.twin.advance(m.t)
	w.twin.shots = w.twin.shots[:0]
	if m.level == 0 || !m.runs || m.tr.cause == judge.BinOverfull && m.t < m.fullAt {
		return
	}
	var a, b [sense.NumChannels]float64
	low := m.tank.low
	m.show(&a)
	m.tank.low = min(low, m.tank.low)
	w.twin.show(&b)
	for c := range a {
		w.a[c] += a[c]
		w.b[c] += b[c]
	}
	w.apart += math.Abs(a[sense.DP] - b[sense.DP])
	w.rows++
}

// shows reports that somebody who saw everything would see that something is wrong.
func (w *witness) shows(m *machine) bool {
	if w.rows < 5 {
		return false
	}
	moved := func(c sense.Channel, share, least float64) bool {
		a, b := w.a[c]/w.rows, w.b[c]/w.rows
		return math.Abs(a-b) > max(least, share*math.Abs(b))
	}
	p := m.p
	n, t := m.pulsed, w.twin.pulsed
	n.count, n.from, n.culprit, n.drop = n.count-w.pulsed.count, n.from-w.pulsed.from, n.culprit-w.pulsed.culprit, n.drop-w.pulsed.drop
	rate := math.Abs(n.count-t.count) > 10+0.25*t.count
	pressure := n.count > 5 && t.count > 5 && math.Abs(n.from/n.count-t.from/t.count) > 0.05*p.set
	valve := n.culprit > 3 && t.culprit > 3 && math.Abs(n.drop/n.culprit-t.drop/t.culprit) > 0.12*p.drop
	air := moved(sense.Flow, 0.045, 0) || moved(sense.InletSP, 0.07, 0) || moved(sense.FanCurrent, 0.04, 0)
	dust := moved(sense.DP, 0.09, 25) || rate
	switch m.tr.cause {
	case judge.GaugeLineBlocked:
		return w.apart/w.rows > 0.08*p.high
	case judge.GaugeLineOff:
		return moved(sense.DP, 0.2, 60)
	case judge.ValveDead, judge.ValveWeak:
		return valve
	case judge.ValveStuckOpen, judge.HeaderPressureLow:
		return pressure || moved(sense.Header, 0.05, 0)
	case judge.FilterLeak:
		return moved(sense.Emission, 0.7, 0.5)
	case judge.BinOverfull:
		return dust || moved(sense.BinLevel, 0.3, 0.3)
	case judge.FiltersBlinded, judge.DustLoadHeavy, judge.CakeDamp, judge.CleaningOff:
		return dust
	default:
		return air
	}
}
