package quill

import (
	"math"
	"math/rand/v2"
	"slices"

	"dustwright/collector"
	"dustwright/unit"
)

// trade is what one service asks of a collector: the figures typical of it. Plants spread around them (see vary).
type trade struct {
	service, dust  string
	speed, loading float64 // of the air through the media [m/s], of dust in it while they work [kg/m3]
	gap            float64 // from one cleaning on demand to the next [h]
	bursts, burst  float64 // of dust from one machine served [1/h], and the time constant of one [s]
	steady         float64 // share of the dust that comes without bursts
	machines       int     // served at most
	sticky, fines  float64 // how much harder damp cake comes off, 0 to 1; growth of the media's drag [of new media, in 100 days]
	heat, vapour   float64 // of the air above the hall [K], humidity the process adds [share]
	bulk           float64 // density in the bin [kg/m3]
	supply, care   float64 // compressed air over what the pulses need, share of jobs that are done when due
	shifts         []shift
}

// shift is when they work: the hour it begins, how long it lasts, days a week.
type shift struct{ from, hours, days float64 }

var day, two, twoSix, five, always = shift{7, 8.5, 5}, shift{6, 16, 5}, shift{5.5, 16.5, 6}, shift{0, 24, 5}, shift{0, 24, 7}

// trades lists the services a trainer has seen most of.
var trades = []trade{
	{"welding booths", "welding fume", 0.010, 0.15e-3, 7, 12, 90, 0.2, 8, 0.25, 0.5, 4, 0, 500, 2.2, 0.5, []shift{day, two, two}},
	{"plasma table", "mild-steel cutting fume", 0.012, 0.6e-3, 3, 9, 150, 0.05, 2, 0.2, 0.4, 9, 0, 900, 1.8, 0.5, []shift{day, two, twoSix}},
	{"wood shop", "sanding and saw dust", 0.017, 1.6e-3, 2.5, 20, 60, 0.3, 8, 0.45, 0.15, 2, 0, 220, 1.4, 0.4, []shift{day, day, two}},
	{"bag dump station", "filler powder", 0.011, 2.5e-3, 2, 6, 45, 0.05, 3, 0.65, 0.2, 1, 0.03, 650, 2.5, 0.6, []shift{day, two, always}},
	{"abrasive blasting room", "blasting dust", 0.013, 2.2e-3, 1.6, 3, 600, 0.1, 2, 0.3, 0.25, 2, 0, 1500, 1.2, 0.4, []shift{day, day, two}},
	{"grinding benches", "grinding dust", 0.014, 0.5e-3, 6, 15, 40, 0.15, 8, 0.2, 0.15, 2, 0, 1800, 1.8, 0.4, []shift{day, two, two}},
	{"powder coating booth", "coating powder overspray", 0.015, 1.2e-3, 1.3, 4, 500, 0.3, 2, 0.35, 0.2, 3, 0, 550, 2, 0.8, []shift{day, two, twoSix}},
	{"tablet press room", "pharmaceutical powder", 0.009, 0.4e-3, 9, 4, 240, 0.5, 4, 0.7, 0.3, 1, 0.05, 500, 3, 0.95, []shift{two, five, always}},
}

// vary draws a value around a typical one, with so much spread that two in three lie within a factor of 1 + spread.
func vary(r *rand.Rand, typical, spread float64) float64 {
	return typical * math.Pow(1+spread, max(-2.5, min(2.5, r.NormFloat64())))
}

// between draws a value from a range, all alike.
func between(r *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }

// either is a where a condition holds, and b where not.
func either[T any](is bool, a, b T) T {
	if is {
		return a
	}
	return b
}

// pick draws one of a list.
func pick[T any](r *rand.Rand, of ...T) T { return of[r.IntN(len(of))] }

