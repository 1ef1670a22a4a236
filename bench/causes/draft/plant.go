// Package draft is a simulator of a dust collector for scoring the judgement, apart from the others in this directory.
// The air goes through a network of resistances that a fan curve drives; each row is a capacity of loose dust over
// bound dust, held by a grip that varies from spot to spot; a compressor that loads and unloads feeds the header
// and other users; batches of several recipes bring the dust; a historian keeps the log in its own way: dead bands,
// averages here and snapshots there, coarse steps, stuck and missing stretches, pulses logged late. Every figure in
// it is a guess of what is met in the trade: common practice, no source. All in SI.
package draft

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"dustwright/collector"
)

// plant is the machine as it was built.
type plant struct {
	rows      int
	flow      float64 // design [m3/s]
	area      float64 // of a row [m2]
	media     float64 // drag of new media [Pa s/m]
	bound     float64 // drag that seasoning adds [Pa s/m]
	cake      float64 // drag of loose dust at 1 kPa [Pa s/m over kg/m2]
	squeeze   float64 // exponent of the cake's drag over the dP
	tube      float64 // loss of the row outlets over flow squared
	duct      float64 // the same of hoods and ducts, stack, damper at its trim
	stack     float64
	trim      float64 // usual damper opening
	blades    float64 // exponent of the damper
	damperK   float64
	after     float64 // after-filter [Pa s/m3], 0 none
	conc      float64 // dust in the air with a usual recipe [kg/m3]
	split     []float64
	season    float64 // dust that seasons a filter [kg/m2]
	creep     float64 // drag that stays for good for each kg/m2 [Pa s/m]
	grip      float64 // jet pressure at which half of a row's dust comes off [Pa]
	gripSD    float64 // of its logarithm
	most      float64 // share of the dust a pulse can take at all
	sag       float64 // share of the loose dust that falls by itself when the fan stops
	back      float64 // share of what comes off that lands on filters again
	fan       fan
	air       supply
	bin       float64 // capacity [kg]
	bulk      float64
	emptyAt   float64
	height    float64
	control   control
	seep      float64 // puff of the leak detector at a pulse
	haze      float64 // leak detector between pulses
	puffTime  float64
	warm      float64 // mean outside temperature [K]
	process   float64 // warmth of the process [K]
	afterRise float64 // share by which a usual after-filter rises in a day
}

// fan is a fan with its motor at nominal speed and 1.2 kg/m3.
type fan struct {
	a, b, c float64 // pressure a + b q - c q2
	power   float64 // at the shaft at design flow [W]
	idle    float64 // share of it at no flow
	volts   float64
	full    float64 // full-load current [A]
	rated   float64
	rpm     float64
}

// supply is the compressed air: compressor, receiver, pipe, regulator, header.
type supply struct {
	set     float64 // regulator [Pa gauge]
	fill    float64 // time constant of the header's recovery [s]
	drop    float64 // share of the header's pressure that a whole pulse takes
	volume  float64
	on, off float64 // the compressor loads and unloads [Pa gauge]
	makes   float64 // rise of the receiver loaded [Pa/s]
	others  float64 // fall of the receiver by other users, on average [Pa/s]
	pull    float64 // fall of the receiver for each Pa that the header rises
	nights  bool    // the compressor stands when nobody works
	onTime  float64
}

// control is the cleaning controller.
type control struct {
	byTime    bool
	name      string
	low, high float64
	every     float64 // from pulse to pulse [s]
	down      int     // cycles after the fan stops
	wait      float64 // from stop to the first of them [s]
	order     []int
}

func between(r *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }

func logBetween(r *rand.Rand, lo, hi float64) float64 { return lo * math.Pow(hi/lo, r.Float64()) }

func oneOf[T any](r *rand.Rand, of ...T) T { return of[r.IntN(len(of))] }

