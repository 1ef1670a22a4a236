package pastel

import (
	"math"
	"math/rand/v2"

	"dustwright/collector"
)

const (
	atmosphere  = 101325.0
	reference   = 1e5 // pressure at which ISO 6358 counts a conductance's flow [Pa]
	bar         = 1e5
	hour        = 3600.0
	day         = 24 * hour
	perKv       = 4.50402e-8 // sonic conductance of one Kv [m3/(s Pa)]
	standardAir = 1.2        // [kg/m3]
)

// luck is a source of chance that can be copied as it stands.
type luck struct {
	*rand.Rand
	source *rand.PCG
}

func cast(seed, stream uint64) luck {
	source := rand.NewPCG(seed, stream)
	return luck{rand.New(source), source}
}

func (l luck) copied() luck {
	source := *l.source
	return luck{rand.New(&source), &source}
}

func (l luck) in(a, b float64) float64 { return a + (b-a)*l.Float64() }

// octaves is between two positive bounds, as likely in each octave.
func (l luck) octaves(a, b float64) float64 { return a * math.Pow(b/a, l.Float64()) }

func (l luck) once(p float64) bool { return l.Float64() < p }

func pick[T any](l luck, of ...T) T { return of[l.IntN(len(of))] }

// plant is one collector as built and set, in SI.
type plant struct {
	rows, perRow     int
	area, design     float64 // all media [m2]; airflow [m3/s]
	mode             collector.Mode
	interval, onTime float64 // [s]
	downtime         int     // cycles after the fan stops
	wholeRounds      bool    // a cleaning once begun goes on to the last valve
	low, high        float64 // [Pa]

	media, cakeDrag float64 // drag of new media [Pa s/m]; of a kg/m2 of cake [1/s]
	squeeze         float64 // exponent with which a cake's drag grows with the dP
	loading         float64 // dust at full production [kg/m3]
	easy, hard      float64 // -ln of what a pulse at the set pressure leaves of the cake, of the residual layer
	spread          float64 // exponent of the adhesion's Weibull distribution
	grips           float64 // share of the cake left by a pulse that turns into residual layer
	returns         float64 // share of the dust cleaned off in operation that lands on rows nearby
	embedded, ages  float64 // drag in the media at the beginning [Pa s/m]; its growth per kg/m2
	layer, settled  float64 // residual layer at the beginning, and where it settles [kg/m2]
	uneven          []float64

	fanTop, fanFall, fanExp float64 // pressure = top (1 - fall x^exp), x the share of design flow, at standard air [Pa]
	shaft, idle             float64 // shaft power at design flow [W]; share of it at no flow
	duct, damper, bladeExp  float64 // [Pa] at design flow; the damper's fully open
	open                    float64
	after, afterGrowth      float64 // after-filter [Pa] at design flow, 0 none; growth [Pa/s]

	set, line, droop       float64 // header, shop air, droop of the regulator [Pa]
	tank, valve, feed, rim float64 // [m3]; conductances of a valve and of the supply [m3/(s Pa)]; critical pressure ratio

	volts, cosPhi, eta, magnet float64 // motor; its magnetising current [A]
	bin, bulk, emptyAt         float64 // [m3], [kg/m3], fill at which it is emptied
	haze, puff, puffTime       float64 // leak detector: sound, per pulse, its decay [s]
	elevation                  float64
	recovery                   float64 // time in which the supply makes good a pulse [s]
}

func (p *plant) air() float64 { return math.Exp(-p.elevation / 8400) }

// face is the mean filtration velocity at design flow [m/s].
func (p *plant) face() float64 { return p.design / p.area }

// dust is what a square metre gets a second at design flow and full production.
func (p *plant) dust() float64 { return p.loading * p.face() }

func newPlant(l luck) *plant {
	p := &plant{rows: 3 + l.IntN(12), perRow: 1 + l.IntN(4), mode: collector.OnDemand, interval: pick(l, 6.0, 8, 10, 10, 10, 12, 15, 20)}
	switch u := l.Float64(); {
	case u < 0.17:
		p.mode, p.interval = collector.Timed, l.octaves(30, 180)
	case u < 0.27:
		p.mode, p.interval = collector.Continuous, l.octaves(10, 30)
	}
	p.downtime, p.wholeRounds = pick(l, 0, 0, 0, 1, 2, 3), l.once(0.2)
	p.area = float64(p.rows*p.perRow) * l.in(9, 22)
	p.design = p.area * l.in(0.006, 0.0165)
	p.low = l.in(400, 800)
	p.high = p.low + l.in(150, 500)
	p.filters(l)
	p.airSide(l)
	p.airSupply(l)
	p.bulk, p.bin, p.emptyAt = l.octaves(300, 1400), p.design*l.in(0.08, 0.3), l.in(0.35, 0.65)
	p.haze, p.puff, p.puffTime = l.in(1.5, 9), l.octaves(1, 20), l.in(3, 14)
	return p
}

