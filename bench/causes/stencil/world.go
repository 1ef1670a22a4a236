package stencil

import (
	"math"
	"math/rand/v2"
)

// world is a shop as it runs.
type world struct {
	*shop
	trouble
	tale
	off     bool // run without its trouble
	seed    uint64
	yearDay float64

	t       float64 // since the start [s]
	running bool
	manned  bool // somebody is at work
	part    float64
	skies   []weather
	air     weather
	told    bool
	uneasy  bool    // the crew shakes the filters by hand when the gauge is in the red
	shaken  float64 // when they last did [days]
	plan    []stretch
	planned int // first day that is not in the plan yet

	gates     []hood
	wants     float64 // chance that a gate is opened when somebody comes to it
	craft     float64 // of production, 1 usual
	nextCraft float64 // [s]
	moves     *rand.Rand
	chance    *rand.Rand

	cloth     []row
	old       float64 // drag that old media have beyond new ones [Pa s/m]
	clog      float64
	total     float64 // dust fed to a square metre in all [g]
	firm, wet float64
	aloft     float64 // dust on its way to the cloth [g]
	falls     float64 // and to the bin [g]
	waits     float64 // time since dust was last laid on the cloth [s]
	clear     float64 // what passes the cloth all the time [g/m3]
	smoke     float64 // and what is left of the pulses' puffs [g/m3]
	binKg     float64
	nextEmpty float64 // [days]
	skips     float64 // from when on the bin is forgotten [days]
	taken     float64 // [kg]
	given     float64 // dust from the hoods in all [g]
	through   float64 // of which passed the cloth [g]
	dropped   float64 // and reached the bin [g]
	afterDust float64 // of the after-filter [Pa at design flow]
	afterGain float64 // per gram [Pa/g]

	now      wind
	lastFlow float64
	n        float64 // speed over that at commissioning
	held     float64 // set point of the pressure at the inlet over that at commissioning
	damper   float64

	header, least float64 // [Pa gauge]
	setBy         float64
	hangs         float64 // until when a stuck valve hangs [s]
	fired         []uint8
	count         int
	spike         float64 // energy of a pulse just now

	lo, hi, gap float64 // set points [Pa] and interval [s] as they stand
	cleaning    bool
	next        float64 // time to the next pulse [s]
	valve       int
	downtime    int // pulses still to come after the stop
	gauge       tube
}

// newWorld sets a shop up as it is at the log's first row.
func newWorld(s *shop, seed uint64, tr trouble, ta tale) *world {
	w := &world{shop: s, trouble: tr, tale: ta, seed: seed, n: 1, held: 1, damper: s.trim, setBy: 1, gap: 1, lo: s.low, hi: s.high,
		old: s.tired, total: s.fed, wet: 1, firm: 1, craft: 1, header: s.set, least: s.set, lastFlow: s.design}
	r := rand.New(rand.NewPCG(seed, 17))
	w.moves, w.chance = rand.New(rand.NewPCG(seed, 18)), rand.New(rand.NewPCG(seed, 19))
	w.yearDay = 365 * r.Float64()
	w.gap = s.interval * (1 + 0.02*r.NormFloat64()) // no clock runs with another
	w.uneasy = r.Float64() < 0.4
	w.skies = w.sky()
	w.air = w.skies[0]
	w.wants = min(0.95, max(0.4, float64(s.open)/float64(s.shopHoods())+0.12*r.NormFloat64()))
	for range s.shopHoods() {
		w.gates = append(w.gates, hood{open: r.Float64() < w.wants, next: 7200 * r.Float64()})
	}
	w.someOpen()
	some := s.fed > 0
	for range s.rows {
		w.cloth = append(w.cloth, row{share: 1 / float64(s.rows), residue: 0.08 * s.media * r.NormFloat64()})
	}
	target := 300 * s.area / s.design
	for i := range w.cloth {
		if some {
			for p := range w.cloth[i].load {
				w.cloth[i].load[p] = math.Pow(target*1.6*r.Float64()/s.coef, 1/s.n)
			}
		}
		w.settle(&w.cloth[i])
	}
	month := s.gram * s.design * s.hours.perWeek() * 3600 * 4.3 * 0.6
	w.afterGain = (25 + 60*r.Float64()) / (month * s.fine * 0.2)
	w.afterDust = s.afterOld
	fill := s.every * s.gram * s.design * s.hours.perWeek() / 7 * 3600 * 0.6 / 1000 / (s.heap * s.bin)
	w.nextEmpty = s.every * (1 - r.Float64())
	w.binKg = s.heap * s.bin * fill * r.Float64()
	w.skips = tr.onset - 0.9*s.every/fill
	if tr.fault == binFull && tr.kind >= 0.3 && !w.off && w.skips < 0 {
		w.binKg = s.heap * s.bin * min(0.97, max(w.binKg/(s.heap*s.bin), -w.skips*fill/s.every))
	}
	w.valve = r.IntN(s.rows)
	return w
}

// shopHoods is how many hoods there are.
func (s *shop) shopHoods() int { return s.hoods[0] }

