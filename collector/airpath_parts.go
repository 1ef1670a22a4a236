package collector

import (
	"math"

	"dustwright/duct"
	"dustwright/filter"
	"dustwright/unit"
)

// addFilters takes the clean dP of filters and after-filter, or what stands in for them.
func (p *AirPath) addFilters(c *Collector) {
	p.filterDP = float64(c.Filters.CleanDP)
	if math.IsNaN(p.filterDP) {
		v := p.flow / float64(c.Filters.Area())
		p.filterDP = float64(filter.DefaultMedia) * v
		p.gap("filters.clean_dp", Say("new filters are reckoned with %s at design flow, from memory of usual media, half to double that",
			unit.Pressure(p.filterDP)))
	}
	if !c.AfterFilter.Fitted {
		return
	}
	p.afterDP = float64(c.AfterFilter.CleanDP)
	if math.IsNaN(p.afterDP) {
		p.afterDP = usualAfterFilter
		p.gap("afterfilter.clean_dp", Say("the after-filter is reckoned with %s at design flow (DOE-STD-3025-99: new high-efficiency filters lose at most that or somewhat more)",
			unit.Pressure(p.afterDP)))
	}
}

// usualAfterFilter is the most a new high-efficiency filter of the usual sizes loses at its rated flow [Pa] (1.0 in. w.g.).
// Source: DOE-STD-3025-99, see filter.MaxCleanResistance.
const usualAfterFilter = unit.InchWater

// Where the file gives branches but no suction, hoods and elbows are not known: these stand in. Entry factors: a bell
// mouth 0.04, a plain or tapered hood about 0.5, a slot 1.78 (ACGIH figures, see duct.Hoods); elbows and entries: common
// practice, no source.
const (
	assumedEntry   = 0.5
	assumedElbows  = 0.8
	assumedUnknown = 1.3 // either way, in velocity pressures
	assumedMain    = 0.8 // the same of a main, which has no hood
)

// addDuct takes inlet and duct loss from the suction measured at commissioning, else from the branches, else it is counted
// with the damper or not at all.
func (p *AirPath) addDuct(c *Collector, w tweak) {
	sp := -float64(c.Duty.InletSP)
	if math.IsNaN(sp) {
		var unknown float64
		sp, unknown = c.branchLoss(p.ductAir())
		if !math.IsNaN(sp) {
			sp *= 1 + w.duct*unknown/sp
			p.gap("duty.inlet_sp", Say("inlet suction is worked out from the branches as %s, give or take %s, since hoods and elbows are not known",
				unit.Pressure(sp), unit.Pressure(unknown)))
		}
	} else {
		sp *= 1 + w.duct*suctionSD
	}
	if math.IsNaN(sp) {
		sp = 0
		if len(c.Damper.Points) > 0 {
			p.gap("duty.inlet_sp", Say("duct loss is counted together with the damper's"))
		} else {
			p.gap("duty.inlet_sp", Say("duct loss is not known, so the flow found is more than there will be"))
		}
	}
	p.duct = sp / (p.rho * p.flow * p.flow)
}

// ductAir is the air of the machine's own figures.
func (p *AirPath) ductAir() duct.Air {
	return duct.Air{Density: unit.Density(p.rho), Viscosity: unit.Viscosity(p.mu)}
}

// branchLoss is the suction the branches need at design flow: that of the hood that needs most, through all the ducts on
// its way, since the others are throttled to it; and half the range of what is not known of it [Pa]. NaN where
// diameters, lengths or flows are missing.
func (c *Collector) branchLoss(a duct.Air) (loss, unknown float64) {
	t := c.tree()
	way, doubt := make([]float64, len(t.next)), make([]float64, len(t.next)) // from the branch's start to the collector
	loss = math.NaN()
	for _, i := range t.order {
		s := c.segment(i)
		s.K = assumedElbows
		q, half := unit.Flow(t.flow[i]), assumedMain
		vp := float64(duct.HoodStatic(q, s.Section, 0, a.Density))
		way[i] = float64(s.Loss(q, a))
		if next := t.next[i]; next == -1 {
			way[i] += vp // the suction is a static one
		} else {
			way[i] += way[next]
			doubt[i] = doubt[next]
		}
		if t.hood(i) {
			way[i], half = way[i]+assumedEntry*vp, assumedUnknown
		}
		doubt[i] += half * vp
		switch {
		case math.IsNaN(way[i]):
			return math.NaN(), math.NaN()
		case t.hood(i) && !(way[i] <= loss):
			loss, unknown = way[i], doubt[i]
		}
	}
	return loss, unknown
}

// segment is branch i as a duct without fittings.
func (c *Collector) segment(i int) duct.Segment {
	b := &c.Branches[i]
	return duct.Segment{Section: duct.Round(b.Diameter), Length: b.Length, Roughness: duct.Roughnesses()[0].Roughness}
}
