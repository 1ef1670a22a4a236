package chalk

import (
	"fmt"
	"math"
	"math/rand/v2"

	"dustwright/collector"
	"dustwright/unit"
)

// digits rounds to three figures, as people write into files.
func digits(x float64) float64 {
	step := math.Pow(10, math.Floor(math.Log10(math.Abs(x)))-2)
	return math.Round(x/step) * step
}

// file writes the collector's file: what the plant believes of the machine, a few per cent off here and there, with keys
// left out that nobody knew.
func (d *design) file(r *rand.Rand) (*collector.Collector, error) {
	about := func(x, sd float64) float64 { return digits(x * (1 + sd*clamp(r.NormFloat64(), -2, 2))) }
	c := collector.New()
	c.Tag, c.Service = "DC-7", "line 2"
	c.Site.Elevation = unit.Length(math.Round(d.altitude/10) * 10)
	c.Duty.Flow = unit.Flow(digits(d.flow))
	c.Duty.BulkDensity = unit.Density(about(d.bulk, 0.08))
	c.Duty.InletSP = unit.Pressure(about(-math.Pow(d.flow/d.ducts(allOpen), 2), 0.03))
	if chance(r, 0.8) {
		c.Duty.Loading = unit.Concentration(about(d.loading, 0.2))
	}
	if chance(r, 0.7) {
		days := 5.0
		if d.weekends {
			days = 7
		}
		c.Duty.RunPerWeek = unit.Seconds(d.works * days * hour)
	}
	c.Filters.Rows, c.Filters.PerRow = d.rows, pick(r, 1, 1, 2, 3)
	c.Filters.AreaEach = unit.Area(digits(d.area / float64(c.Filters.PerRow)))
	c.Filters.CleanDP = unit.Pressure(about(d.flow/(d.media*float64(d.rows)), 0.06))
	c.Filters.MaxDP = unit.Pressure(digits(max(1500, d.high*1.2)))
	c.AfterFilter.Fitted = true
	c.AfterFilter.CleanDP, c.AfterFilter.MaxDP = unit.Pressure(about(d.after*d.flow, 0.05)), 625
	c.SetPoints = collector.SetPoints{Low: unit.Pressure(digits(d.low)), High: unit.Pressure(digits(d.high)), Alarm: unit.Pressure(digits(d.high + 500))}
	c.Cleaning.Mode, c.Cleaning.DowntimeCycles = d.mode, d.cycles
	for _, row := range d.order {
		c.Cleaning.Order = append(c.Cleaning.Order, row+1)
	}
	if chance(r, 0.85) {
		c.Bin.Volume = unit.Volume(digits(d.bin / d.bulk))
	}
	c.Header = collector.Header{Volume: unit.Volume(about(d.volume, 0.03)), Set: unit.Pressure(d.set), OnTime: unit.Seconds(d.onTime),
		Interval: unit.Seconds(d.interval), ValveFlow: unit.Conductance(about(d.nozzle, 0.08)),
		SupplyFlow: unit.StdFlow(about(d.fill*d.volume/(polytropic*atmosphere), 0.1))}
	d.fanInFile(c, r, about)
	for i, g := range d.gates {
		b := collector.NewBranch()
		b.Name = fmt.Sprintf("hood %c", 'A'+i)
		b.Flow = unit.Flow(digits(d.flow * g / d.ducts(allOpen)))
		b.Diameter = unit.Length(digits(math.Sqrt(4 / math.Pi * float64(b.Flow) / 19)))
		b.Length = unit.Length(math.Round(between(r, 5, 25)))
		c.Branches = append(c.Branches, b)
	}
	return c, c.Validate()
}

// fanInFile writes fan, motor and the damper's points of commissioning, which some plants lack.
func (d *design) fanInFile(c *collector.Collector, r *rand.Rand, about func(x, sd float64) float64) {
	off := 1 + 0.02*r.NormFloat64() // the fan is not quite the one on paper
	c.Fan.Speed, c.Fan.Density = unit.Speed(digits(between(r, 1450, 3550))/60), 1.2
	for i := range 9 {
		q := d.flow * 0.19 * float64(i)
		c.Fan.Curve = append(c.Fan.Curve, collector.FanPoint{Flow: unit.Flow(q), Pressure: unit.Pressure(max(0, math.Round(d.fan.pressure(q)*off)))})
		c.Fan.Power = append(c.Fan.Power, collector.FanPower{Flow: unit.Flow(q), Power: unit.Power(math.Round(d.fan.shaft(q) * off))})
	}
	c.Fan.MotorPower = unit.Power(digits(d.fan.power * between(r, 1.2, 1.45)))
	c.Fan.Voltage, c.Fan.MotorEfficiency, c.Fan.PowerFactor = 400, unit.Share(digits(d.efficiency)), 0.86
	c.Fan.FullLoadCurrent = unit.Current(digits(amps(float64(c.Fan.MotorPower) / d.efficiency)))
	if chance(r, 0.15) {
		return
	}
	for _, open := range []float64{d.trim - 0.15, d.trim, 1} {
		w := d.fan.wind(d.asBuilt(open))
		c.Damper.Points = append(c.Damper.Points, collector.DamperPoint{Open: unit.Share(math.Round(open*100) / 100),
			Flow: unit.Flow(about(w.flow, 0.012)), FilterDP: unit.Pressure(about(w.dp, 0.02))})
	}
}

// amps is the current that a motor takes at an electric power [W].
func amps(power float64) float64 { return power / (math.Sqrt(3) * 400 * 0.86) }
