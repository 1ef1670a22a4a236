package etch

import (
	"math"
	"math/rand/v2"
	"time"

	"dustwright/collector"
	"dustwright/unit"
)

const (
	mostRows = 16
	atm      = 101325.0
	rho0     = 1.2 // of the air the fan curve and the losses are given at [kg/m3]
	onDemand = collector.OnDemand
)

// bench is a made-up machine: what it is built of, how it is set and what it lives through.
type bench struct {
	rows, perRow int
	area         float64 // of a row [m2]
	flow         float64 // design [m3/s]
	loading      float64 // dust in the air at design flow [kg/m3]
	bulk         float64 // [kg/m3]

	media, plateau float64           // drag of new and of seasoned filters [Pa s/m]
	seasoning      float64           // dust passed that takes the drag two thirds of the way [kg/m2]
	creep          float64           // of the drag with dust passed [Pa s/m per kg/m2]
	k2             float64           // specific resistance of the cake [1/s]
	venturi        float64           // loss of row outlets, in the gauge's dP [Pa s2/m6]
	share          [mostRows]float64 // dust to a row over its share of the air
	lift           float64           // share of a cake that a full pulse takes off
	knee           float64           // how strong a pulse must be
	onLine         float64           // loss of a pulse's effect against design filtering
	fallback       float64           // share of what comes off that settles again

	inlet, cabinet float64 // losses of hoods and ducts, and from the tap into the cabinet [Pa s2/m6]
	fitted         bool    // after-filter
	after          float64 // its drag when new [Pa s/m3]
	afterRise      float64 // rise of that per kg of dust through the filters' pores
	pores          float64 // share of the dust that passes

	head, most float64 // fan's shut-off pressure and largest flow
	shaft      float64 // scale of its power [W]
	motor      float64 // rated [W]
	volts, eff float64
	cosphi     float64
	rpm        float64
	magnet     float64 // no-load share of the full-load current
	open, law  float64 // damper's loss when open [Pa s2/m6], and exponent
	trim       float64 // opening at the start

	volume, set, onTime, interval float64
	valve                         float64 // conductance of a pulse valve [m3/s/Pa]
	supply, droop                 float64 // of the regulator at the set pressure [m3/s]; [Pa]
	unsteady                      float64 // share of the line's fall by which the regulator's outlet rises
	plant                         float64 // compressor line [Pa gauge]
	mode                          collector.Mode
	low, high, gap                float64 // set points [Pa]; pause of timed cleaning [s]
	forced                        float64 // longest time between cleanings [s]; 0 none
	whole                         bool    // a cleaning ends with its last row
	down                          int     // cleaning rounds after the fan stops
	order                         []int
	bin                           float64 // [m3]
	emptyAt                       float64 // fill at which somebody empties it
	elevation                     float64
	thin                          float64 // density of the air there over that of the fan curve

	step, every, end float64 // fixed step, row interval and length [s]
	start            time.Time
	fresh            bool // the log begins with new filters
	hours            hours
	events           []event
	story            string
	way              trouble
	seed             uint64
}

func span(r *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }

// decades draws evenly over the logarithm.
func decades(r *rand.Rand, lo, hi float64) float64 { return lo * math.Pow(hi/lo, r.Float64()) }

func pick[T any](r *rand.Rand, of ...T) T { return of[r.IntN(len(of))] }

// lay draws a machine.
func lay(r *rand.Rand) *bench {
	b := &bench{rows: 2 + r.IntN(mostRows-4), perRow: pick(r, 1, 1, 2, 2, 3, 4), seed: r.Uint64()}
	speed := span(r, 0.0065, 0.0185) // through the media
	each := pick(r, 8.5, 12, 15, 19, 21, 24, 29)
	b.area = each * float64(b.perRow)
	b.flow = speed * b.area * float64(b.rows)
	b.loading = decades(r, 1.2e-4, 1.8e-3)
	b.bulk = span(r, 350, 1400)
	b.elevation = pick(r, 0.0, 40, 120, 260, 410, 690, 1100) * span(r, 0.8, 1.2)
	b.thin = atm * math.Exp(-b.elevation/8430) / 287 / 293.15 / rho0
	b.filters(speed, r)
	b.air(r)
	b.header(r)
	b.clock(r)
	return b
}

