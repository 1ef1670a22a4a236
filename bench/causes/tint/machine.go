package tint

import (
	"math"

	"dustwright/bench/causes/made"
	"dustwright/collector"
)

const (
	bar     = 1e5
	hourSec = 3600.0
	psi     = 6894.76
	inWater = 249.089
)

// machine is one collector with the laws it follows. Flows are shares of design flow, pressures [Pa] those a gauge shows
// at it, dust is counted in the Pa it adds to a row at design flow.
type machine struct {
	rows, downtime int // downtime: cycles after the fan stops
	mode           collector.Mode
	interval       float64 // between pulses as set [s]
	timer          float64 // as the controller's clock has it [s]
	low, high, set float64
	straight       float64 // share of the dP that goes with the flow, the rest with its square
	media, resid   float64 // new media; what stays when seasoned
	seasons        float64 // dust passed until 63 % seasoned; 0 it is
	bend           float64 // how much a thick cake takes beyond its share, at a cake of high-low
	rate           float64 // rise of the dP at full production [Pa/s]
	captures       float64 // power of the hood's flow that the dust caught goes with
	takes          takeLaw
	share, keeps   float64 // of a row's cake a pulse takes; what no pulse takes off
	needs          float64 // header pressure below which a pulse takes nothing
	beside, sheds  float64 // share that falls on the row below; share that drops off by itself when the fan stops
	uneven         []float64
	fan            [3]float64 // pressure = fan[0] + fan[1] x - fan[2] x2
	duct, suction  float64    // loss of the ducts; power of the hood's flow it goes with on the gauge
	damper, open   float64    // loss at the position open
	steep          float64    // power of the position
	after, grows   float64    // after-filter, 0 none; growth [Pa/s]
	tank           tankLaw
	drops, tau     float64 // fall of the header in a pulse [Pa]; time constant of its recovery [s]
	shared         bool    // no regulator: the header follows the shop's compressor
	cycle          float64 // period of that compressor [s]
	nightOff       bool    // the air is shut off with the fan
	load           loadLaw
	idle           float64 // share of the design current in still air
	amps, volts    float64
	flow, area     float64 // design flow [m3/s]; media of all rows [m2]
	loading        float64 // [kg/m3]
	bin, bulk      float64 // [m3], [kg/m3]
	emptyAt        float64 // fill at which somebody who looks empties the bin
	emission, puff float64
	puffs          float64 // how long the leak detector sees a pulse [s]
	air, elevation float64 // density of the site as a share of standard air's; [m]
}

// newMachine draws a machine that holds its design flow between its set points.
func newMachine(d made.Dice) *machine {
	m := &machine{rows: made.OneOf(d, 2, 3, 4, 4, 5, 6, 6, 8, 8, 10, 12, 16, 20), mode: collector.OnDemand,
		interval: made.OneOf(d, 6.0, 8, 10, 10, 10, 15, 20, 30), downtime: made.OneOf(d, 0, 0, 1, 2, 3, 4)}
	switch u := d.Float64(); {
	case u < 0.15:
		m.mode, m.interval = collector.Timed, made.OneOf(d, 45.0, 60, 90, 120, 180, 240)
	case u < 0.25:
		m.mode, m.interval = collector.Continuous, made.OneOf(d, 12.0, 15, 20, 30, 45)
	}
	m.low = math.Round(d.Between(1.6, 3.6)*10) / 10 * inWater
	m.high = m.low + math.Round(d.Between(0.6, 2)*10)/10*inWater
	m.set = math.Round(d.Between(55, 92)) * psi
	m.elevation = math.Round(d.Between(0, 90)) * 10
	m.air = math.Exp(-m.elevation / 8400)
	m.timer = m.interval * (1 + 0.01*d.NormFloat64())
	m.drawCloth(d)
	m.drawWind(d)
	m.drawTank(d)
	m.flow = d.Spread(0.4, 1) * math.Sqrt(float64(m.rows))
	m.area = m.flow / d.Between(0.006, 0.016)
	m.loading, m.bulk = d.Spread(2e-4, 3e-3), d.Between(300, 1300)
	m.amps = (m.middle() + m.duct + m.damper + m.after) * m.flow / d.Between(0.5, 0.66) / 0.9 / (math.Sqrt(3) * m.volts * 0.85)
	m.bin = m.loading * m.flow * hourSec * d.Spread(60, 400) / m.bulk
	m.bin, m.emptyAt = min(6, max(0.03, m.bin)), d.Between(0.2, 0.5)
	m.emission, m.puff, m.puffs = d.Between(1.5, 10), d.Between(0.5, 9), d.Between(5, 40)
	return m
}

