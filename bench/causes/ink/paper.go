package ink

import (
	"fmt"
	"math"
	"strings"

	"dustwright/bench/causes/made"
	"dustwright/collector"
)

// sheetOf is a collector's file as it is written.
type sheetOf struct{ made.Sheet }

// near is a figure as it was read or estimated.
func (s *sheetOf) near(v, by float64) float64 { return v * (1 + by*s.Dice.NormFloat64()) }

// file writes the collector's file.
func (p *plant) file(d made.Dice) (*collector.Collector, error) {
	s := &sheetOf{made.Sheet{Dice: d}}
	face := p.flow / p.area
	clean := min(s.near(p.clean*face, 0.07), p.low*0.9)
	most := max(6*inWater, p.high+250)
	s.Line("tag = 'F-%03d'\n[site]\nelevation = '%.0f m'\n[duty]\nflow = '%.0f m3/h'", 100+d.IntN(800), p.elevation, p.flow*hour)
	s.Maybe(0.8, "inlet_sp = '-%.0f Pa'", s.near(p.suction, 0.04))
	s.Maybe(0.6, "loading = '%.4g g/m3'", 1e3*p.loading*d.Spread(0.5, 1.8))
	s.Maybe(0.75, "bulk_density = '%.0f kg/m3'", s.near(p.bulk, 0.12))
	s.Maybe(0.4, "hours_per_week = %d", map[int]int{1: 42, 2: 80, 3: 132, 7: 168}[p.shifts])
	s.Line("[filters]\nrows = %d\nper_row = %d\narea_each = '%.2f m2'", p.rows, p.perRow, p.area/float64(p.rows*p.perRow))
	s.Maybe(0.88, "clean_dp = '%.0f Pa'", clean)
	s.Line("max_dp = '%.0f Pa'", most)
	if p.after > 0 {
		s.Line("[afterfilter]\nclean_dp = '%.0f Pa'\nmax_dp = '%.0f Pa'", s.near(p.after*p.flow, 0.05), 2.6*p.after*p.flow)
	}
	p.fanSheet(s)
	p.damperSheet(s)
	s.Line("[header]\nset = '%.2f bar'\non_time = '%.0f ms'\ninterval = '%.0f s'", p.set/bar, 1e3*p.onTime, p.interval)
	volume := p.tankVolume()
	s.Maybe(0.7, "volume = '%.1f L'", 1e3*s.near(volume, 0.05))
	s.Maybe(0.6, "valve_flow = '%.1f Kv'", p.valveKv(volume)*d.Between(0.85, 1.15))
	s.Maybe(0.6, "supply_flow = '%.1f Nm3/h'", 1.6*p.feed*volume/bar*hour*d.Between(0.9, 1.3))
	s.Line("[setpoints]\nlow = '%.0f Pa'\nhigh = '%.0f Pa'\nalarm = '%.0f Pa'", p.low, p.high, min(most, p.high+d.Between(100, 400)))
	s.Line("[cleaning]\nmode = '%s'", p.mode)
	s.Maybe(0.85, "downtime_cycles = %d", p.downtime)
	if s.Dice.Chance(0.7) {
		s.Line("order = [%s]", p.turns())
	}
	s.Maybe(0.75, "[bin]\nvolume = '%.0f L'", 1e3*p.bin)
	return collector.Parse("ink.toml", []byte(s.String()))
}

// turns lists the valves by turn.
func (p *plant) turns() string {
	var out []string
	for _, i := range p.order {
		out = append(out, fmt.Sprint(p.label[i]+1))
	}
	return strings.Join(out, ", ")
}

// tankVolume is the header's volume [m3]: about 10 L of free air for each m2 of media that a valve cleans.
func (p *plant) tankVolume() float64 {
	return 0.01 * p.area / float64(p.rows) / (p.drop * (p.set + p.ambient) / p.ambient)
}

// valveKv is the flow figure of a valve that takes so much air: choked, 1 Kv passes about 14 Nm3/h for a bar of absolute
// pressure (from memory).
func (p *plant) valveKv(volume float64) float64 {
	air := p.drop * (p.set + p.ambient) / bar * volume / p.onTime * hour
	return air / (14 * (p.set + p.ambient) / bar * (1 - p.drop/2))
}

// fanSheet writes the fan by its maker's curve, the motor by its plate.
func (p *plant) fanSheet(s *sheetOf) {
	var curve, power string
	lifts, takes := s.near(1, 0.02), s.near(1, 0.03)
	for _, x := range []float64{0, 0.3, 0.5, 0.7, 0.85, 1, 1.15, 1.3, 1.5} {
		if y := p.lift(x*p.flow, 1, standardAir) * lifts; y > 0 {
			curve += fmt.Sprintf("['%.0f m3/h', '%.0f Pa'], ", x*p.flow*hour, y)
			power += fmt.Sprintf("['%.0f m3/h', '%.0f W'], ", x*p.flow*hour, takes*p.takes(x*p.flow, 1, standardAir))
		}
	}
	s.Line("[fan]\nspeed = '%d rpm'\ndensity = '1.2 kg/m3'", p.rpm)
	s.Maybe(0.85, "curve = [%s]", curve)
	s.Maybe(0.7, "power = [%s]", power)
	s.Line("motor_power = '%.1f kW'\nvoltage = '%.0f V'\nfull_load_current = '%.1f A'\nmotor_efficiency = %.2f\npower_factor = %.2f",
		p.motor/1e3, p.volts, p.amps(p.motor), p.eta, p.cosPhi)
}

// damperSheet writes what was measured when it was set up with new filters.
func (p *plant) damperSheet(s *sheetOf) {
	if p.drive >= driveFixed || !s.Dice.Chance(0.7) {
		return
	}
	points := ""
	last := 0.0
	for _, open := range []float64{0.7 * p.open, p.open, 1} {
		m := newMachine(made.Throw(1, 1), p, &calendar{warm: []float64{294 + p.warmth}, wet: []float64{0.5}, high: []float64{p.ambient}}, nil, 1)
		m.renew()
		m.after, m.open, m.runs = p.after, open, true
		m.settle()
		m.settle()
		if open <= last {
			continue
		}
		last = open
		points += fmt.Sprintf("['%.0f %%', '%.0f m3/h', '%.0f Pa'], ", 100*open, math.Round(s.near(m.q, 0.006)*hour), m.dp)
	}
	s.Line("[damper]\npoints = [%s]", points)
}
