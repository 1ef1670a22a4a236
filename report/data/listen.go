package data

import (
	"dustwright/collector"
	"dustwright/sense/ear"
)

// Listen is what a recording of the cleaning cycle says of the valves.
type Listen struct {
	Collector string        `json:"collector,omitempty"`
	Valves    []ListenValve `json:"valves"`
	Interval  Quantity      `json:"interval"`
	Cycles    *float64      `json:"cycles"`
	Margin    Quantity      `json:"margin"`
	Numbered  string        `json:"numbered"`
	Pulses    []ListenPulse `json:"pulses"`
	Notes     []string      `json:"notes"`
	Cautions  []string      `json:"cautions"`
}

// ListenValve is one valve. Level, length and tone are against the group's own centre.
type ListenValve struct {
	Number      int      `json:"number"`
	State       string   `json:"state"`
	Probability *float64 `json:"probability"`
	Count       int      `json:"count"`
	Due         int      `json:"due"`
	Doubles     int      `json:"doubles"`
	Level       Quantity `json:"level"`
	Length      *float64 `json:"length"`
	Tone        Quantity `json:"tone"`
	Hiss        Quantity `json:"hiss"`
	Why         string   `json:"why"`
}

// ListenPulse is one pulse heard.
type ListenPulse struct {
	At    *float64 `json:"at"`
	Valve int      `json:"valve"`
	Level Quantity `json:"level"`
}

// NewListen shapes an answer; c is nil where no collector file was given, cautions are those the page
// opens with.
func NewListen(c *collector.Collector, r *ear.Result, cautions []string) Listen {
	db := func(v float64) Quantity { return Quantity{number(v), "dB"} }
	out := Listen{Interval: Quantity{number(r.Interval), "s"}, Cycles: number(r.Cycles), Margin: db(r.Margin), Numbered: r.Numbered,
		Pulses: []ListenPulse{}, Notes: append([]string{}, r.Notes...), Cautions: append([]string{}, cautions...)}
	if c != nil {
		out.Collector = c.Tag
	}
	for _, v := range r.Valves {
		out.Valves = append(out.Valves, ListenValve{Number: v.Number, State: string(v.State), Probability: number(v.Probability), Count: v.Count,
			Due: v.Expected, Doubles: v.Double, Level: db(v.Level), Length: number(v.Length), Tone: db(v.Tone), Hiss: db(v.Hiss), Why: v.Why})
	}
	for _, p := range r.Pulses {
		out.Pulses = append(out.Pulses, ListenPulse{number(p.At), p.Valve, db(p.Level)})
	}
	return out
}
