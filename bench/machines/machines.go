// Package machines makes up collectors for rehearsals, and the instruments and loggers they are watched by: another size, fan,
// header, set points and way of cleaning each time, in proportions that are met in the trade (common practice, no source).
package machines

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"dustwright/collector"
)

// machine writes the file of a made-up collector: another size, fan, header, set points and way of
// cleaning each time, in proportions that are met in the trade (common practice, no source). Now and
// then the file leaves out what a plant often does not know.
func machine(r *rand.Rand) (*collector.Collector, error) {
	flow := 1500 * math.Exp(1.9*r.Float64()) // cfm
	rows := 3 + r.IntN(10)
	cloth := 2.8 + 1.8*r.Float64() // ft/min
	press := 1 + 0.4*r.Float64()
	low := 1.6 + 1.2*r.Float64()
	high := low + 0.8 + 1.4*r.Float64()
	interval := []int{8, 10, 10, 12, 15, 20}[r.IntN(6)]
	mode := "on-demand"
	switch u := r.Float64(); {
	case u < 0.06:
		mode = "timed"
	case u < 0.1:
		mode = "continuous"
	}
	drop := 0.08 + 0.14*r.Float64() // share of the header's pressure a pulse takes, roughly
	k := flow / 4200
	var s strings.Builder
	fmt.Fprintf(&s, "tag = \"T-1\"\n[site]\nelevation = \"%d m\"\n", r.IntN(1200))
	fmt.Fprintf(&s, "[duty]\nflow = \"%.0f cfm\"\nloading = \"%.2f gr/ft3\"\nbulk_density = \"%.0f lb/ft3\"\nhours_per_week = %d\n",
		flow, 0.12+0.4*r.Float64(), 30+40*r.Float64(), []int{40, 60, 80, 80, 110, 168}[r.IntN(6)])
	fmt.Fprintf(&s, "min_duct_velocity = \"3500 ft/min\"\ninlet_sp = \"%.1f in.w.g.\"\n", -(2.5 + 1.5*r.Float64()))
	fmt.Fprintf(&s, "[filters]\nrows = %d\nper_row = %d\narea_each = \"%.0f ft2\"\nclean_dp = \"%.2f in.w.g.\"\nmax_dp = \"6.0 in.w.g.\"\n",
		rows, 1, flow/cloth/float64(rows), 0.55+0.35*r.Float64())
	if r.Float64() < 0.6 {
		s.WriteString("[afterfilter]\nclean_dp = \"0.8 in.w.g.\"\nmax_dp = \"2.5 in.w.g.\"\n")
	}
	s.WriteString("[fan]\nspeed = \"3550 rpm\"\ndensity = \"0.075 lb/ft3\"\ncurve = [")
	for _, p := range [][2]float64{{0, 14.5}, {1500, 14.8}, {2500, 14.3}, {3500, 13}, {4200, 11.8}, {5000, 9.9}, {6000, 6.8}, {7000, 2.9}} {
		fmt.Fprintf(&s, "[\"%.0f cfm\", \"%.2f in.w.g.\"],", p[0]*k, p[1]*press)
	}
	s.WriteString("]\npower = [")
	for _, p := range [][2]float64{{0, 5.2}, {2500, 8.6}, {4200, 11.6}, {5000, 12.6}, {6000, 13.1}, {7000, 12.7}} {
		fmt.Fprintf(&s, "[\"%.0f cfm\", \"%.2f hp\"],", p[0]*k, p[1]*k*press)
	}
	fmt.Fprintf(&s, "]\nmotor_power = \"%.1f hp\"\nvoltage = \"460 V\"\nfull_load_current = \"%.1f A\"\nmotor_efficiency = 0.91\npower_factor = 0.86\n", 15*k*press, 18.5*k*press)
	s.WriteString("[damper]\npoints = [")
	for _, p := range [][3]float64{{30, 2800, 0.5}, {50, 3900, 0.65}, {100, 4900, 0.85}} {
		fmt.Fprintf(&s, "[\"%.0f %%\", \"%.0f cfm\", \"%.2f in.w.g.\"],", p[0], p[1]*k*math.Sqrt(press), p[2])
	}
	fmt.Fprintf(&s, "]\n[header]\nvolume = \"%.0f L\"\nset = \"%d psi\"\non_time = \"%d ms\"\ninterval = \"%d s\"\nvalve_flow = \"%.1f Cv\"\nsupply_flow = \"%.1f scfm\"\n",
		20*k*0.12/drop, []int{50, 60, 60, 80, 90}[r.IntN(5)], 100+r.IntN(80), interval, 18*k, 20*k*10/float64(interval)*(0.9+0.6*r.Float64()))
	fmt.Fprintf(&s, "[setpoints]\nlow = \"%.2f in.w.g.\"\nhigh = \"%.2f in.w.g.\"\nalarm = \"%.1f in.w.g.\"\n", low, high, high+2)
	fmt.Fprintf(&s, "[cleaning]\nmode = \"%s\"\ndowntime_cycles = %d\n[bin]\nvolume = \"%.0f gal\"\n", mode, r.IntN(6), 55*k)
	fmt.Fprintf(&s, "[[branch]]\nname = \"one\"\ndiameter = \"%.1f in\"\nlength = \"%.0f ft\"\nflow = \"%.0f cfm\"\n", 14*math.Sqrt(k), 20+30*r.Float64(), flow)
	return collector.Parse("T-1.toml", []byte(s.String()))
}

// Draw draws machines until one has a fan that leaves something for the damper.
func Draw(r *rand.Rand) (*collector.Collector, error) {
	for {
		c, err := machine(r)
		if err != nil {
			return nil, err
		}
		if _, err = c.AirPath(); err == nil {
			return c, nil
		}
	}
}
