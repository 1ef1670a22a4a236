package solve

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Curve is a model y = f(x) with parameters.
type Curve func(param []float64, x float64) float64

// FitCurve finds the parameters of a curve by weighted least squares, starting from start, with Levenberg and Marquardt's
// damping. weight may be nil. Points with NaN or without positive weight are left out. The minimum found is
// the one nearest downhill from start; a start within an order of magnitude is wanted. Errors: ErrTooFew, ErrNotFinite where the
// curve is not finite at start, ErrNotConverged, ErrSingular where a parameter makes no difference.
// Source: D. W. Marquardt, SIAM J. Appl. Math. 11 (1963) 431. Check values: NIST StRD Misra1a and Thurber,
// testdata/nist_*.csv.
func FitCurve(f Curve, x, y, weight, start []float64) (Fit, error) {
	m := newMarquardt(f, x, y, weight, start)
	if len(m.x) < len(start) || len(start) == 0 {
		return Fit{}, fmt.Errorf("%w: %d points for %d parameters", ErrTooFew, len(m.x), len(start))
	}
	if math.IsNaN(m.ss - m.ss) {
		return Fit{}, fmt.Errorf("%w: the curve at its start parameters", ErrNotFinite)
	}
	const most = 500
	for range most {
		done, err := m.step()
		if err != nil {
			return Fit{}, err
		}
		if done {
			fit, err := LeastSquares(m.jacobian(), m.residuals(m.param), nil)
			if err != nil {
				return Fit{}, err
			}
			fit.Param, fit.ResidualSS = m.param, m.ss
			return fit, nil
		}
	}
	return Fit{}, fmt.Errorf("%w: %d steps, residual sum of squares %g", ErrNotConverged, most, m.ss)
}

// marquardt carries one fit.
type marquardt struct {
	f       Curve
	x, y, w []float64 // w: square roots of the weights
	param   []float64
	ss      float64
	damp    float64
}

func newMarquardt(f Curve, x, y, weight, start []float64) *marquardt {
	m := &marquardt{f: f, param: slices.Clone(start), damp: 1e-3}
	for i := range x {
		w := 1.0
		if weight != nil {
			w = weight[i]
		}
		if w > 0 && !math.IsNaN(x[i]) && !math.IsNaN(y[i]) {
			m.x, m.y, m.w = append(m.x, x[i]), append(m.y, y[i]), append(m.w, math.Sqrt(w))
		}
	}
	m.ss = sumSquares(m.residuals(m.param))
	return m
}

func (m *marquardt) residuals(param []float64) []float64 {
	r := make([]float64, len(m.x))
	for i, x := range m.x {
		r[i] = m.w[i] * (m.y[i] - m.f(param, x))
	}
	return r
}

// jacobian is the weighted derivative of the curve by its parameters, by central differences.
func (m *marquardt) jacobian() [][]float64 {
	rows := make([][]float64, len(m.x))
	for i := range rows {
		rows[i] = make([]float64, len(m.param))
	}
	p := slices.Clone(m.param)
	for j, at := range m.param {
		h := 6e-6 * math.Max(math.Abs(at), 1e-6)
		for i, x := range m.x {
			p[j] = at + h
			up := m.f(p, x)
			p[j] = at - h
			rows[i][j] = m.w[i] * (up - m.f(p, x)) / (2 * h)
		}
		p[j] = at
	}
	return rows
}

// step goes downhill once, raising the damping until it does; done when no step shortens the residuals any more.
func (m *marquardt) step() (done bool, err error) {
	jac, r := m.jacobian(), m.residuals(m.param)
	scale := columnNorms(jac)
	for j, s := range scale {
		if s == 0 || math.IsNaN(s-s) {
			return false, fmt.Errorf("%w: parameter %d makes no difference", ErrSingular, j+1)
		}
	}
	for m.damp < 1e16 {
		delta, ok := damped(jac, r, scale, m.damp)
		trial := slices.Clone(m.param)
		for j := range trial {
			trial[j] += delta[j]
		}
		ss := sumSquares(m.residuals(trial))
		if ok && ss <= m.ss {
			done = m.ss-ss <= 1e-14*m.ss && small(delta, m.param)
			m.param, m.ss, m.damp = trial, ss, math.Max(m.damp/10, 1e-15)
			return done || ss == 0, nil
		}
		m.damp *= 10
	}
	m.damp = 1
	return true, nil // no direction is downhill: this is the minimum to within rounding
}

// damped solves (J'J + damp D'D) delta = J'r as a least-squares problem, which keeps its digits.
func damped(jac [][]float64, r, scale []float64, damp float64) (delta []float64, ok bool) {
	n, p := len(jac), len(scale)
	a, b := mat.NewDense(n+p, p, nil), mat.NewVecDense(n+p, nil)
	for i, row := range jac {
		for j, v := range row {
			a.Set(i, j, v/scale[j])
		}
		b.SetVec(i, r[i])
	}
	for j := range p {
		a.Set(n+j, j, math.Sqrt(damp))
	}
	var qr mat.QR
	qr.Factorize(a)
	sol := mat.NewVecDense(p, nil)
	err := qr.SolveVecTo(sol, false, b)
	delta = make([]float64, p)
	for j := range delta {
		delta[j] = sol.AtVec(j) / scale[j]
	}
	return delta, err == nil && finite(delta)
}

func columnNorms(rows [][]float64) []float64 {
	norms := make([]float64, len(rows[0]))
	for _, row := range rows {
		for j, v := range row {
			norms[j] = math.Hypot(norms[j], v)
		}
	}
	return norms
}

func small(delta, param []float64) bool {
	for j, d := range delta {
		if math.Abs(d) > 1e-9*math.Abs(param[j])+1e-300 {
			return false
		}
	}
	return true
}

func sumSquares(v []float64) float64 {
	var s float64
	for _, x := range v {
		s += x * x
	}
	return s
}
