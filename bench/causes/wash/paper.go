package wash

import (
	"fmt"
	"math"
	"strings"

	"dustwright/bench/causes/made"
	"dustwright/collector"
)

// paper is a collector's file while somebody writes it from nameplates and the commissioning report.
type paper struct{ made.Sheet }

// about is a factor near 1.
func (w *paper) about(by float64) float64 { return 1 + by*max(-2, min(2, w.Dice.NormFloat64())) }

// file writes the collector's file.
func (p *plant) file(d made.Dice) (*collector.Collector, error) {
	w := &paper{made.Sheet{Dice: d}}
	most := max(made.OneOf(d, 5.0, 6, 8)*inWater, p.high+1.3*inWater)
	w.Line("tag = 'DC%d'\n[site]\nelevation = '%.0f m'\n[duty]\nflow = '%.0f m3/h'", 1+d.IntN(60), p.elevation, p.flow*hour*w.about(0.01))
	w.Maybe(0.85, "inlet_sp = '-%.0f Pa'", p.duct*w.about(0.03))
	w.Maybe(0.7, "loading = '%.3f g/m3'", 1e3*p.loading*d.Spread(0.5, 2))
	w.Maybe(0.7, "bulk_density = '%.0f kg/m3'", p.bulk*w.about(0.12))
	w.Line("[filters]\nrows = %d\nper_row = %d\narea_each = '%.2f m2'", p.rows, p.perRow, p.areaEach)
	w.Line("clean_dp = '%.0f Pa'\nmax_dp = '%.0f Pa'", p.media*p.face*w.about(0.06), most)
	if p.after > 0 {
		w.Line("[afterfilter]\nclean_dp = '%.0f Pa'\nmax_dp = '%.0f Pa'", p.after*w.about(0.05), 2.5*p.after)
	}
	p.fanPaper(w)
	p.tankPaper(w)
	w.Line("[setpoints]\nlow = '%.0f Pa'\nhigh = '%.0f Pa'\nalarm = '%.0f Pa'", p.low, p.high, min(most, p.high+d.Between(0.8, 2)*inWater))
	w.Line("[cleaning]\nmode = '%s'\ndowntime_cycles = %d", p.mode, p.downtime)
	if p.order[1] != 2 {
		w.Line("order = [%s]", strings.Trim(strings.ReplaceAll(fmt.Sprint(p.order), " ", ", "), "[]"))
	}
	w.Maybe(0.8, "[bin]\nvolume = '%.0f L'", 1e3*p.bin)
	return collector.Parse("wash.toml", []byte(w.String()))
}

// fanPaper writes the fan by its sheet, for standard air and full speed, the motor by its plate and the damper by what
// was measured with new filters.
func (p *plant) fanPaper(w *paper) {
	f, thick := &p.fan, 1.2/p.air
	gives, takes := w.about(0.012), w.about(0.03)
	var curve, power string
	for _, x := range []float64{0, 0.2, 0.4, 0.6, 0.8, 0.9, 1, 1.1, 1.25, 1.4, 1.6} {
		if head := thick * f.head(x, 1); head > 0 {
			curve += fmt.Sprintf("['%.0f m3/h', '%.0f Pa'], ", x*p.flow*hour, head*gives)
			power += fmt.Sprintf("['%.0f m3/h', '%.0f W'], ", x*p.flow*hour, f.power(x, 1)*thick*takes)
		}
	}
	w.Line("[fan]\nspeed = '%d rpm'\ndensity = '1.2 kg/m3'\ncurve = [%s]", 1200+10*w.Dice.IntN(230), curve)
	w.Maybe(0.85, "power = [%s]", power)
	full := f.current(f.motor)
	factor := f.motor / (math.Sqrt(3) * p.volts * full * f.eta)
	if factor > 0.98 || factor < 0.6 {
		factor = p.pf
	}
	w.Line("motor_power = '%.1f kW'\nvoltage = '%.0f V'\nfull_load_current = '%.1f A'\nmotor_efficiency = %.3f\npower_factor = %.2f", f.motor/1000, p.volts, full, f.eta, factor)
	if !p.drive.fitted && w.Dice.Chance(0.8) {
		w.Line("[damper]\npoints = [%s]", p.damperPaper())
	}
}

// damperPaper is what was measured with new filters at three places of the blade.
func (p *plant) damperPaper() string {
	var out string
	for _, open := range []float64{max(0.1, 0.7*p.open), p.open, 1} {
		m := &machine{p: p, on: true, x: 1, open: open, silt: 1, clog: 1, stretch: 1, belt: 1, density: p.air, hold: 1}
		m.bank.lets = p.area / p.media
		e := sound()
		m.settleFlow(&e, 1, 1)
		line := fmt.Sprintf("['%.0f %%', '%.0f m3/h', '%.0f Pa'], ", 100*open, m.x*p.flow*hour, p.media*p.face*m.x)
		if open < 0.99 || p.open < 0.97 || out == "" {
			out += line
		}
	}
	return out
}

// tankPaper writes the header. An open valve passes sound air, 13.2 Nm3/h for each Kv and bar (from memory).
func (p *plant) tankPaper(w *paper) {
	t := &p.tank
	w.Line("[header]\nset = '%.2f bar'\ninterval = '%.0f s'\non_time = '%.0f ms'", t.set/bar, p.interval, 1e3*p.onTime)
	takes := t.volume * (t.set + bar) / bar * (1 - math.Exp(-t.draw*(p.onTime+lag))) // free air a pulse [m3]
	w.Maybe(0.8, "volume = '%.1f L'\nvalve_flow = '%.2f Kv'", 1e3*t.volume, takes/(p.onTime+lag)*hour/(13.2*(t.set+bar)/bar)*w.about(0.08))
	w.Maybe(0.8, "supply_flow = '%.2f Nm3/h'", t.feed*t.volume/bar*hour*w.about(0.1)*0.93)
}
