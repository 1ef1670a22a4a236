package ink

import (
	"math"

	"dustwright/bench/causes/made"
)

// Units and figures of the trade.
const (
	hour, day   = 3600.0, 86400.0
	bar, psi    = 1e5, 6894.76
	inWater     = 249.089
	standardAir = 1.2 // kg/m3, that of fan curves
	sheet       = 1.5e-4
)

// Ways of driving a fan.
const (
	direct = iota
	belt
	driveFixed   // a drive set by hand
	driveSuction // a drive holds the suction at the inlet
	driveFlow    // a drive holds the airflow
)

// plant is what stands there and does not change. SI; drag is in Pa s/m.
type plant struct {
	rows, perRow, patches int
	flow, area, elevation float64
	ambient, rho          float64 // absolute pressure, density of the usual air
	warmth                float64 // K, by which the air of the process is warmer
	clean, seasoned, span float64 // drag of new media, what seasoning adds, what a cake has when cleaning is due
	reach                 []float64
	lets                  float64 // how readily a pulse takes a cake off
	loading, cakeK, bulk  float64
	presep, falls         float64 // shares: what falls out before the filters, and of what is pulsed off
	passes                float64 // share of the dust that sound filters let through

	low, high float64
	mode      string
	interval  float64
	downtime  int
	order     []int // positions by turn
	label     []int // the valve card's number of a position, from 0

	pipe, length, ducts float64 // main: diameter, length, sum of loss coefficients
	hoods               float64 // conductance of all hoods, m3/s at 1 Pa
	velocity, suction   float64 // in the main, and at the inlet, at design
	after, afterRough   float64 // drag of the after-filter new [Pa s/m3], share that goes with the square
	damper              float64 // Cd A of the damper open [m2]
	open                float64 // its usual position
	drive               int
	speed               float64 // usual, of the catalogue's
	fan                 [3]float64
	head                float64 // Pa at design and standard air
	shaft               float64 // W likewise
	power               [3]float64
	motor, volts        float64
	eta, cosPhi, magnet float64
	rpm                 int

	set, drop, feed, lag float64 // header: set, share of absolute pressure a pulse takes, fastest rise [Pa/s], time constant [s]
	seep                 float64 // 1/s, small leaks
	onTime               float64
	loads, unloads       float64 // compressor, Pa
	receiver             float64 // Pa/s by which it lifts the line with nobody drawing

	bin, daily      float64 // m3, and m3 a day of work
	rotary          bool
	trigger         float64 // level at which somebody empties it
	sharedGauge     bool    // controller and log read the same transmitter
	unipolar        bool    // it can't read below nothing
	gaugeTop        float64
	shifts          int // 1, 2, 3 or 7 (round the clock)
	wild, idle      float64
	jobLength       float64
	gated           bool // hoods are opened and shut with the jobs
	airOff          bool // the shop's air is off when nobody works
	draw            float64
	bursts          float64 // times a day that the shop draws more than the compressor gives
	damp            float64 // how much the cake minds damp air
	zero            int     // the record's first day since 1970
	season, weekday int     // of it, from Monday; days since spring
	cardKnows       bool    // the valve card feels the pilot's current
}

// newPlant draws a plant.
func newPlant(d made.Dice) *plant {
	p := &plant{rows: made.OneOf(d, 3, 4, 4, 5, 6, 6, 8, 8, 9, 10, 12, 12, 14, 16, 18, 20, 24), perRow: made.OneOf(d, 1, 1, 2, 2, 2, 3, 4)}
	p.patches = max(3, min(8, 48/p.rows))
	p.area = float64(p.rows*p.perRow) * d.Spread(7, 26)
	face := d.Spread(0.0055, 0.0175)
	p.flow = p.area * face
	p.elevation = math.Round(max(0, 900*d.Float64()*d.Float64()*2-40))
	p.ambient = 101325 * math.Exp(-p.elevation/8400)
	p.warmth = made.OneOf(d, 0.0, 0, 3, 8, 20) * d.Float64()
	p.rho = p.ambient / 287 / (294 + p.warmth)
	p.cloth(d, face)
	p.control(d)
	p.network(d)
	p.blower(d)
	p.jets(d)
	p.shop(d)
	return p
}

