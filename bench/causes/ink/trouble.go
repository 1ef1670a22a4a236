package ink

import (
	"math"
	"slices"

	"dustwright/bench/causes/made"
	"dustwright/judge"
)

// trouble is what is wrong, from when and how it came.
type trouble struct {
	cause    judge.Cause
	position int // of the row, from 0
	severity float64
	onset    float64
	ramp     float64   // s over which it came
	bow      float64   // how it came: below 1 fast first
	spells   []float64 // moments at which it went, came, went ... after the onset
	way      int       // one of several ways in which it shows
}

// effects is what the trouble makes of the machine; 1 or 0 where nothing is wrong.
type effects struct {
	duct, leak, turns, head, power float64 // air
	blade, hold                    float64
	slipped                        bool       // the damper's feedback does not tell of it
	set, feed, compressor, bleed   float64    // header
	grip, k, blind, dust           float64    // cake
	wet                            float64    // relative humidity that it adds
	row, valve                     []float64  // conductance and opening by position
	hole, carry                    float64    // share of the dust that passes; of what falls and finds no room
	mute, shown                    bool       // nothing pulses; the controller says that it cleans
	high                           float64    // Pa on the high set point
	lag                            [2]float64 // time constants of the sensing lines, high and low [s]
	off                            [2]float64 // shares by which the lines are open to the room
	crossed                        float64    // 1: crossed
	full                           bool       // nobody empties the bin
}

// reset leaves the machine sound.
func (e *effects) reset() {
	row, valve := e.row, e.valve
	for i := range row {
		row[i], valve[i] = 1, 1
	}
	*e = effects{duct: 1, turns: 1, head: 1, power: 1, blade: 1, hold: 1, set: 1, feed: 1, compressor: 1, grip: 1, k: 1, blind: 1, dust: 1, row: row, valve: valve}
}

// comes says which causes come slowly, and which come and go.
var comes = map[judge.Cause]struct{ slow, spells float64 }{
	judge.FiltersBlinded: {1, 0}, judge.DustLoadHeavy: {0.3, 0.25}, judge.CakeDamp: {0.4, 0.25}, judge.AirflowHigh: {0.2, 0}, judge.AirflowLow: {0.25, 0},
	judge.DuctBlocked: {0.6, 0.05}, judge.LeakInward: {0.3, 0.3}, judge.FanWeak: {0.6, 0.1}, judge.CleaningOff: {0, 0.3}, judge.HeaderPressureLow: {0.35, 0.25},
	judge.ValveDead: {0, 0.15}, judge.ValveWeak: {0.5, 0.1}, judge.ValveStuckOpen: {0.2, 0.25}, judge.GaugeLineBlocked: {0.6, 0.1}, judge.GaugeLineOff: {0.1, 0.15},
	judge.FilterLeak: {0.45, 0}, judge.BinOverfull: {0, 0},
}

// newTrouble draws how a cause befalls a plant in a record that ends at end.
func newTrouble(d made.Dice, p *plant, cause judge.Cause, start, end float64) *trouble {
	tr := &trouble{cause: cause, position: d.IntN(p.rows), severity: d.Between(0.25, 1), bow: made.OneOf(d, 0.5, 1, 1, 2), way: d.IntN(60)}
	if cause == judge.ValveDead || cause == judge.CleaningOff && d.Chance(0.7) {
		tr.severity = d.Between(0.85, 1)
	}
	age := d.Spread(0.5*day, 28*day)
	if cause == judge.FiltersBlinded {
		age = d.Spread(4*day, 40*day)
	}
	tr.onset = max(end-age, min(5*day, 0.4*end))
	if d.Chance(0.07) && cause != judge.BinOverfull {
		tr.onset = start
	}
	if cause == judge.BinOverfull { // it is left alone before it is full
		tr.onset = max(min(5*day, 0.4*end), tr.onset-0.6*p.bin/p.daily*day)
	}
	age = end - tr.onset
	c := comes[cause]
	if cause == judge.FiltersBlinded {
		tr.ramp = age * d.Between(0.5, 1)
	} else if d.Chance(c.slow) {
		tr.ramp = min(0.8*age, d.Spread(0.2*day, 14*day))
	}
	if u := d.Float64(); u < c.spells && age > day {
		on, off := d.Spread(hour, 20*hour), d.Spread(0.5*hour, 12*hour)
		for t := tr.onset; t < end; {
			t += 600 + on*d.ExpFloat64()
			tr.spells = append(tr.spells, t)
			t += 600 + off*d.ExpFloat64()
			tr.spells = append(tr.spells, t)
		}
		for n := len(tr.spells); n > 0 && (n%2 == 1 || tr.spells[n-1] > end-day/4); n-- { // it is there when somebody asks
			tr.spells = tr.spells[:n-1]
		}
	}
	return tr
}

