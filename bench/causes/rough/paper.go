package rough

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"time"

	"dustwright/collector"
	"dustwright/unit"
)

// paper writes the machine's file, off and with gaps as real paperwork has them, and reads it.
func (p *plan) paper(r *rand.Rand, start time.Time, exact bool) (*collector.Collector, error) {
	off := func(x, share float64) float64 {
		if exact {
			return x
		}
		return x * bounded(1+share*r.NormFloat64(), 1-2.5*share, 1+2.5*share)
	}
	var b strings.Builder
	line := func(often float64, format string, v ...any) {
		if exact || r.Float64() < often {
			fmt.Fprintf(&b, format+"\n", v...)
		}
	}
	pa := func(x float64) string { return fmt.Sprintf("%.0f Pa", max(x, 1)) }
	mode := map[string]string{"timed": "timed", "continuous": "continuous"}[p.mode]
	if mode == "" {
		mode = "on-demand"
	}
	line(1, "tag = \"R-1\"\n[duty]\nflow = \"%.4f m3/s\"", off(p.flow, 0.04))
	line(0.6, "loading = \"%.3f g/m3\"", off(p.loading, 0.3)*1000)
	line(0.6, "bulk_density = \"%.0f kg/m3\"", off(p.bulk, 0.15))
	line(0.6, "inlet_sp = \"%.0f Pa\"", -off(p.inlet, 0.06))
	line(1, "[filters]\nrows = %d\nper_row = 1\narea_each = \"%.2f m2\"", len(p.rows), p.rows[0].area)
	line(0.8, "clean_dp = %q", pa(off(p.clean, 0.12)))
	line(0.8, "max_dp = %q", pa(1500))
	line(0.5, "installed = %s", start.AddDate(0, 0, -40-r.IntN(300)).Format("2006-01-02"))
	if p.after > 0 {
		line(1, "[afterfilter]")
		line(0.8, "clean_dp = %q", pa(off(p.after*p.flow, 0.1)))
		line(0.7, "max_dp = %q", pa(620))
	}
	line(1, "[fan]")
	line(0.7, "speed = \"%d rpm\"\ndensity = \"1.2 kg/m3\"\ncurve = %s", 2900, points(p.fan, off(1, 0.03), "Pa"))
	line(0.4, "power = %s", points(p.power, off(1, 0.04), "W"))
	line(0.8, "motor_power = \"%.1f kW\"", p.motor/1000)
	line(0.7, "voltage = \"%.0f V\"", p.volts)
	line(0.8, "full_load_current = \"%.2f A\"", p.full)
	line(0.4, "motor_efficiency = 0.91\npower_factor = 0.86")
	line(1, "[header]")
	line(0.6, "volume = \"%.0f L\"", off(12+6*float64(len(p.rows)), 0.2))
	line(0.9, "set = \"%.1f psi\"", p.set/float64(unit.Psi))
	line(0.7, "on_time = \"%.0f ms\"", p.onTime)
	line(0.8, "interval = \"%.0f s\"", p.interval)
	line(1, "[setpoints]")
	line(0.9, "low = %q\nhigh = %q", pa(p.low), pa(p.high))
	line(0.6, "alarm = %q", pa(p.high+500))
	line(1, "[cleaning]\nmode = %q", mode)
	order := make([]int, len(p.order))
	for i, v := range p.order {
		order[i] = v + 1
	}
	line(0.7, "order = %s", strings.ReplaceAll(fmt.Sprint(order), " ", ", "))
	line(0.6, "downtime_cycles = %d", p.downtime)
	line(0.7, "[bin]\nvolume = \"%.3f m3\"", p.bin)
	c, err := collector.Parse("rough.toml", []byte(b.String()))
	if err != nil {
		return nil, fmt.Errorf("the file of the machine drawn does not pass: %w", err)
	}
	return c, nil
}

// points writes a table of flow and what belongs to it.
func points(t table, factor float64, of string) string {
	var list []string
	for _, p := range t {
		list = append(list, fmt.Sprintf("[\"%.4f m3/s\", \"%.1f %s\"]", p[0], p[1]*factor, of))
	}
	return "[" + strings.Join(list, ", ") + "]"
}