// filters draws media, cake, set points and cleaning.
func (b *bench) filters(speed float64, r *rand.Rand) {
	clean := span(r, 90, 240)
	b.media = clean * 0.9 / speed
	b.venturi = clean * 0.1 / (b.flow * b.flow)
	b.plateau = b.media * span(r, 1.35, 2.9)
	floor := b.plateau*speed + clean*0.1
	b.low = math.Round((floor*span(r, 1.12, 1.45)+30)/25) * 25
	b.low = max(b.low, math.Ceil(clean*1.3/25)*25)
	b.high = b.low + math.Round(span(r, 110, 560)/25)*25
	rise := decades(r, 0.35, 14) * 3600
	cake := b.loading * speed * rise // gathered from low to high
	b.k2 = min(max((b.high-b.low)/speed/cake, 4e4), 4e6)
	b.seasoning = cake * decades(r, 15, 120)
	b.creep = (b.plateau - b.media) / b.seasoning * decades(r, 1e-4, 4e-3)
	b.lift = span(r, 0.3, 0.72)
	b.knee = span(r, 0.25, 1.6)
	b.onLine = span(r, 0.1, 0.35)
	b.fallback = span(r, 0.12, 0.42)
	tilt := span(r, -0.18, 0.28)
	for i := range b.rows {
		b.share[i] = 1 + tilt*(2*(float64(i)+0.5)/float64(b.rows)-1) + 0.04*r.NormFloat64()
	}
	b.pores = decades(r, 4e-5, 6e-4)
	if b.fitted = r.Float64() < 0.55; b.fitted {
		fresh := span(r, 120, 280)
		b.after = fresh / b.flow
		month := b.loading * b.flow * b.pores * 350 * 3600 // dust through in a month of running
		b.afterRise = span(r, 25, 85) / b.flow / month
	}
}

// air draws ducts, fan and damper so that the design flow is held until the filters reach the high set point.
func (b *bench) air(r *rand.Rand) {
	q2 := b.flow * b.flow * b.thin
	suction := span(r, 380, 1350)
	b.inlet = suction / q2
	b.cabinet = span(r, 25, 130) / q2
	middle := (b.low + b.high) / 2
	spare := (b.high-middle)*1.2 + span(r, 130, 640) // what the damper takes at the middle dP
	total := suction + b.cabinet*q2 + middle + b.after*b.flow + spare
	x := span(r, 0.44, 0.66)
	b.most = b.flow / x
	b.head = total / curve(x) / b.thin
	best := span(r, 0.58, 0.76)
	b.shaft = b.head * b.most * 0.4 / best / 0.815
	need := b.shaft * power(min(1, x*1.25)) * b.thin / 1000
	for _, kw := range []float64{1.5, 2.2, 3, 4, 5.5, 7.5, 11, 15, 18.5, 22, 30, 37, 45, 55, 75, 90, 110, 132} {
		b.motor = kw * 1000
		if kw > need {
			break
		}
	}
	b.volts = pick(r, 400.0, 400, 415, 460, 480, 575)
	b.eff, b.cosphi = span(r, 0.87, 0.94), span(r, 0.81, 0.89)
	b.rpm = pick(r, 1470.0, 1765, 2210, 2640, 2925, 3540)
	b.magnet = span(r, 0.3, 0.46)
	b.law = span(r, 1.7, 3.1)
	b.open = spare * span(r, 0.06, 0.2) / q2
	b.trim = b.opening(middle)
}

// opening is the damper's place for design flow with so much across the filters.
func (b *bench) opening(filters float64) float64 {
	q2 := b.flow * b.flow * b.thin
	left := b.thin*b.head*curve(b.flow/b.most) - (b.inlet+b.cabinet)*q2 - filters - b.after*b.flow
	return min(1, max(0.08, math.Pow(b.open*q2/max(left, 1), 1/b.law)))
}

