package duct

import (
	"fmt"
	"math"

	"dustwright/solve"
	"dustwright/unit"
)

// Flows returns the flows a static suction [Pa, above 0] at the collector's inlet draws through the network.
// All hoods breathe from the same room; at a junction the branches meet at one total pressure, and what the
// junction costs is in each branch's K. Flows are found by Newton's method on the network's energy function, which
// is convex, so there is exactly one answer and it is reached from anywhere; they add up to rounding error. It
// returns ErrNoFlow for a suction not above zero (or NaN), unknown air, or all branches shut.
// Source: Kirchhoff's laws with the Darcy-Weisbach equation. Check values: hand-worked cases and properties in the tests.
func (n *Network) Flows(suction unit.Pressure, air Air) (NetworkFlow, error) {
	if !(suction > 0) || math.IsInf(float64(suction), 0) {
		return NetworkFlow{}, fmt.Errorf("%w: the suction must be above zero, not %g Pa", ErrNoFlow, float64(suction))
	}
	if !(air.Density > 0) || !(air.Viscosity > 0) {
		return NetworkFlow{}, fmt.Errorf("%w: the air's density %g kg/m3 and viscosity %g Pa s must be known", ErrNoFlow,
			float64(air.Density), float64(air.Viscosity))
	}
	s := newNetworkState(n, float64(suction), air)
	if !s.open {
		return NetworkFlow{}, fmt.Errorf("%w: every branch is shut", ErrNoFlow)
	}
	s.solve()
	return s.result(), nil
}

// FlowsAt returns the flows when the network carries the total flow q [m3/s, above 0], and the suction that takes.
// Errors as Flows, also for NaN; solve.ErrNoBracket where no suction up to 1 MPa reaches the flow.
// Source: as Flows, with the suction found by a bracketed root finder (more suction, more flow).
func (n *Network) FlowsAt(q unit.Flow, air Air) (NetworkFlow, error) {
	if !(q > 0) {
		return NetworkFlow{}, fmt.Errorf("%w: the total flow must be above zero, not %g m3/s", ErrNoFlow, float64(q))
	}
	if _, err := n.Flows(1, air); err != nil {
		return NetworkFlow{}, err
	}
	missing := func(logSuction float64) float64 {
		r, err := n.Flows(unit.Pressure(math.Exp(logSuction)), air)
		if err != nil {
			return math.NaN()
		}
		return math.Log(float64(r.Total / q))
	}
	logSuction, err := solve.Root(missing, math.Log(1e-9), math.Log(1e6), 1e-12)
	if err != nil {
		return NetworkFlow{}, fmt.Errorf("the network can't carry %g m3/s: %w", float64(q), err)
	}
	return n.Flows(unit.Pressure(math.Exp(logSuction)), air)
}

// networkState is one run of the solver: flows, losses and their slopes per branch.
type networkState struct {
	*Network
	air         Air
	suction     float64
	open        bool      // anything can flow at all
	shut        []bool    // the branch carries nothing: shut, or everything that feeds it is
	q, h, slope []float64 // flow, loss on the way and dh/dq
	a, b        []float64 // linearised subtree: q = a P + b
	want, trial []float64 // the Newton step's end, and a point on the way there
	path        []float64 // scratch: loss from the branch's start to the collector
}

func newNetworkState(n *Network, suction float64, air Air) *networkState {
	m := len(n.branches)
	all := make([]float64, 8*m)
	cut := func() []float64 {
		part := all[:m:m]
		all = all[m:]
		return part
	}
	s := &networkState{Network: n, air: air, suction: suction, shut: make([]bool, m),
		q: cut(), h: cut(), slope: cut(), a: cut(), b: cut(), want: cut(), trial: cut(), path: cut()}
	for k := m - 1; k >= 0; k-- {
		i := n.order[k]
		s.shut[i] = n.branches[i].Closed
		if len(n.feeders[i]) > 0 && !s.shut[i] {
			s.shut[i] = true
			for _, f := range n.feeders[i] {
				s.shut[i] = s.shut[i] && s.shut[f]
			}
		}
		s.open = s.open || n.next[i] == -1 && !s.shut[i]
	}
	for _, i := range n.order { // a trunk's gate shuts everything behind it
		if n.next[i] != -1 && s.shut[n.next[i]] {
			s.shut[i] = true
		}
	}
	return s
}

// loss is what branch i loses at flow q, the velocity pressure at the collector's inlet included, since the
// suction is a static one.
func (s *networkState) loss(i int, q float64) float64 {
	b := &s.branches[i]
	duct := b.Duct
	if len(s.feeders[i]) == 0 {
		duct.K += b.HoodFh
	}
	if s.next[i] == -1 {
		duct.K++
	}
	return float64(duct.Loss(unit.Flow(q), s.air))
}

// sum fills the trunks' flows from the hoods'.
func (s *networkState) sum(q []float64) {
	for k := len(s.order) - 1; k >= 0; k-- {
		i := s.order[k]
		if len(s.feeders[i]) == 0 {
			continue
		}
		q[i] = 0
		for _, f := range s.feeders[i] {
			q[i] += q[f]
		}
	}
}

