package collector

import (
	"errors"
	"fmt"
	"math"

	"dustwright/duct"
	"dustwright/unit"
)

// Ducts are the branches of a file with some of their gates shut: how they share the air, and what that makes of the ducts'
// resistance. Get them from Collector.Ducts. They never change: safe for concurrent use.
type Ducts struct {
	c       *Collector
	t       *tree
	shares  []float64 // of the air through all hoods; NaN not known
	shut    []bool    // nothing can flow: a gate is shut, or everything that feeds the branch is
	gates   []string  // that are shut
	extra   float64   // share by which the resistance is above that with all gates open
	extraLo float64   // the same as if half of it lay in a common duct that the file does not show
	gaps    []Gap
}

// Ducts puts the branches together with the gates of those named shut; a main's gate shuts off all behind it.
//
// With all gates open the branches carry their design flows, as they were balanced at commissioning. With a gate shut the air
// finds its way through the others: the network of ducts, hoods and gates is fitted to the design flows at the suction at
// the inlet (duct.FitEntries; duty.inlet_sp, or what the branches need) and solved anew at that suction, from where it goes by
// the square of the flow, as the operating point does. Where diameters, or the lengths of mains, are not given, it is shared between the open hoods in proportion to design flow, which
// is the same thing where no two branches share a duct; Gaps says so. A name that is not there, or no gate left
// open, is an error. Source: package duct.
func (c *Collector) Ducts(shut ...string) (*Ducts, error) {
	t := c.tree()
	d := &Ducts{c: c, t: t, shares: make([]float64, len(t.next)), shut: make([]bool, len(t.next)), gates: shut}
	if err := d.close(); err != nil {
		return nil, err
	}
	open := d.share()
	if len(shut) == 0 {
		return d, nil
	}
	if math.IsNaN(open) {
		d.gap("branch.flow", Say("what a shut gate takes from the others is not known, since not every hood's design flow is given"))
		return d, nil
	}
	d.extra = 1/(open*open) - 1
	d.extraLo = d.extra / 2
	if !t.mains() {
		d.gap("branch.into", Say("the file shows no main that branches share; if there is one, a shut gate costs less air than reckoned, and the width allows for it"))
	}
	if err := d.solve(); err != nil {
		d.gaps = append(d.gaps, Gap{"branch", Say("the air is shared between the open hoods as by design flow, since %s", err)})
	}
	return d, nil
}

// Gaps lists what the file does not say, and what that does to the answer.
func (d *Ducts) Gaps() []Gap { return append([]Gap(nil), d.gaps...) }

// Shut lists the gates that are shut, as they were named.
func (d *Ducts) Shut() []string { return append([]string(nil), d.gates...) }

// Extra is the share [-] by which the resistance of the ducts is above that with all gates open, as
// Conditions.DuctExtra wants it; 0 with all open.
func (d *Ducts) Extra() float64 { return d.extra }

func (d *Ducts) gap(key string, text Text) { d.gaps = append(d.gaps, Gap{key, text}) }

// close works out which branches carry nothing.
func (d *Ducts) close() error {
	for _, name := range d.gates {
		found := false
		for i, b := range d.c.Branches {
			if b.Name == name {
				d.shut[i], found = true, true
			}
		}
		if !found {
			return d.c.noBranch(name)
		}
	}
	t := d.t
	for _, i := range t.order {
		d.shut[i] = d.shut[i] || t.next[i] != -1 && d.shut[t.next[i]]
	}
	open := false
	for k := len(t.order) - 1; k >= 0; k-- {
		i := t.order[k]
		idle := !t.hood(i)
		for _, f := range t.feeders[i] {
			idle = idle && d.shut[f]
		}
		d.shut[i] = d.shut[i] || idle
		open = open || !d.shut[i]
	}
	if len(d.gates) > 0 && !open {
		return errors.New("with these gates shut no hood is left open, and the fan would draw no air: leave one open")
	}
	return nil
}

// noBranch is the error of a name that no branch has.
func (c *Collector) noBranch(name string) error {
	if len(c.Branches) == 0 {
		return fmt.Errorf("there is no branch %s: the collector file has no [[branch]]", quote(name))
	}
	names := make([]string, len(c.Branches))
	for i, b := range c.Branches {
		names[i] = b.Name
	}
	return fmt.Errorf("there is no branch %s%s", quote(name), nearest(name, names))
}

// share shares the air in proportion to design flow between the hoods that are open, and returns their share of it.
func (d *Ducts) share() (open float64) {
	t := d.t
	flow := make([]float64, len(t.next))
	total := 0.0
	for k := len(t.order) - 1; k >= 0; k-- {
		i := t.order[k]
		if t.hood(i) && !d.shut[i] {
			flow[i] = t.flow[i]
		}
		for _, f := range t.feeders[i] {
			flow[i] += flow[f]
		}
		if t.next[i] == -1 {
			total += flow[i]
		}
	}
	for i := range flow {
		d.shares[i] = flow[i] / total
	}
	if len(t.order) < len(flow) { // a ring
		for i := range flow {
			d.shares[i] = math.NaN()
		}
	}
	return total / t.total
}

