package wash

import (
	"math"

	"dustwright/bench/causes/made"
	"dustwright/collector"
)

const (
	hour    = 3600.0
	day     = 86400.0
	bar     = 1e5
	zeroC   = 273.15
	atm     = 101325.0
	inWater = 249.08891
	psi     = 6894.757
)

// strips is in how many bands of unlike grip a row's media is cut.
const strips = 5

// plant is a collector as it was built and set. Pressures of the air's way are at design flow [Pa].
type plant struct {
	rows, perRow   int
	areaEach, area float64 // [m2]
	flow, face     float64 // [m3/s], [m/s]
	media          float64 // new [Pa s/m]
	season         float64 // share by which media settle in
	seasonBy       float64 // within so much dust [kg/m2]
	creep          float64 // drag that never comes back, for each kg/m2 [Pa m s/kg]
	loading        float64 // [kg/m3]
	bulk           float64 // [kg/m3]
	cake           float64 // drag of a kg/m2 [Pa m s/kg]
	load           float64 // cake from low to high [kg/m2]
	grip           [strips]float64
	uneven, bias   []float64 // each row's media, and the dust it is dealt
	back           float64   // share of what a pulse throws that is drawn back
	hygro          float64   // how readily the cake takes up moisture
	breath         float64   // what gets through, for the leak detector

	duct, can, after, open0 float64 // open0 is the damper's loss fully open
	bladeBy                 float64 // decades of loss from open to shut
	open                    float64 // where the damper was left
	fan                     fan
	drive                   drive
	elevation, baro, air    float64 // [m], [Pa], design density [kg/m3]
	silts                   float64 // how readily the duct lets dust drop

	tank      tankSize
	order     []int
	mode      collector.Mode
	interval  float64
	onTime    float64
	low, high float64
	whole     bool // a pass is always finished
	restarts  bool // each cleaning begins at the first valve
	downtime  int
	ownSwitch bool    // the controller has a gauge of its own
	ticks     float64 // how fast its clock goes

	bin       float64 // [m3]
	binDays   int     // emptied every so many days, 0 when it looks full
	indoors   bool
	heat      float64 // that the work puts into the air [K]
	steam     float64 // and into its dew point [K]
	volts, pf float64
	people    people
	ages      float64 // by which share of new the after-filter's loss rises in a second's running

	drawsOutside bool
}

// drive is a fan's drive that somebody or a loop sets.
type drive struct {
	fitted bool
	holds  bool    // the inlet's suction, by its own speed
	speed  float64 // of full speed
}

func newPlant(d made.Dice) *plant {
	p := &plant{rows: made.OneOf(d, 3, 4, 4, 5, 6, 6, 8, 8, 10, 12, 12, 16, 20, 24), perRow: made.OneOf(d, 1, 1, 2, 2, 3, 4),
		areaEach: made.OneOf(d, 6.5, 9, 10, 15, 20, 22.3), face: d.Between(6, 15) / 1000, bulk: d.Spread(250, 2200),
		loading: d.Spread(0.15, 5) / 1000, season: d.Between(0.4, 1.3), back: d.Between(0.05, 0.45), hygro: d.Between(0, 1),
		indoors: d.Chance(0.5), drawsOutside: d.Chance(0.15), breath: d.Spread(0.4, 3), silts: d.Float64()}
	p.area = float64(p.rows*p.perRow) * p.areaEach
	p.flow = p.face * p.area
	p.heat, p.steam = made.OneOf(d, 0, 0, 4, 10, 25.0), made.OneOf(d, 0, 0, 0, 2, 4.0)
	p.elevation = d.Between(0, 900)
	p.baro = atm * math.Exp(-p.elevation/8400)
	p.air = p.baro / 287.05 / (zeroC + 20)
	p.media = d.Between(110, 230) / p.face
	p.points(d)
	hours := d.Spread(0.6, 14)
	p.load = p.loading * p.face * hours * hour
	p.cake = (p.high - p.low) / p.face / p.load
	p.seasonBy = p.load * d.Between(8, 60)
	p.creep = 0.3 * p.high / p.face / (p.load * d.Between(600, 3000))
	p.gripsOf(d)
	p.cleaner(d, hours)
	p.airWay(d)
	p.tank = newTankSize(d, p)
	p.bin = max(0.03, p.loading*p.flow*d.Spread(45, 400)*hour/p.bulk)
	p.binDays = made.OneOf(d, 0, 0, 1, 2, 3, 5, 7)
	p.people = newPeople(d)
	p.tune(d)
	return p
}

