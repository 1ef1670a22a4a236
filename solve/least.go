package solve

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Fit is the result of a least-squares fit.
type Fit struct {
	Param      []float64
	Sigma      []float64   // standard errors of Param; NaN without spare points
	Cov        [][]float64 // covariance of Param; NaN without spare points
	ResidualSS float64     // weighted sum of squared residuals
	ResidualSD float64     // standard deviation of a point of weight 1; NaN without spare points
	N          int         // points used
}

// LeastSquares finds the parameters b that bring sum w (y - rows*b)^2 to its minimum; every row holds the factors of
// b for one point, weight may be nil. Rows with NaN or without positive weight are left out. Columns are scaled before an orthogonal
// decomposition, so that factors of very different size do no harm. Errors: ErrTooFew, ErrSingular.
// Source: Householder QR (gonum). Check values: NIST StRD Longley, Pontius and Wampler1, testdata/nist_*.csv.
func LeastSquares(rows [][]float64, y, weight []float64) (Fit, error) {
	a, b, scale, err := design(rows, y, weight)
	if err != nil {
		return Fit{}, err
	}
	n, p := a.Dims()
	var qr mat.QR
	qr.Factorize(a)
	if cond := qr.Cond(); !(cond < 1e14) {
		return Fit{}, fmt.Errorf("%w: %d points for %d parameters", ErrSingular, n, p)
	}
	x := mat.NewVecDense(p, nil)
	if err := qr.SolveVecTo(x, false, b); err != nil {
		return Fit{}, fmt.Errorf("%w: %v", ErrSingular, err)
	}
	var res mat.VecDense
	res.MulVec(a, x)
	res.SubVec(b, &res)
	fit := Fit{N: n, ResidualSS: mat.Dot(&res, &res), Param: make([]float64, p)}
	for j := range fit.Param {
		fit.Param[j] = x.AtVec(j) / scale[j]
	}
	fit.spread(a, scale)
	return fit, nil
}

// design builds the weighted, column-scaled matrix.
func design(rows [][]float64, y, weight []float64) (a *mat.Dense, b *mat.VecDense, scale []float64, err error) {
	if len(rows) == 0 {
		return nil, nil, nil, fmt.Errorf("%w: none given", ErrTooFew)
	}
	p := len(rows[0])
	var data, rhs []float64
	scale = make([]float64, p)
	for i, row := range rows {
		w := 1.0
		if weight != nil {
			w = weight[i]
		}
		if !(w > 0) || math.IsNaN(y[i]) || !finite(row) {
			continue
		}
		w = math.Sqrt(w)
		for j, v := range row {
			data = append(data, v*w)
			scale[j] = math.Hypot(scale[j], v*w)
		}
		rhs = append(rhs, y[i]*w)
	}
	if len(rhs) < p || p == 0 {
		return nil, nil, nil, fmt.Errorf("%w: %d points for %d parameters", ErrTooFew, len(rhs), p)
	}
	for j, s := range scale {
		if s == 0 {
			return nil, nil, nil, fmt.Errorf("%w: factor %d is zero everywhere", ErrSingular, j+1)
		}
	}
	for i := range data {
		data[i] /= scale[i%p]
	}
	return mat.NewDense(len(rhs), p, data), mat.NewVecDense(len(rhs), rhs), scale, nil
}

// spread fills the residual deviation and the covariance from the scaled matrix a.
func (f *Fit) spread(a *mat.Dense, scale []float64) {
	p := len(scale)
	f.ResidualSD = math.NaN()
	if f.N > p {
		f.ResidualSD = math.Sqrt(f.ResidualSS / float64(f.N-p))
	}
	var qr mat.QR
	qr.Factorize(a)
	var r, inv mat.Dense
	qr.RTo(&r)
	eye := mat.NewDiagDense(p, nil)
	for j := range p {
		eye.SetDiag(j, 1)
	}
	if err := inv.Solve(r.Slice(0, p, 0, p), eye); err != nil {
		inv.Reset()
		inv.ReuseAs(p, p)
		f.ResidualSD = math.NaN()
	}
	var cov mat.Dense
	cov.Mul(&inv, inv.T())
	f.Sigma, f.Cov = make([]float64, p), make([][]float64, p)
	for i := range p {
		f.Cov[i] = make([]float64, p)
		for j := range p {
			f.Cov[i][j] = cov.At(i, j) * f.ResidualSD * f.ResidualSD / (scale[i] * scale[j])
		}
		f.Sigma[i] = math.Sqrt(f.Cov[i][i])
	}
}
