package collector

import (
	"fmt"
	"math"

	"dustwright/unit"
)

// branchNames checks that no two branches share a name.
func branchNames(c *Collector) Faults {
	var fs Faults
	first := map[string]int{}
	for i, b := range c.Branches {
		j, twice := first[b.Name]
		switch {
		case b.Name == "":
		case twice:
			fs = append(fs, Fault{Key: branchKey(i, "name"), Text: fmt.Sprintf("the branch is called %s like branch %d; give each its own name", quote(b.Name), j+1)})
		default:
			first[b.Name] = i
		}
	}
	return fs
}

// branchKey is the path of a key of branch i.
func branchKey(i int, name string) string { return fmt.Sprintf("branch.%d.%s", i+1, name) }

// branchTree checks that the branches make a tree that ends at the collector, and that a main carries what joins it.
func branchTree(c *Collector) Faults {
	var fs Faults
	t := c.tree()
	for i, b := range c.Branches {
		switch {
		case b.Into == "" || len(fs) > mostFaults:
		case b.Into == b.Name:
			fs = append(fs, Fault{Key: branchKey(i, "into"), Text: fmt.Sprintf("%s joins itself; name the branch or main it joins, or leave the key out where it ends at the collector", quote(b.Name))})
		case t.next[i] == -1:
			fs = append(fs, Fault{Key: branchKey(i, "into"), Text: fmt.Sprintf("there is no branch called %s for it to join%s; leave the key out where it ends at the collector", quote(b.Into), nearest(b.Into, t.others(c, i)))})
		}
	}
	if ring := t.ring(); ring != nil && fs == nil {
		names := ""
		for k, i := range ring {
			if k > 0 {
				names += ", "
			}
			names += quote(c.Branches[i].Name)
		}
		return Faults{{Key: branchKey(ring[0], "into"), Text: names + " join each other in a ring and never reach the collector; leave the key out of the one that ends there"}}
	}
	for i := range c.Branches {
		fs = append(fs, t.mainFaults(c, i)...)
	}
	return fs
}

// mainFaults checks a branch that others join: it has no hood of its own, and carries what they bring.
func (t *tree) mainFaults(c *Collector, i int) Faults {
	if len(t.feeders[i]) == 0 {
		return nil
	}
	var fs Faults
	b := c.Branches[i]
	for _, k := range []struct {
		name  string
		value float64
	}{{"hood_sp", float64(b.HoodSP)}, {"entry", b.Entry}} {
		if !math.IsNaN(k.value) {
			fs = append(fs, Fault{Key: branchKey(i, k.name), Text: fmt.Sprintf("%s joins %s, so that it has no hood of its own; %s belongs to the branches with hoods",
				quote(c.Branches[t.feeders[i][0]].Name), quote(b.Name), k.name)})
		}
	}
	known := 0.0
	for _, f := range t.feeders[i] {
		if q := t.flow[f]; !math.IsNaN(q) {
			known += q
		}
	}
	if float64(b.Flow) < known*(1-flowSlack) {
		fs = append(fs, Fault{Key: branchKey(i, "flow"), Text: fmt.Sprintf("%s cannot be: the branches that join %s bring %s; put one of them right, or leave the flow of %s out",
			shownFlow(b.Flow), quote(b.Name), shownFlow(unit.Flow(known)), quote(b.Name))})
	}
	return fs
}

// flowSlack is how far flows that must add up may be off: they are rounded, and measured one by one.
const flowSlack = 0.05

// shownFlow prints a flow in both systems, for messages that do not know the reader's.
func shownFlow(q unit.Flow) string { return q.In(unit.US) + " (" + q.In(unit.SI) + ")" }
