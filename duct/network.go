package duct

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"dustwright/unit"
)

// Errors of networks.
var (
	// ErrNetwork: the branches don't form a tree of ducts that end at the collector.
	ErrNetwork = errors.New("the branches don't make a duct system")
	// ErrNoFlow: nothing can flow under the given suction.
	ErrNoFlow = errors.New("no flow")
)

// Branch is one duct of a system: from a hood, or from where other branches join it, to where it joins
// another branch or ends at the collector.
type Branch struct {
	Name string
	Into string // branch it joins, "" where it ends at the collector
	// Duct carries the fittings as K, the entry into the next branch included (BranchEntry tables), all on this
	// duct's own velocity pressure.
	Duct   Segment
	HoodFh float64   // entry loss factor of the hood [-], only for a branch that no other joins
	Closed bool      // blast gate shut: no flow
	Design unit.Flow // wanted flow [m3/s], used by FitEntries only; NaN or 0: not known
}

// Network is a tree of ducts, checked and put in order. It is never changed after NewNetwork and safe for concurrent
// use.
type Network struct {
	branches []Branch
	next     []int   // index of the branch each one joins, -1 at the collector
	feeders  [][]int // indexes of the branches that join each one
	order    []int   // every branch stands after the one it joins
}

// NewNetwork checks the branches and orders them. It returns ErrNetwork, with every fault it found: no branch, a name
// missing or used twice, a branch that joins an unknown one or, round the corner, itself; a section without size;
// a hood's branch without any loss (it would take unlimited air); negative or NaN lengths, roughness or factors.
func NewNetwork(branches []Branch) (*Network, error) {
	n := &Network{branches: append([]Branch(nil), branches...), next: make([]int, len(branches)), feeders: make([][]int, len(branches))}
	var faults []string
	fault := func(format string, args ...any) { faults = append(faults, fmt.Sprintf(format, args...)) }
	index := map[string]int{}
	var names []string
	for i, b := range branches {
		if _, twice := index[b.Name]; twice || b.Name == "" {
			fault("branch %d: every branch needs a name of its own, not %q", i+1, b.Name)
		}
		index[b.Name] = i
		names = append(names, b.Name)
	}
	for i, b := range branches {
		n.next[i] = -1
		if b.Into == "" {
			continue
		}
		j, known := index[b.Into]
		if !known {
			hint := ""
			if near := unit.Nearest(b.Into, names); near != "" {
				hint = fmt.Sprintf("; did you mean %q", near)
			}
			fault("%s joins %q, which is not there%s", b.Name, b.Into, hint)
			continue
		}
		n.next[i] = j
		n.feeders[j] = append(n.feeders[j], i)
	}
	n.sort()
	if len(n.order) < len(branches) {
		fault("some branches join each other in a ring and never reach the collector")
	}
	for i, b := range branches {
		if why := b.fault(len(n.feeders[i]) == 0); why != "" {
			fault("%s: %s", b.Name, why)
		}
	}
	if len(branches) == 0 {
		fault("there is no branch")
	}
	if len(faults) > 0 {
		return nil, fmt.Errorf("%w: %s", ErrNetwork, strings.Join(faults, "; "))
	}
	return n, nil
}

// sort fills order from the collector outwards; branches in a ring are left out.
func (n *Network) sort() {
	for i, next := range n.next {
		if next == -1 {
			n.order = append(n.order, i)
		}
	}
	for k := 0; k < len(n.order); k++ {
		n.order = append(n.order, n.feeders[n.order[k]]...)
	}
}

// fault says what is wrong with the branch alone, "" when nothing is.
func (b Branch) fault(hood bool) string {
	if err := b.Duct.Section.check(); err != nil {
		return err.Error()
	}
	finite := func(x float64) bool { return x >= 0 && !math.IsInf(x, 0) }
	rel := float64(b.Duct.Roughness) / float64(b.Duct.Section.Hydraulic())
	switch {
	case !finite(float64(b.Duct.Length)), !finite(b.Duct.K), !finite(b.HoodFh):
		return fmt.Sprintf("length %g m, K %g and hood factor %g must be known and not negative", float64(b.Duct.Length), b.Duct.K, b.HoodFh)
	case !(rel >= 0 && rel <= roughest):
		return fmt.Sprintf("roughness %g mm is not between 0 and 5 %% of the diameter", float64(b.Duct.Roughness)*1000)
	case hood && b.HoodFh == 0 && b.Duct.K == 0 && b.Duct.Length == 0:
		return "it has neither a hood loss nor a length: nothing would limit its flow"
	}
	return ""
}

// BranchFlow is one branch of a solved network. Pressures are suctions: positive below the room.
type BranchFlow struct {
	Name             string
	Flow             unit.Flow
	Velocity         unit.Velocity
	VelocityPressure unit.Pressure
	Loss             unit.Pressure // total pressure lost in this branch, the hood's entry included
	HoodStatic       unit.Pressure // static suction behind the hood; NaN where other branches feed this one
	Static           unit.Pressure // static suction at its downstream end, before the next branch
	Regime           Regime
}

// NetworkFlow is a solved network, branches in the order they were given.
type NetworkFlow struct {
	Suction  unit.Pressure // static suction where the last ducts end
	Total    unit.Flow
	Branches []BranchFlow
}