// level is how far the trouble is there, 0 to 1.
func (tr *trouble) level(t float64) float64 {
	if tr == nil || t < tr.onset {
		return 0
	}
	if i, _ := slices.BinarySearch(tr.spells, t); i%2 == 1 {
		return 0
	}
	if t >= tr.onset+tr.ramp {
		return 1
	}
	return math.Pow((t-tr.onset)/tr.ramp, tr.bow)
}

// befall brings the effects of a trouble at a level.
func (m *machine) befall(l float64) {
	tr, e, p := m.tr, &m.e, m.p
	e.reset()
	m.stale = true
	if l <= 0 {
		return
	}
	s := tr.severity
	i, kind := tr.position, tr.way%3
	switch tr.cause {
	case judge.FiltersBlinded:
		e.blind, e.grip = 1+l*(0.4+2*s), 1+l*(0.15+0.5*s)
	case judge.DustLoadHeavy:
		e.dust = 1 + l*(0.5+2.4*s)
	case judge.CakeDamp:
		e.k, e.grip = 1+l*(0.35+2.4*s), 1+l*(0.3+1.3*s)
		if kind > 0 {
			e.wet = 0.25 * l * (0.3 + s)
		}
	case judge.LeakInward:
		e.leak = l * (0.08 + 0.6*s)
	case judge.DuctBlocked:
		e.duct = 1 + l*(0.25+2*s)*p.suction/p.mainLoss(p.flow, m.friction, 1, p.rho)
	case judge.ValveDead:
		e.valve[i] = 1 - l
	case judge.ValveWeak:
		e.valve[i] = 1 - l*(0.3+0.55*s)
	case judge.ValveStuckOpen:
		e.valve[i], e.bleed, e.row[i] = 1-0.85*s*l, l*(0.3+2.4*s*s), 1-0.3*s*l
	case judge.FilterLeak:
		e.hole, e.row[i] = l*p.passes*(2+55*math.Pow(s, 1.5)), 1+0.05*s*l
	case judge.BinOverfull:
		e.full, e.carry = true, 0.2+0.7*s
	case judge.FanWeak:
		m.weaken(l, s, kind)
	case judge.AirflowHigh, judge.AirflowLow:
		m.misset(l, s, kind)
	case judge.HeaderPressureLow:
		switch kind {
		case 0:
			e.set = 1 - l*(0.12+0.5*s)
		case 1:
			e.feed = 1 - l*(0.55+0.42*s)
		default:
			e.compressor = 1 - l*(0.25+0.55*s)
		}
	case judge.CleaningOff:
		if kind == 0 && p.mode == "on-demand" {
			e.high = l * (200 + 1500*s)
		} else {
			e.mute, e.shown = true, kind == 2
		}
	default:
		m.misread(l, s)
	}
}

// weaken is a belt that slips, a wheel that is fouled, or one that turns the wrong way round.
func (m *machine) weaken(l, s float64, kind int) {
	e := &m.e
	switch {
	case m.p.drive == belt && kind < 2:
		e.turns = 1 - l*(0.05+0.25*s)
	case kind == 2 && s > 0.7 && m.tr.ramp == 0 && len(m.tr.spells) == 0:
		e.head, e.power = 0.5-0.1*s, 0.75
	default:
		e.head = 1 - l*(0.1+0.4*s)
		e.power = 1 - l*(0.06+0.25*s)
	}
}

// misset is a damper, or a drive's set point, where it should not be.
func (m *machine) misset(l, s float64, kind int) {
	e := &m.e
	if m.tr.cause == judge.AirflowHigh {
		e.blade, e.hold = 1+l*(0.12+1.2*s), 1+l*(0.06+0.28*s)
	} else {
		e.blade, e.hold = 1-l*(0.15+0.5*s), 1-l*(0.08+0.35*s)
	}
	e.slipped = kind == 2 && m.tr.cause == judge.AirflowLow
}

// misread is a sensing line that is plugged, or off.
func (m *machine) misread(l, s float64) {
	e, way := &m.e, m.tr.way%4
	if m.tr.cause == judge.GaugeLineBlocked {
		slow := 100 * math.Pow(700, s*math.Sqrt(l))
		e.lag[0], e.lag[1] = slow, slow
		if way > 1 {
			e.lag[way-2] = 0
		}
		return
	}
	q := l * min(1, 0.3+0.8*s)
	switch {
	case way == 0 && s > 0.6:
		e.crossed = 1
	case way == 1:
		e.off = [2]float64{q, q}
	default:
		e.off[1] = q
	}
}
