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
	Findings         []Finding `json:"findings"`
	Missing          []Gap     `json:"missing"`
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
	return out
}
