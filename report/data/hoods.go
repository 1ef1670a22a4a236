package data

import (
	"dustwright/collector"
	"dustwright/unit"
)

// Hood is one hood: what it should show, and what was read. Pressures are static, suction negative.
type Hood struct {
	Name           string   `json:"name"`
	Design         Quantity `json:"design"`
	DesignVelocity Quantity `json:"designVelocity"`
	Least          Quantity `json:"least"`
	Expected       Range    `json:"expected"`
	Basis          string   `json:"basis"`
	Read           Quantity `json:"read"`
	Flow           Range    `json:"flow"`
	DesignShare    *float64 `json:"designShare"`
	Velocity       Quantity `json:"velocity"`
	Slow           bool     `json:"slow"`
	State          string   `json:"state"`
}

// Hoods is the answer of the hoods command.
type Hoods struct {
	Collector string   `json:"collector"`
	Density   Quantity `json:"density"`
	AirGiven  bool     `json:"airGiven"`
	Says      []string `json:"says"`
	Hoods     []Hood   `json:"hoods"`
	Missing   []Gap    `json:"missing"`
}

// NewHoods shapes an answer about hoods; sentences are in the units of sys.
func NewHoods(c *collector.Collector, h *collector.Hoods, sys unit.System) Hoods {
	out := Hoods{Collector: c.Tag, Density: Quantity{number(h.Density), "kg/m3"}, AirGiven: h.AirGiven, Says: []string{}, Hoods: make([]Hood, len(h.Hoods)),
		Missing: gaps(h.Gaps, sys)}
	for _, s := range h.Says {
		out.Says = append(out.Says, s.In(sys))
	}
	for i := range h.Hoods {
		x := &h.Hoods[i]
		out.Hoods[i] = Hood{Name: x.Name, Design: cubicSecond(x.Design), DesignVelocity: metreSecond(x.Velocity), Least: metreSecond(x.Least),
			Expected: Range{number(x.Expected), number(x.ExpectLow), number(x.ExpectHigh), "Pa"}, Basis: string(x.Basis), Read: pa(x.Read),
			Flow: Range{number(x.Flow), number(x.Low), number(x.High), "m3/s"}, DesignShare: number(x.Share()), Velocity: metreSecond(x.Now), Slow: x.Slow, State: string(x.State)}
	}
	return out
}
