package tint

import (
	"fmt"
	"math"

	"dustwright/bench/causes/made"
	"dustwright/collector"
)

// file writes the collector's file. Its figures are a catalogue's or those of the day the machine was set up, which are
// off by some per cent.
func (m *machine) file(d made.Dice) (*collector.Collector, error) {
	p := &made.Sheet{Dice: d}
	off := func(by float64) float64 { return 1 + by*d.Between(-1, 1) }
	perRow := made.OneOf(d, 1, 1, 2, 2, 3)
	limit := max(6*inWater, m.high+1.2*inWater)
	p.Line("tag = 'DC-%d'\n[site]\nelevation = '%.0f m'\n[duty]\nflow = '%.0f m3/h'", 1+d.IntN(90), m.elevation, m.flow*hourSec)
	p.Maybe(0.85, "inlet_sp = '-%.0f Pa'", m.duct*off(0.05))
	p.Maybe(0.75, "loading = '%.3f g/m3'", 1e3*m.loading*d.Spread(0.6, 1.7))
	p.Maybe(0.8, "bulk_density = '%.0f kg/m3'", m.bulk*off(0.15))
	p.Line("[filters]\nrows = %d\nper_row = %d\narea_each = '%.3f m2'\nclean_dp = '%.0f Pa'\nmax_dp = '%.0f Pa'", m.rows, perRow, m.area/float64(m.rows*perRow), m.media*off(0.12), limit)
	if m.after > 0 {
		p.Line("[afterfilter]\nclean_dp = '%.0f Pa'\nmax_dp = '%.0f Pa'", m.after*off(0.08), 2.5*m.after)
	}
	m.fileFan(p, off(0.03), off(0.04))
	m.fileTank(p)
	p.Line("[setpoints]\nlow = '%.2f in.w.g.'\nhigh = '%.2f in.w.g.'\nalarm = '%.2f in.w.g.'", m.low/inWater, m.high/inWater, min(limit, m.high+1.2*inWater)/inWater)
	p.Line("[cleaning]\nmode = '%s'\ndowntime_cycles = %d", m.mode, m.downtime)
	p.Maybe(0.8, "[bin]\nvolume = '%.0f L'", 1e3*m.bin)
	return collector.Parse("tint.toml", []byte(p.String()))
}

// fileFan writes the fan by its catalogue and the damper by what was measured with new filters.
func (m *machine) fileFan(p *made.Sheet, presses, takes float64) {
	watts := math.Sqrt(3) * m.volts * 0.85 * 0.9 // at the shaft, an ampere
	var curve, power, damper string
	for _, x := range []float64{0, 0.3, 0.5, 0.7, 0.85, 1, 1.15, 1.3, 1.5} {
		curve += fmt.Sprintf("['%.0f m3/h', '%.0f Pa'], ", x*m.flow*hourSec, presses*max(0.02*m.fan[0], m.fan[0]+m.fan[1]*x-m.fan[2]*x*x))
		power += fmt.Sprintf("['%.0f m3/h', '%.0f W'], ", x*m.flow*hourSec, takes*watts*m.current(x, 1, m.air)/m.air)
	}
	p.Line("[fan]\nspeed = '%d rpm'\ndensity = '1.2 kg/m3'\ncurve = [%s]", 1400+p.Dice.IntN(2100), curve)
	p.Maybe(0.8, "power = [%s]", power)
	p.Line("motor_power = '%.0f W'\nvoltage = '%.0f V'\nfull_load_current = '%.1f A'\nmotor_efficiency = 0.9\npower_factor = 0.85", 1.35*watts*m.amps, m.volts, 1.35*m.amps)
	pointer := made.OneOf(p.Dice, 1, 1, 1, 0.92, 1.08) // it was set anew since
	for _, open := range []float64{0.65 * m.open, m.open, 1} {
		h := hour{duct: 1, open: open, speed: 1, density: m.air}
		x := m.wind(&h, m.media, m.after)
		damper += fmt.Sprintf("['%.0f %%', '%.0f m3/h', '%.0f Pa'], ", 100*min(1, pointer*open), x*m.flow*hourSec, m.across(m.media, x))
	}
	p.Maybe(0.75, "[damper]\npoints = [%s]", damper)
}

// fileTank writes the header by its maker's figures.
func (m *machine) fileTank(p *made.Sheet) {
	free := m.drops / bar // header volumes of free air a pulse takes
	volume, onTime := 0.012*m.area/float64(m.rows)/free, made.OneOf(p.Dice, 0.1, 0.1, 0.15, 0.2)
	p.Line("[header]\nset = '%.0f psi'\ninterval = '%.0f s'\non_time = '%.0f ms'", m.set/psi, m.interval, 1e3*onTime)
	p.Maybe(0.8, "volume = '%.1f L'\nvalve_flow = '%.1f Kv'", 1e3*volume, p.Dice.Between(0.85, 1.1)*0.0125*free*volume*bar/onTime*hourSec/(m.set+bar))
	p.Maybe(0.8, "supply_flow = '%.1f Nm3/h'", p.Dice.Between(2.2, 4)*m.drops/min(m.interval, 40)*volume/bar*hourSec)
}