// rig is a collector as it was built. The air's way is a mesh: the fan a source, ducts and damper resistances that grow
// with the flow, rows of filters and after-filter plain resistances.
type rig struct {
	trade
	hours                        shift
	rows, perRow, served         int     // served: machines at the hoods
	area, flow                   float64 // media of one row [m2], design [m3/s]
	height, density              float64 // above the sea [m], of the air usual there [kg/m3]
	duct, after                  float64 // of ducts and inlet [Pa s2/m6 at that density], of a new after-filter [Pa s/m3], 0 none
	gate, turn                   float64 // of the damper fully open, and how fast that grows as it closes
	lift, reach, hump            float64 // fan pressure at no flow [Pa], flow at no pressure [m3/s], and the curve's hump
	shaft, rpm                   float64 // power at design [W]
	volts, motor, amps, factor   float64 // rated: power [W], current [A], power factor
	media, cake, season          float64 // drag of new media [Pa s/m], of cake [Pa s m/kg], growth by seasoning [of new media]
	pull, back                   float64 // 1 - exp(-pull) of dry cake comes off in a good pulse, a share of it goes to other rows
	mode                         string
	low, high, interval          float64 // set points [Pa], from pulse to pulse [s]
	order                        []int
	downtime                     int     // cycles after the fan stops
	tank, set, feed              float64 // header [m3], its regulator [Pa gauge], conductance of its supply [m3/s]
	valve, onTime, lag           float64 // of a pulse valve [m3/s], of a pilot [s], and how much longer the valve stays open [s]
	receiver, load, unload, make float64 // [m3], where the compressor begins and stops to bring air [Pa gauge], how much [Pa m3/s]
	bin                          float64 // [m3]
}

// build draws a collector of any service, whose set points will do until its filters are so old [d].
func build(r *rand.Rand, oldest float64) *rig {
	g := &rig{trade: pick(r, trades...)}
	g.hours, g.served = pick(r, g.shifts...), 1+r.IntN(g.machines)
	g.loading, g.gap, g.fines = vary(r, g.loading, 0.4), vary(r, g.gap, 0.4), vary(r, g.fines, 0.3)
	g.rows, g.perRow = 2+int(15*math.Pow(r.Float64(), 1.4)), pick(r, 1, 1, 2, 2, 3)
	speed := min(vary(r, g.speed, 0.2), 0.0195)
	g.area = vary(r, 18, 0.3) * float64(g.perRow)
	g.flow = speed * g.area * float64(g.rows)
	g.height = math.Round(900 * r.Float64() * r.Float64())
	g.density = 1.2 * math.Exp(-g.height/8400)
	g.buildCloth(r, speed, oldest)
	g.buildFan(r)
	g.buildAir(r)
	g.bin = max(0.1, math.Round(15*g.loading*g.flow*g.hours.hours*3600*between(r, 6, 25)/g.bulk)/10) // so many days to two thirds
	return g
}

// buildCloth chooses media and set points, and a cake that goes from one to the other in the gap between cleanings.
func (g *rig) buildCloth(r *rand.Rand, speed, oldest float64) {
	g.media, g.season = vary(r, 175, 0.2)/speed, between(r, 0.7, 1.5)
	g.pull, g.back = between(r, 1.1, 1.9), between(r, 0.1, 0.3)
	tenth := 0.1 * unit.InchWater
	worst := g.media * speed * (1 + g.grown(oldest))
	g.low = math.Round(worst*between(r, 1.2, 1.5)/tenth) * tenth
	g.high = g.low + math.Round(between(r, 6, 18))*tenth
	g.mode, g.interval = "on-demand", pick(r, 8.0, 10, 10, 12, 15, 20)
	if u := r.Float64(); u < 0.06 {
		g.mode, g.interval, g.gap = "continuous", pick(r, 15.0, 20, 30, 45), 0.4*g.gap
	} else if u < 0.2 {
		g.mode, g.interval, g.gap = "timed", pick(r, 30.0, 60, 60, 90, 120), 0.4*g.gap
	}
	g.cake = (g.high - g.low) / (g.loading * speed * speed * g.gap * 3600)
	g.order = r.Perm(g.rows)
	if r.Float64() < 0.7 {
		slices.Sort(g.order)
	}
	g.downtime = pick(r, 0, 0, 1, 2, 3, 5)
}

