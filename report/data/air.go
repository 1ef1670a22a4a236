package data

import (
	"math"

	"dustwright/collector"
	"dustwright/header"
	"dustwright/unit"
)

// Pulse is what a pulse does to the header.
type Pulse struct {
	Before    Quantity `json:"before"`
	Low       Quantity `json:"low"`
	DropShare *float64 `json:"dropShare"`
	Recovery  Quantity `json:"recovery"`
	Recovered *float64 `json:"recovered"`
}

func pulse(p header.Pulse, supplyKnown bool) Pulse {
	out := Pulse{Before: pa(p.Before), Low: pa(p.Low), DropShare: number(p.Drop() / p.Before), Recovery: Quantity{nil, "s"}}
	if supplyKnown {
		out.Recovery, out.Recovered = Quantity{number(p.Recovery), "s"}, number(p.Recovered)
	}
	return out
}

// Air is the answer of the air command. Volumes are at standard conditions: 14.5 psia, 68 degF, dry.
type Air struct {
	Collector        string    `json:"collector"`
	PerPulse         Range     `json:"perPulse"`
	PerCycle         Quantity  `json:"perCycle"`
	PerStop          Quantity  `json:"downtimePerStop"`
	PulsesPerHour    *float64  `json:"pulsesPerHourWhileCleaning"`
	WhileCleaning    Quantity  `json:"whileCleaning"`
	Need             Quantity  `json:"need"`
	PerHour          Quantity  `json:"perHourWhileCleaning"`
	Mode             string    `json:"mode"`
	Supply           Quantity  `json:"supply"`
	Leak             Quantity  `json:"leak"`
	SupplyShare      *float64  `json:"supplyShare"`
	Limit            *float64  `json:"supplyShareLimit"`
	ShortestInterval Quantity  `json:"shortestInterval"`
	First            Pulse     `json:"firstPulse"`
	Steady           Pulse     `json:"steadyPulse"`
	PipeDrop         Quantity  `json:"pipeDrop"`
	Receiver         Quantity  `json:"receiver"`
	DewAtHeader      Quantity  `json:"dewPointAtHeader"`
	WaterClass       *int      `json:"waterClass"`
	CostPer1000      *float64  `json:"costPer1000Pulses"`
	CostPerYear      *float64  `json:"costPerYearAtMost"`
	Currency         string    `json:"currency"`
	SupplyMeasured   bool      `json:"supplyMeasured"`
	LeakMeasured     bool      `json:"leakMeasured"`
	LeakCost         *float64  `json:"leakCostPerYear"`
	Specific         Quantity  `json:"specificEnergy"`
	Energy           Quantity  `json:"electricityPerYearAtMost"`
	ReceiverPulses   *float64  `json:"receiverPulses"`
	Liquid           Quantity  `json:"liquidWater"`
	LiquidClass      *int      `json:"liquidWaterClass"`
	LeakTest         *AirLeak  `json:"leakTest"`
	RecoveryTest     *AirBack  `json:"recoveryTest"`
	CompressorLeak   *AirLoad  `json:"compressorLeak"`
	Water            *AirWater `json:"water"`
	Findings         []Finding `json:"findings"`
	Missing          []Gap     `json:"missing"`
}

// AirLeak is a leak test of the header.
type AirLeak struct {
	Leak        Range    `json:"leak"`
	Mean        Quantity `json:"mean"`
	Hole        Quantity `json:"hole"`
	SupplyShare *float64 `json:"supplyShare"`
	Rest        Quantity `json:"atRest"`
}

// AirBack is one pulse watched.
type AirBack struct {
	Supply   Range    `json:"supply"`
	PerPulse Quantity `json:"perPulse"`
	Back     Quantity `json:"back"`
	Expected Quantity `json:"expected"`
}

// AirLoad is a compressor with no user on.
type AirLoad struct {
	Share  *float64 `json:"share"`
	Leak   Quantity `json:"leak"`
	Power  Quantity `json:"power"`
	Energy Quantity `json:"electricityPerYear"`
	Cost   *float64 `json:"costPerYear"`
}

