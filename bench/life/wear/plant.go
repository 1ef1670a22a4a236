package wear

import (
	"math"
	"time"

	"dustwright/bench/causes/made"
	"dustwright/collector"
)

// Seconds in an hour, a day and a week; and pressures of the trade [Pa].
const (
	hour    = 3600.0
	day     = 24 * hour
	week    = 7 * day
	inWater = 249.089
	psi     = 6894.757
	bar     = 1e5
)

// The ways in which the airflow is looked after.
const (
	leftAlone = "left alone" // the damper stays where it was set
	trimmed   = "trimmed"    // somebody sets it again now and then
	held      = "held"       // a drive or a damper of its own holds the airflow
)

// plant is one machine and the people around it. Pressures are at design flow, in air of 20 degC at the site.
type plant struct {
	made.Dice
	epoch      time.Time
	flow       float64 // design [m3/s]
	rows       int
	perRow     int
	velocity   float64 // through the media at design flow [m/s]
	elevation  float64 // [m]
	media      float64 // dP of new media [Pa]
	seasoning  float64 // dP that the first weeks add [Pa]
	most       float64 // filters' max dP [Pa]
	flowDP     float64 // dP at which the open damper lets 95 % pass with the after-filter as it is halfway [Pa]
	low, high  float64 // set points [Pa]
	mode       collector.Mode
	downtime   int     // cycles after the fan stops
	wholeCycle bool    // the controller ends no cycle halfway
	interval   float64 // between pulses [s]
	strength   float64 // share of its cake that a pulse takes off a row
	resting    float64 // the same while the fan stands
	rise       float64 // of the dP at usual load and design flow, new filters [Pa/s]
	crowding   float64 // how much faster it rises on media half closed
	loading    float64 // [kg/m3]
	bulk       float64 // [kg/m3]
	after      float64 // after-filter, new [Pa]; 0 none
	afterMost  float64 // its most [Pa]
	afterOld   float64 // dP it has gained before the record begins [Pa]
	afterGain  float64 // that it gains in a running second at first [Pa/s]
	duct       float64 // loss of inlet and ducts [Pa]
	ductExp    float64
	open       float64 // loss of the open damper [Pa]
	shut       float64 // how fast it rises as it closes
	fanTop     float64 // pressure at no flow [Pa]
	fanEnd     float64 // flow at no pressure, in design flows
	fanBend    float64
	shaft      float64 // fan's power at design flow [W]
	volts      float64
	header     float64 // set pressure [Pa, gauge]
	headerDrop float64 // share of it that a pulse takes
	perPulse   float64 // air of one [m3 standard]
	supply     float64 // [m3/s standard]
	aim        string  // the limit meant to bind
	tending    string  // how the airflow is looked after
	hours      schedule
	kind       string  // usual way of ageing
	span       float64 // usual life [s]
	earlier    int     // sets of filters before the last
	writes     float64 // chance that a change is written down
	gauge      gauge
	moved      float64 // by how much the set points are moved once [Pa]; 0 never
	movedAt    float64 // share of the life at which
}

// when is the time of a second of the record.
func (p *plant) when(t float64) time.Time {
	return p.epoch.Add(time.Duration(t * float64(time.Second)))
}

// newPlant draws a machine.
func newPlant(d made.Dice) *plant {
	p := &plant{Dice: d, kind: drawKind(d), aim: drawAim(d), hours: drawSchedule(d), gauge: drawGauge(d)}
	zone := time.FixedZone("", 3600*made.OneOf(d, -8, -6, -5, 0, 1, 1, 2, 8))
	p.epoch = time.Date(2019, 1, 7, 0, 0, 0, 0, zone).AddDate(0, 0, 7*d.IntN(200))
	p.flow = d.Spread(0.6, 9)
	p.velocity = d.Between(0.006, 0.018)
	count := max(3, p.flow/p.velocity/d.Between(12, 25))
	p.perRow = max(int(math.Ceil(count/16)), made.OneOf(d, 1, 1, 2))
	p.rows = max(3, int(math.Ceil(count/float64(p.perRow))))
	p.elevation = max(0, d.Between(-300, 900))
	p.span = d.Spread(60*day, 950*day)
	if u := d.Float64(); u < 0.08 {
		p.earlier = 2
	} else if u < 0.28 {
		p.earlier = 1
	}
	if p.earlier > 0 {
		p.span = d.Spread(60*day, 500*day)
	}
	p.writes = made.OneOf(d, 0, 0.6, 1)
	p.filters()
	p.cleaning()
	p.afterfilter()
	p.path()
	return p
}

// odds is something with the chance that it or what stands before it is drawn.
type odds struct {
	upTo float64
	is   string
}

func drawn(d made.Dice, of ...odds) string {
	u := d.Float64()
	for _, o := range of {
		if u < o.upTo {
			return o.is
		}
	}
	return of[len(of)-1].is
}

func drawAim(d made.Dice) string {
	return drawn(d, odds{0.37, ByDP}, odds{0.68, ByFlow}, odds{0.92, ByAfterfilter}, odds{1, ByAir})
}

func drawKind(d made.Dice) string {
	return drawn(d, odds{0.26, Steady}, odds{0.46, Slowing}, odds{0.68, Late}, odds{0.85, Steps}, odds{1, TwoDust})
}

