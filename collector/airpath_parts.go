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
)

// addDuct takes inlet and duct loss from the suction measured at commissioning, else from the branches, else it is counted
// with the damper or not at all.
func (p *AirPath) addDuct(c *Collector, w tweak) {
	sp := -float64(c.Duty.InletSP)
	if math.IsNaN(sp) {
		var unknown float64
		sp, unknown = p.branchLoss(c)
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

// branchLoss is the suction the branches need at design flow: that of the branch that needs most, since the others are
// throttled to it; and half the range of what is not known of it [Pa]. NaN where diameters, lengths or flows are missing.
func (p *AirPath) branchLoss(c *Collector) (loss, unknown float64) {
	loss = math.NaN()
	wall := duct.Roughnesses()[0].Roughness
	for _, b := range c.Branches {
		s := duct.Segment{Section: duct.Round(b.Diameter), Length: b.Length, Roughness: wall, K: assumedElbows}
		a := duct.Air{Density: unit.Density(p.rho), Viscosity: unit.Viscosity(p.mu)}
		need := float64(s.Loss(b.Flow, a) + duct.HoodStatic(b.Flow, s.Section, assumedEntry, a.Density))
		if math.IsNaN(need) {
			return math.NaN(), math.NaN()
		}
		if !(need <= loss) {
			v := float64(b.Flow) / float64(b.Area())
			loss, unknown = need, assumedUnknown*p.rho*v*v/2
		}
	}
	return loss, unknown
}