// works tells whether the fan runs and people are there.
func (w *world) works() {
	for day := int(w.t/86400) + 1; w.planned <= day; w.planned++ {
		extra := 0.0
		if w.tale.within("more shifts", float64(w.planned)) {
			extra = w.tale.value
		}
		if !w.tale.within("shutdown", float64(w.planned)) {
			w.plan = append(w.plan, w.hours.day(w.seed, w.planned, extra)...)
		}
	}
	for len(w.plan) > 0 && w.plan[0].to <= w.t {
		w.plan = w.plan[1:]
	}
	was := w.running
	w.running = len(w.plan) > 0 && w.plan[0].from <= w.t
	w.manned = w.running
	if was && !w.running {
		w.cleaning = false
		w.slough()
		w.downtime = w.stops * w.rows
		w.next = w.gap
	}
	if !was && w.running {
		w.downtime, w.next = 0, w.gap
	}
}

// bustle moves gates and production as people do.
func (w *world) bustle() {
	day := w.t / 86400
	wants := w.wants
	if w.tale.within("other hoods", day) {
		wants = min(0.97, max(0.15, wants+w.tale.value))
	}
	if w.t >= w.nextCraft {
		w.nextCraft = w.t + 900 + 3600*w.moves.Float64()
		w.craft = math.Exp(0.6*math.Log(w.craft) + 0.28*w.moves.NormFloat64())
	}
	for i := range w.gates {
		if h := &w.gates[i]; w.t >= h.next {
			h.open = w.moves.Float64() < wants
			h.next = w.t + 600*math.Exp(2.8*w.moves.Float64())
		}
	}
	w.someOpen()
}

// someOpen opens gates until half as many are open as at design: somebody works there.
func (w *world) someOpen() {
	n := 0
	for _, h := range w.gates {
		if h.open {
			n++
		}
	}
	for i := 0; n < (w.open+1)/2 && i < len(w.gates); i++ {
		if h := &w.gates[i]; !h.open {
			h.open = true
			n++
		}
	}
}

// makes is the dust that comes in now [g/s].
func (w *world) makes() float64 {
	if !w.running {
		return 0
	}
	day, open := w.t/86400, 0.0
	for _, h := range w.gates {
		if h.open {
			open++
		}
	}
	d := w.gram * w.design * 0.6 * w.craft * (0.35 + 0.65*open/float64(w.open)) * min(1, w.now.hoods/(0.7*w.design))
	if w.tale.within("heavy week", day) {
		d *= w.tale.value
	}
	return d * (1 + 2.2*w.level(heavyDust)) * (1 + w.level(binFull)*w.overfull())
}

// renew puts new filters in.
func (w *world) renew() {
	w.old, w.total, w.clog = 0, 0, 0
	w.aloft = 0
	for i := range w.cloth {
		w.cloth[i].load = [patches]float64{}
		w.settle(&w.cloth[i])
	}
}

// step goes on by dt [s]: people, air, dust, cleaning.
func (w *world) step(dt float64) {
	day := w.t / 86400
	w.air = w.skies[min(len(w.skies)-1, int(w.t/3600))]
	w.works()
	w.worsen(day)
	if w.running {
		w.bustle()
	}
	w.act(day)
	w.wet = 1 + 0.5*w.hygro*max(0, w.air.humidity-0.72)/0.28 + 1.8*w.level(damp)
	w.blow()
	w.govern(dt)
	w.dust(dt)
	w.spike = 0
	w.breathe(dt)
	w.gauge.follow(w, dt)
	w.clean(dt)
	w.collect(day)
	w.t += dt
}

// dust carries what the hoods catch to the cloth.
func (w *world) dust(dt float64) {
	came := w.makes() * dt
	w.given += came
	w.aloft += came
	w.waits += dt
	w.smoke *= math.Exp(-dt / 12)
	if w.waits < 110 || !w.running {
		return
	}
	laid := w.aloft
	passed := w.feed(laid, w.now.dp)
	w.through += passed
	w.aloft = 0
	w.clear = passed / (w.now.flow * w.waits)
	w.afterDust += passed * w.afterGain
	w.waits = 0
}

// clean is the controller.
func (w *world) clean(dt float64) {
	seen := w.gauge.sees
	switch {
	case !w.running:
		w.cleaning = w.downtime > 0
	case w.mode != "on-demand":
		w.cleaning = true
	case !w.cleaning && seen > w.hi:
		w.cleaning, w.next = true, 0
	case w.cleaning && seen < w.lo:
		w.cleaning = false
	}
	w.next -= dt
	if !w.cleaning || w.next > 1e-6 {
		return
	}
	w.next = w.gap
	if w.downtime > 0 {
		w.downtime--
	}
	w.valve = w.valve%w.rows + 1
	if !w.idleOutput() {
		w.fire(w.valve)
	}
}

// stride is how long the next step may be [s]; left is what remains of the row.
func (w *world) stride(left float64) float64 {
	most := 60.0
	if !w.running && w.downtime == 0 {
		most = 300
	}
	if w.cleaning {
		most = max(0.5, min(most, w.next))
	}
	return min(most, left)
}