// curve is the fan's pressure over its shut-off pressure, power its shaft power over its scale, at a share of the
// largest flow.
func curve(x float64) float64 { return 1 + 0.1*x - 1.1*x*x }
func power(x float64) float64 { return 0.42 + 0.95*x - 0.45*x*x }

// header draws the compressed air and the controller.
func (b *bench) header(r *rand.Rand) {
	b.set = pick(r, 4.0, 4.2, 4.5, 5, 5, 5.5, 6, 6.2) * 1e5
	b.volume = decades(r, 0.012, 0.14)
	b.onTime = pick(r, 0.08, 0.1, 0.1, 0.12, 0.15, 0.2)
	b.interval = pick(r, 6.0, 8, 10, 10, 12, 15, 20, 30)
	drop := span(r, 0.1, 0.4)
	b.valve = -math.Log(1-drop) * b.volume / (atm * b.onTime)
	air := drop * (b.set + atm) * b.volume / atm // of a pulse, at ambient pressure
	b.supply = air / b.interval * span(r, 1.5, 4)
	b.droop = span(r, 5e3, 28e3)
	b.unsteady = span(r, 0.01, 0.14)
	b.plant = b.set + span(r, 0.7e5, 2.2e5)
	switch u := r.Float64(); {
	case u < 0.16:
		b.mode = collector.Timed
	case u < 0.2:
		b.mode = collector.Continuous
	default:
		b.mode = onDemand
	}
	b.gap = b.interval
	if b.mode == onDemand && r.Float64() < 0.25 {
		b.forced = span(r, 3, 24) * 3600
	}
	b.whole = r.Float64() < 0.35
	b.down = pick(r, 0, 0, 0, 1, 2, 3)
	for i := range b.rows {
		b.order = append(b.order, i+1)
	}
	if r.Float64() < 0.25 { // odd rows before even ones
		b.order = b.order[:0]
		for first := 1; first <= 2; first++ {
			for i := first; i <= b.rows; i += 2 {
				b.order = append(b.order, i)
			}
		}
	}
	if b.mode != onDemand {
		b.interval = pick(r, 15.0, 20, 30, 45, 60, 90)
		b.gap = b.interval
		// nobody times a machine whose cake would not stay down
		round := b.loading * b.flow / b.area / float64(b.rows) * b.gap * float64(b.rows)
		most := (b.high - b.low) * 0.8 / (b.flow / b.area / float64(b.rows)) / b.k2
		b.k2 *= min(1, most/(round/(b.lift*(1-b.fallback))))
	}
}

// clock draws the length, the rows and the working hours.
func (b *bench) clock(r *rand.Rand) {
	days := span(r, 20, 120)
	switch u := r.Float64(); {
	case u < 0.06:
		b.every, days = 10, span(r, 20, 24)
	case u < 0.12:
		b.every, days = 15, span(r, 20, 32)
	case u < 0.22:
		b.every, days = 30, span(r, 20, 50)
	case u < 0.56:
		b.every, days = 60, span(r, 20, 95)
	case u < 0.64:
		b.every = 120
	case u < 0.88:
		b.every = 300
	default:
		b.every = pick(r, 600.0, 900)
	}
	b.step = min(20, b.every)
	if b.every == 30 {
		b.step = 15
	}
	b.start = time.Date(2024, time.Month(1+r.IntN(12)), 1+r.IntN(28), 0, 0, 0, 0, time.UTC)
	b.fresh = r.Float64() < 0.22
	b.end = math.Floor(days)*day + span(r, 13.2, 16.8)*3600
	b.end = math.Floor(b.end/b.every) * b.every
	b.hours = work(b, r)
	for b.hours.idleAt(b.end) { // somebody looks while it runs
		b.end -= 600
	}
	b.end = math.Floor(b.end/b.every) * b.every
	week := 7 * day * b.hours.share(b.end)
	yard := b.loading * b.flow * week / b.bulk // dust of a week [m3]
	for _, v := range []float64{0.02, 0.05, 0.1, 0.208, 0.4, 0.75, 1.5, 3, 6} {
		b.bin = v
		if v > yard*0.8 {
			break
		}
	}
	b.emptyAt = span(r, 0.35, 0.66)
}

