package fold

import (
	"fmt"
	"math/rand/v2"
	"strings"

	"dustwright/collector"
	"dustwright/unit"
)

// page writes a collector file.
type page struct {
	strings.Builder
	g *rand.Rand
}

// table begins a table.
func (p *page) table(name string) { fmt.Fprintf(p, "\n[%s]\n", name) }

// maybe writes a key that is known with a probability.
func (p *page) maybe(chance float64, key, value string) {
	if happens(p.g, chance) {
		fmt.Fprintf(p, "%s = %s\n", key, value)
	}
}

// off is a number that is some per cent wrong.
func (p *page) off(x, share float64) float64 { return x * (1 + share*clamp(p.g.NormFloat64(), -2, 2)) }

func quote(x float64, form, name string) string { return fmt.Sprintf(`"`+form+` `+name+`"`, x) }

// paper is the collector file somebody wrote for the machine: mostly right, some of it out of a catalogue, some of
// it left out.
func (m *mill) paper(g *rand.Rand, r *run) (*collector.Collector, error) {
	p := &page{g: g}
	full := pickOne(g, 1, 0.95, 0.85, 0.6) // how much of it people know
	fmt.Fprintf(p, "tag = \"F-%d\"\nservice = \"%s\"\n", 1+g.IntN(40), pickOne(g, "robot welding cell", "blast room", "powder coating booth", "grinding benches", "laser table", "bag dump station", "mixer and screen", "foundry shake-out", "wood sanding line"))
	p.table("site")
	p.maybe(0.8*full, "elevation", quote(m.sky.elevation, "%.0f", "m"))
	p.table("duty")
	fmt.Fprintf(p, "flow = %s\n", quote(to(m.flow/cfm, 1), "%.0f", "cfm"))
	p.maybe(0.5*full, "loading", quote(p.off(m.conc*1e3, 0.25), "%.2f", "g/m3"))
	p.maybe(0.7*full, "bulk_density", quote(p.off(m.bin.bulk, 0.06), "%.0f", "kg/m3"))
	p.maybe(0.7*full, "hours_per_week", fmt.Sprintf("%.0f", min(168, r.cal.hours/r.days*7)))
	p.maybe(0.5*full, "min_duct_velocity", quote(pickOne(g, 3500.0, 4000, 4500), "%.0f", "ft/min"))
	p.maybe(0.85*full, "inlet_sp", quote(-p.off(m.suck, 0.03)/inch, "%.2f", "in.w.g."))
	p.table("filters")
	fmt.Fprintf(p, "rows = %d\nper_row = %d\narea_each = %s\n", m.rows, m.perRow, quote(m.each, "%.1f", "m2"))
	v := m.flow / m.area / float64(m.rows)
	p.maybe(0.9*full, "clean_dp", quote(p.off(v*m.cloth.media+v*v*m.cloth.throat, 0.07)/inch, "%.2f", "in.w.g."))
	p.maybe(0.9*full, "max_dp", quote(max(6, m.timer.high/inch+1.5), "%.1f", "in.w.g."))
	p.maybe(0.7*full, "installed", r.start.AddDate(0, 0, -int(m.installed)).Format("2006-01-02"))
	if m.after > 0 {
		p.table("afterfilter")
		p.maybe(0.9*full, "clean_dp", quote(p.off(m.after*m.flow, 0.05)/inch, "%.2f", "in.w.g."))
		p.maybe(0.9*full, "max_dp", quote(max(2.5, m.after*m.flow*3.2/inch), "%.1f", "in.w.g."))
	}
	p.fan(m, full)
	p.header(m, full)
	p.table("setpoints")
	fmt.Fprintf(p, "low = %s\nhigh = %s\n", quote(m.timer.low/inch, "%.1f", "in.w.g."), quote(m.timer.high/inch, "%.1f", "in.w.g."))
	p.maybe(0.7, "alarm", quote(max(6, m.timer.high/inch+1.5), "%.1f", "in.w.g."))
	p.table("cleaning")
	fmt.Fprintf(p, "mode = \"%s\"\n", m.timer.mode)
	p.maybe(0.7*full, "order", strings.ReplaceAll(fmt.Sprint(m.timer.order), " ", ", "))
	p.maybe(0.8*full, "downtime_cycles", fmt.Sprint(m.timer.downtime))
	p.table("bin")
	p.maybe(0.8*full, "volume", quote(m.bin.volume*1000, "%.0f", "L"))
	for i, share := range m.branches {
		if len(m.branches) > 1 && full > 0.8 {
			q := share * m.flow
			fmt.Fprintf(p, "\n[[branch]]\nname = \"hood %d\"\ndiameter = %s\nlength = %s\nflow = %s\n", i+1,
				quote(bore(q), "%.0f", "in"), quote(between(g, 4, 22), "%.0f", "m"), quote(q/cfm, "%.0f", "cfm"))
		}
	}
	return collector.Parse("fold.toml", []byte(p.String()))
}