// solve finds shares and resistance with the network.
func (d *Ducts) solve() error {
	t, a := d.t, d.c.siteDuctAir()
	suction, fitted, err := d.c.fitted(t, a)
	if err != nil {
		return err
	}
	for i := range fitted {
		fitted[i].Closed = d.shut[i]
	}
	n, err := duct.NewNetwork(fitted)
	if err != nil {
		return err
	}
	r, err := n.Flows(suction, a)
	if err != nil {
		return err
	}
	if float64(r.Total) > t.total*(1+1e-6) {
		return errors.New("with these sizes the network has no solution")
	}
	for i, b := range r.Branches {
		d.shares[i] = float64(b.Flow / r.Total)
	}
	d.extra = math.Pow(t.total/float64(r.Total), 2) - 1
	d.extraLo = d.extra
	if !t.mains() {
		d.extraLo = d.extra / 2
	}
	return nil
}

// siteDuctAir is the air of the machine's own figures.
func (c *Collector) siteDuctAir() duct.Air {
	s := c.SiteAir(unit.Temperature(math.NaN()), unit.Share(math.NaN()))
	return duct.Air{Density: s.Density(), Viscosity: s.Viscosity()}
}

// fitted are the branches as a network that carries their design flows at the suction at the inlet. What is not known of
// hoods, elbows and gates is counted with the hoods; a main has assumedElbows. The error is the rest of a
// sentence that begins with "since".
func (c *Collector) fitted(t *tree, a duct.Air) (unit.Pressure, []duct.Branch, error) {
	list := make([]duct.Branch, len(t.next))
	for i, b := range c.Branches {
		s := c.segment(i)
		switch {
		case !(b.Diameter > 0):
			return 0, nil, fmt.Errorf("the diameter of %s is not given", quote(b.Name))
		case t.hood(i) && !(b.Flow > 0):
			return 0, nil, fmt.Errorf("the design flow of %s is not given", quote(b.Name))
		case !t.hood(i) && !(b.Length > 0):
			return 0, nil, fmt.Errorf("the length of %s, which others share, is not given", quote(b.Name))
		case !plausible.hold(t.flow[i] / float64(b.Area())):
			return 0, nil, fmt.Errorf("%s in the duct of %s at design flow cannot be", unit.Velocity(t.flow[i]/float64(b.Area())).In(unit.US), quote(b.Name))
		case !t.hood(i):
			s.K = assumedElbows
		case math.IsNaN(float64(b.Length)):
			s.Length = 0
		}
		list[i] = duct.Branch{Name: b.Name, Duct: s, Design: b.Flow}
		if j := t.next[i]; j != -1 {
			list[i].Into = c.Branches[j].Name
		}
	}
	suction := -c.Duty.InletSP
	if math.IsNaN(float64(suction)) {
		need, _ := c.branchLoss(a)
		suction = unit.Pressure(need)
	}
	if !(suction > 0) {
		return 0, nil, errors.New("the suction at the inlet is not known")
	}
	out, err := duct.FitEntries(list, suction, a)
	if errors.Is(err, duct.ErrStarved) {
		err = errStarved
	}
	return suction, out, err
}

// plausible are velocities in a duct that the network is solved for: with others it may take forever, and means nothing.
var plausible = bounds{lo: 0.1, hi: 200}

// errStarved is the rest of a sentence: see Collector.fitted.
var errStarved = errors.New("ducts of these sizes and lengths need more than the suction at the inlet for the design flows")

// BranchVelocity is the air in one branch against what keeps the dust moving.
type BranchVelocity struct {
	Name     string
	Into     string        // what it joins; "" where it ends at the collector
	Flow     unit.Flow     // NaN where the branches' design flows are not known
	Design   unit.Flow     // of a main that of what joins it; NaN where not known
	Velocity unit.Velocity // NaN where flow or diameter is not known
	Least    unit.Velocity // below it dust drops out; NaN where not known
	Low      bool          // Velocity is below Least, and no gate is shut
	Shut     bool          // a gate is shut: nothing flows
}

// At shares a flow through all hoods [m3/s] between the branches, in the order of the file; nil without branches. NaN flow
// gives NaN.
func (d *Ducts) At(flow unit.Flow) []BranchVelocity {
	if len(d.shares) == 0 {
		return nil
	}
	least, _ := d.c.LeastVelocity()
	out := make([]BranchVelocity, len(d.shares))
	for i, b := range d.c.Branches {
		q := float64(flow) * d.shares[i]
		v := unit.Velocity(q / float64(b.Area()))
		out[i] = BranchVelocity{Name: b.Name, Into: b.Into, Flow: unit.Flow(q), Design: unit.Flow(d.t.flow[i]), Velocity: v, Least: least,
			Low: v < least && !d.shut[i], Shut: d.shut[i]}
	}
	return out
}
