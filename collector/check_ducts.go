package collector

import (
	"errors"
	"math"

	"dustwright/duct"
	"dustwright/unit"
)

// ducts looks at branches and velocities.
func (k *checker) ducts() {
	c := k.c
	t := c.tree()
	if r := t.total / float64(c.Duty.Flow); len(c.Branches) > 0 && math.Abs(r-1) > flowSlack {
		k.find("branch-sum", Odd, "branch", Say("the branches' flows add up to %s, %s of the design flow %s", unit.Flow(t.total), unit.Share(r), c.Duty.Flow), "flow is conserved")
	}
	for i, b := range c.Branches {
		if !t.hood(i) && float64(b.Flow) > t.flow[i]*(1+flowSlack) {
			k.find("branch-sum", Odd, branchKey(i, "flow"), Say("%q carries %s, and what joins it brings only %s: a branch is missing, or one of the flows is wrong", b.Name, b.Flow, unit.Flow(t.flow[i])), "flow is conserved")
		}
	}
	k.out = append(k.out, lowVelocities("duct-velocity", c.BranchVelocities(c.Duty.Flow), c.Duty.Flow, "")...)
	class, word := duct.ClassOfDust(c.Duty.Dust)
	if low, _ := duct.TransportVelocity(class); c.Duty.MinDuctVelocity < 0.9*low {
		k.find("min-velocity", Odd, "duty.min_duct_velocity", Say("min_duct_velocity %s is below the %s usual for %s (from the word %q)", c.Duty.MinDuctVelocity, low, class.String(), word), "duct.TransportVelocity")
	}
	k.suction(t)
	k.hoods(t)
}

// suction looks at the suction at the inlet against what the ducts take without any hood: odd and no more, since lengths
// and the inlet's reading are seldom known better than to a tenth.
func (k *checker) suction(t *tree) {
	if _, _, err := k.c.fitted(t, k.c.siteDuctAir()); errors.Is(err, errStarved) {
		k.find("duct-suction", Odd, "duty.inlet_sp", Say("with %s at the inlet the ducts of this file cannot carry the branches' design flows, even without any loss at the hoods: a diameter, a length, a flow or the suction is wrong",
			k.c.Duty.InletSP), "dP = (f L/D + K) rho V2/2")
	}
}

// hoods looks at the static pressures behind the hoods: they hold at least the velocity pressure of the design flow, and the
// inlet's suction holds them.
func (k *checker) hoods(t *tree) {
	c, rho := k.c, float64(k.c.siteDuctAir().Density)
	pressure := func(i int) float64 { // velocity pressure at design flow
		v := t.flow[i] / float64(c.Branches[i].Area())
		return rho * v * v / 2
	}
	for i, b := range c.Branches {
		sp, vp, end := -float64(b.HoodSP), pressure(i), t.end(i)
		const slack = 0.9 // readings of static pressure and flow, in velocity pressures; common practice, no source
		switch {
		case sp < slack*vp:
			k.find("hood-suction", Wrong, branchKey(i, "hood_sp"), Say("behind the hood of %q stand %s, less than the velocity pressure of its design flow (%s): the reading, the flow or the diameter is wrong", b.Name, b.HoodSP, unit.Pressure(vp)), "SPh = (1 + Fh) VP")
		case sp-vp > -float64(c.Duty.InletSP)-pressure(end)+0.1*vp:
			k.find("hood-suction", Wrong, branchKey(i, "hood_sp"), Say("behind the hood of %q stand %s, more suction than the %s at the inlet can hold there: one of the two is wrong", b.Name, b.HoodSP, c.Duty.InletSP), "total pressure falls along the duct")
		}
	}
}

// end is the last duct on the way of branch i's air, the one at the collector.
func (t *tree) end(i int) int {
	for range t.next {
		if t.next[i] == -1 {
			break
		}
		i = t.next[i]
	}
	return i
}
