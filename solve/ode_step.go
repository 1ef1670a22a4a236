package solve

import (
	"fmt"
	"math"
)

// dpA, dpC, dpE and dpD are the pair's tableau: stages (the seventh is the fifth-order result), nodes, error weights and dense
// output. Read-only.
var (
	dpC = [7]float64{0, 1.0 / 5, 3.0 / 10, 4.0 / 5, 8.0 / 9, 1, 1}
	dpA = [7][6]float64{
		{},
		{1.0 / 5},
		{3.0 / 40, 9.0 / 40},
		{44.0 / 45, -56.0 / 15, 32.0 / 9},
		{19372.0 / 6561, -25360.0 / 2187, 64448.0 / 6561, -212.0 / 729},
		{9017.0 / 3168, -355.0 / 33, 46732.0 / 5247, 49.0 / 176, -5103.0 / 18656},
		{35.0 / 384, 0, 500.0 / 1113, 125.0 / 192, -2187.0 / 6784, 11.0 / 84},
	}
	dpE = [7]float64{71.0 / 57600, 0, -71.0 / 16695, 71.0 / 1920, -17253.0 / 339200, 22.0 / 525, -1.0 / 40}
	dpD = [7]float64{-12715105075.0 / 11282082432, 0, 87487479700.0 / 32700410799, -10690763975.0 / 1880347072,
		701980252875.0 / 199316789632, -1453857185.0 / 822651844, 69997945.0 / 29380423}
)

// stepper carries one integration.
type stepper struct {
	f       Derivative
	opts    ODE
	t, t1   float64
	h       float64
	y, next []float64
	k       [7][]float64
}

func newStepper(f Derivative, y0 []float64, t0, t1 float64, opts ODE) (*stepper, error) {
	if opts.RelTol <= 0 {
		opts.RelTol = 1e-6
	}
	if opts.AbsTol <= 0 {
		opts.AbsTol = 1e-9
	}
	if opts.MaxSteps <= 0 {
		opts.MaxSteps = 100_000
	}
	if opts.MaxStep <= 0 {
		opts.MaxStep = math.Inf(1)
	}
	if math.IsNaN(t0-t0) || math.IsNaN(t1-t1) {
		return nil, fmt.Errorf("%w: from t = %g to %g", ErrNotFinite, t0, t1)
	}
	n := len(y0)
	s := &stepper{f: f, opts: opts, t: t0, t1: t1, y: append([]float64(nil), y0...), next: make([]float64, n)}
	for i := range s.k {
		s.k[i] = make([]float64, n)
	}
	f(t0, s.y, s.k[0])
	if !finite(s.y) || !finite(s.k[0]) {
		return nil, fmt.Errorf("%w: at the start t = %g", ErrNotFinite, t0)
	}
	s.h = math.Copysign(s.firstStep(), t1-t0)
	return s, nil
}

// firstStep guesses a step from the size of the state and its derivative.
func (s *stepper) firstStep() float64 {
	span := math.Abs(s.t1 - s.t)
	if s.opts.FirstStep > 0 {
		return math.Min(math.Min(s.opts.FirstStep, s.opts.MaxStep), span)
	}
	var dy, size float64
	for i, v := range s.y {
		scale := s.opts.AbsTol + s.opts.RelTol*math.Abs(v)
		size = math.Max(size, math.Abs(v)/scale)
		dy = math.Max(dy, math.Abs(s.k[0][i])/scale)
	}
	h := span / 100
	if dy > 0 && size > 0 {
		h = math.Min(h, 0.01*size/dy)
	} else if dy > 0 {
		h = math.Min(h, 1/dy)
	}
	return math.Min(h, s.opts.MaxStep)
}

// try makes one step of size h into next and judges it; a step refused shrinks h.
func (s *stepper) try() (accepted bool, err error) {
	if left := s.t1 - s.t; math.Abs(s.h) >= math.Abs(left)*(1-1e-12) {
		s.h = left
	}
	if math.Abs(s.h) <= 4*epsilon*math.Abs(s.t) || s.h == 0 {
		return false, fmt.Errorf("%w: the step has become too small at t = %g", ErrNotConverged, s.t)
	}
	for stage := 1; stage < 7; stage++ {
		for i := range s.y {
			sum := 0.0
			for j := range stage {
				sum += dpA[stage][j] * s.k[j][i]
			}
			s.next[i] = s.y[i] + s.h*sum
		}
		s.f(s.t+dpC[stage]*s.h, s.next, s.k[stage])
	}
	e := s.errorNorm()
	if math.IsNaN(e) {
		if math.Abs(s.h) < 1e-10*(1+math.Abs(s.t)) {
			return false, fmt.Errorf("%w: at t = %g", ErrNotFinite, s.t)
		}
		s.h *= 0.1
		return false, nil
	}
	if e > 1 {
		s.h *= math.Max(0.2, 0.9*math.Pow(e, -0.2))
		return false, nil
	}
	return true, nil
}

// errorNorm is the step's error over what is allowed, root mean square over the components; NaN when not finite.
func (s *stepper) errorNorm() float64 {
	if !finite(s.next) || !finite(s.k[6]) {
		return math.NaN()
	}
	var sum float64
	for i := range s.y {
		e := 0.0
		for j := range s.k {
			e += dpE[j] * s.k[j][i]
		}
		e *= s.h / (s.opts.AbsTol + s.opts.RelTol*math.Max(math.Abs(s.y[i]), math.Abs(s.next[i])))
		sum += e * e
	}
	return math.Sqrt(sum / float64(max(1, len(s.y))))
}

// record keeps the accepted step for dense output.
func (s *stepper) record() stepRecord {
	n := len(s.y)
	rec := stepRecord{t: s.t, h: s.h, c: make([]float64, 5*n)}
	for i := range s.y {
		diff := s.next[i] - s.y[i]
		spline := s.h*s.k[0][i] - diff
		rec.c[i] = s.y[i]
		rec.c[n+i] = diff
		rec.c[2*n+i] = spline
		rec.c[3*n+i] = diff - s.h*s.k[6][i] - spline
		sum := 0.0
		for j := range s.k {
			sum += dpD[j] * s.k[j][i]
		}
		rec.c[4*n+i] = s.h * sum
	}
	return rec
}

// advance moves to the end of the accepted step and sets the next one's size.
func (s *stepper) advance() {
	e := s.errorNorm()
	if s.h == s.t1-s.t {
		s.t = s.t1
	} else {
		s.t += s.h
	}
	s.y, s.next = s.next, s.y
	s.k[0], s.k[6] = s.k[6], s.k[0]
	grow := 5.0
	if e > 0 {
		grow = math.Min(5, math.Max(0.3, 0.9*math.Pow(e, -0.2)))
	}
	s.h = math.Copysign(math.Min(math.Abs(s.h)*grow, s.opts.MaxStep), s.h)
}

func finite(v []float64) bool {
	for _, x := range v {
		if math.IsNaN(x - x) {
			return false
		}
	}
	return true
}
