package collector

import (
	"math"

	"dustwright/duct"
	"dustwright/unit"
)

// BranchVelocity is the air in one branch against what keeps the dust moving.
type BranchVelocity struct {
	Name     string
	Flow     unit.Flow     // NaN where the branches' design flows are not known
	Velocity unit.Velocity // NaN where flow or diameter is not known
	Least    unit.Velocity // below it dust drops out; NaN where not known
	Low      bool          // Velocity is below Least
}

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

// BranchVelocities shares a total flow between the branches in proportion to their design flows, which holds as long as
// no gate is moved, and gives each velocity.
//
//	flow   through all hoods [m3/s]
//	result one for each branch, in the order of the file; nil without branches. NaN flow gives NaN
//
// Source: every branch loses in proportion to the square of its flow, so the shares stay (common practice).
func (c *Collector) BranchVelocities(flow unit.Flow) []BranchVelocity {
	if len(c.Branches) == 0 {
		return nil
	}
	sum := 0.0
	for _, b := range c.Branches {
		sum += float64(b.Flow)
	}
	least, _ := c.LeastVelocity()
	out := make([]BranchVelocity, len(c.Branches))
	for i, b := range c.Branches {
		q := float64(flow) * float64(b.Flow) / sum
		v := unit.Velocity(q / float64(b.Area()))
		out[i] = BranchVelocity{Name: b.Name, Flow: unit.Flow(q), Velocity: v, Least: least, Low: v < least}
	}
	return out
}