// file is what the plant knows of the machine.
func (b *bench) file() (*collector.Collector, error) {
	c := collector.New()
	c.Tag, c.Source = "E-1", "E-1.toml"
	c.Site.Elevation = unit.Length(math.Round(b.elevation))
	c.Duty.Flow = unit.Flow(b.flow)
	c.Duty.Loading = unit.Concentration(b.loading)
	c.Duty.BulkDensity = unit.Density(b.bulk)
	c.Duty.RunPerWeek = unit.Seconds(math.Round(168*b.hours.share(b.end)) * 3600)
	c.Duty.InletSP = unit.Pressure(-b.inlet * b.flow * b.flow * b.thin)
	c.Filters.Rows, c.Filters.PerRow = b.rows, b.perRow
	c.Filters.AreaEach = unit.Area(b.area / float64(b.perRow))
	clean := b.media*b.flow/(b.area*float64(b.rows)) + b.venturi*b.flow*b.flow*b.thin
	c.Filters.CleanDP = unit.Pressure(clean)
	c.Filters.MaxDP = unit.Pressure(max(1500, b.high*1.3))
	if b.fitted {
		c.AfterFilter.Fitted = true
		c.AfterFilter.CleanDP, c.AfterFilter.MaxDP = unit.Pressure(b.after*b.flow), unit.Pressure(650)
	}
	c.Fan.Speed, c.Fan.Density = unit.Speed(b.rpm/60), unit.Density(rho0)
	for _, x := range []float64{0.05, 0.2, 0.33, 0.46, 0.58, 0.7, 0.82, 0.95} {
		c.Fan.Curve = append(c.Fan.Curve, collector.FanPoint{Flow: unit.Flow(x * b.most), Pressure: unit.Pressure(b.head * curve(x))})
		c.Fan.Power = append(c.Fan.Power, collector.FanPower{Flow: unit.Flow(x * b.most), Power: unit.Power(b.shaft * power(x))})
	}
	c.Fan.MotorPower, c.Fan.Voltage = unit.Power(b.motor), unit.Voltage(b.volts)
	c.Fan.FullLoadCurrent = unit.Current(b.fullLoad())
	c.Fan.MotorEfficiency, c.Fan.PowerFactor = unit.Share(b.eff), unit.Share(b.cosphi)
	for _, at := range []float64{0.35, 0.6, 1} {
		s := state{after: b.after, damper: at, sticky: 1}
		for i := range b.rows {
			s.drag[i] = b.media
		}
		s.solve(b, unharmed(), b.thin)
		c.Damper.Points = append(c.Damper.Points, collector.DamperPoint{Open: unit.Share(at), Flow: unit.Flow(s.q), FilterDP: unit.Pressure(s.dp)})
	}
	c.Header = collector.Header{Volume: unit.Volume(b.volume), Set: unit.Pressure(b.set), OnTime: unit.Seconds(b.onTime),
		Interval: unit.Seconds(b.interval), ValveFlow: unit.Conductance(b.valve), SupplyFlow: unit.StdFlow(b.supply)}
	c.SetPoints = collector.SetPoints{Low: unit.Pressure(b.low), High: unit.Pressure(b.high), Alarm: unit.Pressure(min(b.high+500, max(1500, b.high*1.25)))}
	c.Cleaning = collector.Cleaning{Mode: b.mode, Order: b.order, DowntimeCycles: b.down}
	c.Bin.Volume = unit.Volume(b.bin)
	return c, c.Validate()
}

func (b *bench) fullLoad() float64 { return b.motor / (math.Sqrt(3) * b.volts * b.eff * b.cosphi) }