// buildFan gives a fan that holds design flow up to the high set point and somewhat more.
func (g *rig) buildFan(r *rand.Rand) {
	q, inlet := g.flow, between(r, 550, 1050)
	g.duct = inlet / (q * q)
	g.gate, g.turn = between(r, 90, 180)/(q*q), between(r, 3.5, 5.5)
	if r.Float64() < 0.6 {
		g.after = between(r, 170, 280) / q
	}
	need := inlet + g.high*between(r, 1.1, 1.3) + 1.8*g.after*q + g.gate*q*q
	g.reach, g.hump = q/between(r, 0.55, 0.7), between(r, 0.05, 0.4)
	g.lift = 1
	g.lift = need / g.fan(q, 1)
	g.shaft = need * q / between(r, 0.62, 0.74)
	g.motor = 1e3 * math.Pow(1.3, math.Ceil(math.Log(1.04e-3*g.power(g.reach, 1))/math.Log(1.3))) // the next in a row of sizes
	g.rpm, g.volts, g.factor = pick(r, 1480.0, 1760, 2950, 3540), pick(r, 400.0, 415, 460, 480, 575), between(r, 0.82, 0.89)
	g.amps = g.motor / (math.Sqrt(3) * g.volts * motorEfficiency * g.factor)
}

// grown returns what so many days have added to the media's drag [of new media].
func (g *rig) grown(days float64) float64 {
	return g.season/3*math.Log(1+1.5*days/g.season) + g.fines*days/100
}

// fan returns the fan's pressure [Pa] at a flow [m3/s] and a share of its speed, in air of the usual density.
func (g *rig) fan(q, speed float64) float64 {
	x := q / g.reach
	return g.lift * (speed*speed + g.hump*speed*x - (1+g.hump)*x*x)
}

// power returns what the fan takes at the shaft [W], likewise.
func (g *rig) power(q, speed float64) float64 {
	of := func(x float64) float64 { return 0.4 + 0.8*x - 0.25*x*x }
	speed = max(speed, 0.01)
	return g.shaft * speed * speed * speed * of(q/g.reach/speed) / of(g.flow/g.reach)
}

// buildAir sizes header, valves and supply: a pulse takes a fifth to a half of the header's air, which is back well before
// the next.
func (g *rig) buildAir(r *rand.Rand) {
	g.set = pick(r, 60.0, 60, 70, 80, 90) * unit.Psi
	g.onTime, g.lag = pick(r, 0.08, 0.1, 0.1, 0.15, 0.2), between(r, 0.02, 0.08)
	g.valve = vary(r, 0.035, 0.3) * math.Sqrt(float64(g.perRow))
	spent := between(r, 0.15, 0.4)
	g.tank = g.valve * (g.onTime + g.lag) / -math.Log(1-spent)
	g.feed = g.tank / (min(g.interval, 15) * between(r, 0.1, 0.2))
	g.load, g.unload = g.set+between(r, 0.5e5, 1.2e5), g.set+between(r, 1.7e5, 2.2e5)
	g.make = (g.set + atmosphere) * spent * g.tank / g.interval * vary(r, 3*g.supply, 0.3)
	g.receiver = g.make / 1e5 * between(r, 25, 70)
}

