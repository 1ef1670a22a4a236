package plant

import (
	"time"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

func (j *Judgement) life(f *sense.Features, c *collector.Collector, at time.Time, zone *time.Location, sys unit.System) {
}
