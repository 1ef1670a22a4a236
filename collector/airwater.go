package collector

import (
	"math"

	"dustwright/air"
	"dustwright/header"
	"dustwright/unit"
)

// Water is what drops out of the compressed air, by what the compressor draws.
type Water struct {
	PerFree  unit.Concentration // per volume of free air used [kg/m3 at unit.ScfDensity]
	Rate     unit.MassFlow      // while it cleans, leaks included
	PerDay   unit.Mass          // at most: cleaning whenever it runs, a seventh of the week, and leaks all day
	InLine   unit.MassFlow      // of Rate what drops out behind the dryer; NaN where its dew point or the coldest place is not known
	CooledTo unit.Temperature   // the lowest the air comes to: dryer or coldest place, whichever is lower
}

// moisture checks the dew point and works out the water.
func (a *airUse) moisture() {
	u, r, h := a.u, a.r, a.c.Header
	p := a.pressure()
	u.DewAtHeader = header.DewPointAt(r.DewPoint, unit.AbsPressure(p)+a.ambient(), unit.AbsPressure(h.Set)+a.ambient())
	if !math.IsNaN(float64(r.DewPoint)) {
		u.WaterClass = header.WaterClass(r.DewPoint)
	}
	u.Liquid = unit.Concentration(math.NaN())
	if r.DewPoint > r.Coldest {
		saturated := header.Intake{T: r.DewPoint, RH: 1, P: unit.AbsPressure(p) + a.ambient()}
		u.Liquid = dropped(saturated, 0, r.Coldest)
		u.LiquidClass = header.LiquidClass(u.Liquid)
		a.find("air-wet", Wrong, "", Say("the dew point in the line, %s, lies above the coldest place, %s: water drops out there and goes into the cake", r.DewPoint, r.Coldest), "definition of the dew point")
	} else if r.DewPoint+5 > r.Coldest {
		a.find("air-wet", Odd, "", Say("the dew point in the line, %s, lies less than 5 K (9 °F) below the coldest place, %s", r.DewPoint, r.Coldest), commonPractice)
	}
	if !math.IsNaN(float64(r.Intake) + float64(r.IntakeHumidity)) {
		a.condensate(p)
	}
}

// condensate works out what the drains have to take.
func (a *airUse) condensate(p unit.Pressure) {
	u, r := a.u, a.r
	in := header.Intake{T: r.Intake, RH: r.IntakeHumidity, P: a.ambient()}
	w := &Water{CooledTo: r.DewPoint, InLine: unit.MassFlow(math.NaN())}
	if math.IsNaN(float64(w.CooledTo)) || r.Coldest < w.CooledTo {
		w.CooledTo = r.Coldest
	}
	if math.IsNaN(float64(w.CooledTo)) {
		w.CooledTo = r.Intake
		a.find("water-cooled", Note, "", Say("without dew point and coldest place the air is taken to cool down to the %s it was drawn at", r.Intake), commonPractice)
	}
	leak := u.Leak
	if math.IsNaN(float64(leak)) {
		leak = 0
	}
	w.PerFree = dropped(in, p, w.CooledTo)
	flow := float64(u.WhileCleaning + leak)
	w.Rate = unit.MassFlow(float64(w.PerFree) * flow)
	const day, week = 86400, 7 * 86400
	running := float64(a.c.Duty.RunPerWeek) / week
	w.PerDay = unit.Mass(float64(w.PerFree) * day * (float64(u.WhileCleaning)*running + float64(leak)))
	if !math.IsNaN(float64(r.DewPoint) + float64(r.Coldest)) {
		w.InLine = unit.MassFlow(float64(w.PerFree-dropped(in, p, r.DewPoint)) * flow)
	}
	u.Water = w
}

// dropped is the water that drops out of a cubic metre of free air, counted at unit.ScfDensity, once it is compressed to
// line and cooled to a temperature.
func dropped(in header.Intake, line unit.Pressure, to unit.Temperature) unit.Concentration {
	s := air.State{T: in.T, P: in.P, RH: in.RH}
	in.Flow = unit.StdFlow(unit.ScfDensity / float64(s.Density()) * (1 + float64(s.HumidityRatio()))) // holds a standard cubic metre of dry air
	return unit.Concentration(header.Condensate(in, line, to))
}
