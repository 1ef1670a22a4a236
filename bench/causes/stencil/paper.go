package stencil

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"time"

	"dustwright/collector"
	"dustwright/unit"
)

// flowAt is the design gates' flow at a damper position through filters of a drag [Pa s/m].
func (s *shop) flowAt(pos, drag float64) float64 {
	lo, hi := 0.0, s.knee
	square := s.suction/(s.design*s.design) + s.damperLoss(pos)
	line := drag/s.area + s.after/s.design
	for range 50 {
		q := (lo + hi) / 2
		if s.fanPressure(q, 1) > square*q*q+line*q {
			lo = q
		} else {
			hi = q
		}
	}
	return lo
}

// setDamper trims the damper to a share of design flow with the filters halfway between the set points; the blade is of a
// size that stands at about pos then.
func (s *shop) setDamper(share, pos float64) {
	q := share * s.design
	lost := s.suction*share*share + (s.low+s.high)/2 + (s.after+s.afterOld)*share
	k := (s.fanPressure(q, 1) - lost) / (s.wide * share * share)
	s.slope = min(9, max(2.5, math.Log(max(1, k))/(1-pos)))
	s.trim = min(1, max(0.2, 1-math.Log(max(1, k))/s.slope))
}

// writer writes a file in the units of a shop.
type writer struct {
	strings.Builder
	us bool
}

func (w *writer) flow(v float64) string {
	if w.us {
		return fmt.Sprintf("%.0f cfm", v*2118.88)
	}
	return fmt.Sprintf("%.0f m3/h", v*3600)
}

func (w *writer) pa(v float64) string {
	if w.us {
		return fmt.Sprintf("%.2f in.w.g.", v/unit.InchWater)
	}
	return fmt.Sprintf("%.0f Pa", v)
}

// put writes a line.
func (w *writer) put(format string, args ...any) { fmt.Fprintf(w, format+"\n", args...) }

// file writes the collector's file, with the errors of whoever wrote it down and here and there something left out.
func (s *shop) file(r *rand.Rand, start time.Time) (*collector.Collector, error) {
	w := &writer{us: r.Float64() < 0.4}
	wrong := func(sd float64) float64 { return 1 + sd*r.NormFloat64() }
	w.put("tag = \"ST-%d\"\nservice = %q\n[site]\nelevation = \"%.0f m\"", 1+r.IntN(40), s.service, s.elevation)
	w.put("[duty]\nflow = %q\ndust = %q\nbulk_density = \"%.0f kg/m3\"\nhours_per_week = %.0f", w.flow(s.design), s.dust, s.heap*wrong(0.1), s.hours.perWeek())
	if r.Float64() < 0.7 {
		w.put("loading = \"%.3f g/m3\"", s.gram*math.Exp(0.35*r.NormFloat64()))
	}
	w.put("inlet_sp = %q", w.pa(-s.suction*wrong(0.03)))
	w.put("[filters]\nrows = %d\nper_row = %d\narea_each = \"%.2f m2\"\nclean_dp = %q\nmax_dp = %q", s.rows, s.per,
		s.area/float64(s.rows*s.per), w.pa(s.media*s.design/s.area*wrong(0.04)), w.pa(s.most))
	if r.Float64() < 0.4 {
		w.put("installed = %s", start.AddDate(0, 0, -int(s.fed/s.year*365)).Format("2006-01-02"))
	}
	if s.after > 0 {
		w.put("[afterfilter]\nclean_dp = %q\nmax_dp = \"650 Pa\"", w.pa(s.after))
	}
	s.fanFile(w, 1+0.025*r.NormFloat64())
	w.put("[damper]\npoints = [")
	for _, pos := range []float64{0.7 * s.trim, s.trim, 1} {
		q := s.flowAt(pos, s.media) * wrong(0.01)
		if pos == 1 || pos < 0.97 {
			w.put("[\"%.0f %%\", %q, %q],", pos*100, w.flow(q), w.pa(s.media*q/s.area))
		}
	}
	w.put("]")
	take := s.tank * s.dip * (s.set + 1e5) / 101325 // [m3]
	scfm := take / s.onTime * 2118.88
	w.put("[header]\nvolume = \"%.0f L\"\nset = \"%.1f bar\"\non_time = \"%.0f ms\"\ninterval = \"%.0f s\"\nvalve_flow = \"%.1f Cv\"", s.tank*1000, s.set/1e5,
		s.onTime*1000, s.interval, scfm/(0.45*(s.set+1e5)/6895)*wrong(0.1))
	if r.Float64() < 0.75 {
		w.put("supply_flow = \"%.1f scfm\"", s.supply()*wrong(0.06))
	}
	w.put("[setpoints]\nlow = %q\nhigh = %q\nalarm = %q", w.pa(s.low), w.pa(s.high), w.pa(s.most))
	w.put("[cleaning]\nmode = %q\ndowntime_cycles = %d", s.mode, s.stops)
	w.put("[bin]\nvolume = \"%.0f L\"", s.bin*1000)
	n := s.shopHoods()
	for i := range n {
		q := s.design / float64(n)
		w.put("[[branch]]\nname = \"hood %d\"\ndiameter = \"%.0f mm\"\nlength = \"%.0f m\"\nflow = %q", i+1, 1000*math.Sqrt(4*q/math.Pi/(22.5+3*r.Float64())), 4+14*r.Float64(), w.flow(q))
	}
	return collector.Parse("stencil.toml", []byte(w.String()))
}

// supply is the mean of what the hose brings while the header fills [scfm].
func (s *shop) supply() float64 {
	take := s.dip * (s.set + 1e5)
	return (s.line - s.set + take/2) / s.refill * s.tank / 101325 * 2118.88
}

// fanFile writes fan and motor; the catalogue's curve is off by a factor.
func (s *shop) fanFile(w *writer, off float64) {
	w.put("[fan]\nspeed = \"2900 rpm\"\ndensity = \"1.2 kg/m3\"\ncurve = [")
	shares := []float64{0, 0.2, 0.35, 0.5, 0.62, 0.75, 0.87, 0.96}
	for _, x := range shares {
		w.put("[%q, %q],", w.flow(x*s.knee), w.pa(off*s.fanPressure(x*s.knee, 1)))
	}
	w.put("]\npower = [")
	for _, x := range shares {
		w.put("[%q, \"%.3f kW\"],", w.flow(x*s.knee), s.shaft(x*s.knee)/1000)
	}
	w.put("]\nmotor_power = \"%.2f kW\"\nvoltage = \"%.0f V\"\nfull_load_current = \"%.2f A\"\nmotor_efficiency = 0.9\npower_factor = 0.84", s.rated/1000, s.volts, s.full)
}
