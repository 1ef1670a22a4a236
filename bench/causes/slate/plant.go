package slate

import (
	"fmt"
	"math"
	"strings"

	"dustwright/bench/causes/made"
	"dustwright/collector"
)

const (
	atmosphere = 101325.0
	bar        = 1e5
	hourSec    = 3600.0
)

// plant is one collector as built. Flows are shares of the design flow, resistances the Pa they take at it.
type plant struct {
	rows, downtime     int     // downtime: cycles after the fan stops
	design, area       float64 // airflow [m3/s]; media of all rows [m2]
	mode               collector.Mode
	interval           float64    // between pulses [s]
	low, high, set     float64    // [Pa]
	media, stays       float64    // of new media; what stays in it once seasoned, above that
	season, ageing     float64    // dust passed until 63 % seasoned [kg/m2]; growth of what stays, a kg/m2 passed
	passed             float64    // when the log begins [kg/m2]
	cake, layer        float64    // what a layer of that many kg/m2 takes
	dustExp, speedExp  float64    // powers of areal dust and velocity
	loading            float64    // dust in the air at full production [kg/m3]
	best, least, width float64    // cleaning effect: share at very high pressure; threshold and width of the curve [Pa]
	fallsBack          float64    // share of the dust cleaned off that lands on the row below
	uneven             []float64  // of rows and valves
	fan                [3]float64 // pressure = fan[0] + fan[1] x + fan[2] x2
	duct, damper, open float64    // open: damper position as commissioned
	after, afterGrowth float64    // after-filter, 0 none; growth a second of running
	take               float64    // share of its absolute pressure the header loses in a pulse
	recovery, supply   float64    // time constant [s] and greatest rise [Pa/s] of the header
	amps, ampsShare    float64    // at design flow; share of it at no flow
	voltage, cosPhi    float64
	binVolume, bulk    float64 // [m3], [kg/m3]
	emission, puff     float64 // of sound filters [% of the detector's range]; what a pulse adds
	elevation, air     float64 // [m]; density there, share of standard air's
	emptyAt            float64 // fill of the bin
}

// flux is the dust a square metre gets a second at design flow and full production.
func (p *plant) flux() float64 { return p.loading * p.design / p.area }

// newPlant draws a machine. What belongs together is drawn as ratios, so that a sound one keeps its design flow between
// its set points.
func newPlant(d made.Dice) *plant {
	p := &plant{rows: 2 + d.IntN(19), mode: collector.OnDemand, interval: made.OneOf(d, 6.0, 8, 10, 10, 12, 15, 20, 30)}
	switch u := d.Float64(); {
	case u < 0.14:
		p.mode, p.interval = collector.Timed, d.Between(40, 240)
	case u < 0.24:
		p.mode, p.interval = collector.Continuous, d.Between(12, 45)
	}
	p.downtime = made.OneOf(d, 0, 0, 1, 2, 3, 5)
	p.design = d.Spread(0.35, 1.1) * math.Sqrt(float64(p.rows))
	p.area = p.design / d.Between(0.006, 0.017)
	p.low, p.set = d.Between(420, 800), d.Between(3.8, 6.4)*bar
	p.high = p.low + d.Between(160, 480)
	p.media, p.loading = d.Between(80, 230), d.Spread(1.5e-4, 2.5e-3)
	p.stays = p.low*d.Between(0.5, 0.78) - p.media
	p.best, p.least, p.width = d.Between(0.45, 0.92), d.Between(1, 2.3)*bar, d.Between(0.7, 2)*bar
	p.fallsBack = d.Between(0.05, 0.3)
	p.dustExp, p.speedExp = d.Between(0.8, 1.2), d.Between(0.95, 1.3)
	p.cake = (p.high - p.low) * d.Between(0.9, 1.1)
	p.layer = p.flux() * d.Spread(0.12, 4) * hourSec
	if p.mode != collector.OnDemand {
		p.cake = p.low*d.Between(1, 1.35) - p.media - p.stays
		p.layer = p.flux() * float64(p.rows) * p.interval / p.effect(p.set)
	}
	p.season = max(0.3, p.layer) * d.Between(3, 15)
	p.ageing = d.Between(0, 0.12) / (p.flux() * 2000 * hourSec)
	if !d.Chance(0.2) {
		p.passed = p.season * d.Between(2, 8)
	}
	for range p.rows {
		p.uneven = append(p.uneven, 1+0.05*d.NormFloat64())
	}
	p.duct, p.damper = d.Between(450, 1100), d.Between(450, 1000)
	if d.Chance(0.55) {
		p.after, p.afterGrowth = d.Between(120, 260), d.Between(0, 0.08)/hourSec
	}
	p.elevation = d.Between(0, 900)
	p.air = math.Exp(-p.elevation / 8400)
	design := p.duct + p.damper + (p.after+(p.low+p.high)/2)/p.air // what the fan has to give
	shut, wide := design*d.Between(1.15, 1.32), design*d.Between(0.45, 0.65)
	square := (wide - shut - 1.5*(design-shut)) / 0.75 // through no flow, design flow and one and a half of it
	p.fan = [3]float64{shut, design - shut - square, square}
	p.open, p.take = d.Between(0.3, 0.6), d.Between(0.06, 0.2)
	p.recovery = min(p.interval, 40) * d.Between(0.12, 0.35)
	p.supply = p.take * (p.set + atmosphere) / min(p.interval, 30) * d.Between(1.5, 5)
	p.voltage, p.cosPhi, p.ampsShare = made.OneOf(d, 400.0, 460, 480), d.Between(0.8, 0.9), d.Between(0.3, 0.6)
	p.amps = design * p.design / d.Between(0.5, 0.68) / 0.9 / (math.Sqrt(3) * p.voltage * p.cosPhi)
	p.binVolume, p.bulk = d.Between(0.12, 0.3)*p.design, d.Between(350, 1400)
	p.emission, p.puff = d.Between(2, 12), d.Between(0.5, 8)
	p.emptyAt = d.Between(0.3, 0.65)
	return p
}