// bore is the diameter of a duct in which dust stays afloat [in].
func bore(q float64) float64 {
	for d := 3.0; d < 48; d++ {
		if a := 0.7854 * d * d * unit.Inch * unit.Inch; q/a < 21 {
			return d
		}
	}
	return 48
}

// fan writes fan, motor and damper.
func (p *page) fan(m *mill, full float64) {
	p.table("fan")
	p.maybe(0.9, "density", `"0.075 lb/ft3"`)
	p.maybe(0.9, "speed", quote(pickOne(p.g, 1770.0, 2400, 2950, 3550), "%.0f", "rpm"))
	if happens(p.g, 0.95*full) {
		high, wide := p.off(1, 0.025), p.off(1, 0.015)
		n := 6 + p.g.IntN(4)
		var curve, power []string
		for i := range n {
			q := m.fan.middle * (0.1 + 1.4*float64(i)/float64(n-1))
			s, _ := m.fan.gives(q, 1, 1)
			if s <= 30 {
				break
			}
			curve = append(curve, fmt.Sprintf(`["%.0f cfm", "%.2f in.w.g."]`, q*wide/cfm, s*high/inch))
			power = append(power, fmt.Sprintf(`["%.0f cfm", "%.2f hp"]`, q*wide/cfm, m.fan.takes(q, 1, 1)*p.off(1, 0.008)/unit.Horsepower))
		}
		fmt.Fprintf(p, "curve = [%s]\n", strings.Join(curve, ", "))
		p.maybe(0.8*full, "power", "["+strings.Join(power, ", ")+"]")
	}
	o := &m.motor
	p.maybe(0.95, "motor_power", quote(o.rated/unit.Horsepower, "%.1f", "hp"))
	p.maybe(0.95, "voltage", quote(o.volt, "%.0f", "V"))
	p.maybe(0.9*full, "full_load_current", quote(o.full, "%.1f", "A"))
	p.maybe(0.8*full, "motor_efficiency", fmt.Sprintf("%.3f", o.eff))
	p.maybe(0.8*full, "power_factor", fmt.Sprintf("%.2f", o.cos))
	if m.holds != holdsFlow && m.holds != holdsSuction && happens(p.g, 0.85*full) {
		p.table("damper")
		var points []string
		for _, open := range []float64{0.3, 0.5, 0.7, 1} {
			q, x := m.tested(open)
			points = append(points, fmt.Sprintf(`["%.0f %%", "%.0f cfm", "%.2f in.w.g."]`, open*100, p.off(q, 0.012)/cfm, p.off(x, 0.015)/inch))
		}
		fmt.Fprintf(p, "points = [%s]\n", strings.Join(points, ", "))
	}
}

// tested is what was measured with nearly new filters at a damper position: flow and dP across the filters.
func (m *mill) tested(open float64) (q, x float64) {
	s := newBench(m)
	s.open = open
	s.clog = 0
	for i := range m.rows {
		s.row[i] = row{passed: 0.3 * m.cloth.ripe, fresh: 0.5}
	}
	s.weigh()
	s.settle()
	return s.q, s.x
}

// header writes the pulse air.
func (p *page) header(m *mill, full float64) {
	h := &m.hdr
	p.table("header")
	p.maybe(0.95*full, "volume", quote(p.off(h.volume, 0.02)*1000, "%.1f", "L"))
	p.maybe(0.97, "set", quote(h.set/psi, "%.0f", "psi"))
	p.maybe(0.97, "on_time", quote(h.on*1000, "%.0f", "ms"))
	p.maybe(1, "interval", quote(h.interval, "%.0f", "s"))
	p.maybe(0.9*full, "valve_flow", quote(p.off(h.valve/cv, 0.05), "%.1f", "Cv"))
	p.maybe(0.7*full, "supply_flow", quote(p.off(h.supply/cfm, 0.08), "%.1f", "scfm"))
}
