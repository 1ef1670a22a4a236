package plant

import (
	"dustwright/collector"
	"dustwright/judge"
	"dustwright/sense"
	"dustwright/unit"
)

// beyondFan is how many times the most that the fan's curve on file shows a dP must be before it is disbelieved: cold air, a drive
// above the curve's speed and a curve read off a poor print are together less than that, and a wrong unit is mostly more. Where no curve is on
// file fanMost stands in, which no fan of a packaged collector makes. Common practice, no source.
const (
	beyondFan = 1.5
	fanMost   = 40 * unit.InchWater // [Pa]
)

// beyond reports that the dP reads more than the fan can make, so that its unit, or the gauge, is wrong; with what it reads and what
// the fan makes [Pa].
func beyond(f *sense.Features, c *collector.Collector) (reads, makes float64, is bool) {
	raw := f.Get(sense.DPRaw).Now
	for _, p := range c.Fan.Curve {
		makes = max(makes, float64(p.Pressure))
	}
	most := beyondFan * makes
	if makes == 0 {
		makes, most = fanMost, fanMost
	}
	return raw.Value, makes, raw.Known() && raw.Value > most
}

// disbelieve says that the dP can't be what it reads. What would follow from it is left out.
func (j *Judgement) disbelieve(reads, makes float64) {
	why := collector.Say("the dP reads %s, and the fan makes no more than %s: the unit of its column, or the gauge, is wrong; see to that first",
		unit.Pressure(reads), unit.Pressure(makes))
	j.Reasons = append([]collector.Text{why}, j.Reasons...)
	if j.Standing == judge.Steady {
		j.Standing = judge.Drifting
	}
	j.lack("dp", "more is read than the fan makes: no date for the filters and no trim can be given, and what is said of the dP and the filters can't be right")
	j.Drag = nil
}
