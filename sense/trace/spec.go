package trace

import "dustwright/collector"

// SpecOf takes from a collector file what the trace needs.
func SpecOf(c *collector.Collector) Spec {
	h := c.Header
	return Spec{
		Valves: c.Filters.Rows, Interval: h.Interval, Order: c.Cleaning.Order, Volume: h.Volume,
		ValveFlow: h.ValveFlow, OnTime: h.OnTime, Set: h.Set, SupplyFlow: h.SupplyFlow,
	}
}
