package life

import (
	"math"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

// endlessAir is the share of the time for which the pulses may go on until they use as much air as the supply can spare, and
// what a pulse uses; false where cleaning without end stays below that, or where it can't be said.
func endlessAir(c *collector.Collector) (share, limit, perPulse float64, ok bool) {
	if !(c.Header.SupplyFlow > 0) {
		return 0, 0, 0, false
	}
	limit = float64(collector.AirLimit) * float64(c.Header.SupplyFlow)
	use, err := c.AirUse(collector.NewAirRequest())
	if err != nil || !(use.PerPulse > 0) || float64(use.WhileCleaning) < limit {
		return 0, 0, 0, false
	}
	return limit / float64(use.WhileCleaning), limit, float64(use.PerPulse), true
}

// pulseAir turns the pulse rate of the present life into mean air use, with its limit.
func pulseAir(f *sense.Features, c *collector.Collector) ([]Mark, float64) {
	_, limit, perPulse, ok := endlessAir(c)
	if !ok || len(f.Lives) == 0 {
		return nil, math.NaN()
	}
	var out []Mark
	for _, p := range f.Lives[len(f.Lives)-1].Points {
		if p.PulseRate >= 0 {
			out = append(out, Mark{p.At, p.Hours, p.PulseRate / 3600 * perPulse})
		}
	}
	return out, limit
}

// latest is how many days with cleanings tell how fast the dP rises between them.
const latest = 15

// airLevel is what cleaning leaves when the pulses use as much air as the supply can spare; 0 where that does not come first, or
// can't be said. A cleaning of n pulses every T seconds lasts n T, and the dP rises from L to H at r between two:
//
//	share = n T / (n T + (H - L)/r)        A = (L - H e^(-kn)) / (1 - e^(-kn))
//
// Source: the cycle's own arithmetic, with the share that a pulse takes as in hold.
func airLevel(f *sense.Features, c *collector.Collector) unit.Pressure {
	share, _, _, ok := endlessAir(c)
	interval := float64(c.Header.Interval) / 3600
	if !ok || len(f.Lives) == 0 || !(interval > 0) || share >= 1 {
		return 0
	}
	h, held := holdOf(&f.Lives[len(f.Lives)-1], c)
	if !held || !(h.perPulse > 0) {
		return 0
	}
	var rises, befores, afters []float64
	for _, e := range h.ended[max(0, len(h.ended)-latest):] {
		if e.point.Rise > 0 {
			rises, befores, afters = append(rises, e.point.Rise), append(befores, e.before), append(afters, e.after)
		}
	}
	if len(rises) == 0 {
		return 0
	}
	before, after := medianOr(befores, 0), medianOr(afters, 0)
	n := share / (1 - share) * (before - after) / medianOr(rises, 0) / interval
	left := math.Exp(-h.perPulse * n)
	return unit.Pressure(math.Max(0, (after-left*before)/(1-left)))
}
