package outline

import (
	"math"
	"math/rand/v2"
)

// way is one way in which a cause comes about. Its knob x is 0 where nothing is wrong. Severity 0.25 to 1
// is what comes of it, from least to most: where effect is given the knob is turned until a probe shows it;
// otherwise the knob itself is least to most.
type way struct {
	cause, name string
	least, most float64
	effect      func(sound, ill *look) float64
	top         float64 // the knob's end where effect is given
	turn        func(w *world, k *knobs, t *trouble, x float64)
	fits        func(m *machine) bool // nil: any machine
	creeps      bool                  // it comes up over days
	plain       bool                  // always gross
}

// trouble is a way drawn, with what belongs to it.
type trouble struct {
	way   *way
	row   int // from 0; -1 where the cause has none
	x     float64
	from  float64 // [s] since the log began
	ramp  float64 // [s]
	ref   float64 // drag after cleaning as it was before [Pa s/m]
	parts [mostRows]float64
	bleed float64 // unit of what a valve lets go [1/s]
	seed  float64 // 0 to 1, for what differs from case to case
}

// turning is the trouble's hand on the knobs, ramp and all.
func (t *trouble) turning(w *world, k *knobs) {
	if w.s.t < t.from {
		return
	}
	x := t.x
	if t.ramp > 0 {
		x *= min(1, (w.s.t-t.from)/t.ramp)
	}
	t.way.turn(w, k, t, x)
}

// The effects.
func more(sound, ill *look) float64 { return min(ill.flow-1, 1.2*(ill.flow/sound.flow-1)) }
func less(sound, ill *look) float64 { return min(1-ill.flow, 1.2*(1-ill.flow/sound.flow)) }
func lost(sound, ill *look) float64 { return 1 - ill.flow/sound.flow }
func leaks(_, ill *look) float64    { return ill.leak }
func burdens(sound, ill *look) float64 {
	return min(ill.high/sound.high-1, 1.5*(ill.mid/sound.mid-1)+0.02) + 0.12*math.Log(max(1, (ill.pulses+1)/(sound.pulses+1)))
}
func before(sound, ill *look) float64 { return 1 - ill.before/sound.before }
func rests(sound, ill *look) float64  { return 1 - ill.head/sound.head }

// What machines some ways need.
func damped(m *machine) bool   { return m.duct.damper != noDamper }
func driven(m *machine) bool   { return m.fan.drive }
func belted(m *machine) bool   { return !m.fan.drive }
func onDemand(m *machine) bool { return m.control.logic.demand() }

// wander is a slow unrest between -1 and 1, the same for the same trouble.
func (t *trouble) wander(w *world, period float64) float64 {
	p := w.s.t/period + 7*t.seed
	return 0.6*math.Sin(2*math.Pi*p) + 0.4*math.Sin(2*math.Pi*2.618*p)
}

