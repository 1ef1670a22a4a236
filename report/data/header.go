package data

import (
	"dustwright/collector"
	"dustwright/sense/trace"
	"dustwright/unit"
)

// Header is what a header-pressure trace shows of the valves.
type Header struct {
	Collector string        `json:"collector,omitempty"`
	Valves    []HeaderValve `json:"valves"`
	Relative  bool          `json:"relative"`
	Marked    bool          `json:"marked"`
	Interval  Quantity      `json:"interval"`
	Cycles    *float64      `json:"cycles"`
	Drop      Range         `json:"drop"`
	Expected  Quantity      `json:"expectedDrop"`
	Level     Quantity      `json:"level"`
	Set       Quantity      `json:"set"`
	Bleed     Bleed         `json:"bleed"`
	Refill    Refill        `json:"refill"`
	Pulses    []HeaderPulse `json:"pulses"`
	Rate      *float64      `json:"readingsPerSecond"`
	Noise     Quantity      `json:"noise"`
	Whole     *string       `json:"whole"`
	Notes     []string      `json:"notes"`
	Cautions  []string      `json:"cautions"`
}

// HeaderValve is one valve.
type HeaderValve struct {
	Number      int      `json:"number"`
	State       string   `json:"state"`
	Unsure      bool     `json:"unsure"`
	Probability *float64 `json:"probability"`
	Count       int      `json:"count"`
	Due         int      `json:"due"`
	Doubles     int      `json:"doubles"`
	ClosesLate  bool     `json:"closesLate"`
	Drop        Range    `json:"drop"`
	Share       *float64 `json:"share"`
	Air         Range    `json:"air"`
	Open        Quantity `json:"open"`
	Recovery    Quantity `json:"recovery"`
	Recovered   *float64 `json:"recovered"`
	Why         string   `json:"why"`
}

// HeaderPulse is one turn of a valve, or one opening beyond it.
type HeaderPulse struct {
	At     *float64 `json:"at"`
	Valve  int      `json:"valve"`
	Fired  bool     `json:"fired"`
	Extra  bool     `json:"extra"`
	Before Quantity `json:"before"`
	Drop   Quantity `json:"drop"`
}

// Bleed is what leaves the header between pulses.
type Bleed struct {
	Bleeds bool     `json:"bleeds"`
	Valve  *int     `json:"valve"`
	Flow   Range    `json:"flow"`
	Level  Quantity `json:"level"`
}

// Refill is what the supply does between pulses.
type Refill struct {
	Recovered *float64 `json:"recovered"`
	Recovery  Quantity `json:"recovery"`
	Flow      Range    `json:"flow"`
}

// NewHeader shapes a trace's answer; c is nil where no collector file was given, cautions are those the
// page opens with, sentences are in the units of sys.
func NewHeader(c *collector.Collector, r *trace.Result, cautions []string, sys unit.System) Header {
	out := Header{Relative: r.Relative, Marked: r.Marked, Interval: Quantity{number(r.Interval), "s"}, Cycles: number(r.Cycles),
		Drop: within(float64(r.Drop), float64(r.DropSD), "Pa"), Expected: pa(r.Expected), Level: pa(r.Level), Set: pa(r.Set),
		Refill: Refill{number(r.Refill.Recovered), Quantity{number(r.Refill.Recovery), "s"}, within(float64(r.Refill.Flow), float64(r.Refill.Sigma), "m3/s")},
		Bleed:  Bleed{Bleeds: r.Bleed.Possible, Flow: within(float64(r.Bleed.Flow), float64(r.Bleed.Sigma), "m3/s"), Level: pa(r.Bleed.Level)},
		Rate:   number(r.Rate), Noise: pa(r.Noise), Pulses: []HeaderPulse{}, Notes: []string{}, Cautions: append([]string{}, cautions...)}
	if c != nil {
		out.Collector = c.Tag
	}
	if r.Bleed.Valve > 0 {
		out.Bleed.Valve = &r.Bleed.Valve
	}
	for _, v := range r.Valves {
		out.Valves = append(out.Valves, HeaderValve{Number: v.Number, State: string(v.State), Unsure: v.Unsure, Probability: number(v.Probability),
			Count: v.Count, Due: v.Due, Doubles: v.Doubles, ClosesLate: v.Late, Drop: within(float64(v.Drop), float64(v.DropSD), "Pa"), Share: number(v.Share),
			Air: within(float64(v.Air), float64(v.AirSD), "m3"), Open: Quantity{number(v.Open), "s"}, Recovery: Quantity{number(v.Recovery), "s"},
			Recovered: number(v.Recovered), Why: v.Why.In(sys)})
	}
	for _, p := range r.Pulses {
		out.Pulses = append(out.Pulses, HeaderPulse{number(p.At), p.Valve, p.Fired, p.Extra, pa(p.Before), pa(p.Drop)})
	}
	if r.Whole != nil {
		text := r.Whole.In(sys)
		out.Whole = &text
	}
	for _, n := range r.Notes {
		out.Notes = append(out.Notes, n.In(sys))
	}
	return out
}

// within is a value with the range of two standard uncertainties.
func within(value, sd float64, symbol string) Range {
	return Range{number(value), number(value - 2*sd), number(value + 2*sd), symbol}
}
