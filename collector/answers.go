package collector

import "math"

// Answer is one of the questions the tool answers, and how well this file lets it.
type Answer struct {
	Number int
	Asks   string
	Can    bool     // it can be answered
	Needs  []string // keys without which it cannot; empty if Can
	Better []string // keys that are missing and would make the answer surer or fuller
}

// question is one row of DESIGN.md section 1 with the keys it hangs on.
type question struct {
	asks         string
	need, better []string
}

// questions are in the order of DESIGN.md section 1.
var questions = []question{
	{"Is it moving the air it should?", []string{"fan.curve"}, []string{"damper.points", "duty.inlet_sp", "fan.motor_power", "fan.voltage", "fan.full_load_current", "fan.power", "site.elevation"}},
	{"Where do I set the damper, now and after new filters?", []string{"fan.curve", "damper.points"}, []string{"filters.clean_dp", "filters.max_dp", "duty.inlet_sp", "fan.power", "fan.full_load_current"}},
	{"Is this pressure drop normal?", nil, []string{"filters.clean_dp", "filters.max_dp", "fan.curve", "setpoints.high"}},
	{"Why is it not normal, and what do I check first?", nil, []string{"header.volume", "header.set", "setpoints.low", "setpoints.high", "cleaning.mode", "fan.curve", "duty.inlet_sp"}},
	{"Which valve is bad?", nil, []string{"header.volume", "header.set", "header.valve_flow", "header.on_time", "header.interval", "cleaning.order"}},
	{"Is the compressed air good enough?", []string{"header.volume", "header.set", "header.on_time", "header.interval", "header.valve_flow"}, []string{"header.supply_flow", "cost.compressed_air", "duty.hours_per_week"}},
	{"When do the filters have to go, and when must I order?", []string{"filters.max_dp"}, []string{"filters.installed", "cost.lead_time", "cost.order_risk", "cost.lost_capture", "filters.price_each", "cost.labour_rate", "cost.change_hours", "fan.curve", "duty.loading"}},
	{"Are the set points right?", []string{"setpoints.low", "setpoints.high", "cleaning.mode"}, []string{"fan.curve", "cost.electricity", "cost.compressed_air", "filters.price_each", "header.supply_flow"}},
	{"When is the bin due?", []string{"bin.volume"}, []string{"duty.loading", "duty.bulk_density", "duty.hours_per_week"}},
	{"Has a filter leaked, and in which row?", nil, []string{"afterfilter.clean_dp", "cleaning.order"}},
	{"Will dust drop out in the ducts? Do the hoods still catch?", []string{"branch"}, []string{"duty.min_duct_velocity", "duty.dust", "branch.hood"}},
	{"What do I do today?", nil, []string{"setpoints.alarm", "duty.hours_per_week"}},
	{"Can I prove it?", nil, []string{"filters.clean_dp", "filters.installed", "damper.points", "duty.inlet_sp"}},
	{"What if …?", []string{"fan.curve", "header.volume", "header.set", "header.valve_flow", "header.interval", "cleaning.mode"}, []string{"duty.loading", "damper.points", "filters.clean_dp", "header.supply_flow", "header.on_time"}},
}

// Answers goes through the questions the tool answers and says which this file allows. Logs come on top: what they can
// tell is judge's to say.
func (c *Collector) Answers() []Answer {
	out := make([]Answer, len(questions))
	for i, q := range questions {
		a := Answer{Number: i + 1, Asks: q.asks, Needs: c.lacks(q.need), Better: c.lacks(q.better)}
		a.Can = len(a.Needs) == 0
		out[i] = a
	}
	return out
}

// lacks picks the keys the file does not have; "branch" stands for a branch with diameter and flow, "branch.hood" for what tells
// a hood's flow from the static pressure behind it.
func (c *Collector) lacks(keys []string) []string {
	var out []string
	for _, key := range keys {
		switch {
		case key == "branch" && !c.velocitiesKnown():
			out = append(out, "branch diameter and flow")
		case key == "branch.hood" && !c.hoodsKnown():
			out = append(out, "branch hood_sp or entry (for the hoods)")
		case key != "branch" && key != "branch.hood":
			out = append(out, absent(c, key)...)
		}
	}
	return out
}

// velocitiesKnown reports whether there is a branch with diameter and flow.
func (c *Collector) velocitiesKnown() bool {
	_, ok := Slowest(c.BranchVelocities(c.Duty.Flow))
	return ok
}

// hoodsKnown reports whether every hood's static pressure or entry loss is given.
func (c *Collector) hoodsKnown() bool {
	t := c.tree()
	for i, b := range c.Branches {
		if t.hood(i) && math.IsNaN(float64(b.HoodSP)) && math.IsNaN(b.Entry) {
			return false
		}
	}
	return len(c.Branches) > 0
}
