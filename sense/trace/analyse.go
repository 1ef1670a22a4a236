package trace

import (
	"math"

	"dustwright/header"
	"dustwright/unit"
)

// work carries the steps of one analysis.
type work struct {
	s         *signal
	time, raw []float64 // the readings as recorded
	n         int
	order     ordering
	marked    bool    // the trace says when valves were due
	relative  bool    // nothing tells which valve is number 1
	ambient   float64 // [Pa abs]
	set       float64 // [Pa gauge]; NaN unknown
	on        float64 // on-time [s]
	hint      hint
	nominal   float64 // interval of the collector file [s]; NaN unknown
	interval  float64 // as found [s]
	found     []peak
	slots     []slot
	shape     pulseShape
	after     float64 // window after the onset in which drops are measured [s]
	turns     []turn
	centre    centre
	xs        []stretch
	fits      []balance // best first
	beliefs   []belief
	silent    bool // marks tell the turns and no valve takes anything on them
}

// Analyse finds the pulses in a trace and says what each valve is. It returns an error that wraps
// ErrTooShort, ErrTooSlow, ErrGaps, ErrFlat, ErrNoAir, ErrNoPulse or ErrValves, with a sentence that says what
// would be right. Readings that are NaN count as missing. It is safe for concurrent use and does not
// change its arguments.
func Analyse(tr *Trace, sp Spec) (Result, error) {
	if err := check(tr, sp); err != nil {
		return Result{}, err
	}
	w := newWork(tr, sp)
	if err := w.schedule(tr, sp); err != nil {
		return Result{}, err
	}
	w.measure()
	if err := w.plausible(tr); err != nil {
		return Result{}, err
	}
	return w.conclude(sp), nil
}

func newWork(tr *Trace, sp Spec) *work {
	w := &work{s: newSignal(tr), n: sp.Valves, ambient: 101325, set: math.NaN(), on: 0.15, nominal: float64(sp.Interval), hint: expected(sp)}
	w.time, w.raw = valid(tr)
	if known(float64(sp.Ambient)) {
		w.ambient = float64(sp.Ambient)
	}
	if known(float64(sp.Set)) {
		w.set = float64(sp.Set)
	}
	if known(float64(sp.OnTime)) {
		w.on = float64(sp.OnTime)
	}
	for _, m := range tr.Marks {
		w.n = max(w.n, m.Valve)
	}
	w.interval = w.nominal
	if !known(w.nominal) {
		w.interval = guessInterval(tr)
	}
	return w
}

// guessInterval is the usual gap between marks of different valves, or the trade's 10 s.
func guessInterval(tr *Trace) float64 {
	var gaps []float64
	for i := 1; i < len(tr.Marks); i++ {
		if tr.Marks[i].Valve != tr.Marks[i-1].Valve {
			gaps = append(gaps, tr.Time[tr.Marks[i].Row]-tr.Time[tr.Marks[i-1].Row])
		}
	}
	if len(gaps) < 2 {
		return 10
	}
	return middle(gaps)
}

// schedule finds whose turn was when.
func (w *work) schedule(tr *Trace, sp Spec) error {
	w.order = newOrdering(w.n, sp.Order)
	_, _, w.found, _ = search(w.s, w.interval)
	if len(tr.Marks) > 0 {
		numbered := w.counted(tr)
		w.relative = numbered != tr
		tr = numbered
		if order := orderFromMarks(tr.Marks, tr.Time, w.n, w.interval); order != nil {
			w.order = newOrdering(w.n, order)
		}
		w.marked = true
		w.layAlongMarks(tr)
		return nil
	}
	w.relative = true
	t, path, _ := findInterval(w.s, w.found, w.interval, known(w.nominal))
	if len(path) == 0 {
		return w.noPulse(tr)
	}
	w.interval = t
	if err := checkLength(tr, w.s.duration(), w.n, t); err != nil {
		return err
	}
	w.layOut(path)
	return nil
}

// plausible refuses a schedule that only chance laid: a search always finds something 10 s apart in
// noise, but its pulses explain little. Marks vouch for themselves.
func (w *work) plausible(tr *Trace) error {
	if w.marked || evidence(w.turns, w.n, w.centre) > 19+0.3*float64(len(w.turns)) {
		return nil
	}
	return w.noPulse(tr)
}

func (w *work) noPulse(tr *Trace) error {
	apart := w.interval
	if known(w.nominal) {
		apart = w.nominal
	}
	return refuse(ErrNoPulse, tr.Source, "nothing in the trace looks like pulses %.0f s apart: cleaning was off while it was recorded, no valve fires, or the noise hides them", apart)
}

// hearSilence tells whether the header falls on none of the marked turns. Then no pulse says what a usual one
// takes; it is what the collector file expects or, common practice without source, a fifth of the pressure.
func (w *work) hearSilence() {
	if !w.marked || w.centre.drop > 0.03*w.centre.ref || evidence(w.turns, w.n, w.centre) > 19+0.3*float64(len(w.turns)) {
		return
	}
	drop := 0.2 * w.centre.ref
	if known(w.hint.drop) {
		drop = math.Min(w.hint.drop, 0.5*w.centre.ref)
	}
	for _, t := range w.turns {
		if !t.hidden && 6*t.sigma > drop { // what the noise hides is not silent
			return
		}
	}
	w.silent = true
	w.centre = centre{scaling: newScaling(lawTank, w.centre.ref, drop, w.ambient), drop: drop}
}