// cloth draws media, set points and dust.
func (p *plant) cloth(d made.Dice, face float64) {
	clean := d.Between(80, 210)
	p.clean = clean / face
	p.seasoned = p.clean * d.Between(0.3, 1.4)
	floor := (p.clean + p.seasoned) * face
	p.low = max(d.Between(280, 520), floor*d.Between(1.3, 1.8))
	p.high = p.low + d.Between(180, 550)
	if d.Chance(0.4) { // what the maker's sheet says
		p.low, p.high = max(2*inWater, math.Ceil(floor*1.3/inWater)*inWater), max(4*inWater, math.Ceil(floor*1.3/inWater+1.2)*inWater)
	}
	step := made.OneOf(d, 10, 25, 50, 0.1*inWater)
	p.low, p.high = math.Ceil(p.low/step)*step, math.Ceil(p.high/step)*step
	p.span = (p.high - floor) / face
	for range p.rows * p.patches {
		p.reach = append(p.reach, d.Between(0.55, 1.25))
	}
	p.lets = d.Between(0.9, 2.6)
	p.loading = d.Spread(2e-5, 2.5e-3)
	p.bulk = d.Spread(250, 1500)
	p.presep = made.OneOf(d, 0.0, 0.1, 0.3, 0.5) * d.Float64()
	p.falls = d.Between(0.55, 0.93)
	p.passes = d.Spread(2e-5, 3e-4)
	p.damp = d.Between(0, 0.25)
}

// control draws how it is cleaned, and with it how fast the dust builds up.
func (p *plant) control(d made.Dice) {
	p.mode = made.OneOf(d, "on-demand", "on-demand", "on-demand", "timed", "continuous")
	p.interval = made.OneOf(d, 6.0, 8, 10, 10, 10, 12, 15, 20, 30)
	rise := d.Spread(600, 9*hour)
	face := p.flow / p.area
	build := (p.high - p.low) / face / rise // drag a second
	switch p.mode {
	case "timed":
		p.interval = made.OneOf(d, 20.0, 30, 30, 45, 60, 90, 120)
		build = p.span * d.Between(0.06, 0.45) / (p.interval * float64(p.rows))
	case "continuous":
		p.interval = made.OneOf(d, 15.0, 20, 30)
		build = p.span * d.Between(0.06, 0.35) / (p.interval * float64(p.rows))
	default:
		// a pass over all valves must take off more than comes meanwhile
		build = min(build, 0.4*p.span/(p.interval*float64(p.rows)))
	}
	p.cakeK = build / (p.loading * (1 - p.presep) * face)
	p.downtime = made.OneOf(d, 0, 0, 1, 2, 3, 5)
	p.order, p.label = make([]int, p.rows), make([]int, p.rows)
	p.numbering(d)
	p.sharedGauge, p.unipolar = d.Chance(0.75), d.Chance(0.45)
	p.gaugeTop = made.OneOf(d, 2500.0, 2500, 5000)
	p.cardKnows = d.Chance(0.4)
}

// numbering draws how the valve card counts the valves, and in which turn they fire.
func (p *plant) numbering(d made.Dice) {
	n := p.rows
	for i := range n {
		p.label[i], p.order[i] = i, i
	}
	switch d.IntN(6) {
	case 0: // wired from the bottom
		for i := range n {
			p.label[i] = n - 1 - i
		}
	case 1: // wired as the hoses came
		p.label = d.Perm(n)
	}
	if d.Chance(0.3) { // never two neighbours one after the other
		p.order = p.order[:0]
		for k := range 3 {
			for i := k; i < n; i += 3 {
				p.order = append(p.order, i)
			}
		}
	} else if d.Chance(0.8) { // by the card's numbers
		for i, l := range p.label {
			p.order[l] = i
		}
	}
}

// network draws ducts, after-filter and hoods.
func (p *plant) network(d made.Dice) {
	p.velocity = d.Between(15, 22)
	p.pipe = math.Sqrt(4 * p.flow / p.velocity / math.Pi)
	p.length, p.ducts = d.Spread(8, 60), d.Between(0.6, 2.6)
	p.suction = d.Between(500, 1900)
	main := p.mainLoss(p.flow, colebrook(p.flow, p.pipe, 0.02), 1, p.rho)
	hoods := max(0.25*p.suction, p.suction-main)
	p.suction = main + hoods
	p.hoods = p.flow / math.Sqrt(hoods)
	if d.Chance(0.55) {
		p.after = d.Between(120, 260) / p.flow
		p.afterRough = d.Between(0, 0.15)
	}
	p.gated = d.Chance(0.3)
}