// points sets the controller as one trade or another would.
func (p *plant) points(d made.Dice) {
	p.mode = collector.OnDemand
	switch u := d.Float64(); {
	case u < 0.14:
		p.mode = collector.Timed
	case u < 0.2:
		p.mode = collector.Continuous
	}
	clean := p.media * p.face * (1 + p.season)
	p.low = max(d.Between(1.5, 3.5)*inWater, 1.3*clean)
	p.high = p.low + d.Between(0.6, 2)*inWater
	switch d.IntN(3) {
	case 0:
		p.low, p.high = round(p.low, 50), round(p.high, 50)
	case 1:
		p.low, p.high = round(p.low, inWater/4), round(p.high, inWater/4)
	}
}

// gripsOf deals how hard the cake holds on, band by band, and how unlike the rows are.
func (p *plant) gripsOf(d made.Dice) {
	mid, wide := d.Between(0.15, 0.5), d.Between(0.35, 0.9)
	for j, z := range [strips]float64{-1.28, -0.52, 0, 0.52, 1.28} {
		p.grip[j] = p.load * mid * math.Exp(wide*z)
	}
	tilt := d.Between(-0.25, 0.25)
	for i := range p.rows {
		p.uneven = append(p.uneven, math.Exp(0.07*d.NormFloat64()))
		p.bias = append(p.bias, 1+tilt*(2*float64(i)/float64(p.rows-1)-1))
	}
}

// cleaner sets how it pulses.
func (p *plant) cleaner(d made.Dice, hours float64) {
	p.interval = made.OneOf(d, 5.0, 8, 10, 10, 12, 15, 20, 30)
	switch p.mode {
	case collector.Timed:
		p.interval = round(min(240, max(10, hours*hour/float64(p.rows)*d.Between(0.3, 1))), 5)
	case collector.Continuous:
		p.interval = made.OneOf(d, 10.0, 15, 20, 30, 45)
	}
	p.onTime = made.OneOf(d, 0.08, 0.1, 0.1, 0.12, 0.15, 0.2)
	p.whole, p.restarts, p.ownSwitch = d.Chance(0.4), d.Chance(0.25), d.Chance(0.2)
	p.downtime = made.OneOf(d, 0, 0, 1, 2, 3, 5)
	p.ticks = 1 + max(-0.008, min(0.008, 0.002*d.NormFloat64()))
	for i := range p.rows {
		p.order = append(p.order, i+1)
	}
	if d.Chance(0.15) { // every other one, so that the neighbour isn't thrown at
		p.order = p.order[:0]
		for i := 1; i <= p.rows; i += 2 {
			p.order = append(p.order, i)
		}
		for i := 2; i <= p.rows; i += 2 {
			p.order = append(p.order, i)
		}
	}
}

// airWay chooses the fan for the losses and trims the damper halfway between the set points.
func (p *plant) airWay(d made.Dice) {
	p.duct, p.can, p.open0 = d.Between(500, 1600), d.Between(10, 70), d.Between(30, 110)
	if d.Chance(0.45) {
		p.after = d.Between(120, 260)
		p.ages = d.Spread(0.15, 1) * inWater / 4 / p.after / (20 * day)
	}
	need := p.duct + p.can + 1.6*p.after + 1.25*p.high + p.open0
	p.fan = newFan(d, need*d.Between(1.03, 1.35), p)
	p.bladeBy = d.Between(1.8, 3.2)
	mid := (p.low + p.high) / 2
	spare := p.fan.head(1, 1) - (p.duct + 1.2*p.after + mid)
	p.open = min(1, max(0.12, 1-math.Log10(max(spare, p.open0)/p.open0)/p.bladeBy))
	if p.drive.fitted = d.Chance(0.25); p.drive.fitted {
		p.drive.holds, p.open = d.Chance(0.5), 1
		want := p.duct + 1.2*p.after + mid + p.open0
		p.drive.speed = 1
		for range 40 {
			if p.fan.head(1, p.drive.speed) > want {
				p.drive.speed -= 0.01
			}
		}
	}
	p.volts, p.pf = made.OneOf(d, 400.0, 400, 460, 480), d.Between(0.8, 0.88)
}

// tune lets the machine find its feet: where a day's cleaning would not bring the dP down, the dust is one that lets go
// more easily, since nobody would have built it so.
func (p *plant) tune(d made.Dice) {
	share := d.Between(0.03, 0.25)
	for range 6 {
		b := newBank(p, 4*p.seasonBy)
		busy, top := b.settle(p)
		if busy < share && (p.mode != collector.OnDemand || top < 1.05*p.high) {
			return
		}
		for j := range p.grip {
			p.grip[j] *= 0.75
		}
	}
}

func round(v, step float64) float64 { return math.Round(v/step) * step }