var ways = []way{
	{cause: "airflow-high", name: "damper opened", least: 0.10, most: 0.40, effect: more, top: 1, fits: damped, turn: func(w *world, k *knobs, _ *trouble, x float64) {
		k.open = w.m.duct.opening(w.m.duct.loss(k.open) * math.Exp(-4*x))
	}},
	{cause: "airflow-high", name: "damper blade slipped open", least: 0.10, most: 0.40, effect: more, top: 1, fits: damped, turn: func(_ *world, k *knobs, _ *trouble, x float64) {
		k.damper *= math.Exp(-4 * x)
	}},
	{cause: "airflow-high", name: "fan set to run too fast", least: 0.10, most: 0.40, effect: more, top: 1, turn: func(w *world, k *knobs, _ *trouble, x float64) {
		if w.m.fan.drive {
			k.hold *= (1 + 0.6*x) * (1 + 0.6*x)
			return
		}
		k.speed *= 1 + 0.6*x
	}},
	{cause: "airflow-low", name: "damper closed too far", least: 0.10, most: 0.40, effect: less, top: 1, fits: damped, turn: func(w *world, k *knobs, _ *trouble, x float64) {
		k.open = w.m.duct.opening(w.m.duct.loss(k.open) * math.Exp(6*x))
	}},
	{cause: "airflow-low", name: "damper blade slipped shut", least: 0.10, most: 0.40, effect: less, top: 1, fits: damped, turn: func(_ *world, k *knobs, _ *trouble, x float64) {
		k.damper *= math.Exp(6 * x)
	}},
	{cause: "airflow-low", name: "drive set too slow", least: 0.10, most: 0.40, effect: less, top: 1, fits: driven, turn: func(_ *world, k *knobs, _ *trouble, x float64) {
		k.hold *= (1 - 0.6*x) * (1 - 0.6*x)
	}},
	{cause: "airflow-low", name: "stack obstructed", least: 0.10, most: 0.40, effect: less, top: 1, creeps: true, turn: func(_ *world, k *knobs, _ *trouble, x float64) {
		k.stack *= math.Exp(6 * x)
	}},
	{cause: "duct-blocked", name: "dust lies in the main duct", least: 0.10, most: 0.40, effect: less, top: 1, creeps: true, turn: func(_ *world, k *knobs, _ *trouble, x float64) {
		k.trunk *= math.Exp(5 * x)
	}},
	{cause: "duct-blocked", name: "hoods or branches stopped up", least: 0.10, most: 0.40, effect: less, top: 1, turn: func(_ *world, k *knobs, _ *trouble, x float64) {
		k.hoods *= math.Exp(5 * x)
	}},
	{cause: "duct-blocked", name: "hose drawn flat", least: 0.10, most: 0.40, effect: less, top: 1, turn: func(w *world, k *knobs, t *trouble, x float64) {
		k.trunk *= math.Exp(5 * x * (1 + 0.12*t.wander(w, 3*hour)))
	}},
	{cause: "leak-inward", name: "hatch or bin's seal open", least: 0.06, most: 0.35, effect: leaks, top: 1, turn: func(_ *world, k *knobs, _ *trouble, x float64) {
		k.leakHatch += 1.5 * x
	}},
	{cause: "leak-inward", name: "duct's joint apart", least: 0.06, most: 0.35, effect: leaks, top: 1, turn: func(_ *world, k *knobs, _ *trouble, x float64) {
		k.leakJoint += 1.5 * x
	}},
	{cause: "leak-inward", name: "door of the clean side ajar", least: 0.06, most: 0.35, effect: leaks, top: 1, turn: func(_ *world, k *knobs, _ *trouble, x float64) {
		k.leakClean += x
	}},
	{cause: "fan-weak", name: "belt slips", least: 0.10, most: 0.40, effect: lost, top: 1, fits: belted, turn: func(w *world, k *knobs, t *trouble, x float64) {
		k.speed *= 1 - 0.6*x*(1+0.15*t.wander(w, 5*hour))
	}},
	{cause: "fan-weak", name: "wheel fouled", least: 0.10, most: 0.40, effect: lost, top: 1, creeps: true, turn: func(_ *world, k *knobs, _ *trouble, x float64) {
		k.wheel *= 1 - 0.8*x
		k.torque *= 1 - 0.2*x
	}},
	{cause: "fan-weak", name: "wheel worn, gap wide", least: 0.10, most: 0.40, effect: lost, top: 1, creeps: true, turn: func(_ *world, k *knobs, _ *trouble, x float64) {
		k.wheel *= 1 - 0.8*x
		k.torque *= 1 - 0.45*x
	}},
	{cause: "fan-weak", name: "runs backwards", least: 0.2, most: 0.45, effect: lost, top: 1, plain: true, turn: func(_ *world, k *knobs, _ *trouble, x float64) {
		k.wheel *= 1 - 0.9*x
		k.torque *= 1 - 0.5*x
		k.windage *= 1 + 0.3*x
	}},
	{cause: "dust-load-heavy", name: "more of the same", least: 0.3, most: 2, turn: func(_ *world, k *knobs, _ *trouble, x float64) { k.dust *= 1 + x }},
	{cause: "dust-load-heavy", name: "more and finer", least: 0.3, most: 2, turn: func(_ *world, k *knobs, _ *trouble, x float64) {
		k.dust *= 1 + 0.75*x
		k.cake *= 1 + 0.2*x
	}},
	{cause: "dust-load-heavy", name: "coarse dust no longer held back", least: 0.3, most: 2, turn: func(_ *world, k *knobs, _ *trouble, x float64) {
		k.settles *= 1 - min(0.8, 0.6*x)
		k.dust *= 1 + 0.85*x
	}},
	{cause: "filters-blinded", name: "fines in the media", least: 0.15, most: 1.5, creeps: true, turn: blind},
	{cause: "filters-blinded", name: "wetted and dried", least: 0.15, most: 1.5, turn: blind},
	{cause: "filters-blinded", name: "grease from the process", least: 0.15, most: 1.5, creeps: true, turn: func(w *world, k *knobs, t *trouble, x float64) {
		blind(w, k, t, x)
		k.release *= 1 - 0.15*min(1, x)
	}},
	{cause: "cake-damp", name: "damp process", least: 0.08, most: 1, effect: burdens, top: 12, turn: func(_ *world, k *knobs, _ *trouble, x float64) { k.tack += x }},
	{cause: "cake-damp", name: "damp with the weather", least: 0.08, most: 1, effect: burdens, top: 12, turn: func(w *world, k *knobs, _ *trouble, x float64) {
		k.tack += x * min(1.4, max(0.5, 0.4+1.2*w.rh))
	}},
	{cause: "cake-damp", name: "damp starts", least: 0.08, most: 1, effect: burdens, top: 12, turn: func(w *world, k *knobs, _ *trouble, x float64) {
		k.tack += x * (0.7 + 1.2*math.Exp(-w.s.since/(3*hour)))
	}},
	{cause: "cake-damp", name: "oil mist", least: 0.08, most: 1, effect: burdens, top: 12, creeps: true, turn: func(w *world, k *knobs, t *trouble, x float64) {
		k.tack += x
		for i := range k.given {
			k.given[i] += 0.01 * x * t.ref
		}
	}},
	{cause: "cleaning-off", name: "board dead", least: 0.85, most: 1, plain: true, turn: func(_ *world, k *knobs, _ *trouble, x float64) { k.mute = x }},
	{cause: "cleaning-off", name: "off for hours on end", least: 0.5, most: 0.9, turn: func(w *world, k *knobs, t *trouble, x float64) {
		if math.Mod(w.s.t-t.from, 14*hour) < 14*hour*x {
			k.mute = 1
		}
	}},
	{cause: "cleaning-off", name: "pressure switch makes late", least: 0.15, most: 1, effect: func(s, i *look) float64 { return i.high/s.high - 1 }, top: 3, fits: onDemand, turn: func(_ *world, k *knobs, _ *trouble, x float64) {
		k.high *= 1 + x
	}},
	{cause: "cleaning-off", name: "relay misses pulses", least: 0.12, most: 0.8, effect: func(s, i *look) float64 { return i.high/s.high - 1 }, top: 1, turn: func(_ *world, k *knobs, _ *trouble, x float64) { k.skip = x }},
	{cause: "header-pressure-low", name: "regulator down", least: 0.12, most: 0.6, turn: func(_ *world, k *knobs, _ *trouble, x float64) { k.set *= 1 - x }},
	{cause: "header-pressure-low", name: "supply or dryer throttled", least: 0.12, most: 0.6, effect: before, top: 6, creeps: true, turn: func(_ *world, k *knobs, _ *trouble, x float64) {
		k.supply *= math.Exp(-x)
	}},
	{cause: "header-pressure-low", name: "other users take the air", least: 0.12, most: 0.6, turn: func(w *world, k *knobs, t *trouble, x float64) {
		k.set *= 1 - min(0.85, x*(1+0.25*t.wander(w, 9*hour)))
		k.supply *= 1 - 0.3*x
	}},
	{cause: "valve-dead", name: "pilot dead", least: 0.85, most: 1, plain: true, turn: func(_ *world, k *knobs, t *trouble, x float64) { k.valve[t.row] *= max(0, 1-1.2*x) }},
	{cause: "valve-dead", name: "diaphragm stays shut", least: 0.85, most: 1, plain: true, turn: func(_ *world, k *knobs, t *trouble, x float64) { k.valve[t.row] *= 1 - min(1, x+0.02) }},
	{cause: "valve-weak", name: "opens too little", least: 0.35, most: 0.85, turn: func(_ *world, k *knobs, t *trouble, x float64) { k.valve[t.row] *= 1 - x }},
	{cause: "valve-weak", name: "weak now and then", least: 0.35, most: 0.85, turn: func(w *world, k *knobs, t *trouble, x float64) {
		k.valve[t.row] *= max(0.05, 1-x*(1+0.2*t.wander(w, 4*hour)))
	}},
	{cause: "valve-weak", name: "diaphragm wears", least: 0.35, most: 0.85, creeps: true, turn: func(_ *world, k *knobs, t *trouble, x float64) { k.valve[t.row] *= 1 - x }},
	{cause: "valve-stuck-open", name: "blows all the time", least: 0.08, most: 0.75, effect: rests, top: 12, turn: func(_ *world, k *knobs, t *trouble, x float64) {
		k.bleed += t.bleed * x
		k.valve[t.row] *= 1 - min(0.8, 0.5*x)
	}},
	{cause: "valve-stuck-open", name: "hangs after its pulse", least: 0.06, most: 0.5, effect: before, top: 12, turn: func(_ *world, k *knobs, t *trouble, x float64) {
		k.bleed += 0.15 * t.bleed * x
		k.stick, k.sticky = 1.5*t.bleed*x, t.row
	}},
	{cause: "gauge-line-blocked", name: "line nearly shut", least: 0.2, most: 1, turn: func(_ *world, k *knobs, _ *trouble, x float64) { k.lineTau = 600 * math.Pow(400, x) }},
	{cause: "gauge-line-blocked", name: "reading creeps", least: 0.5, most: 1, turn: func(_ *world, k *knobs, t *trouble, x float64) {
		k.lineTau = 4000 * math.Pow(100, x)
		k.held = (t.seed - 0.4) * 300 / day
	}},
	{cause: "gauge-line-blocked", name: "clean side plugged", least: 0.85, most: 1, plain: true, turn: func(_ *world, k *knobs, _ *trouble, _ float64) { k.plugged = 1 }},
	{cause: "gauge-line-off", name: "line cracked", least: 0.3, most: 0.9, turn: func(_ *world, k *knobs, _ *trouble, x float64) { k.lineGain = 1 - x }},
	{cause: "gauge-line-off", name: "clean side's line off", least: 0.85, most: 1, plain: true, turn: func(_ *world, k *knobs, _ *trouble, _ float64) { k.lineGain, k.lineStatic = 0, 1 }},
	{cause: "gauge-line-off", name: "both lines off", least: 0.85, most: 1, plain: true, turn: func(_ *world, k *knobs, _ *trouble, _ float64) { k.lineGain = 0.01 }},
	{cause: "gauge-line-off", name: "lines crossed", least: 0.85, most: 1, plain: true, turn: func(_ *world, k *knobs, _ *trouble, _ float64) { k.lineGain = -1 }},
	{cause: "filter-leak", name: "hole in a pleat", least: 1.5, most: 25, turn: func(_ *world, k *knobs, t *trouble, x float64) { k.hole[t.row] += x }},
	{cause: "filter-leak", name: "seat leaks", least: 1.5, most: 25, creeps: true, turn: func(w *world, k *knobs, t *trouble, x float64) {
		k.hole[t.row] += x * (1 + 0.3*t.wander(w, 20*hour))
	}},
	{cause: "bin-overfull", name: "bin not emptied", least: 0.08, most: 0.9, effect: burdens, top: 1, creeps: true, turn: overfull},
	{cause: "bin-overfull", name: "hopper bridged", least: 0.08, most: 0.9, effect: burdens, top: 1, creeps: true, turn: func(_ *world, k *knobs, _ *trouble, x float64) {
		k.bridge = true
		k.back += 0.6 * x
		k.dust *= 1 + 1.5*x
	}},
}

