package duct

import (
	"errors"
	"fmt"
	"math"

	"dustwright/unit"
)

// ErrStarved: a branch can't carry its design flow at the given suction.
var ErrStarved = errors.New("a branch can't have its design flow at this suction")

// FitEntries returns the branches with the hood factors that make the network carry every hood's Design flow at a static
// suction [Pa, above 0] at the collector's inlet: what is not known of hoods, gates and fittings at commissioning ends up in HoodFh.
// The result is in the order given; the argument is left alone.
//
// It returns ErrNetwork for branches that make no system or a hood without a design flow, and ErrStarved with the
// figures where ducts and fittings alone eat more than the suction: either the suction, a size or a flow is then wrong. NaN is
// an error.
// Source: as Network.Flows, solved for the entries.
func FitEntries(branches []Branch, suction unit.Pressure, air Air) ([]Branch, error) {
	fitted := append([]Branch(nil), branches...)
	for i := range fitted {
		fitted[i].HoodFh = 1 // any loss: only the order and the checks are needed
	}
	n, err := NewNetwork(fitted)
	if err != nil {
		return nil, err
	}
	s := newNetworkState(n, float64(suction), air)
	for i, b := range fitted {
		if len(n.feeders[i]) > 0 || s.shut[i] {
			continue
		}
		if !(b.Design > 0) {
			return nil, fmt.Errorf("%w: %s needs its design flow", ErrNetwork, b.Name)
		}
		s.q[i] = float64(b.Design)
	}
	s.sum(s.q)
	up := s.path
	for _, i := range n.order {
		fitted[i].HoodFh = 0
		n.branches[i].HoodFh = 0
		down := float64(suction)
		if n.next[i] != -1 {
			down = up[n.next[i]]
		}
		up[i] = down - s.loss(i, s.q[i])
		if s.shut[i] || len(n.feeders[i]) > 0 {
			continue
		}
		v := s.q[i] / float64(fitted[i].Duct.Section.Area())
		vp := float64(air.Density) * v * v / 2
		if !(up[i] > 0) || math.IsInf(up[i], 0) {
			return nil, fmt.Errorf("%w: %s takes %.0f Pa for ducts and fittings alone at %.3g m3/s, and %.0f Pa are there", ErrStarved,
				fitted[i].Name, float64(suction)-up[i], s.q[i], float64(suction))
		}
		fitted[i].HoodFh = up[i] / vp
	}
	return fitted, nil
}
