package sketch

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"dustwright/collector"
	"dustwright/unit"
)

// file writes what the plant knows of its machine, each figure a little off, and much of it left out
// now and then; whole has everything in.
func (m *machine) file(r *rand.Rand, whole bool) (*collector.Collector, error) {
	var s strings.Builder
	line := func(format string, a ...any) { fmt.Fprintf(&s, format+"\n", a...) }
	sparse := 0.0
	if u := r.Float64(); u < 0.35 && !whole {
		sparse = 0.6
	} else if !whole {
		sparse = 0.1
	}
	known := func() bool { return r.Float64() >= sparse }
	about := func(v, spread float64) float64 { return v * math.Exp(spread*r.NormFloat64()) }

	line("tag = \"SK-%d\"", 1+r.IntN(40))
	if known() {
		line("[site]\nelevation = \"%.0f m\"", -8400*math.Log(m.density/1.2))
	}
	line("[duty]\nflow = \"%.0f cfm\"", m.flow/cfm)
	if known() {
		line("loading = \"%.3f g/m3\"", 1000*about(m.dust, 0.4))
	}
	if known() {
		line("bulk_density = \"%.0f kg/m3\"", about(m.bulk, 0.15))
	}
	if known() {
		line("hours_per_week = %d", []int{0, 45, 80, 120, 168}[m.shifts])
	}
	if known() {
		line("inlet_sp = \"%.2f in.w.g.\"", -about(m.inlet, 0.03)/in)
	}
	cloth := uniform(r, 1.6, 4.2) * unit.Foot / 60
	each := 1 + r.IntN(3)
	line("[filters]\nrows = %d\nper_row = %d\narea_each = \"%.1f m2\"", m.rows, each, m.flow/cloth/float64(m.rows*each))
	if known() {
		line("clean_dp = \"%.2f in.w.g.\"", about(m.clean, 0.06)/in)
	}
	line("max_dp = \"%.1f in.w.g.\"", max(6, m.high/in+1))
	if m.after > 0 && known() {
		line("[afterfilter]\nclean_dp = \"%.2f in.w.g.\"\nmax_dp = \"2.5 in.w.g.\"", about(m.after, 0.1)/in)
	}
	if known() {
		m.fanFile(r, line)
	}
	if known() {
		m.damperFile(r, line)
	}
	m.headerFile(r, line, known)
	line("[setpoints]\nlow = \"%.2f in.w.g.\"\nhigh = \"%.2f in.w.g.\"", m.low/in, m.high/in)
	if known() {
		line("alarm = \"%.1f in.w.g.\"", m.high/in+1.5)
	}
	line("[cleaning]\nmode = \"%s\"", m.mode)
	if known() {
		line("order = %s", strings.Join(strings.Fields(fmt.Sprint(m.order)), ", "))
	}
	if known() {
		line("downtime_cycles = %d", m.downtime)
	}
	if known() {
		line("[bin]\nvolume = \"%.0f L\"", 1000*m.bin)
	}
	if known() {
		line("[[branch]]\nname = \"main\"\ndiameter = \"%.1f in\"\nlength = \"%.0f ft\"\nflow = \"%.0f cfm\"", math.Sqrt(m.flow/20/0.785)/unit.Inch, uniform(r, 10, 80), m.flow/cfm)
	}
	return collector.Parse("sketch.toml", []byte(s.String()))
}

func (m *machine) fanFile(r *rand.Rand, line func(string, ...any)) {
	up := 1.2 / m.density // the catalogue's air is standard
	off := math.Exp(0.03 * r.NormFloat64())
	var curve, power []string
	for x := 0.0; x < 2 && m.fan(x) > 0.1*m.shutOff; x += 0.25 {
		curve = append(curve, fmt.Sprintf("[\"%.0f cfm\", \"%.2f in.w.g.\"]", x*m.flow/cfm, up*off*m.fan(x)/in))
		power = append(power, fmt.Sprintf("[\"%.0f cfm\", \"%.2f hp\"]", x*m.flow/cfm, up*m.shaftPower(x)/unit.Horsepower))
	}
	line("[fan]\nspeed = \"%d rpm\"\ndensity = \"1.2 kg/m3\"\ncurve = [%s]", pick(r, 1760, 2950, 3550), strings.Join(curve, ", "))
	if r.Float64() < 0.8 {
		line("power = [%s]", strings.Join(power, ", "))
	}
	line("motor_power = \"%.2f hp\"\nvoltage = \"%.0f V\"\nfull_load_current = \"%.1f A\"", m.motor/unit.Horsepower, m.volts, m.rated)
	if r.Float64() < 0.6 {
		line("motor_efficiency = %.2f\npower_factor = %.2f", efficiency, cosPhi)
	}
}

func (m *machine) damperFile(r *rand.Rand, line func(string, ...any)) {
	var points []string
	set := m.position(m.damperLoss(m.trimmed, m.trimAt, m.after))
	opens := []float64{uniform(r, 0.25, 0.4), uniform(r, 0.45, 0.7), 1}
	if r.Float64() < 0.8 { // most who commission a damper read it where they leave it
		opens = []float64{0.7 * set, set, (1 + set) / 2}
	}
	for _, open := range opens {
		loss := m.open * math.Pow(open, -m.blade)
		x := 1.0
		for range 60 { // damped, since the balance need not contract
			x += 0.3 * (math.Sqrt(max(0.01, m.fan(x)-m.after*x-m.clean*math.Pow(x, m.exponent))/(m.inlet+loss)) - x)
		}
		points = append(points, fmt.Sprintf("[\"%.0f %%\", \"%.0f cfm\", \"%.2f in.w.g.\"]", 100*open, x*m.flow/cfm*math.Exp(0.015*r.NormFloat64()), m.clean*math.Pow(x, m.exponent)/in))
	}
	line("[damper]\npoints = [%s]", strings.Join(points, ", "))
}

func (m *machine) headerFile(r *rand.Rand, line func(string, ...any), known func() bool) {
	on := float64(80 + 10*r.IntN(12)) // ms
	line("[header]\nset = \"%.0f psi\"\non_time = \"%.0f ms\"\ninterval = \"%.0f s\"", m.set/psi, on, m.interval)
	tank := 1 + m.flow*uniform(r, 8, 14)           // litres, as the shops build them
	pulse := tank / 1000 * m.drop * m.set / 101325 // free air [m3]
	if !known() {
		return
	}
	line("volume = \"%.0f L\"", tank)
	if known() {
		line("supply_flow = \"%.2f std L/s\"", 1000*pulse/m.recover)
	}
	if known() {
		const perCv = unit.KvOfCv * unit.ConductanceOfKv
		line("valve_flow = \"%.2f Cv\"", pulse/(on/1000*perCv*(m.set+101325)))
	}
}