// slopeAlong is the energy function's slope at q in the direction want - from: below zero while the minimum
// lies ahead. scale is the size of its terms, for telling zero.
func (s *networkState) slopeAlong(q, from []float64) (slope, scale float64) {
	for _, i := range s.order {
		s.path[i] = s.loss(i, q[i])
		if s.next[i] != -1 {
			s.path[i] += s.path[s.next[i]]
		}
		if len(s.feeders[i]) == 0 && !s.shut[i] {
			step := s.want[i] - from[i]
			slope += (s.path[i] - s.suction) * step
			scale += s.suction * math.Abs(step)
		}
	}
	return slope, scale
}

// solve runs Newton steps until the flows stand still.
func (s *networkState) solve() {
	for i := range s.branches {
		if len(s.feeders[i]) == 0 && !s.shut[i] {
			area := float64(s.branches[i].Duct.Section.Area())
			s.q[i] = 0.5 * area * math.Sqrt(2*s.suction/float64(s.air.Density))
		}
	}
	s.sum(s.q)
	for range 200 {
		s.newton()
		moved := s.advance()
		if moved < 1e-13 {
			return
		}
	}
}

// newton finds the flows want of the network linearised at q: each subtree is q = a P + b, put together from the
// hoods inwards and taken apart from the collector outwards.
func (s *networkState) newton() {
	for k := len(s.order) - 1; k >= 0; k-- {
		i := s.order[k]
		s.a[i], s.b[i] = 0, 0
		if s.shut[i] {
			continue
		}
		q := math.Max(math.Abs(s.q[i]), 1e-9*float64(s.branches[i].Duct.Section.Area()))
		s.h[i] = s.loss(i, s.q[i])
		s.slope[i] = (s.loss(i, q*1.001) - s.loss(i, q*0.999)) / (0.002 * q)
		rest := s.slope[i]*s.q[i] - s.h[i]
		if len(s.feeders[i]) == 0 {
			s.a[i] = 1 / s.slope[i]
			s.b[i] = rest / s.slope[i]
			continue
		}
		var a, b float64
		for _, f := range s.feeders[i] {
			a += s.a[f]
			b += s.b[f]
		}
		s.a[i] = 1 / (1/a + s.slope[i])
		s.b[i] = (b/a + rest) * s.a[i]
	}
	up := s.path // total suction at each branch's upstream end
	for _, i := range s.order {
		down := s.suction
		if s.next[i] != -1 {
			down = up[s.next[i]]
		}
		s.want[i] = s.a[i]*down + s.b[i]
		up[i] = down - s.slope[i]*(s.want[i]-s.q[i]) - s.h[i]
		if s.shut[i] {
			s.want[i] = 0
		}
	}
	s.sum(s.want)
}

// advance goes towards want as far as the energy function allows and returns the largest relative move.
func (s *networkState) advance() float64 {
	start, _ := s.slopeAlong(s.q, s.q)
	lo, hi, t := 0.0, 1.0, 1.0
	for range 40 {
		for i := range s.q {
			s.trial[i] = s.q[i] + t*(s.want[i]-s.q[i])
		}
		slope, scale := s.slopeAlong(s.trial, s.q)
		if slope <= 0 && t == 1 || math.Abs(slope) <= 0.5*math.Abs(start) || math.Abs(slope) <= 1e-11*scale {
			break
		}
		if slope > 0 {
			hi = t
		} else {
			lo = t
		}
		t = (lo + hi) / 2
	}
	s.sum(s.trial)
	var moved, largest float64
	for i := range s.q {
		moved = math.Max(moved, math.Abs(s.trial[i]-s.q[i]))
		largest = math.Max(largest, math.Abs(s.trial[i]))
	}
	copy(s.q, s.trial)
	return moved / largest
}

// result writes the solved flows out.
func (s *networkState) result() NetworkFlow {
	r := NetworkFlow{Suction: unit.Pressure(s.suction), Branches: make([]BranchFlow, len(s.branches))}
	up := s.path
	for _, i := range s.order {
		b := &s.branches[i]
		area, rho := float64(b.Duct.Section.Area()), float64(s.air.Density)
		v := s.q[i] / area
		vp := rho * v * v / 2
		loss := s.loss(i, s.q[i])
		down := s.suction
		if s.next[i] != -1 {
			down = up[s.next[i]]
		} else {
			loss -= vp
			down -= vp // total suction, the given one is static
			r.Total += unit.Flow(s.q[i])
		}
		up[i] = down - loss
		f := BranchFlow{Name: b.Name, Flow: unit.Flow(s.q[i]), Velocity: unit.Velocity(v), VelocityPressure: unit.Pressure(vp),
			Loss: unit.Pressure(loss), Static: unit.Pressure(down + vp), HoodStatic: unit.Pressure(math.NaN())}
		if len(s.feeders[i]) == 0 {
			f.HoodStatic = unit.Pressure((1 + b.HoodFh) * vp)
		}
		d := b.Duct.Section.Hydraulic()
		_, f.Regime = FrictionFactor(Reynolds(f.Velocity, d, s.air.Density, s.air.Viscosity), float64(b.Duct.Roughness/d))
		r.Branches[i] = f
	}
	return r
}
