// Package data gives answers the shape in which programs read them: JSON with values in SI and the unit beside each.
// What is not known is null. Fields may be added; none changes its meaning. docs/commands.md describes them.
package data

import (
	"math"
	"strconv"

	"dustwright/collector"
	"dustwright/unit"
)

// Quantity is a value with its unit.
type Quantity struct {
	Value *float64 `json:"value"`
	Unit  string   `json:"unit"`
}

// Range is a value with its width; value lies between low and high about 95 times in 100.
type Range struct {
	Value *float64 `json:"value"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
	Unit  string   `json:"unit"`
}

// number rounds to six digits, which is more than anything here is known to; nil for what is not known.
func number[Q ~float64](x Q) *float64 {
	if math.IsNaN(float64(x)) || math.IsInf(float64(x), 0) {
		return nil
	}
	v, err := strconv.ParseFloat(strconv.FormatFloat(float64(x), 'g', 6, 64), 64)
	if err != nil {
		panic("data: a number does not read back: " + err.Error())
	}
	return &v
}

func pa(x unit.Pressure) Quantity          { return Quantity{number(x), "Pa"} }
func watt(x unit.Power) Quantity           { return Quantity{number(x), "W"} }
func ampere(x unit.Current) Quantity       { return Quantity{number(x), "A"} }
func metreSecond(x unit.Velocity) Quantity { return Quantity{number(x), "m/s"} }
func cubicSecond(x unit.Flow) Quantity     { return Quantity{number(x), "m3/s"} }

// Gap is something the collector file does not say.
type Gap struct {
	Key   string `json:"key"`
	Costs string `json:"costs"`
}

func gaps(list []collector.Gap, sys unit.System) []Gap {
	out := make([]Gap, len(list))
	for i, g := range list {
		out[i] = Gap{g.Key, g.Text.In(sys)}
	}
	return out
}

// texts are sentences in the units of a system.
func texts(list []collector.Text, sys unit.System) []string {
	out := []string{}
	for _, t := range list {
		out = append(out, t.In(sys))
	}
	return out
}

// Finding is one warning or observation.
type Finding struct {
	ID     string `json:"id"`
	Weight string `json:"weight"`
	Key    string `json:"key,omitempty"`
	Text   string `json:"text"`
	Source string `json:"source"`
}

func findings(list []collector.Finding, sys unit.System) []Finding {
	out := make([]Finding, len(list))
	for i, f := range list {
		out[i] = Finding{f.ID, string(f.Weight), f.Key, f.Text.In(sys), f.Source}
	}
	return out
}

// Branch is the air in one duct.
type Branch struct {
	Name     string   `json:"name"`
	Flow     Quantity `json:"flow"`
	Velocity Quantity `json:"velocity"`
	Least    Quantity `json:"least"`
	Low      bool     `json:"low"`
	Into     string   `json:"into,omitempty"`
	Design   Quantity `json:"design"`
	Shut     bool     `json:"shut"`
}

func branches(list []collector.BranchVelocity) []Branch {
	out := make([]Branch, len(list))
	for i, b := range list {
		out[i] = Branch{b.Name, cubicSecond(b.Flow), metreSecond(b.Velocity), metreSecond(b.Least), b.Low, b.Into, cubicSecond(b.Design), b.Shut}
	}
	return out
}