// file writes the collector's file as the plant has it: catalogue figures instead of the machine's own, readings of the
// day it was commissioned, and holes where nobody knows.
func (g *rig) file(r *rand.Rand) (*collector.Collector, error) {
	c := collector.New()
	about := func(v, spread float64) float64 { return round(v * (1 + spread*r.NormFloat64())) }
	known := func(v float64) float64 { return v * pick(r, 1, 1, 1, 1, 1, 1, 1, 1, 1, math.NaN()) }
	c.Tag, c.Service, c.Duty.Dust = "Q-1", g.service, g.dust
	c.Site.Elevation, c.Duty.Flow = unit.Length(known(g.height)), unit.Flow(round(g.flow))
	c.Duty.Loading, c.Duty.BulkDensity = unit.Concentration(known(about(g.loading, 0.15))), unit.Density(known(about(g.bulk, 0.1)))
	c.Duty.RunPerWeek = unit.Seconds(math.Round(g.hours.hours*g.hours.days) * 3600)
	c.Duty.MinDuctVelocity, c.Duty.InletSP = unit.Velocity(pick(r, 16.0, 17.5, 18, 20)), unit.Pressure(-about(g.duct*g.flow*g.flow, 0.02))
	c.Filters.Rows, c.Filters.PerRow, c.Filters.AreaEach = g.rows, g.perRow, unit.Area(round(g.area/float64(g.perRow)))
	c.Filters.CleanDP = unit.Pressure(about(g.media*g.flow/g.area/float64(g.rows), 0.04))
	c.Filters.MaxDP = unit.Pressure(round(max(6*unit.InchWater, g.high+2*unit.InchWater)))
	if g.after > 0 {
		c.AfterFilter = collector.AfterFilter{Fitted: true, CleanDP: unit.Pressure(about(g.after*g.flow, 0.04)), MaxDP: 2.5 * unit.InchWater}
	}
	g.fileFan(c, r)
	c.Header = collector.Header{Volume: unit.Volume(round(g.tank)), Set: unit.Pressure(g.set),
		OnTime: unit.Seconds(g.onTime), Interval: unit.Seconds(g.interval), ValveFlow: unit.Conductance(known(about(g.valve/atmosphere, 0.08))),
		SupplyFlow: unit.StdFlow(known(about(g.feed*(0.5*g.set)/atmosphere, 0.2)))}
	c.SetPoints = collector.SetPoints{Low: unit.Pressure(g.low), High: unit.Pressure(g.high), Alarm: unit.Pressure(g.high + unit.InchWater)}
	c.Cleaning = collector.Cleaning{Mode: collector.Mode(g.mode), DowntimeCycles: g.downtime}
	for _, v := range g.order {
		c.Cleaning.Order = append(c.Cleaning.Order, v+1)
	}
	c.Bin.Volume = unit.Volume(g.bin)
	return c, c.Validate()
}

// fileFan writes fan and damper.
func (g *rig) fileFan(c *collector.Collector, r *rand.Rand) {
	gain := 1 + 0.015*math.Abs(r.NormFloat64()) // no fan does better than its catalogue
	c.Fan.Speed, c.Fan.Density = unit.Speed(g.rpm/60), unit.Density(g.density)
	for _, x := range []float64{0, 0.2, 0.35, 0.5, 0.6, 0.7, 0.8, 0.9} {
		q := x * g.reach
		c.Fan.Curve = append(c.Fan.Curve, collector.FanPoint{Flow: unit.Flow(q), Pressure: unit.Pressure(round(gain * g.fan(q, 1)))})
		c.Fan.Power = append(c.Fan.Power, collector.FanPower{Flow: unit.Flow(q), Power: unit.Power(round(gain * g.power(q, 1)))})
	}
	c.Fan.MotorPower, c.Fan.Voltage, c.Fan.FullLoadCurrent = unit.Power(round(g.motor)), unit.Voltage(g.volts), unit.Current(round(g.amps))
	c.Fan.MotorEfficiency, c.Fan.PowerFactor = motorEfficiency, unit.Share(math.Round(100*g.factor)/100)
	m := newMachine(g)
	for _, open := range []float64{0.3, 0.55, 1} {
		m.speed, m.open = 1, open
		w := m.flows()
		c.Damper.Points = append(c.Damper.Points, collector.DamperPoint{Open: unit.Share(open),
			Flow: unit.Flow(round(w.fan * (1 + 0.003*r.NormFloat64()))), FilterDP: unit.Pressure(round(w.filters))})
	}
}

// round keeps three digits, as a person would write a figure down.
func round(v float64) float64 {
	step := math.Pow(10, math.Floor(math.Log10(math.Abs(v)+1e-9))-2)
	return math.Round(v/step) * step
}
