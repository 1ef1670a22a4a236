package data

import (
	"dustwright/collector"
	"dustwright/unit"
)

// TrimStep is one state of the filters with the position that holds the flow.
type TrimStep struct {
	FilterDP     Quantity `json:"filterDp"`
	Open         *float64 `json:"open"`
	Low          *float64 `json:"low"`
	High         *float64 `json:"high"`
	Extrapolated bool     `json:"extrapolated"`
	DamperLoss   Quantity `json:"damperLoss"`
	Held         bool     `json:"held"`
	Flow         Quantity `json:"flow"`
	Power        Quantity `json:"power"`
	Current      Quantity `json:"current"`
}

func trimStep(s collector.TrimStep) TrimStep {
	return TrimStep{pa(s.FilterDP), number(s.Open), number(s.Low), number(s.High), s.Extrapolated, pa(s.DamperLoss), s.Held,
		cubicSecond(s.Point.Flow), watt(s.Point.Power), ampere(s.Point.Current)}
}

// Load is flow, power and current in one state.
type Load struct {
	Damper           *float64 `json:"damper"`
	Flow             Quantity `json:"flow"`
	Power            Quantity `json:"power"`
	Current          Quantity `json:"current"`
	ShareOfFullLoad  *float64 `json:"shareOfFullLoadCurrent"`
	ShareOfMotorSize *float64 `json:"shareOfMotorPower"`
}

func load(c *collector.Collector, o collector.OperatingPoint, open unit.Share) *Load {
	return &Load{number(open), cubicSecond(o.Flow), watt(o.Power), ampere(o.Current),
		number(o.Current / c.Fan.FullLoadCurrent), number(o.Power / c.Fan.MotorPower)}
}

// Trim is the answer of the trim command.
type Trim struct {
	Collector     string     `json:"collector"`
	Flow          Quantity   `json:"flow"`
	Now           *TrimStep  `json:"now"`
	NowLoad       *Load      `json:"nowLoad"`
	New           TrimStep   `json:"new"`
	Schedule      []TrimStep `json:"schedule"`
	FullyOpenAtDP Quantity   `json:"fullyOpenAtDp"`
	LeftAlone     *Load      `json:"leftAlone"`
	Density       Quantity   `json:"density"`
	AirGiven      bool       `json:"airGiven"`
	Branches      []Branch   `json:"branches"`
	Shut          []string   `json:"shut"`
	WidenedMostBy string     `json:"widenedMostBy,omitempty"`
	Warnings      []Finding  `json:"warnings"`
	Missing       []Gap      `json:"missing"`
}

// NewTrim shapes a trim; sentences are in the units of sys.
func NewTrim(c *collector.Collector, t *collector.Trim, sys unit.System) Trim {
	out := Trim{Collector: c.Tag, Density: Quantity{number(t.Density), "kg/m3"}, AirGiven: t.AirGiven, Flow: cubicSecond(t.Flow), New: trimStep(t.New), FullyOpenAtDP: pa(t.LastHeld),
		Branches: branches(t.Branches), Shut: keys(t.Shut), WidenedMostBy: t.New.Mostly, Warnings: findings(t.Warnings, sys), Missing: gaps(t.Gaps, sys)}
	if t.Now != nil {
		s := trimStep(*t.Now)
		out.Now = &s
	}
	if t.NowPoint != nil {
		out.NowLoad = load(c, *t.NowPoint, t.NowOpen)
	}
	for _, s := range t.Steps {
		out.Schedule = append(out.Schedule, trimStep(s))
	}
	if t.LeftError == nil {
		out.LeftAlone = load(c, t.LeftAlone, t.LeftAt.Open)
	}
	return out
}
