package data

import (
	"time"

	"dustwright/collector"
	"dustwright/rehearse"
	"dustwright/unit"
)

// Rehearsal is the answer of the rehearse command for one run.
type Rehearsal struct {
	Collector   string                `json:"collector"`
	Setting     string                `json:"setting,omitempty"` // what tells it from the run beside it
	Seed        uint64                `json:"seed"`
	From        string                `json:"from"`
	To          string                `json:"to"`
	Running     Quantity              `json:"running"`
	Life        RehearsedLife         `json:"life"`
	Pulses      int                   `json:"pulses"`
	Air         Quantity              `json:"air"` // at 14.5 psia, 68 degF, dry
	FanEnergy   Quantity              `json:"fanEnergy"`
	AirEnergy   Quantity              `json:"airEnergy"`
	Dust        Quantity              `json:"dust"`
	MeanFlow    Quantity              `json:"meanFlow"`
	LowestFlow  Quantity              `json:"lowestFlow"`
	LowDP       Quantity              `json:"lowDP"` // 10th percentile of the last week, at design flow
	Cost        *float64              `json:"cost"`
	CostPerYear *float64              `json:"costPerYear"`
	Currency    string                `json:"currency"`
	Faults      []rehearse.FaultTruth `json:"faults"`
	Work        []rehearse.Work       `json:"work"`
	Notes       []string              `json:"notes"`
}

// RehearsedLife is how long the filters lasted; days is null where no limit bound in the run.
type RehearsedLife struct {
	Days  *float64 `json:"days"`
	Limit string   `json:"limit,omitempty"`
}

// NewRehearsal shapes a run; sentences are in the units of sys.
func NewRehearsal(c *collector.Collector, setting string, r *rehearse.Result, sys unit.System) Rehearsal {
	s, t := r.Summary, r.Truth
	return Rehearsal{Collector: c.Tag, Setting: setting, Seed: t.Seed, From: t.Start.Format(time.RFC3339), To: t.End.Format(time.RFC3339),
		Running: Quantity{number(s.Ran * 3600), "s"}, Life: RehearsedLife{number(s.LifeDays), s.Limit}, Pulses: s.Pulses,
		Air: Quantity{number(s.Air), "m3"}, FanEnergy: Quantity{number(s.FanEnergy), "J"}, AirEnergy: Quantity{number(s.AirEnergy), "J"},
		Dust: Quantity{number(s.Dust), "kg"}, MeanFlow: cubicSecond(s.MeanFlow), LowestFlow: cubicSecond(s.LowestFlow), LowDP: pa(s.AfterClean),
		Cost: number(s.Cost), CostPerYear: number(s.CostPerYear), Currency: c.Cost.Currency,
		Faults: t.Faults, Work: append([]rehearse.Work{}, t.Work...), Notes: texts(t.Notes, sys)}
}

// Rehearsals is the answer for runs side by side.
type Rehearsals struct {
	Runs []Rehearsal `json:"runs"`
}
