package carve

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"dustwright/collector"
)

// errFile says that a machine's own figures look wrong together: it would not have been built.
var errFile = errors.New("the file has findings that are wrong")

// paper writes the file somebody would have typed, and reads it back. Supply and damper are what
// may come out odd for a drawn machine; it is refused then.
func (p *plant) paper(r *rand.Rand) (*collector.Collector, error) {
	gaps := [4]bool{}
	for i := range gaps {
		gaps[i] = r.Float64() < 0.12
	}
	ends := make([]float64, len(p.hoods))
	for i := range ends {
		ends[i] = between(r, 6, 25)
	}
	for range 4 {
		c, err := collector.Parse("carve.toml", []byte(p.text(gaps, ends)))
		if err != nil {
			return nil, err
		}
		short := false
		for _, f := range c.Check() {
			if f.Weight == collector.Wrong {
				err = fmt.Errorf("%w: %s", errFile, f.ID)
				short = short || f.ID == "air-short" || f.ID == "header-recovery"
			}
		}
		if err == nil {
			return c, nil
		}
		if !short {
			return nil, err
		}
		p.margin *= 1.5
	}
	return nil, errFile
}

// text is the file's content. Gaps leave out what plants often do not know: loading, damper,
// branches, supply.
func (p *plant) text(gaps [4]bool, ends []float64) string {
	var s strings.Builder
	w := func(format string, a ...any) { fmt.Fprintf(&s, format+"\n", a...) }
	m3h := func(q float64) string { return fmt.Sprintf("%.0f m3/h", q*3600) }
	pa := func(x float64) string { return fmt.Sprintf("%.0f Pa", x) }
	hours := map[string]int{"one": 43, "two": 80, "three": 120, "always": 165}[p.calendar]
	w("tag = \"CV-%d\"\nservice = %q\n[site]\nelevation = \"%.0f m\"", 1+int(p.flow*10)%40, p.service, p.height)
	w("[duty]\nflow = %q\ndust = %q\nbulk_density = \"%.0f kg/m3\"\nhours_per_week = %d\ninlet_sp = %q", m3h(p.flow), p.dust,
		(p.bulk[0]+p.bulk[1])/2, hours, pa(-p.suction*p.offTrue[2]))
	if !gaps[0] {
		w("loading = \"%.2f g/m3\"", p.said*1000)
	}
	w("[filters]\nrows = %d\nper_row = %d\narea_each = \"%.1f m2\"\nclean_dp = %q\nmax_dp = %q", p.rows, p.per, p.area/float64(p.per),
		pa(p.clean*p.offTrue[4]), pa(math.Round(p.most/50)*50))
	if p.after > 0 {
		w("[afterfilter]\nclean_dp = %q\nmax_dp = %q", pa(p.after*p.offTrue[5]), pa(math.Round(p.after*2.8/50)*50))
	}
	w("[fan]\nspeed = \"2930 rpm\"\ndensity = \"1.2 kg/m3\"\ncurve = [")
	for _, x := range []float64{0, 0.3, 0.5, 0.7, 0.85, 1, 1.15, 1.3, 1.5, 1.7} {
		w("[%q, %q],", m3h(x*p.flow), pa(p.fan(x)*p.offTrue[0]))
	}
	w("]\npower = [")
	for _, x := range []float64{0, 0.5, 0.8, 1, 1.2, 1.4, 1.7} {
		w("[%q, \"%.2f kW\"],", m3h(x*p.flow), p.work(x)*p.offTrue[1]/1000)
	}
	w("]\nmotor_power = \"%.2f kW\"\nvoltage = \"%.0f V\"\nfull_load_current = \"%.1f A\"\nmotor_efficiency = %.2f\npower_factor = %.2f",
		p.motor/1000, p.volts, p.amps, p.eff, p.phi)
	if !gaps[1] {
		w("[damper]\npoints = [")
		for _, o := range []float64{0.35, 0.6, 1} {
			a := newAir(p)
			a.open = o
			a.cloth = p.clean / p.flow
			q := a.total(1.2)
			w("[\"%.0f %%\", %q, %q],", 100*o, m3h(q), pa(q*a.cloth))
		}
		w("]")
	}
	w("[header]\nvolume = \"%.1f L\"\nset = \"%.1f bar\"\non_time = \"%.0f ms\"\ninterval = \"%.0f s\"\nvalve_flow = \"%.0f Cv\"", p.volume*1000,
		p.set/1e5, p.open*1000, p.every, p.cv)
	if !gaps[3] {
		used := p.volume * (p.set + 1e5) / 1e5 * (1 - math.Exp(-p.open*p.sonic*1e5/p.volume))
		w("supply_flow = \"%.1f Nm3/h\"", p.margin*used/p.every*3600)
	}
	w("[setpoints]\nlow = %q\nhigh = %q\nalarm = %q", pa(math.Round(p.low/10)*10), pa(math.Round(p.high/10)*10), pa(math.Round(p.alarm/10)*10))
	w("[cleaning]\nmode = %q\ndowntime_cycles = %d\n[bin]\nvolume = \"%.0f L\"", p.mode, p.downtime, p.bin*1000)
	if !gaps[2] {
		total := 0.0
		for _, g := range p.hoods {
			total += g
		}
		for i, g := range p.hoods {
			q := p.flow * g / total
			w("[[branch]]\nname = \"hood %d\"\ndiameter = \"%.0f mm\"\nlength = \"%.0f m\"\nflow = %q", i+1,
				1000*math.Sqrt(4*q/math.Pi/23), ends[i], m3h(q))
		}
	}
	return s.String()
}
