package outline

import (
	"math"
	"math/rand/v2"

	"dustwright/collector"
	"dustwright/unit"
)

// paper is the machine's file as the plant keeps it: some of it left out, some a few per cent wrong.
func paper(r *rand.Rand, m *machine, length float64, c *calendar) *collector.Collector {
	f := collector.New()
	sloppy := within(r, 0, 1)
	off := func(share float64) float64 { return 1 + share*sloppy*r.NormFloat64() }
	known := func(p float64) bool { return r.Float64() < 1-p*sloppy }
	f.Tag, f.Source = "B-1", "B-1.toml"
	f.Duty.Flow = unit.Flow(m.design)
	if known(0.4) {
		f.Duty.Loading = unit.Concentration(m.dust.load * (1 - 0.3*m.dust.coarse) * off(0.3))
	}
	if known(0.3) {
		f.Duty.BulkDensity = unit.Density(m.dust.bulk * off(0.1))
	}
	if known(0.3) {
		on := 0.0
		for i, s := range c.slots {
			if s.fan && i+1 < len(c.slots) {
				on += c.slots[i+1].at - s.at
			}
		}
		f.Duty.RunPerWeek = unit.Seconds(min(7*day, on/length*7*day*off(0.15)))
	}
	if known(0.5) {
		f.Duty.MinDuctVelocity = unit.Velocity(pick(r, 15.0, 17.8, 20))
	}
	if known(0.35) {
		f.Duty.InletSP = unit.Pressure(-(m.duct.hoods + m.duct.main) * off(0.05))
	}
	if known(0.5) {
		f.Site.Elevation = unit.Length(math.Round(m.elevation))
	}
	f.Filters.Rows, f.Filters.PerRow = m.rows, m.perRow
	f.Filters.AreaEach = unit.Area(m.area / float64(m.perRow) * off(0.02))
	if known(0.3) {
		f.Filters.CleanDP = unit.Pressure((m.media.clean*m.design/m.area/float64(m.rows) + m.media.inertial) * off(0.08))
	}
	f.Filters.MaxDP = unit.Pressure(6 * inch)
	if m.after.fitted && known(0.2) {
		f.AfterFilter.Fitted = true
		f.AfterFilter.CleanDP = unit.Pressure((m.after.lin + m.after.sq) * off(0.05))
		f.AfterFilter.MaxDP = unit.Pressure(2.5 * inch)
	}
	fanPaper(r, m, f, off)
	if known(0.4) && m.duct.damper != noDamper {
		damperPaper(m, f, off)
	}
	t := &m.tank
	if known(0.3) {
		f.Header.Volume = unit.Volume(t.volume * off(0.05))
	}
	if known(0.2) {
		f.Header.Set = unit.Pressure(math.Round(t.set*off(0.02)/psi) * psi)
	}
	if known(0.3) {
		f.Header.OnTime = unit.Seconds(t.onTime)
	}
	f.Header.Interval = unit.Seconds(m.control.interval)
	if known(0.4) {
		f.Header.ValveFlow = unit.Conductance(t.drop * t.volume / 1.25 / 1e5 / t.onTime * off(0.1))
	}
	if known(0.5) {
		f.Header.SupplyFlow = unit.StdFlow(t.brings * t.volume / atmosphere * off(0.15))
	}
	f.SetPoints = collector.SetPoints{Low: unit.Pressure(m.control.low), High: unit.Pressure(m.control.high), Alarm: unit.Pressure(max(6*inch, m.control.high+1.5*inch))}
	controlPaper(m, f, known(0.4))
	if known(0.3) {
		f.Bin.Volume = unit.Volume(m.bin.volume * off(0.05))
	}
	return f
}

func controlPaper(m *machine, f *collector.Collector, order bool) {
	f.Cleaning.Mode = collector.OnDemand
	switch m.control.logic {
	case timer:
		f.Cleaning.Mode = collector.Timed
	case always:
		f.Cleaning.Mode = collector.Continuous
	}
	f.Cleaning.DowntimeCycles = m.control.down
	if order {
		for _, v := range m.control.order {
			f.Cleaning.Order = append(f.Cleaning.Order, v+1)
		}
	}
}

// fanPaper is the fan's sheet: the curves at the file's speed, and the motor's plate.
func fanPaper(r *rand.Rand, m *machine, f *collector.Collector, off func(float64) float64) {
	n := &m.fan
	if r.Float64() < 0.85 {
		f.Fan.Speed, f.Fan.Density = unit.Speed(pick(r, 1450, 1780, 2950, 3550.0)/60), 1.2
		scale := off(0.03)
		for _, q := range []float64{0, 0.3, 0.6, 0.8, 1, 1.2, 1.4, 1.6} {
			head := n.shut * (1 + n.rise*q - n.fall*q*q) * scale
			if head <= 0 {
				break
			}
			f.Fan.Curve = append(f.Fan.Curve, collector.FanPoint{Flow: unit.Flow(q * m.design), Pressure: unit.Pressure(head)})
			f.Fan.Power = append(f.Fan.Power, collector.FanPower{Flow: unit.Flow(q * m.design), Power: unit.Power(n.shaft * (n.w0 + n.w1*q + n.w2*q*q))})
		}
		if r.Float64() < 0.25 {
			f.Fan.Power = nil
		}
	}
	f.Fan.MotorPower, f.Fan.Voltage, f.Fan.FullLoadCurrent = unit.Power(n.rated), unit.Voltage(n.volts), unit.Current(math.Round(n.full*10)/10)
	if r.Float64() < 0.7 {
		f.Fan.MotorEfficiency, f.Fan.PowerFactor = unit.Share(n.eff), unit.Share(n.pf)
	}
}

// damperPaper is what commissioning wrote down: new filters at three openings.
func damperPaper(m *machine, f *collector.Collector, off func(float64) float64) {
	if m.fan.drive {
		return
	}
	last := 0.0
	for _, open := range []float64{max(0.15, 0.6*m.duct.open), m.duct.open, 1} {
		if open <= last {
			continue
		}
		last = open
		w := newWorld(m, 1)
		for i := range m.rows {
			w.s.row[i] = row{media: m.media.clean * 1.15}
		}
		k := w.neutral()
		k.open = open
		for range 5 {
			w.solve(&k)
		}
		f.Damper.Points = append(f.Damper.Points, collector.DamperPoint{Open: unit.Share(open), Flow: unit.Flow(w.s.wind.fan * m.design * off(0.03)), FilterDP: unit.Pressure(w.s.wind.dp)})
	}
}
