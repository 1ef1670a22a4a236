package solve

import (
	"fmt"
	"math"
)

// Derivative writes dy/dt at (t, y) into dydt. It must not keep the slices.
type Derivative func(t float64, y, dydt []float64)

// Event is a condition whose zero crossing is to be found while integrating.
type Event struct {
	Value func(t float64, y []float64) float64
	Rise  bool // find crossings from negative to positive
	Fall  bool // find crossings from positive to negative
	Stop  bool // end the integration there
}

// Hit is one crossing found.
type Hit struct {
	Event int // index into ODE.Events
	T     float64
	Y     []float64
}

// ODE sets how exactly an equation is integrated. The zero value asks for 1e-6 relative and 1e-9 absolute.
type ODE struct {
	RelTol, AbsTol float64 // error allowed per step, per component: AbsTol + RelTol*|y|
	FirstStep      float64 // 0: chosen from the equation
	MaxStep        float64 // 0: no limit; set it where an event could come and go within one step
	MaxSteps       int     // 0: 100,000 tries
	Events         []Event
}

// Path is the solution: its end, the crossings, and the values between by dense output.
type Path struct {
	T    float64   // where it ended: t1, or the event that stopped it
	Y    []float64 // state there
	Hits []Hit     // in the order they came
	T0   float64

	steps []stepRecord
	dim   int
}

// stepRecord holds one accepted step: y(t+theta h) from five coefficient vectors.
type stepRecord struct {
	t, h float64
	c    []float64 // 5*dim
}

// DormandPrince integrates dy/dt = f from (t0, y0) to t1, forward or backward, with the embedded Runge-Kutta pair of order 5(4), step control
// and continuous output of order 4; events are located on that output to within 1e-12 of the step. It suits
// equations that are not stiff. Errors: ErrNotFinite where f or the state stops being finite, ErrNotConverged when
// the steps run out or become too small for float64.
// Source: J. R. Dormand and P. J. Prince, J. Comput. Appl. Math. 6 (1980) 19; step control and dense output after E. Hairer, S. P. Norsett and G.
// Wanner, Solving Ordinary Differential Equations I, section II.4 to II.6. Check: closed forms in ode_test.go.
func DormandPrince(f Derivative, y0 []float64, t0, t1 float64, opts ODE) (*Path, error) {
	s, err := newStepper(f, y0, t0, t1, opts)
	if err != nil {
		return nil, err
	}
	p := &Path{T: t0, T0: t0, Y: s.y, dim: len(y0)}
	before := make([]float64, len(opts.Events))
	for i, e := range opts.Events {
		before[i] = e.Value(t0, s.y)
	}
	for tries := 0; s.t != t1; tries++ {
		if tries == s.opts.MaxSteps {
			return nil, fmt.Errorf("%w: %d steps reached t = %g of %g", ErrNotConverged, tries, s.t, t1)
		}
		accepted, err := s.try()
		if err != nil {
			return nil, err
		}
		if !accepted {
			continue
		}
		rec := s.record()
		p.steps = append(p.steps, rec)
		s.advance()
		if stop := p.crossings(rec, opts.Events, before); stop {
			return p, nil
		}
	}
	p.T, p.Y = s.t, append([]float64(nil), s.y...)
	return p, nil
}

// crossings finds the events within one step, in order, and tells whether one of them ends the path.
func (p *Path) crossings(rec stepRecord, events []Event, before []float64) (stop bool) {
	first := len(p.Hits)
	for i, e := range events {
		after := e.Value(rec.t+rec.h, rec.at(1, make([]float64, p.dim)))
		was := before[i]
		before[i] = after
		rises, falls := was < 0 && after >= 0, was > 0 && after <= 0
		if (!rises || !e.Rise) && (!falls || !e.Fall) {
			continue
		}
		y := make([]float64, p.dim)
		theta, err := Root(func(th float64) float64 { return e.Value(rec.t+th*rec.h, rec.at(th, y)) }, 0, 1, 1e-12)
		if err != nil {
			theta = 1 // the crossing is at the end to within rounding
		}
		p.Hits = append(p.Hits, Hit{Event: i, T: rec.t + theta*rec.h, Y: rec.at(theta, y)})
	}
	return p.settle(first, rec, events)
}

// settle orders the hits of one step and cuts the path at the first that stops it.
func (p *Path) settle(first int, rec stepRecord, events []Event) (stop bool) {
	found := p.Hits[first:]
	for i := 1; i < len(found); i++ {
		for j := i; j > 0 && (found[j].T-found[j-1].T)*rec.h < 0; j-- {
			found[j], found[j-1] = found[j-1], found[j]
		}
	}
	for i, h := range found {
		if events[h.Event].Stop {
			p.Hits = p.Hits[:first+i+1]
			p.T, p.Y = h.T, append([]float64(nil), h.Y...)
			return true
		}
	}
	return false
}

// At writes the state at time t into y and tells whether t lies on the path; y is left alone otherwise.
func (p *Path) At(t float64, y []float64) bool {
	lo, hi := math.Min(p.T0, p.T), math.Max(p.T0, p.T)
	if !(t >= lo && t <= hi) || len(y) != p.dim {
		return false
	}
	if len(p.steps) == 0 {
		copy(y, p.Y)
		return true
	}
	a, b := 0, len(p.steps)-1
	for a < b {
		mid := (a + b) / 2
		if s := p.steps[mid]; (t-(s.t+s.h))*s.h <= 0 {
			b = mid
		} else {
			a = mid + 1
		}
	}
	s := p.steps[a]
	s.at((t-s.t)/s.h, y)
	return true
}

// Steps returns how many steps were taken.
func (p *Path) Steps() int { return len(p.steps) }

// at evaluates the step's polynomial at theta (0 to 1) into y and returns y.
func (s stepRecord) at(theta float64, y []float64) []float64 {
	n := len(y)
	rest := 1 - theta
	for i := range y {
		y[i] = s.c[i] + theta*(s.c[n+i]+rest*(s.c[2*n+i]+theta*(s.c[3*n+i]+rest*s.c[4*n+i])))
	}
	return y
}
