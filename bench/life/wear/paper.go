package wear

import (
	"fmt"
	"math"

	"dustwright/bench/causes/made"
	"dustwright/collector"
)

// scfm is one standard cubic foot a minute [m3/s standard].
const scfm = 4.719474e-4

// paper writes the collector's file and settles what the supply of compressed air has to be. It fails where the file's
// own check calls something wrong that nobody would have built.
func (p *plant) paper() (*collector.Collector, error) {
	text := p.sheet()
	c, err := collector.Parse("wear.toml", []byte(text+fmt.Sprintf("[header]\n%s", p.tank())))
	if err != nil {
		return nil, err
	}
	use, err := c.AirUse(collector.NewAirRequest())
	if err != nil {
		return nil, err
	}
	p.perPulse = float64(use.PerPulse)
	p.supply = p.perPulse / p.interval / float64(collector.AirLimit) * p.Between(1.2, 3)
	if p.aim == ByAir {
		p.supply = p.perPulse / p.interval / float64(collector.AirLimit) * p.Between(0.8, 0.96)
	}
	tank := p.tank()
	if p.aim == ByAir || p.Chance(0.8) {
		tank += fmt.Sprintf("supply_flow = '%.3f scfm'\n", p.supply/scfm)
	}
	p.perPulse *= math.Exp(0.03 * p.NormFloat64())
	c, err = collector.Parse("wear.toml", []byte(text+"[header]\n"+tank))
	if err != nil {
		return nil, err
	}
	for _, f := range c.Check() {
		scarce := p.aim == ByAir && (f.ID == "air-short" || f.ID == "header-recovery")
		if f.Weight == collector.Wrong && !scarce {
			return nil, fmt.Errorf("wear: the file has %s: %s", f.ID, f.Text)
		}
	}
	return c, nil
}

// tank writes the header by its maker's figures.
func (p *plant) tank() string {
	area := p.flow / p.velocity
	free := 0.0012 * area / float64(p.rows) // a pulse takes about a litre of free air for a m2
	volume := free / p.headerDrop / ((p.header + bar) / bar)
	const onTime = 0.12
	kv := 273 * p.headerDrop * volume / onTime // choked, 13.2 m3/h of free air for each Kv and bar absolute, from memory
	return fmt.Sprintf("volume = '%.1f L'\nset = '%.0f psi'\non_time = '%.0f ms'\ninterval = '%.0f s'\nvalve_flow = '%.1f Kv'\n",
		1e3*volume, p.header/psi, 1e3*onTime, p.interval, max(0.5, kv))
}

// sheet writes everything but the header. Figures that were measured once are some per cent off.
func (p *plant) sheet() string {
	w := &made.Sheet{Dice: p.Dice}
	w.Line("tag = 'DC-%d'", 1+p.IntN(60))
	w.Maybe(0.9, "[site]\nelevation = '%.0f m'", p.elevation)
	w.Line("[duty]\nflow = '%.4f m3/s'", p.flow)
	w.Maybe(0.7, "loading = '%.3f g/m3'", 1e3*p.loading*p.Spread(0.6, 1.7))
	w.Maybe(0.75, "bulk_density = '%.0f kg/m3'", p.bulk*p.Between(0.85, 1.15))
	w.Line("inlet_sp = '-%.0f Pa'", p.duct*p.Between(0.96, 1.04))
	w.Maybe(0.95, "hours_per_week = %.0f", 168*p.hours.share())
	w.Line("[filters]\nrows = %d\nper_row = %d\narea_each = '%.3f m2'", p.rows, p.perRow, p.flow/p.velocity/float64(p.rows*p.perRow))
	w.Line("clean_dp = '%.0f Pa'\nmax_dp = '%.2f in.w.g.'", min(p.low-10, p.media*p.Between(0.9, 1.12)), p.most/inWater)
	if p.after > 0 {
		w.Line("[afterfilter]\nclean_dp = '%.0f Pa'\nmax_dp = '%.2f in.w.g.'", p.after*p.Between(0.95, 1.05), p.afterMost/inWater)
	}
	p.fanSheet(w)
	low, high := p.low, p.high
	if p.moved != 0 && p.Chance(0.6) { // brought up to date since
		low, high = low+p.moved, high+p.moved
	}
	w.Line("[setpoints]\nlow = '%.3f in.w.g.'\nhigh = '%.3f in.w.g.'\nalarm = '%.2f in.w.g.'", low/inWater, high/inWater, min(p.most, high+inWater*1.5)/inWater)
	w.Line("[cleaning]\nmode = '%s'\ndowntime_cycles = %d", p.mode, p.downtime)
	w.Maybe(0.6, "[bin]\nvolume = '%.0f L'", 80*p.flow)
	w.Maybe(0.5, "[cost]\nlead_time = '%d days'", 5+p.IntN(25))
	return w.String()
}

// fanSheet writes fan, motor and damper.
func (p *plant) fanSheet(w *made.Sheet) {
	off := 1.0
	if p.Chance(0.25) {
		off = made.OneOf(p.Dice, 0.95, 1.05)
	}
	var curve, power, damper string
	for _, x := range []float64{0, 0.3, 0.55, 0.75, 0.9, 1, 1.1, 1.25, 1.4, 0.96 * p.fanEnd} {
		curve += fmt.Sprintf("['%.4f m3/s', '%.1f Pa'], ", x*p.flow, off*p.pressure(x)/p.thin())
		power += fmt.Sprintf("['%.4f m3/s', '%.1f W'], ", x*p.flow, p.brake(x)/p.thin())
	}
	w.Line("[fan]\nspeed = '%d rpm'\ndensity = '1.2 kg/m3'\ncurve = [%s]", 1450+p.IntN(2000), curve)
	w.Maybe(0.8, "power = [%s]", power)
	rated := 1.4 * p.shaft
	w.Line("motor_power = '%.0f W'\nvoltage = '%.0f V'\nfull_load_current = '%.2f A'", rated, p.volts, p.amps(rated))
	w.Line("motor_efficiency = %.2f\npower_factor = %.3f", motorEff, rated/(math.Sqrt(3)*p.volts*motorEff*p.amps(rated)))
	if p.tending == held && p.Chance(0.6) || p.Chance(0.2) {
		return
	}
	for _, open := range []float64{0.35, 0.6, 1} {
		x := p.blow(1, p.media, p.after, open, airState{1, 1})
		damper += fmt.Sprintf("['%.0f %%', '%.4f m3/s', '%.0f Pa'], ", 100*open, x*p.flow, p.media*x)
	}
	w.Line("[damper]\npoints = [%s]", damper)
}

// motorEff is the motor's efficiency.
const motorEff = 0.91

// thin is the site's air density at 20 degC against the curve's 1.2 kg/m3; the atmosphere thins by a ninth in a
// kilometre (from memory).
func (p *plant) thin() float64 { return math.Exp(-p.elevation/8430) * 1.199 / 1.2 }

// brake is the fan's power at the shaft in the site's air at 20 degC [W].
func (p *plant) brake(x float64) float64 { return p.shaft * (0.42 + 0.68*x - 0.1*x*x*x) }

// amps is the motor's current: the part that does work, and the magnetising part at right angles to it.
func (p *plant) amps(shaft float64) float64 {
	per := shaft / (math.Sqrt(3) * p.volts * motorEff)
	return math.Hypot(per, 0.5*1.4*p.shaft/(math.Sqrt(3)*p.volts*motorEff))
}