// drawCloth draws how dust sits on the filters and how a pulse takes it off.
func (m *machine) drawCloth(d made.Dice) {
	span := m.high - m.low
	m.straight, m.bend = made.OneOf(d, 1, 1, 0.85, 0.65, 0.4), made.OneOf(d, 0, 0, 0.15, 0.4)
	m.media = min(0.45*m.low, d.Between(70, 230))
	m.resid = m.low*d.Between(0.55, 0.82) - m.media
	m.takes = takeLaw(d.IntN(3))
	m.share, m.keeps = d.Between(0.35, 0.85), d.Between(0.03, 0.2)*span
	m.needs = m.set * d.Between(0.2, 0.5)
	m.captures = d.Between(0.3, 1)
	m.beside, m.sheds = d.Between(0.02, 0.3), d.Between(0, 0.25)
	m.rate = 1.1 * span / (d.Spread(0.35, 7) * hourSec)
	round := float64(m.rows) * m.interval
	if m.mode != collector.OnDemand {
		cake := m.low*d.Between(1, 1.3) - m.media - m.resid
		m.rate = (cake - 0.5*m.keeps) / (round * (1/m.share - 0.5))
	} else {
		m.rate = min(m.rate, span/(4*round))
	}
	if d.Chance(0.2) {
		m.seasons = m.rate * hourSec * d.Between(60, 500)
	}
	for range m.rows {
		m.uneven = append(m.uneven, math.Exp(0.06*d.NormFloat64()))
	}
}

// drawWind draws fan, ducts and damper.
func (m *machine) drawWind(d made.Dice) {
	m.duct, m.damper = d.Between(1.6, 4.4)*inWater, d.Between(1.4, 4.6)*inWater
	m.suction = d.Between(1.75, 2.1)
	if d.Chance(0.5) {
		m.after, m.grows = d.Between(110, 260), d.Spread(0.06, 0.6)*inWater/(30*24*hourSec)
	}
	m.open, m.steep = math.Round(d.Between(0.3, 0.6)*100)/100, d.Between(1.6, 2.6)
	m.damper = max(m.damper, 1.3*((m.high-m.low)/2+80)/(1-math.Pow(m.open, m.steep)))
	gives := m.duct + m.damper + m.after + m.middle()
	shut, rises := gives*d.Between(1.12, 1.45), gives*d.Between(-0.1, 0.25)
	m.fan = [3]float64{shut, rises, shut + rises - gives}
	m.load = loadLaw(d.IntN(3))
	m.idle = [...]float64{d.Between(0.3, 0.55), d.Between(0.3, 0.6), d.Between(0.8, 0.92)}[m.load]
	m.volts = made.OneOf(d, 400.0, 460, 480, 575)
}

// drawTank draws the header.
func (m *machine) drawTank(d made.Dice) {
	m.tank = tankLaw(d.IntN(3))
	m.drops = m.set * d.Between(0.1, 0.42)
	m.tau = min(m.interval, 45) * d.Between(0.1, 0.28)
	m.shared, m.cycle = d.Chance(0.15), d.Between(240, 2400)
	m.nightOff = d.Chance(0.2)
}

// middle is the dP across the filters at design flow between the set points, or where a timer holds it.
func (m *machine) middle() float64 {
	if m.mode != collector.OnDemand {
		return 1.15 * m.low
	}
	return (m.low + m.high) / 2
}
