package plant

import (
	"fmt"
	"math"

	"dustwright/collector"
	"dustwright/unit"
)

// LastHoods is the newest reading behind the hoods, by when it was read and not by when it came, with what it tells by the file as it
// is now. Readings that were corrected, and those of hoods that the file has no more, don't count; told is nil where none is left.
func LastHoods(records []Record, c *collector.Collector) (last Record, told *collector.Hoods) {
	corrected := map[string]bool{}
	for _, r := range records {
		corrected[r.Corrects] = r.Corrects != ""
	}
	for _, r := range records {
		if r.Kind != KindHoodReading || corrected[r.ID] || told != nil && r.At.Before(last.At) {
			continue
		}
		body, err := Open(r)
		b, ok := body.(*HoodReading)
		if err != nil || !ok {
			continue
		}
		if says, err := b.Of(c); err == nil {
			last, told = r, says
		}
	}
	return last, told
}

// Of is what the readings tell of a collector. A hood that it does not have, or air that can't be, is an error that says so.
func (b *HoodReading) Of(c *collector.Collector) (*collector.Hoods, error) {
	r := b.Request(c)
	if r.AirGiven && !(r.Air.Density() > 0) {
		return nil, fmt.Errorf("the temperature of the air in the ducts: there is no air of %s", b.Temperature.In(unit.US))
	}
	return c.Hoods(r)
}

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
