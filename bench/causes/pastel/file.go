package pastel

import (
	"fmt"
	"math"
	"strings"

	"dustwright/collector"
)

// writer puts the lines of a collector's file together.
type writer struct {
	strings.Builder
	luck
}

func (w *writer) put(format string, args ...any) { fmt.Fprintf(w, format+"\n", args...) }

// perhaps writes what a plant knows with a chance.
func (w *writer) perhaps(known float64, format string, args ...any) {
	if w.once(known) {
		w.put(format, args...)
	}
}

// file is the collector's file. What is not on a nameplate is missing now and then, or an estimate.
func (p *plant) file(l luck) (*collector.Collector, error) {
	w := &writer{luck: l}
	most := max(1500, p.high+300)
	w.put("tag = 'DC-%02d'\n[site]\nelevation = '%.0f m'\n[duty]\nflow = '%.0f m3/h'", 1+l.IntN(40), p.elevation, p.design*hour)
	w.perhaps(0.9, "inlet_sp = '-%.0f Pa'", p.duct*p.air())
	w.perhaps(0.8, "loading = '%.3f g/m3'", 1e3*p.loading*l.octaves(0.6, 1.7))
	w.perhaps(0.85, "bulk_density = '%.0f kg/m3'", p.bulk*l.in(0.85, 1.15))
	w.put("[filters]\nrows = %d\nper_row = %d\narea_each = '%.3f m2'", p.rows, p.perRow, p.area/float64(p.rows*p.perRow))
	w.put("clean_dp = '%.0f Pa'\nmax_dp = '%.0f Pa'", p.media*p.face(), most)
	if p.after > 0 {
		w.put("[afterfilter]\nclean_dp = '%.0f Pa'\nmax_dp = '%.0f Pa'", p.after, 2.5*p.after)
	}
	p.fanFile(w)
	w.put("[header]\nset = '%.2f bar'\ninterval = '%.1f s'\non_time = '%.0f ms'", p.set/bar, p.interval, 1e3*p.onTime)
	w.perhaps(0.85, "volume = '%.1f L'\nvalve_flow = '%.2f Kv'", 1e3*p.tank, p.valve/perKv)
	supply := p.feed * (p.line + atmosphere) * choke((p.set+atmosphere)/(p.line+atmosphere), p.rim)
	w.perhaps(0.8, "supply_flow = '%.2f Nm3/h'", 0.9*supply*hour*l.in(0.9, 1.1))
	w.put("[setpoints]\nlow = '%.0f Pa'\nhigh = '%.0f Pa'\nalarm = '%.0f Pa'", p.low, p.high, min(most, p.high+l.in(200, 500)))
	w.put("[cleaning]\nmode = '%s'\ndowntime_cycles = %d\n[bin]\nvolume = '%.0f L'", p.mode, p.downtime, 1e3*p.bin)
	return collector.Parse("pastel.toml", []byte(w.String()))
}

// fanFile writes fan, motor and damper, as the maker's sheets and the commissioning have them.
func (p *plant) fanFile(w *writer) {
	var curve, power, points string
	for _, x := range []float64{0, 0.25, 0.5, 0.7, 0.85, 1, 1.15, 1.3, 1.45, 1.6} {
		if head := p.fanTop * (1 - p.fanFall*math.Pow(x, p.fanExp)); head > 0 {
			curve += fmt.Sprintf("['%.1f m3/h', '%.1f Pa'], ", x*p.design*hour, head)
			power += fmt.Sprintf("['%.1f m3/h', '%.1f W'], ", x*p.design*hour, p.shaft*(p.idle+(1-p.idle)*math.Pow(x, 0.9)))
		}
	}
	w.put("[fan]\nspeed = '%d rpm'\ndensity = '%.1f kg/m3'\ncurve = [%s]", 1450+w.IntN(1500), standardAir, curve)
	w.perhaps(0.9, "power = [%s]", power)
	w.put("motor_power = '%.0f W'\nvoltage = '%.0f V'\nfull_load_current = '%.2f A'", 1.25*p.shaft, p.volts, math.Hypot(p.amps(1.25*p.shaft), p.magnet))
	w.put("motor_efficiency = %.2f\npower_factor = %.2f", p.eta, p.amps(1.25*p.shaft)*p.cosPhi/math.Hypot(p.amps(1.25*p.shaft), p.magnet))
	if !w.once(0.85) {
		return
	}
	for _, open := range []float64{0.75 * p.open, p.open, 1} { // with new filters
		s, e := slot{open: open, density: p.air(), thick: 1}, sound()
		m := &machine{p: p, x: 1, after: p.after}
		m.balance(p.media*p.face(), &s, &e)
		points += fmt.Sprintf("['%.0f %%', '%.1f m3/h', '%.0f Pa'], ", 100*open, m.x*p.design*hour, p.media*p.face()*m.x)
	}
	w.put("[damper]\npoints = [%s]", points)
}
