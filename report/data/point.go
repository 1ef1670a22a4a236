package data

import (
	"dustwright/collector"
	"dustwright/unit"
)

// Losses is what the fan's pressure is spent on, in Pa.
type Losses struct {
	Fan         Quantity `json:"fan"`
	Inlet       Quantity `json:"inlet"`
	Filters     Quantity `json:"filters"`
	AfterFilter Quantity `json:"afterFilter"`
	Damper      Quantity `json:"damper"`
}

func losses(o collector.OperatingPoint) Losses {
	return Losses{pa(o.Fan), pa(o.Inlet), pa(o.Filters), pa(o.AfterFilter), pa(o.Damper)}
}

// Point is the answer of the point command.
type Point struct {
	Collector     string   `json:"collector"`
	Flow          Range    `json:"flow"`
	DesignShare   *float64 `json:"designShare"`
	AtMost        bool     `json:"atMost"`
	HoodFlow      Quantity `json:"hoodFlow"`
	FilterDP      Quantity `json:"filterDpAtDesignFlow"`
	Damper        *float64 `json:"damper"`
	Density       Quantity `json:"density"`
	AirGiven      bool     `json:"airGiven"`
	Losses        Losses   `json:"losses"`
	Power         Quantity `json:"power"`
	Current       Quantity `json:"current"`
	CurrentSigma  Quantity `json:"currentSigma"`
	LeftOfPeak    bool     `json:"leftOfPeak"`
	Branches      []Branch `json:"branches"`
	Shut          []string `json:"shut"`
	AllOpen       Quantity `json:"flowAllOpen"`
	WidenedMostBy string   `json:"widenedMostBy,omitempty"`
	Missing       []Gap    `json:"missing"`
}

// NewPoint shapes an operating point; sentences are in the units of sys.
func NewPoint(c *collector.Collector, e collector.Estimate, sys unit.System) Point {
	p := Point{Collector: c.Tag, Flow: Range{number(e.Flow), number(e.Low), number(e.High), "m3/s"},
		DesignShare: number(e.Flow / c.Duty.Flow), AtMost: e.AtMost, HoodFlow: cubicSecond(e.HoodFlow),
		FilterDP: pa(e.Conditions.FilterDP), Density: Quantity{number(e.Conditions.Density), "kg/m3"}, AirGiven: e.Given.Air, Losses: losses(e.OperatingPoint),
		Power: watt(e.Power), Current: ampere(e.Current), CurrentSigma: ampere(e.CurrentSD), LeftOfPeak: e.Rising,
		Branches: branches(e.Branches), Shut: keys(e.Shut), AllOpen: cubicSecond(e.AllOpen), WidenedMostBy: e.Mostly, Missing: gaps(e.Gaps, sys)}
	if !e.AtMost {
		p.Damper = number(e.Conditions.Damper)
	}
	return p
}