// build draws a machine.
func build(r *rand.Rand) *plant {
	p := &plant{rows: 3 + r.IntN(10), flow: logBetween(r, 0.5, 9), squeeze: between(r, 0.1, 0.5), trim: between(r, 0.35, 0.65),
		blades: between(r, 1.7, 3), season: between(r, 0.3, 1.2), gripSD: between(r, 0.5, 0.9), most: between(r, 0.8, 0.97),
		back: between(r, 0.08, 0.4), sag: between(r, 0.01, 0.15), emptyAt: between(r, 0.42, 0.64), height: between(r, 0, 1100), seep: logBetween(r, 0.8, 6),
		haze: logBetween(r, 0.3, 3), puffTime: between(r, 8, 45), warm: 273 + between(r, 6, 26), process: between(r, 0, 22),
		bulk: between(r, 450, 1300), afterRise: between(r, 0.0005, 0.004)}
	velocity := between(r, 0.009, 0.023)
	p.area = p.flow / velocity / float64(p.rows)
	fresh := between(r, 130, 270)
	seasoned := min(fresh*between(r, 1.7, 3.4), 750)
	p.tube = 0.12 * fresh / (p.flow * p.flow)
	p.media = 0.88 * fresh / velocity
	p.bound = (seasoned - fresh) / velocity
	p.conc = logBetween(r, 1.5e-4, 2e-3)
	p.creep = p.bound * logBetween(r, 0.0005, 0.004)
	tilt := between(r, -0.5, 0.5)
	p.split = make([]float64, p.rows)
	for i := range p.split {
		p.split[i] = (1 + tilt*(2*float64(i)/float64(p.rows-1)-1)) * math.Exp(0.08*r.NormFloat64())
	}
	p.air = compressed(r)
	p.control = controller(r, p, seasoned)
	// The compressor was chosen for its other users and cleaning without a pause.
	p.air.others = (p.air.makes - 1.1*p.air.drop*p.air.set*p.air.pull/p.control.every) * between(r, 0.1, 0.8)
	p.grip = p.air.set * between(r, 0.35, 0.7)
	p.cake = thickness(r, p, velocity)
	p.bin = min(p.conc*p.flow*3600*between(r, 30, 200), 1500)
	path(r, p, seasoned+150)
	return p
}

// thickness returns the drag of the dust with which the cleaning has its usual work.
func thickness(r *rand.Rand, p *plant, velocity float64) float64 {
	flux := p.conc * velocity
	if p.control.byTime {
		round := float64(p.rows) * p.control.every
		return between(r, 60, 300) / velocity / (flux * round * 0.9)
	}
	hours := logBetween(r, 0.4, 12)
	return (p.control.high - p.control.low) / velocity / (flux * 3600 * hours)
}

// path sizes what the air goes through besides the filters, and the fan that moves it.
func path(r *rand.Rand, p *plant, filters float64) {
	q2 := p.flow * p.flow
	duct, stack, damper, after := between(r, 450, 1150), between(r, 60, 180), between(r, 250, 1000), 0.0
	if r.Float64() < 0.6 {
		after = between(r, 150, 300)
	}
	p.duct, p.stack, p.damperK, p.after = duct/q2, stack/q2, damper/q2, after/p.flow
	total := duct + stack + damper + after + filters
	a := total * between(r, 1.12, 1.4)
	b := a * between(r, 0, 0.25) / p.flow
	f := fan{a: a, b: b, c: (a + b*p.flow - total) / q2, idle: between(r, 0.25, 0.45), volts: oneOf(r, 400.0, 460, 480, 575)}
	f.power = total * p.flow / between(r, 0.62, 0.78)
	f.rated = f.power * between(r, 1.12, 1.4)
	f.full = f.rated / 0.91 / (math.Sqrt(3) * f.volts * 0.86)
	f.rpm = oneOf(r, 1450.0, 1760, 2900, 3540)
	p.fan = f
}

// compressed draws the compressed air.
func compressed(r *rand.Rand) supply {
	a := supply{set: oneOf(r, 4.1e5, 4.8e5, 5e5, 5.5e5, 6e5, 6.2e5), drop: between(r, 0.08, 0.3), fill: between(r, 1.2, 4.5), onTime: between(r, 0.08, 0.2),
		nights: r.Float64() < 0.25}
	a.off = a.set + between(r, 1.3e5, 2.4e5)
	a.on = a.off - between(r, 0.5e5, 0.9e5)
	a.makes = between(r, 1500, 4000)
	a.pull = between(r, 0.005, 0.03)
	a.volume = logBetween(r, 0.01, 0.06) * 101325 / (a.drop * a.set) // by the air of a pulse [m3]
	return a
}

// controller draws how the machine is cleaned, with set points somebody chose for these filters.
func controller(r *rand.Rand, p *plant, seasoned float64) control {
	c := control{name: "on-demand", every: oneOf(r, 8.0, 10, 10, 12, 15, 20), wait: between(r, 20, 120)}
	if r.Float64() < 0.65 {
		c.down = r.IntN(6)
	}
	c.low = math.Round((seasoned*between(r, 1.12, 1.3)+between(r, 30, 120))/10) * 10
	c.high = c.low + math.Round(between(r, 120, 420)/10)*10
	if r.Float64() < 0.25 {
		c.byTime, c.name, c.every = true, oneOf(r, "timed", "timed", "continuous"), oneOf(r, 20.0, 30, 45, 60, 90, 120)
	}
	for i := range p.rows {
		c.order = append(c.order, i)
	}
	if r.Float64() < 0.25 { // odd ones, then even ones
		c.order = c.order[:0]
		for s := range 2 {
			for i := s; i < p.rows; i += 2 {
				c.order = append(c.order, i)
			}
		}
	}
	return c
}