// blind adds drag to the rows, each its part.
func blind(w *world, k *knobs, t *trouble, x float64) {
	for i := range w.m.rows {
		k.given[i] += x * t.ref * t.parts[i]
	}
}

// overfull carries dust back up: more comes to the filters, and less of what they let go stays down.
func overfull(w *world, k *knobs, _ *trouble, x float64) {
	k.full = true
	k.back += 0.6 * x
	k.dust *= 1 + 1.5*x
	w.s.bin = max(w.s.bin, (0.85+0.1*min(1, x*4))*w.m.bin.volume*w.m.dust.bulk)
}

// numbered reports that a cause carries the number of a valve or row.
func numbered(cause string) bool {
	switch cause {
	case "valve-dead", "valve-weak", "valve-stuck-open", "filter-leak":
		return true
	}
	return false
}

// causes lists those of the ways, in their order.
func causes() []string {
	var out []string
	for i := range ways {
		if len(out) == 0 || out[len(out)-1] != ways[i].cause {
			out = append(out, ways[i].cause)
		}
	}
	return out
}

// arrange draws a way of the cause, or reports that none of it fits the machine.
func arrange(r *rand.Rand, w *world, cause string, severity float64) (*trouble, float64, bool) {
	var fit []*way
	for i := range ways {
		if ways[i].cause == cause && (ways[i].fits == nil || ways[i].fits(w.m)) {
			fit = append(fit, &ways[i])
		}
	}
	t := &trouble{row: -1, seed: r.Float64()}
	for i := range t.parts {
		t.parts[i] = within(r, 0.4, 1.6)
	}
	t.bleed = w.m.tank.drop / w.m.control.interval / 4
	if len(fit) == 0 {
		return nil, 0, false
	}
	t.way = pick(r, fit...)
	if numbered(cause) {
		t.row = r.IntN(w.m.rows)
	}
	if t.way.plain {
		severity = 1 - 0.15*r.Float64()
	}
	return t, severity, true
}

// size turns the knob until the trouble does what its severity asks for; where it cannot, it gives the
// severity of what it does at most, and reports false where that is less than is noticed.
func (t *trouble) size(w *world, severity float64) (float64, bool) {
	y := t.way
	want := func(s float64) float64 { return y.least * math.Pow(y.most/y.least, (s-0.25)/0.75) }
	sound := w.probe(nil)
	t.ref = sound.low
	if y.effect == nil {
		t.x = want(severity)
		if y.plain {
			t.x = severity
		}
		return severity, true
	}
	goal := want(severity)
	does := func(x float64) float64 {
		return y.effect(sound, w.probe(func(c *world, k *knobs) { y.turn(c, k, t, x) }))
	}
	lo, hi := 0.0, y.top
	most := does(hi)
	if most < goal {
		if most < y.least {
			return 0, false
		}
		t.x = hi
		return 0.25 + 0.75*math.Log(most/y.least)/math.Log(y.most/y.least), true
	}
	for range 9 {
		x := (lo + hi) / 2
		if does(x) < goal {
			lo = x
		} else {
			hi = x
		}
	}
	t.x = hi
	return severity, true
}