// blower draws fan, motor and damper so that the fan holds the duty up to the high set point.
func (p *plant) blower(d made.Dice) {
	full := d.Between(25, 90) // Pa that the open damper takes
	p.damper = p.flow / math.Sqrt(2*full/p.rho)
	need := p.suction + p.after*p.flow + full + p.high*1.12
	p.head = (need + d.Between(0.03, 0.22)*need) * standardAir / p.rho
	a, b := d.Between(1.18, 1.5), d.Between(0, 0.35)
	p.fan = [3]float64{a, b, a + b - 1}
	p.shaft = p.head * p.flow / d.Between(0.52, 0.7)
	idle := d.Between(0.3, 0.5)
	bow := d.Between(0, 0.25)
	p.power = [3]float64{idle, 1 - idle + bow, bow}
	p.motor = 0
	for _, kW := range []float64{1.5, 2.2, 3, 4, 5.5, 7.5, 11, 15, 18.5, 22, 30, 37, 45, 55, 75, 90, 110, 132, 160, 200, 250} {
		if kW*1e3 > 1.12*p.shaft {
			p.motor = kW * 1e3
			break
		}
	}
	p.volts, p.eta, p.cosPhi, p.magnet = made.OneOf(d, 400.0, 400, 460, 480, 575), d.Between(0.86, 0.94), d.Between(0.8, 0.88), d.Between(0.25, 0.45)
	p.rpm = made.OneOf(d, 1450, 1750, 2900, 3550, 2100)
	p.drive = made.OneOf(d, direct, direct, direct, belt, belt, belt, belt, driveFixed, driveSuction, driveFlow)
	p.speed, p.open = 1, 1
	mid := p.low + d.Between(0.2, 0.7)*(p.high-p.low)
	if p.drive < driveFixed {
		left := p.lift(p.flow, 1, p.rho) - p.suction - p.after*p.flow - mid
		share := min(1, p.flow/math.Sqrt(2*left/p.rho)/p.damper)
		p.open = 2 / math.Pi * math.Acos(1-share)
		p.open = math.Round(p.open*100) / 100
	} else {
		p.speed = p.spin(p.flow, p.suction+p.after*p.flow+mid+full, p.rho)
	}
}

// lift is what the fan gives [Pa] at a flow, speed and density; Euler's equation with losses, a parabola.
func (p *plant) lift(q, n, rho float64) float64 {
	x := q / p.flow
	return p.head * rho / standardAir * (p.fan[0]*n*n + p.fan[1]*n*x - p.fan[2]*x*x)
}

// spin is the speed at which the fan gives a pressure at a flow.
func (p *plant) spin(q, want, rho float64) float64 {
	x := q / p.flow
	w := want/(p.head*rho/standardAir) + p.fan[2]*x*x
	b := p.fan[1] * x
	return (math.Sqrt(b*b+4*p.fan[0]*w) - b) / 2 / p.fan[0]
}

// takes is the shaft power [W].
func (p *plant) takes(q, n, rho float64) float64 {
	x := q / p.flow / n
	return p.shaft * rho / standardAir * n * n * n * max(0.2, p.power[0]+p.power[1]*x-p.power[2]*x*x)
}

// amps is the motor's current: the load's beside the magnetising one.
func (p *plant) amps(shaft float64) float64 {
	full := p.motor / (math.Sqrt(3) * p.volts * p.eta * p.cosPhi)
	return math.Hypot(p.magnet*full, math.Sqrt(1-p.magnet*p.magnet)*full*shaft/p.motor)
}

// jets draws header, valves and compressor.
func (p *plant) jets(d made.Dice) {
	p.set = made.OneOf(d, 4.0*bar, 5*bar, 5.5*bar, 60*psi, 75*psi, 90*psi)
	p.drop = d.Between(0.12, 0.42)
	p.onTime = made.OneOf(d, 0.1, 0.1, 0.12, 0.15, 0.2)
	within := d.Between(0.3, 0.75) * min(p.interval, 25)
	p.lag = within / d.Between(4, 8)
	p.feed = p.drop * (p.set + p.ambient) / (within * 0.6)
	p.seep = d.Spread(3e-7, 3e-5)
	p.loads = p.set + d.Between(0.7, 1.8)*bar
	p.unloads = p.loads + d.Between(0.4, 1)*bar
	p.receiver = d.Spread(600, 6000)
	p.airOff = d.Chance(0.25)
	p.draw, p.bursts = d.Between(0.4, 0.85), made.OneOf(d, 0.0, 0, 0.3, 1, 3)*d.Float64()
}

// shop draws hours, jobs and the bin.
func (p *plant) shop(d made.Dice) {
	p.shifts = made.OneOf(d, 1, 1, 1, 2, 2, 3, 7)
	p.wild, p.idle, p.jobLength = d.Between(0.15, 0.65), d.Between(0.03, 0.4), d.Spread(0.3*hour, 3*hour)
	p.zero = 19000 + d.IntN(1100)
	p.weekday, p.season = (p.zero+3)%7, (p.zero+365-109)%365
	daily := p.loading * p.flow / p.bulk * hour * float64(map[int]int{1: 8, 2: 15, 3: 22, 7: 24}[p.shifts]) * 0.8
	p.rotary = daily > 0.8
	p.bin = max(0.04, daily*d.Spread(1.5, 14)/0.55)
	if p.rotary {
		p.bin = daily * d.Between(0.15, 1)
	}
	p.daily = daily
	p.trigger = d.Between(0.35, 0.6)
}
