package judge

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"dustwright/collector"
	"dustwright/sense"
	"dustwright/unit"
)

// damperPower is by what power of its opening a damper moves the airflow where the file has no points, and airScale the log
// ratio to what damper and dP make of the airflow that is worth a second look. Common practice, no source.
const (
	damperPower = 0.4
	airScale    = 0.06
)

// byDamper holds the change of a measured airflow against what the damper's move makes of it by the file's points, and the
// filters' dP: air that comes in behind the damper, or is kept back elsewhere, is no damper that was moved, and a damper that was
// opened moves more air without anything else being wrong.
func byDamper(in Input, out []sight) []sight {
	f := in.Features
	flow, open, dp := f.Get(sense.FlowShare), f.Get(sense.DamperOpen), f.Get(sense.DPRaw)
	if onlyDesign(f) || f.FlowBy[0].Name != sense.ByMeasurement && f.FlowBy[0].Name != sense.ByFlowIndex {
		return out
	}
	for _, look := range [...]struct {
		key            key
		flow, open, dp sense.Estimate
	}{{"flow:damper", flow.Now, open.Now, dp.Now}, {"flow:damper-fresh", flow.Fresh, open.Fresh, dp.Fresh}} {
		change := math.Log(known(look.flow) / known(flow.Normal))
		made := damperMakes(in.Collector, known(open.Normal), known(look.open))
		led := -0.2 * math.Log(known(look.dp)/known(dp.Normal))
		x := (change - made - led) / math.Hypot(airScale, math.Hypot(0.3*made, 0.5*led))
		if math.IsNaN(x) || math.IsInf(x, 0) {
			continue
		}
		out = append(out, sight{look.key, x, func(unit.System) string {
			return fmt.Sprintf("the airflow has changed by %+.0f %%, the damper and the dP make %+.0f %% of it", math.Round(100*math.Expm1(change))+0, math.Round(100*math.Expm1(made+led))+0) // + 0: what rounds to nothing is not below it
		}})
	}
	return out
}

// damperMakes is the log ratio of the airflows that two openings make, by the file's points, beyond which the nearest two serve;
// NaN where an opening is not known.
func damperMakes(c *collector.Collector, from, to float64) float64 {
	points := slices.Clone(c.Damper.Points)
	slices.SortFunc(points, func(a, b collector.DamperPoint) int { return cmp.Compare(a.Open, b.Open) })
	points = slices.CompactFunc(points, func(a, b collector.DamperPoint) bool { return a.Open == b.Open })
	if len(points) < 2 {
		return damperPower * math.Log(to/from)
	}
	at := func(open float64) float64 {
		i := 1
		for i < len(points)-1 && float64(points[i].Open) < open {
			i++
		}
		a, b := points[i-1], points[i]
		power := math.Log(float64(b.Flow/a.Flow)) / math.Log(float64(b.Open/a.Open))
		return math.Log(float64(a.Flow)) + power*math.Log(open/float64(a.Open))
	}
	return at(to) - at(from)
}
