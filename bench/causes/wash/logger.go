package wash

import (
	"dustwright/bench/causes/made"
	"dustwright/sense"
)

// mostRows is how many rows a plant's disk, or patience, takes.
const mostRows = 38000

// newScribe draws how a plant keeps its record.
func newScribe(d made.Dice, p *plant, s *sheet, from, end float64) *scribe {
	w := &scribe{d: d, kit: newKit(d, p), from: from, next: from, out: &sense.Series{Source: "wash"}, numbered: d.Chance(0.6),
		asleep: d.Chance(0.15)}
	if d.Chance(0.15) {
		w.phase = d.Between(-0.04, 0.04)
	}
	if d.Chance(0.2) {
		w.seldom = made.OneOf(d, 600.0, 1800, 3600)
	}
	long := end - from
	switch u := d.Float64(); {
	case u < 0.07:
		w.hand(s, end)
	case u < 0.27: // a process computer's archive
		w.paces = []pace{{every: made.OneOf(d, 300.0, 300, 600, 900)}}
		w.means = d.Chance(0.5)
	case u < 0.6:
		w.paces = []pace{{every: made.OneOf(d, 60.0, 60, 60, 120, 180)}}
		w.means = d.Chance(0.3)
	case u < 0.8:
		w.paces = []pace{{every: made.OneOf(d, 900.0, 1800, 3600)}}
		w.changes, w.holds, w.keeps = true, d.Chance(0.6), max(made.OneOf(d, 5.0, 10, 30), long/mostRows)
	case u < 0.91: // somebody turned it up to look more closely
		slow, fast := made.OneOf(d, 120.0, 300, 600), made.OneOf(d, 1.0, 2, 5, 5, 10)
		w.paces = []pace{{every: slow}, {from: end - min(0.5*long, (mostRows-long/slow)*fast), every: fast}}
	default: // bursts, to spare the memory
		every, burst := made.OneOf(d, 2.0, 5, 10), made.OneOf(d, 300.0, 600)
		every = max(every, long/7200*burst/mostRows)
		w.paces = []pace{{every: every, burst: burst}}
	}
	if p := &w.paces[0]; p.burst == 0 && !w.changes {
		for long/p.every > mostRows {
			p.every *= 2
		}
	}
	return w
}

// hand writes down when somebody reads: twice a shift.
func (w *scribe) hand(s *sheet, end float64) {
	if w.d.Chance(0.5) { // he taps the glass first
		w.kit[sense.DP].stiff = 0
	}
	w.paces, w.byHand = []pace{{every: 900}}, []float64{}
	for _, c := range [...]sense.Channel{sense.HeaderLow, sense.Running, sense.Cleaning, sense.Pulse, sense.Emission, sense.Humidity, sense.Barometer, sense.FlowIndex, sense.Flow} {
		w.kit[c] = nil
	}
	for k := 0; float64(k)*day < end; k++ {
		if k%7 >= s.shift.days {
			continue
		}
		for _, on := range s.shift.starts {
			for _, after := range []float64{1.5, 5.5} {
				if at := float64(k)*day + (on+after+w.d.Between(-0.6, 0.6))*hour; at > w.from && at < end && w.d.Chance(0.92) {
					w.byHand = append(w.byHand, at)
				}
			}
		}
	}
}
