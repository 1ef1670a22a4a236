package collector

import (
	"math"
	"testing"

	"dustwright/unit"
)

// TestFlowAtEndIsTrims: what trim finds left at max dP, and design flow where that is held; not known without damper points, max dP
// or curve.
func TestFlowAtEndIsTrims(t *testing.T) {
	c := dc1(t)
	near(t, "held to the end", float64(c.FlowAtEnd(unit.Pressure(math.NaN()))), float64(c.Duty.Flow), 1e-12)
	r := NewTrimRequest()
	r.AfterFilterDP = 3 * unit.InchWater
	tr, err := c.Trim(r)
	if err != nil {
		t.Fatal(err)
	}
	last := tr.Steps[len(tr.Steps)-1]
	if last.Held || tr.AtEnd == nil {
		t.Fatalf("a worn after-filter, and the flow is held: %+v", last)
	}
	near(t, "with a worn after-filter", float64(c.FlowAtEnd(r.AfterFilterDP)), float64(last.Point.Flow), 1e-9)
	for name, change := range map[string]func(*Collector){
		"max dP": func(c *Collector) { c.Filters.MaxDP = unit.Pressure(math.NaN()) },
		"curve":  func(c *Collector) { c.Fan.Curve = nil },
		"damper": func(c *Collector) { c.Damper.Points = nil },
		"meet": func(c *Collector) {
			c.Filters.MaxDP = 9e4
			c.Fan.Curve = c.Fan.Curve[1:]
			c.Damper.Points = c.Damper.Points[1:]
		},
	} {
		c := dc1(t)
		change(c)
		if q := c.FlowAtEnd(0); !math.IsNaN(float64(q)) {
			t.Errorf("without %s: %v", name, q)
		}
	}
}