// layOut lays the schedule along a chain of peaks, then settles what its long gaps mean.
func (w *work) layOut(path []int) {
	var at []float64
	var g gaps
	for range 2 { // what a closer look shows to be no pulse drops out
		path = withoutNoise(w.found, path)
		at = w.timesOf(path, at)
		g = firstGaps(at, w.interval)
		w.slots = lay(w.s, at, path, g, w.interval)
		w.refine()
		at = at[:0]
		for _, x := range w.slots {
			if x.peak >= 0 {
				at = append(at, x.at)
				w.found[x.peak].bin = w.s.at(x.at)
			}
		}
	}
	w.takeCentre()
	g = w.settlePauses(at, path, g)
	w.slots = lay(w.s, at, path, g, w.interval)
}

// timesOf is when the peaks of a chain stand [s].
func (w *work) timesOf(path []int, buffer []float64) []float64 {
	at := buffer[:0]
	for _, i := range path {
		at = append(at, w.s.time(w.found[i].bin))
	}
	return at
}

// measure takes the slots through to beliefs.
func (w *work) measure() {
	w.refine()
	w.takeCentre()
	if trimmed, _ := trimEnds(w.turns, w.n, w.centre); len(trimmed) < len(w.turns) {
		w.keep(trimmed)
	}
	view := w.window()
	view.extras = w.findExtras()
	if w.untangle(view.extras) {
		w.shape, _ = commonShape(w.s, w.slots, w.interval)
		w.turns = measureTurns(w.s, w.slots, w.shape, w.window())
		view.extras = w.findExtras()
	}
	w.turns = measureTurns(w.s, w.slots, w.shape, view)
	for j := range w.turns {
		w.turns[j].extra = view.extras[j]
	}
	w.sharpen()
	w.centre = findCentre(w.turns, w.n, w.hint, w.ambient)
	w.hearSilence()
	w.xs = stretches(w.s, w.turns, w.shape, w.interval)
	w.fits = findBalance(w.newLedger())
	w.beliefs = w.believe()
	w.discount()
	if sound := w.soundTurns(); !w.silent && len(sound) < len(w.turns) && len(sound) > 0 {
		w.centre = findCentre(sound, w.n, w.hint, w.ambient)
		w.beliefs = w.believe()
	}
}

func (w *work) window() window { return window{interval: w.interval, after: w.after} }

// fullOpen is a wide open valve's opening per time constant of the tank, from the usual drop [1/s].
func (w *work) fullOpen() float64 { return impulse(w.centre.ref, w.centre.drop, w.ambient) / w.on }

// discount trusts a turn less that comes while the header is still on its way up from a valve that
// closes late: where that would have gone on to is a guess.
func (w *work) discount() {
	alike := make([]float64, w.n) // turns of each valve that share the error: it does not average out
	after := func(j int) bool { return w.beliefs[w.turns[j-1].index%w.n].stuck > 0.5 }
	for j := 1; j < len(w.turns); j++ {
		if after(j) {
			alike[w.turns[j].index%w.n]++
		}
	}
	for j := 1; j < len(w.turns); j++ {
		t := &w.turns[j]
		if after(j) {
			low := math.Min(1, (1-t.before/w.centre.ref)/0.05)
			t.sigma = math.Hypot(t.sigma, 0.4*math.Sqrt(alike[t.index%w.n])*math.Max(0, low)*w.centre.drop*w.centre.at(t.before))
		}
	}
}

// soundTurns leaves out the turns of valves that are stuck: their drops say nothing about the group.
func (w *work) soundTurns() []turn {
	var out []turn
	for _, t := range w.turns {
		if w.beliefs[t.index%w.n].stuck < 0.5 {
			out = append(out, t)
		}
	}
	return out
}

// keep drops the slots that are not among the turns kept. Without marks the first one kept is number 1.
func (w *work) keep(turns []turn) {
	w.turns = turns
	shift := 0
	if !w.marked {
		shift = turns[0].index
	}
	w.slots = w.slots[:0]
	for j := range turns {
		turns[j].index -= shift
		w.slots = append(w.slots, turns[j].slot)
	}
}

// expected is the drop the collector file lets expect, where it says enough.
func expected(sp Spec) hint {
	for _, x := range []float64{float64(sp.ValveFlow), float64(sp.Volume), float64(sp.OnTime), float64(sp.Set)} {
		if !known(x) {
			return hint{}
		}
	}
	tank := header.Tank{Volume: sp.Volume, WallHeat: header.DefaultWallHeat(sp.Volume), Ambient: sp.Ambient, Supply: header.SupplyOf(sp.Set, sp.SupplyFlow)}
	if tank.Check() != nil {
		return hint{}
	}
	p, _ := tank.Pulse(tank.Equilibrium(), header.DefaultValve(sp.ValveFlow, sp.OnTime), unit.Seconds(math.Max(1, 3*float64(sp.OnTime))))
	if drop := float64(p.Drop()); known(drop) {
		return hint{drop: drop, width: 0.3}
	}
	return hint{}
}
