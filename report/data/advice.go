package data

import (
	"dustwright/collector"
	"dustwright/rehearse"
	"dustwright/unit"
)

// Advice is the answer of rehearse --advise. Applied is false, always.
type Advice struct {
	Collector     string   `json:"collector"`
	Seed          uint64   `json:"seed"`
	Mode          string   `json:"mode"`
	Basis         string   `json:"basis"`
	Applied       bool     `json:"applied"`
	Changed       bool     `json:"changed"`
	Today         Trial    `json:"today"`
	Advised       Trial    `json:"advised"`
	SavingPerYear *float64 `json:"savingPerYear"` // null without prices
	Currency      string   `json:"currency"`
	EnergyPerYear Quantity `json:"energySavedPerYear"`
	Binding       []Bound  `json:"binding"`
	Runs          int      `json:"runs"`
	Notes         []string `json:"notes"`
}

// Bound is a limit that the advice stands at.
type Bound struct {
	Limit string `json:"limit"`
	Text  string `json:"text"`
}

// Trial is a run with its set points.
type Trial struct {
	Low         Quantity      `json:"low"`
	High        Quantity      `json:"high"`
	Interval    Quantity      `json:"interval"`
	Header      Quantity      `json:"header"`
	Life        RehearsedLife `json:"life"`
	Days        *float64      `json:"days"`
	MeanFlow    Quantity      `json:"meanFlow"`
	LowestFlow  Quantity      `json:"lowestFlow"`
	ShortFlow   *float64      `json:"shortFlow"`   // share of the running time below 95 % of design flow
	SupplyShare *float64      `json:"supplyShare"` // of the air supply, taken by pulses on the mean
	Pulses      *float64      `json:"pulsesPerYear"`
	Air         Quantity      `json:"airPerYear"`
	FanEnergy   Quantity      `json:"fanEnergyPerYear"`
	AirEnergy   Quantity      `json:"airEnergyPerYear"`
	Electricity *float64      `json:"electricityPerYear"` // costs are in the currency
	Pulsing     *float64      `json:"compressedAirPerYear"`
	Filters     *float64      `json:"filtersPerYear"`
	Cost        *float64      `json:"costPerYear"`
}

// NewAdvice shapes advice.
func NewAdvice(c *collector.Collector, sys unit.System, a *rehearse.Advice) Advice {
	out := Advice{Collector: c.Tag, Seed: a.Seed, Mode: string(a.Mode), Basis: string(a.Basis), Changed: a.Changed, Today: trial(&a.Today), Advised: trial(&a.Advised),
		Currency: c.Cost.Currency, Binding: []Bound{}, Runs: a.Runs, Notes: texts(a.Notes, sys)}
	out.SavingPerYear = number(a.Today.PerYear.Cost - a.Advised.PerYear.Cost)
	y, z := a.Today.PerYear, a.Advised.PerYear
	out.EnergyPerYear = Quantity{number(y.Energy - z.Energy), "J"}
	for _, b := range a.Binding {
		out.Binding = append(out.Binding, Bound{b.Name, b.Text.In(sys)})
	}
	return out
}

func trial(t *rehearse.Trial) Trial {
	s, y := t.Summary, t.PerYear
	return Trial{Low: pa(t.Low), High: pa(t.High), Interval: Quantity{number(t.Interval), "s"}, Header: pa(t.Header),
		Life: RehearsedLife{number(s.LifeDays), s.Limit}, Days: number(s.Days), MeanFlow: cubicSecond(s.MeanFlow), LowestFlow: cubicSecond(s.LowestFlow),
		ShortFlow: number(s.ShortFlow), SupplyShare: number(t.Supply), Pulses: number(y.Pulses), Air: Quantity{number(y.Air), "m3"},
		FanEnergy: Quantity{number(y.FanEnergy), "J"}, AirEnergy: Quantity{number(y.AirEnergy), "J"},
		Electricity: number(y.Electricity), Pulsing: number(y.Pulsing), Filters: number(y.Filters), Cost: number(y.Cost)}
}
