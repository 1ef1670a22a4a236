package plant

import (
	"fmt"
	"math"

	"dustwright/collector"
	"dustwright/judge"
	"dustwright/unit"
)

// Ducts is the air in the ducts against what keeps the dust moving, with the gates as they were at commissioning.
type Ducts struct {
	Least *float64 `json:"least"` // velocity below which dust drops out; nil not known
	Unit  string   `json:"unit"`
	Now   *Duct    `json:"now"` // at the airflow now; nil where that is not known
	End   *Duct    `json:"end"` // at the end of the filters' life with the damper fully open; nil where that is not known
}

// Duct is the slowest of the ducts. Low and High are what the airflow's interval of 80 % makes of the velocity; 0 at the end of
// the filters' life, of which no interval is given.
type Duct struct {
	Slowest  string  `json:"slowest"`
	Velocity float64 `json:"velocity"`
	Low      float64 `json:"low,omitempty"`
	High     float64 `json:"high,omitempty"`
	Below    bool    `json:"below"` // Velocity is below the least: dust drops out
	Sure     bool    `json:"sure"`  // so it is, or is not, over all of the interval
}

// ducts gives the velocities in the ducts, and a reason where they are surely too low. It changes neither causes nor standing.
func (j *Judgement) ducts(c *collector.Collector) {
	if _, ok := collector.Slowest(c.BranchVelocities(c.Duty.Flow)); !ok {
		if !math.IsNaN(float64(c.Duty.MinDuctVelocity)) {
			j.lack("branch", "whether dust drops out in the ducts can't be said: the collector file has min_duct_velocity, and no branch with diameter and flow")
		}
		return
	}
	d := &Ducts{Unit: "m/s"}
	least, _ := c.LeastVelocity()
	if least > 0 {
		v := rounded(float64(least), 6) // so that a round figure in another unit stays one
		d.Least = &v
	}
	if a := j.Airflow; a != nil && !(j.doubted() && a.Method != "measured") {
		d.Now = ductAt(c, a.Value, a.Low, a.High)
	}
	d.End = ductAt(c, float64(c.FlowAtEnd(j.TrimRequest().AfterFilterDP)), math.NaN(), math.NaN())
	if d.Now == nil && d.End == nil {
		return
	}
	j.Ducts = d
	if n := d.Now; n != nil && j.likely(judge.LeakInward) {
		j.lack("ducts", "where air leaks in past the hoods, the ducts carry less than the airflow that is reckoned with")
	}
}

// ductAt is the slowest duct at a flow and at the ends of its interval [m3/s]; nil where nothing flows or it is not known.
func ductAt(c *collector.Collector, flow, low, high float64) *Duct {
	s, ok := collector.Slowest(c.BranchVelocities(unit.Flow(flow)))
	if !ok || !(flow > 0) || math.IsInf(float64(s.Velocity), 0) {
		return nil
	}
	v := float64(s.Velocity)
	d := &Duct{Slowest: s.Name, Velocity: rounded(v, 4), Below: s.Low}
	if lo, hi := v*low/flow, v*high/flow; finite(lo) && finite(hi) {
		d.Low, d.High = rounded(lo, 4), rounded(hi, 4)
		d.Sure = math.IsNaN(float64(s.Least)) || s.Low && hi < float64(s.Least) || !s.Low && lo >= float64(s.Least)
	}
	return d
}

// likely reports that a cause is more likely than not.
func (j *Judgement) likely(cause judge.Cause) bool {
	for _, p := range j.Causes {
		if p.Cause == cause && p.P > 0.5 {
			return true
		}
	}
	return false
}

// ductReason tells of ducts that are surely too slow, after all other reasons: the velocity is no sign of what is wrong, but what comes of it.
func (j *Judgement) ductReason() {
	d := j.Ducts
	if d == nil || d.Now == nil || d.Least == nil || !d.Now.Below || !d.Now.Sure {
		return
	}
	j.Reasons = append(j.Reasons, collector.Say("in the duct %q the air moves at %s (%s to %s), below the %s that keeps this dust moving: it drops out there",
		d.Now.Slowest, unit.Velocity(d.Now.Velocity), unit.Velocity(d.Now.Low), unit.Velocity(d.Now.High), unit.Velocity(*d.Least)))
}

func velocity(v float64, sys unit.System) string { return unit.Velocity(v).In(sys) }

// Says is the ducts in a line, without a full stop: now, and at the end of the filters' life.
func (d *Ducts) Says(sys unit.System) string {
	if d.Now == nil {
		return "not known now; at the end of the filters' life " + d.says(d.End, sys)
	}
	text := d.says(d.Now, sys)
	if e := d.End; e != nil { // the same one is the slowest: the shares stay
		text += "; at the end of the filters' life " + velocity(e.Velocity, sys)
		if e.Below {
			text += ", and dust drops out"
		}
	}
	return text
}

// says is one state of the ducts.
func (d *Ducts) says(x *Duct, sys unit.System) string {
	v := velocity(x.Velocity, sys)
	if x.High > 0 && !x.Sure {
		v += " (" + velocity(x.Low, sys) + " to " + velocity(x.High, sys) + ")"
	}
	if d.Least == nil {
		return fmt.Sprintf("the slowest is %q with %s; what keeps this dust moving is not known", x.Slowest, v)
	}
	least := velocity(*d.Least, sys)
	switch {
	case x.Below && (x.Sure || x.High == 0):
		return fmt.Sprintf("dust drops out: the slowest is %q with %s of at least %s", x.Slowest, v, least)
	case x.Below:
		return fmt.Sprintf("dust probably drops out: the slowest is %q with %s of at least %s", x.Slowest, v, least)
	}
	return fmt.Sprintf("all above the %s that keeps this dust moving, the slowest is %q with %s", least, x.Slowest, v)
}
