package outline

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
)

// look is what an old hand would read off a machine in a day or two of steady running.
type look struct {
	flow, leak, dp float64 // means: design flows, share past the hoods, Pa
	low, mid, high float64 // 10th, 50th and 90th percentile of the drag [Pa s/m]
	before, head   float64 // header before a pulse, and at any time [Pa]
	pulses         float64 // an hour
	cleaning       float64 // share of the time
	n, fires       float64
	drags          []float64
}

func (l *look) pulse(before float64) {
	l.before += before
	l.fires++
}

func (l *look) watch(w *world) {
	if !w.s.running {
		return
	}
	v := &w.s.wind
	l.n++
	l.flow += v.fan
	if v.filters > 0 {
		l.leak += max(1-v.hoods/v.filters, w.s.cleanLeak)
	}
	l.dp += v.dp
	l.head += w.s.header
	if w.s.cleaning {
		l.cleaning++
	}
	l.drags = append(l.drags, v.dp*w.m.area*float64(w.m.rows)/(v.filters*w.m.design))
}

func (l *look) close(hours float64) {
	n := max(l.n, 1)
	l.flow, l.leak, l.dp, l.head, l.cleaning = l.flow/n, l.leak/n, l.dp/n, l.head/n, l.cleaning/n
	l.pulses = l.fires / hours
	l.before /= max(l.fires, 1)
	slices.Sort(l.drags)
	at := func(q float64) float64 { return l.drags[int(q*float64(len(l.drags)-1))] }
	l.low, l.mid, l.high = at(0.1), at(0.5), at(0.9)
}

// Hours of steady running that a probe lets pass, and watches.
const (
	warmUp  = 8
	watched = 20
)

// probe runs a copy of a world in steady production and looks at it.
func (w *world) probe(turn func(w *world, k *knobs)) *look {
	c := w.clone()
	c.cal, c.turn = nil, turn
	if !c.s.running {
		c.switched(true)
	}
	for range warmUp * 60 {
		c.step(minute)
		c.fired = c.fired[:0]
	}
	l := &look{}
	c.look = l
	for range watched * 60 {
		c.step(minute)
		c.fired = c.fired[:0]
	}
	l.close(watched)
	return l
}

var errUnfit = errors.New("the machine cannot be set sensibly")

// trim sizes the fan to the machine and sets damper, drive and set points as somebody who knows would:
// flow near design, and an on-demand machine that cleans between 2 and 40 % of its time.
func (m *machine) trim(r *rand.Rand, seed uint64) error {
	m.aged = logWithin(r, 20, 1600)
	w := newWorld(m, seed)
	w.fixed = true
	kind := m.control.logic
	if kind != timer {
		m.control.logic = always
	}
	floor := w.probe(nil)
	m.control.logic = kind
	tenth := func(pa float64) float64 { return math.Round(pa/inch*10) / 10 * inch }
	m.control.low = tenth(floor.dp * within(r, 1.15, 1.7))
	m.control.high = tenth(m.control.low + within(r, 180, 520))
	usual := (m.control.low + m.control.high) / 2
	if kind == timer || kind == always {
		usual = floor.dp
	}
	if m.control.high > 5.2*inch || m.control.low < 0.9*inch || usual > 5*inch {
		return errUnfit
	}
	m.size(r, usual)
	w = newWorld(m, seed)
	l := w.probe(nil)
	if l.flow < 0.9 || l.flow > 1.1 {
		return errUnfit
	}
	if kind.demand() && (l.cleaning < 0.02 || l.cleaning > 0.4) {
		return errUnfit
	}
	return nil
}

// size gives the machine a fan for its usual dP over the filters, and sets damper or drive.
func (m *machine) size(r *rand.Rand, usual float64) {
	d, f := &m.duct, &m.fan
	need := d.hoods + d.main + d.stack + usual
	if m.after.fitted {
		need += m.after.lin + m.after.sq
	}
	spare := 0.0
	if d.damper != noDamper {
		spare = need*within(r, 0.12, 0.5) + d.wide*1.5
	}
	head := need + spare // at design flow
	if f.drive {
		head *= within(r, 1.0, 1.2) // the drive takes it down again
	}
	f.shut = head * within(r, 1.1, 1.4)
	f.fall = 1 + f.rise - head/f.shut
	f.shaft = head * m.design / within(r, 0.5, 0.72)
	f.rated = f.shaft * within(r, 1.1, 1.4)
	f.full = f.rated / f.eff / (math.Sqrt(3) * f.volts * f.pf)
	f.idle = f.full * math.Sqrt(1-f.pf*f.pf) * within(r, 0.85, 1.1)
	target := within(r, 0.95, 1.06)
	m.hold = (d.hoods + d.main) * target * target
	if d.damper == noDamper {
		return
	}
	give := f.shut*(1+f.rise*target-f.fall*target*target) - (need-usual)*target*target - usual*target
	if f.drive {
		give = d.wide * 1.2
	}
	d.open = math.Round(d.opening(give/target/target)*100) / 100
}
