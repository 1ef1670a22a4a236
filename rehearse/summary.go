package rehearse

import (
	"math"

	"dustwright/header"
	"dustwright/unit"
)

func (s *sim) summary() Summary {
	b := &s.book
	lives := s.truth.Lives
	out := Summary{Days: s.t / day, Ran: b.ran / hour, Pulses: b.pulses, Air: header.StdVolume(unit.Mass(b.airValves + b.airLeaked)),
		FanEnergy: unit.Energy(b.electric), Dust: unit.Mass(b.dustIn), LowestFlow: unit.Flow(b.lowest), LifeDays: jsonFloat(math.NaN())}
	out.AirEnergy = header.AirEnergy(out.Air, s.ph.Specific)
	if b.ran > 0 {
		out.MeanFlow, out.ShortFlow = unit.Flow(b.flow/b.ran), unit.Share(b.short/b.ran)
	} else {
		out.LowestFlow = 0
	}
	if n := len(s.truth.Weekly); n > 0 {
		out.AfterClean = s.truth.Weekly[n-1]
	}
	for _, l := range lives {
		if l.To != nil {
			out.LifeDays, out.Limit = jsonFloat(l.To.Sub(l.From).Hours()/24), l.Limit
			break
		}
	}
	out.Cost = jsonFloat(s.cost(out))
	out.CostPerYear = jsonFloat(float64(out.Cost) * year / max(s.t, 1))
	return out
}

// cost is what the run cost: electricity of fan and compressed air, and the filters' share of their life; NaN without the
// prices of electricity or, for a filter change, where no limit bound (then filters count for the changes made).
func (s *sim) cost(sum Summary) float64 {
	c := &s.c.Cost
	if math.IsNaN(c.ElectricityPer) {
		return math.NaN()
	}
	cost := c.ElectricityPer * float64(sum.FanEnergy)
	if math.IsNaN(c.AirPer) {
		cost += c.ElectricityPer * float64(sum.AirEnergy)
	} else {
		cost += c.AirPer * float64(sum.Air)
	}
	change := float64(s.c.Filters.Count())*s.c.Filters.PriceEach + c.LabourPer*float64(c.ChangeTime)
	if math.IsNaN(change) {
		change = float64(s.c.Filters.Count()) * s.c.Filters.PriceEach
	}
	if math.IsNaN(change) {
		return cost
	}
	worn := float64(len(s.truth.Lives) - 1)
	if d := float64(sum.LifeDays); d > 0 && worn == 0 {
		worn = s.t / day / d
	}
	return cost + worn*change
}
