package plant

import (
	"time"

	"dustwright/collector"
)

// BinInput is what the bin's forecast follows from.
type BinInput struct {
	Collector *collector.Collector
	Records   []Record  // of this collector, oldest first
	Started   time.Time // when the collector was taken into the books
}

// binFull is the share of its volume up to which a bin is filled: never past two thirds. Common practice,
// no source.
const binFull = 2.0 / 3

// BinDue says when the bin reaches two thirds; zero where that can't be told. Dust comes at the mean
// rate of what was taken away and weighed so far, each time since the bin was emptied before, else at the collector
// file's loading times design flow over its running hours. It needs the bin's volume and the dust's
// bulk density. Source: dust balance, arithmetic.
func BinDue(in BinInput) time.Time {
	c := in.Collector
	hold := binFull * float64(c.Bin.Volume) * float64(c.Duty.BulkDensity) // [kg]
	last, before, mass, span := in.Started, time.Time{}, 0.0, 0.0
	for _, r := range in.Records {
		if r.Kind != KindBinEmptied {
			continue
		}
		if body, err := Open(r); err == nil && !before.IsZero() {
			if b, ok := body.(*BinEmptied); ok && b.Mass > 0 {
				mass, span = mass+float64(b.Mass), span+r.At.Sub(before).Seconds()
			}
		}
		last, before = r.At, r.At
	}
	rate := float64(c.Duty.Loading) * float64(c.Duty.Flow) * min(1, float64(c.Duty.RunPerWeek)/(7*24*3600)) // [kg/s] of calendar time
	if mass > 0 && span > 0 {
		rate = mass / span
	}
	if !(hold > 0) || !(rate > 0) || last.IsZero() {
		return time.Time{}
	}
	const years = 3 * 365 * 24 * 3600.0
	return last.Add(time.Duration(min(hold/rate, years) * float64(time.Second)))
}