// AirWater is what drops out.
type AirWater struct {
	PerDay       Quantity `json:"perDayAtMost"`
	Rate         Quantity `json:"whileCleaning"`
	BehindDryer  Quantity `json:"behindDryer"`
	CooledTo     Quantity `json:"cooledTo"`
	PerFreeCubic Quantity `json:"perFreeAir"`
}

// NewAir shapes the pulse air; sentences are in the units of sys.
func NewAir(c *collector.Collector, a *collector.AirUse, sys unit.System) Air {
	cubic := func(v unit.Volume) Quantity { return Quantity{number(v), "m3"} }
	flow := func(q unit.StdFlow) Quantity { return Quantity{number(q), "m3/s"} }
	known := !math.IsNaN(float64(a.Supply))
	out := Air{Collector: c.Tag, PerPulse: Range{number(a.PerPulse), number(a.Low), number(a.High), "m3"}, PerCycle: cubic(a.PerCycle), PerStop: cubic(a.PerStop),
		PulsesPerHour: number(3600 / c.Header.Interval), WhileCleaning: flow(a.WhileCleaning), Need: flow(a.Need), PerHour: cubic(unit.Volume(a.WhileCleaning * 3600)), Mode: string(c.Cleaning.Mode),
		Supply: flow(a.Supply), Leak: flow(a.Leak), SupplyShare: number(a.Share), Limit: number(collector.AirLimit), ShortestInterval: Quantity{number(a.ShortestInterval), "s"},
		First: pulse(a.First, known), Steady: pulse(a.Pulse, known), PipeDrop: pa(a.PipeDrop), Receiver: cubic(a.Receiver), DewAtHeader: Quantity{number(a.DewAtHeader), "K"},
		CostPer1000: number(a.CostPer1000Pulses), CostPerYear: number(a.CostPerYear), Currency: c.Cost.Currency,
		Findings: findings(a.Findings, sys), Missing: gaps(a.Gaps, sys)}
	if a.WaterClass > 0 {
		out.WaterClass = &a.WaterClass
	}
	if a.LiquidClass > 0 {
		out.LiquidClass = &a.LiquidClass
	}
	out.SupplyMeasured, out.LeakMeasured, out.LeakCost = a.SupplyMeasured, a.LeakMeasured, number(a.LeakCostPerYear)
	out.Specific, out.Energy = Quantity{number(a.Specific), "J/m3"}, Quantity{number(a.EnergyPerYear), "J"}
	out.ReceiverPulses, out.Liquid = number(a.ReceiverPulses), Quantity{number(a.Liquid), "kg/m3"}
	out.tests(a)
	return out
}

// tests shapes what was measured at the machine.
func (out *Air) tests(a *collector.AirUse) {
	flow := func(q unit.StdFlow) Quantity { return Quantity{number(q), "m3/s"} }
	if l := a.HeaderLeak; l != nil {
		out.LeakTest = &AirLeak{Range{number(l.Flow), number(l.Low), number(l.High), "m3/s"}, flow(l.Lost), Quantity{number(l.Hole), "m"}, number(l.Share), pa(l.Rest)}
	}
	if r := a.Refill; r != nil {
		out.RecoveryTest = &AirBack{Range{number(r.Supply), number(r.Low), number(r.High), "m3/s"}, Quantity{number(r.PerPulse), "m3"}, pa(r.Back), Quantity{number(r.Expected), "s"}}
	}
	if k := a.Compressor; k != nil {
		out.CompressorLeak = &AirLoad{number(k.LeakShare), flow(k.Leak), Quantity{number(k.Power), "W"}, Quantity{number(k.PerYear), "J"}, number(k.Cost)}
	}
	if w := a.Water; w != nil {
		out.Water = &AirWater{Quantity{number(w.PerDay), "kg"}, Quantity{number(w.Rate), "kg/s"}, Quantity{number(w.InLine), "kg/s"}, Quantity{number(w.CooledTo), "K"}, Quantity{number(w.PerFree), "kg/m3"}}
	}
}