// filters draws media and limits.
func (p *plant) filters() {
	p.media = p.Spread(110, 230)
	p.seasoning = p.media * p.Between(0.2, 0.8)
	if p.Chance(0.5) {
		p.low = inWater * made.OneOf(p.Dice, 1.6, 2, 2, 2.2, 2.5)
		p.high = p.low + inWater*made.OneOf(p.Dice, 0.8, 1, 1.5, 2)
		p.most = inWater * made.OneOf(p.Dice, 5.0, 6, 6, 7)
	} else {
		p.low = made.OneOf(p.Dice, 400.0, 500, 500, 600)
		p.high = p.low + made.OneOf(p.Dice, 200.0, 250, 300, 400, 500)
		p.most = made.OneOf(p.Dice, 1200.0, 1250, 1500, 1500, 1800)
	}
	if p.aim != ByFlow && p.Chance(0.4) || p.Chance(0.15) { // set to clean late, as against dust that is fine
		rise := p.Between(0.2, 0.5) * (p.most - p.high)
		rise = math.Round(rise/0.1/inWater) * 0.1 * inWater
		p.low, p.high = p.low+1.2*rise, p.high+rise
		p.high = max(p.high, p.low+0.5*inWater)
	}
	p.most = max(p.most, 1.25*p.high)
	p.flowDP = p.most * p.Between(1.15, 1.8)
	if p.aim == ByFlow {
		p.flowDP = max(1.35*p.high, p.most*p.Between(0.62, 0.92))
	}
	if p.Chance(0.2) {
		p.moved = made.OneOf(p.Dice, -75.0, 0.25*inWater, 100, 0.5*inWater, 150)
		p.movedAt = p.Between(0.25, 0.8)
	}
}

// cleaning draws controller, pulses and how fast the cake grows.
func (p *plant) cleaning() {
	p.mode = collector.OnDemand
	p.interval = made.OneOf(p.Dice, 6.0, 8, 10, 10, 12, 15, 20)
	switch u := p.Float64(); {
	case u < 0.12 && p.aim != ByAir:
		p.mode = collector.Timed
		p.interval = made.OneOf(p.Dice, 20.0, 30, 30, 45, 60)
	case u < 0.2 && p.aim != ByAir:
		p.mode = collector.Continuous
	}
	if p.Chance(0.55) {
		p.downtime = 1 + p.IntN(6)
	}
	p.wholeCycle = p.Chance(0.3)
	p.strength = p.Between(0.35, 0.85)
	p.resting = p.Between(0.5, 0.9)
	p.crowding = p.Between(0.05, 0.35)
	cycle := p.interval * float64(p.rows) / p.strength
	most := min(0.35*(p.low-p.media-p.seasoning), 0.12*p.most) // of cake that endless cleaning leaves
	p.rise = min((p.high-p.low)/p.Spread(15*60, 6*hour), max(25, most)/cycle)
	if p.mode != collector.OnDemand {
		p.rise = p.Between(0.08, 0.2) * p.most / cycle
	}
	p.loading = 1e-3 * p.Spread(0.15, 1.5)
	p.bulk = p.Between(350, 1300)
	p.header = made.OneOf(p.Dice, 50.0, 60, 60, 70, 80, 90) * psi
	p.headerDrop = p.Between(0.12, 0.35)
}

// afterfilter draws one, or none. It is meant to bind before the filters do, or after.
func (p *plant) afterfilter() {
	if p.aim != ByAfterfilter && p.Chance(0.55) {
		return
	}
	p.after = inWater * p.Between(0.5, 1)
	p.afterMost = inWater * made.OneOf(p.Dice, 2.0, 2.5, 2.5, 3)
	if p.Chance(0.3) {
		p.afterOld = p.Between(0.05, 0.35) * (p.afterMost - p.after)
	}
	share := p.Between(1.3, 3)
	if p.aim == ByAfterfilter {
		share = p.Between(0.45, 0.95)
	}
	// a filter that clogs gains faster: the mean gain is about 1.2 of the first
	p.afterGain = (p.afterMost - p.after - p.afterOld) / (1.2 * share * p.span * p.hours.share())
}

// path draws ducts, damper and fan so that the flow is lost where it is meant to be.
func (p *plant) path() {
	p.duct = p.Between(500, 1100)
	p.ductExp = p.Between(1.85, 2)
	p.open = p.Between(40, 130)
	p.shut = p.Between(4, 6.5)
	p.fanEnd = p.Between(1.55, 2.1)
	p.fanBend = p.Between(1.9, 3.2)
	const x = leastFlow
	need := p.loss(x, p.flowDP, p.after+0.5*(p.afterMost-p.after)*b2f(p.after > 0), 1)
	p.fanTop = need / (1 - math.Pow(x/p.fanEnd, p.fanBend))
	p.shaft = p.flow * p.pressure(1) / p.Between(0.58, 0.72)
	p.volts = made.OneOf(p.Dice, 400.0, 400, 460, 480, 575)
	p.tending = drawn(p.Dice, odds{0.25, trimmed}, odds{0.4, held}, odds{1, leftAlone})
}

func b2f(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