// effect is the share of a row's dust a pulse of this header pressure takes off: nothing below the threshold.
func (p *plant) effect(pressure float64) float64 {
	return p.best * -math.Expm1(-max(0, pressure-p.least)/p.width)
}

// fanPressure is that of the fan at a share of its speed.
func (p *plant) fanPressure(x, speed float64) float64 {
	return p.fan[0]*speed*speed + p.fan[1]*x*speed + p.fan[2]*x*x
}

// current is linear in the flow, with an offset that goes with the load of a fan in still air.
func (p *plant) current(x, speed, density float64) float64 {
	return p.amps * density * speed * speed * (p.ampsShare + (1-p.ampsShare)*x)
}

// file writes the collector's file, which leaves out now and then what a plant does not know.
func (p *plant) file(d made.Dice) (*collector.Collector, error) {
	var s strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&s, format+"\n", args...) }
	maybe := func(known float64, format string, args ...any) {
		if d.Chance(known) {
			line(format, args...)
		}
	}
	perRow := made.OneOf(d, 1, 1, 2, 2, 3)
	limit := max(1500, p.high+250)
	line("tag = 'SL-%d'\n[site]\nelevation = '%.0f m'\n[duty]\nflow = '%.0f m3/h'\ninlet_sp = '-%.0f Pa'", 1+d.IntN(60), p.elevation, p.design*hourSec, p.duct*p.air)
	maybe(0.85, "loading = '%.3f g/m3'\nbulk_density = '%.0f kg/m3'", 1e3*p.loading*d.Between(0.7, 1.3), p.bulk)
	line("[filters]\nrows = %d\nper_row = %d\narea_each = '%.3f m2'\nclean_dp = '%.0f Pa'\nmax_dp = '%.0f Pa'", p.rows, perRow, p.area/float64(p.rows*perRow), p.media, limit)
	if p.after > 0 {
		line("[afterfilter]\nclean_dp = '%.0f Pa'\nmax_dp = '%.0f Pa'", p.after, 2.5*p.after)
	}
	watts := math.Sqrt(3) * p.voltage * p.cosPhi * 0.9 // at the shaft, an ampere
	var curve, power, damper string
	for _, x := range []float64{0, 0.3, 0.5, 0.7, 0.85, 1, 1.15, 1.3, 1.5, 1.7} {
		curve += fmt.Sprintf("['%.1f m3/h', '%.1f Pa'], ", x*p.design*hourSec, p.fanPressure(x, 1))
		power += fmt.Sprintf("['%.1f m3/h', '%.1f W'], ", x*p.design*hourSec, watts*p.current(x, 1, 1))
	}
	line("[fan]\nspeed = '%d rpm'\ndensity = '1.2 kg/m3'\ncurve = [%s]\npower = [%s]", 1400+d.IntN(2100), curve, power)
	line("motor_power = '%.0f W'\nvoltage = '%.0f V'\nfull_load_current = '%.2f A'\nmotor_efficiency = 0.9\npower_factor = %.2f", 1.3*watts*p.amps, p.voltage, 1.3*p.amps, p.cosPhi)
	for _, open := range []float64{0.7 * p.open, p.open, 1} { // what new filters leave
		h := hour{duct: 1, open: open, speed: 1, density: p.air}
		x := p.flowThrough(&h, p.media, p.after)
		damper += fmt.Sprintf("['%.0f %%', '%.1f m3/h', '%.0f Pa'], ", 100*open, x*p.design*hourSec, p.media*math.Pow(x, p.speedExp))
	}
	maybe(0.8, "[damper]\npoints = [%s]", damper)
	free := p.take * (p.set + atmosphere) / atmosphere // header volumes of free air a pulse takes
	volume, onTime := 0.012*p.area/float64(p.rows)/free, d.Between(0.08, 0.2)
	line("[header]\nset = '%.2f bar'\ninterval = '%.0f s'\non_time = '%.0f ms'", p.set/bar, p.interval, 1e3*onTime)
	maybe(0.85, "volume = '%.1f L'\nvalve_flow = '%.1f Kv'", 1e3*volume, 0.0125*free*volume*atmosphere/onTime*hourSec/(p.set+atmosphere))
	maybe(0.85, "supply_flow = '%.2f Nm3/h'", p.supply*volume/atmosphere*hourSec)
	line("[setpoints]\nlow = '%.0f Pa'\nhigh = '%.0f Pa'\nalarm = '%.0f Pa'", p.low, p.high, min(limit, p.high+d.Between(250, 500)))
	line("[cleaning]\nmode = '%s'\ndowntime_cycles = %d\n[bin]\nvolume = '%.0f L'", p.mode, p.downtime, 1e3*p.binVolume)
	return collector.Parse("slate.toml", []byte(s.String()))
}
