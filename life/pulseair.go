package life

import (
	"math"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

// supply is compressed air that pulses without end would use too much of.
type supply struct {
	share    float64 // of the time for which pulses may go on until they use as much air as there is to spare
	limit    float64 // that air [m3/s, standard]
	perPulse float64 // air of a pulse [m3, standard]
	interval float64 // between pulses [h]
}

// supplyOf is nil where cleaning without end stays below what can be spared, or where it can't be said.
func supplyOf(c *collector.Collector) *supply {
	if !(c.Header.SupplyFlow > 0) {
		return nil
	}
	limit := float64(collector.AirLimit) * float64(c.Header.SupplyFlow)
	use, err := c.AirUse(collector.NewAirRequest())
	if err != nil || !(use.PerPulse > 0) || float64(use.WhileCleaning) < limit {
		return nil
	}
	return &supply{share: limit / float64(use.WhileCleaning), limit: limit, perPulse: float64(use.PerPulse), interval: float64(c.Header.Interval) / 3600}
}

// pulseAir turns the pulse rate of a life into mean air use.
func (s *supply) pulseAir(l *sense.Life) []Mark {
	var out []Mark
	for _, p := range l.Points {
		if p.PulseRate >= 0 {
			out = append(out, Mark{p.At, p.Hours, p.PulseRate / 3600 * s.perPulse})
		}
	}
	return out
}

// latest is how many days with cleanings tell how fast the dP rises between them.
const latest = 15

// level is what cleaning leaves when the pulses use as much air as there is to spare; 0 where that does not come first, or
// can't be said. A cleaning of n pulses every T seconds lasts n T, and the dP rises from L to H at r between two:
//
//	share = n T / (n T + (H - L)/r)        A = (L - H e^(-kn)) / (1 - e^(-kn))
//
// Source: the cycle's own arithmetic, with the share that a pulse takes as in hold.
func (s *supply) level(h *hold) unit.Pressure {
	if h == nil || !(h.perPulse > 0) || !(s.interval > 0) || s.share >= 1 {
		return 0
	}
	var rises, befores, afters []float64
	for _, e := range h.ended[max(0, len(h.ended)-latest):] {
		if e.point.Rise > 0 || h.by == byShare {
			rises, befores, afters = append(rises, e.point.Rise), append(befores, e.before), append(afters, e.after)
		}
	}
	if len(rises) == 0 {
		return 0
	}
	before, after := medianOr(befores, 0), medianOr(afters, 0)
	n := s.share / (1 - s.share) * (before - after) / medianOr(rises, 0) / s.interval
	if h.by == byShare {
		n = s.share / (1 - s.share)
	}
	left := math.Exp(-h.perPulse * n)
	return unit.Pressure(math.Max(0, (after-left*before)/(1-left)))
}