// filters draws media and dust so that a sound machine keeps between its set points.
func (p *plant) filters(l luck) {
	p.media = l.in(70, 200) / p.face()
	p.loading, p.squeeze = l.octaves(1.5e-4, 3e-3), l.in(0, 0.25)
	leaves := l.in(0.12, 0.5)
	p.easy, p.hard, p.spread = -math.Log(leaves), l.octaves(0.02, 0.12), l.in(1.2, 2.6)
	stays := l.in(0.5, 0.75)*p.low - p.media*p.face()
	swing, row := p.high-p.low, l.octaves(0.15, 5)*hour*p.dust() // cake that makes the swing
	if p.mode != collector.OnDemand {
		row = p.dust() * p.interval * float64(p.rows) / (1 - leaves)
		swing = l.in(0.25, 0.5) * p.low
	}
	p.cakeDrag = swing / (row * p.face())
	p.returns = l.in(0.05, 0.3)
	if p.mode == collector.OnDemand {
		row *= 1.3 // it isn't all off at the low set point
	}
	half := l.in(0.4, 0.8)
	p.settled = half * stays / p.face() / (p.cakeDrag * dense)
	p.layer = p.settled
	p.embedded = (1 - half) * stays / p.face()
	p.grips = 2 * p.settled * p.hard / (leaves * row)
	p.ages = l.in(0, 0.12) * p.embedded / (p.dust() * 2000 * hour)
	if l.once(0.12) { // new filters, the media still open
		p.layer, p.embedded = 0, p.embedded*l.in(0.1, 0.5)
	}
	for range p.rows {
		p.uneven = append(p.uneven, math.Exp(0.08*l.NormFloat64()))
	}
}

// airSide draws ducts, damper, after-filter, fan and motor.
func (p *plant) airSide(l luck) {
	p.elevation = max(0, l.in(-400, 900))
	p.duct, p.bladeExp, p.open = l.in(350, 1300), l.in(1.6, 3), l.in(0.35, 0.65)
	taken := p.high - (p.low+p.high)/2 + l.in(250, 800) // by the damper as set
	p.damper = taken * math.Pow(p.open, p.bladeExp)
	if l.once(0.65) {
		p.after, p.afterGrowth = l.in(100, 260), l.octaves(0.01, 0.1)/hour
	}
	need := p.duct + taken + ((p.low+p.high)/2+p.after)/p.air()
	p.fanFall, p.fanExp = l.in(0.14, 0.42), l.in(1.7, 3)
	p.fanTop = need / (1 - p.fanFall)
	p.shaft, p.idle = need*p.design/l.in(0.52, 0.68), l.in(0.3, 0.55)
	p.volts, p.cosPhi, p.eta = pick(l, 400.0, 400, 460, 480, 690), l.in(0.82, 0.89), l.in(0.86, 0.94)
	p.magnet = l.in(0.2, 0.4) * p.amps(1.25*p.shaft)
}

// amps is the working current for a shaft power [W].
func (p *plant) amps(shaft float64) float64 {
	return shaft / (math.Sqrt(3) * p.volts * p.cosPhi * p.eta)
}

// airSupply draws the header: a tank that loses a share of its air in a pulse and gets it back in time for the next.
func (p *plant) airSupply(l luck) {
	p.set, p.onTime, p.rim = l.in(3.8, 6.5)*bar, l.in(0.08, 0.22), l.in(0.25, 0.45)
	p.line = p.set + l.in(0.8, 2.5)*bar
	p.droop = l.in(0.08, 0.3) * bar
	p.valve = perKv * l.in(9, 14) * math.Sqrt(p.area/float64(p.rows)/15)
	share := l.in(0.08, 0.3)
	p.tank = -p.valve * reference * p.onTime / math.Log(1-share)
	p.recovery = l.in(0.1, 0.4) * min(p.interval, 30)
	p.feed = share * (p.set + atmosphere) * p.tank / (p.recovery * (p.line + atmosphere) * reference * choke((p.set+atmosphere)/(p.line+atmosphere), p.rim))
}
