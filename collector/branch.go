package collector

import (
	"math"

	"dustwright/duct"
	"dustwright/unit"
)

// LeastVelocity is the duct velocity below which dust drops out, and where the figure comes from: the file's, or that
// of the dust's class. NaN with an empty source where neither is known.
func (c *Collector) LeastVelocity() (unit.Velocity, string) {
	if v := c.Duty.MinDuctVelocity; !math.IsNaN(float64(v)) {
		return v, "[duty] min_duct_velocity"
	}
	class, word := duct.ClassOfDust(c.Duty.Dust)
	if class == duct.DustUnknown {
		return unit.Velocity(math.NaN()), ""
	}
	low, _ := duct.TransportVelocity(class)
	return low, "the usual lower limit for " + class.String() + ` (from the word "` + word + `" in [duty] dust)`
}

// BranchVelocities shares a total flow between the branches with all gates as they were at commissioning, in proportion to
// their design flows, and gives each velocity.
//
//	flow   through all hoods [m3/s]
//	result one for each branch, in the order of the file; nil without branches. NaN flow gives NaN
//
// Source: every branch loses in proportion to the square of its flow, so the shares stay (common practice).
func (c *Collector) BranchVelocities(flow unit.Flow) []BranchVelocity {
	d, err := c.Ducts()
	if err != nil {
		panic("collector: no gate is shut, and yet: " + err.Error())
	}
	return d.At(flow)
}

// Slowest is the branch that comes nearest to dropping its dust, or does so already: the one with the lowest velocity of
// those where air moves. ok is false where no velocity is known.
func Slowest(list []BranchVelocity) (slowest BranchVelocity, ok bool) {
	for _, b := range list {
		if b.Shut || math.IsNaN(float64(b.Velocity)) {
			continue
		}
		if !ok || b.Velocity < slowest.Velocity {
			slowest, ok = b, true
		}
	}
	return slowest, ok
}