// file writes the collector's file as the plant knows the machine: rounded, and not all of it.
func (p *plant) file(r *rand.Rand) (*collector.Collector, error) {
	var s strings.Builder
	near := func(v, share float64) float64 { return v * (1 + share*r.NormFloat64()) }
	known := func(share float64, format string, args ...any) {
		if r.Float64() < share {
			fmt.Fprintf(&s, format+"\n", args...)
		}
	}
	velocity := p.flow / p.area / float64(p.rows)
	fmt.Fprintf(&s, "tag = \"D-%d\"\n[site]\nelevation = \"%.0f m\"\n[duty]\nflow = \"%.3f m3/s\"\n", 1+r.IntN(40), p.height, p.flow)
	known(0.8, "loading = \"%.2f g/m3\"", near(p.conc*1000, 0.2))
	known(0.8, "bulk_density = \"%.0f kg/m3\"", near(p.bulk, 0.1))
	known(0.9, "inlet_sp = \"%.0f Pa\"", -near(p.duct*p.flow*p.flow, 0.04))
	fmt.Fprintf(&s, "[filters]\nrows = %d\nper_row = 1\narea_each = \"%.2f m2\"\n", p.rows, p.area)
	known(0.9, "clean_dp = \"%.0f Pa\"", near(p.media*velocity+p.tube*p.flow*p.flow, 0.06))
	fmt.Fprintf(&s, "max_dp = \"%.0f Pa\"\n", oneOf(r, 1500.0, 1500, 1750, 2000))
	if p.after > 0 {
		fmt.Fprintf(&s, "[afterfilter]\nclean_dp = \"%.0f Pa\"\nmax_dp = \"625 Pa\"\n", p.after*p.flow)
	}
	p.fanTable(&s, r)
	a, c := p.air, p.control
	fmt.Fprintf(&s, "[header]\nset = \"%.2f bar\"\non_time = \"%.0f ms\"\ninterval = \"%.0f s\"\n", a.set/1e5, a.onTime*1000, c.every)
	known(0.8, "volume = \"%.0f L\"", a.volume*1000)
	if !c.byTime || r.Float64() < 0.7 {
		fmt.Fprintf(&s, "[setpoints]\nlow = \"%.0f Pa\"\nhigh = \"%.0f Pa\"\nalarm = \"%.0f Pa\"\n", c.low, c.high, c.high+400)
	}
	fmt.Fprintf(&s, "[cleaning]\nmode = \"%s\"\norder = [", c.name)
	for _, i := range c.order {
		fmt.Fprintf(&s, "%d, ", i+1)
	}
	fmt.Fprintf(&s, "]\ndowntime_cycles = %d\n", c.down)
	known(0.9, "[bin]\nvolume = \"%.0f L\"", p.bin/p.bulk*1000)
	return collector.Parse("draft.toml", []byte(s.String()))
}

// fanTable writes fan and damper.
func (p *plant) fanTable(s *strings.Builder, r *rand.Rand) {
	f := p.fan
	most := (f.b + math.Sqrt(f.b*f.b+4*f.a*f.c)) / (2 * f.c)
	fmt.Fprintf(s, "[fan]\nspeed = \"%.0f rpm\"\ndensity = \"1.2 kg/m3\"\ncurve = [", f.rpm)
	for i := range 9 {
		q := most * 0.97 * float64(i) / 8
		fmt.Fprintf(s, "[\"%.3f m3/s\", \"%.0f Pa\"],", q, f.a+f.b*q-f.c*q*q)
	}
	s.WriteString("]\npower = [")
	for i := range 6 {
		q := most * 0.97 * float64(i) / 5
		fmt.Fprintf(s, "[\"%.3f m3/s\", \"%.3f kW\"],", q, f.shaft(q/p.flow, 1)/1000)
	}
	fmt.Fprintf(s, "]\nmotor_power = \"%.2f kW\"\nvoltage = \"%.0f V\"\nfull_load_current = \"%.2f A\"\nmotor_efficiency = 0.91\npower_factor = 0.86\n",
		f.rated/1000, f.volts, f.full)
	if r.Float64() < 0.15 {
		return
	}
	s.WriteString("[damper]\npoints = [")
	clean := p.media / (p.area * float64(p.rows))
	for _, open := range []float64{0.6 * p.trim, p.trim, 1} {
		q := (&network{plant: p, speed: 1, strength: 1, density: 1, damper: open, duct: 1, filters: clean, after: p.after}).solve().total
		fmt.Fprintf(s, "[\"%.0f %%\", \"%.3f m3/s\", \"%.0f Pa\"],", 100*open, q, clean*q+p.tube*q*q)
	}
	s.WriteString("]\n")
}
