package plant

import (
	"math"

	"dustwright/collector"
	"dustwright/unit"
)

// Request is the question that the readings ask of a collector: what flows behind its hoods.
func (b *HoodReading) Request(c *collector.Collector) collector.HoodRequest {
	r := collector.NewHoodRequest()
	for _, h := range b.Hoods {
		r.Readings = append(r.Readings, collector.HoodReading{Name: h.Branch, SP: h.SP})
	}
	if b.Temperature > 0 {
		r.Air, r.AirGiven = c.SiteAir(b.Temperature, unit.Share(math.NaN())), true
	}
	return r
}
