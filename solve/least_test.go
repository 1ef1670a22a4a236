package solve

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"dustwright/unit/unittest"
)

// certified reads the certified values of one NIST StRD data set.
func certified(t *testing.T, dataset string) map[string]unittest.Row {
	t.Helper()
	rows := map[string]unittest.Row{}
	for _, r := range unittest.Table(t, "testdata/nist_certified.csv") {
		if r.Text("dataset") == dataset {
			rows[r.Text("parameter")] = r
		}
	}
	if len(rows) == 0 {
		t.Fatalf("no certified values for %s", dataset)
	}
	return rows
}

// column reads one column of a table.
func column(rows []unittest.Row, name string) []float64 {
	out := make([]float64, len(rows))
	for i, r := range rows {
		out[i] = r.Float(name)
	}
	return out
}

func relative(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s: %.12g, want %.12g within %g relative", what, got, want, tol)
	}
}

// Source: NIST StRD, certified values; tolerances as suggested with them (Norris 1e-10, Longley 1e-7, Pontius 1e-7).
func TestLeastSquaresNIST(t *testing.T) {
	power := func(x float64, degree int) []float64 {
		row := make([]float64, degree+1)
		for j := range row {
			row[j] = math.Pow(x, float64(j))
		}
		return row
	}
	cases := []struct {
		set, file string
		row       func(r unittest.Row) []float64
		tol       float64
	}{
		{"Norris", "norris", func(r unittest.Row) []float64 { return power(r.Float("x"), 1) }, 1e-10},
		{"Pontius", "pontius", func(r unittest.Row) []float64 { return power(r.Float("x"), 2) }, 1e-7},
		{"Longley", "longley", func(r unittest.Row) []float64 {
			row := []float64{1}
			for _, c := range []string{"x1", "x2", "x3", "x4", "x5", "x6"} {
				row = append(row, r.Float(c))
			}
			return row
		}, 1e-7},
	}
	for _, c := range cases {
		t.Run(c.set, func(t *testing.T) {
			data := unittest.Table(t, "testdata/nist_"+c.file+"_data.csv")
			rows := make([][]float64, len(data))
			for i, r := range data {
				rows[i] = c.row(r)
			}
			fit, err := LeastSquares(rows, column(data, "y"), nil)
			if err != nil {
				t.Fatal(err)
			}
			want := certified(t, c.set)
			for j, b := range fit.Param {
				r := want["b"+string(rune('0'+j))]
				relative(t, r.Text("parameter"), b, r.Float("certified"), c.tol)
				relative(t, "standard error of "+r.Text("parameter"), fit.Sigma[j], r.Float("std_error"), 10*c.tol)
			}
			relative(t, "residual sd", fit.ResidualSD, want["residual_sd"].Float("certified"), c.tol)
		})
	}
}

// Source: NIST StRD Wampler1: a fifth-degree polynomial met exactly, all coefficients 1, residual 0.
func TestLeastSquaresWampler(t *testing.T) {
	data := unittest.Table(t, "testdata/nist_wampler1_data.csv")
	rows := make([][]float64, len(data))
	for i, r := range data {
		for j := range 6 {
			rows[i] = append(rows[i], math.Pow(r.Float("x"), float64(j)))
		}
	}
	fit, err := LeastSquares(rows, column(data, "y"), nil)
	if err != nil {
		t.Fatal(err)
	}
	for j, b := range fit.Param {
		relative(t, "b"+string(rune('0'+j)), b, 1, 1e-8)
	}
}

// Source: NIST StRD Norris and testdata/norris_prediction_intervals.csv (computed at 60 digits).
func TestWeightedLineNorris(t *testing.T) {
	data := unittest.Table(t, "testdata/nist_norris_data.csv")
	line, err := WeightedLine(column(data, "x"), column(data, "y"), nil)
	if err != nil {
		t.Fatal(err)
	}
	want := certified(t, "Norris")
	relative(t, "intercept", line.Intercept, want["b0"].Float("certified"), 1e-10)
	relative(t, "slope", line.Slope, want["b1"].Float("certified"), 1e-10)
	relative(t, "sigma intercept", line.SigmaIntercept, want["b0"].Float("std_error"), 1e-9)
	relative(t, "sigma slope", line.SigmaSlope, want["b1"].Float("std_error"), 1e-9)
	relative(t, "residual sd", line.ResidualSD, want["residual_sd"].Float("certified"), 1e-10)
	q := distuv.StudentsT{Sigma: 1, Nu: float64(line.N - 2)}.Quantile(0.975)
	relative(t, "t(0.975, 34)", q, 2.03224450932, 1e-9)
	for _, r := range unittest.Table(t, "testdata/norris_prediction_intervals.csv") {
		x := r.Float("x0")
		mean, point := line.Sigma(x)
		relative(t, "fit", line.At(x), r.Float("fit"), 1e-9)
		relative(t, "prediction low", line.At(x)-q*point, r.Float("pi95_low"), 1e-8)
		relative(t, "prediction high", line.At(x)+q*point, r.Float("pi95_high"), 1e-8)
		relative(t, "mean low", line.At(x)-q*mean, r.Float("ci95_low"), 1e-8)
		relative(t, "mean high", line.At(x)+q*mean, r.Float("ci95_high"), 1e-8)
	}
}

func TestFitsRefuse(t *testing.T) {
	nan := math.NaN()
	check := func(name string, err, want error) {
		t.Helper()
		if !errors.Is(err, want) {
			t.Errorf("%s: %v, want %v", name, err, want)
		}
	}
	_, err := WeightedLine([]float64{1, nan}, []float64{1, 2}, nil)
	check("one point left", err, ErrTooFew)
	_, err = WeightedLine([]float64{3, 3, 3}, []float64{1, 2, 3}, nil)
	check("all at one x", err, ErrSingular)
	_, err = LeastSquares(nil, nil, nil)
	check("no rows", err, ErrTooFew)
	_, err = LeastSquares([][]float64{{1, 2}, {2, 4}, {3, 6}}, []float64{1, 2, 3}, nil)
	check("columns that are multiples", err, ErrSingular)
	_, err = LeastSquares([][]float64{{1, 0}, {2, 0}}, []float64{1, 2}, nil)
	check("a column of zeros", err, ErrSingular)
}

// Weights: a point of weight 3 counts like three points, and a point of weight 0 or with NaN not at all.
func TestWeightsCount(t *testing.T) {
	x, y := []float64{0, 1, 2, 2, 2, 4}, []float64{0.1, 0.9, 2.2, 2.2, 2.2, 3.9}
	plain, err := WeightedLine(x, y, nil)
	if err != nil {
		t.Fatal(err)
	}
	w, err := WeightedLine([]float64{0, 1, 2, 9, 4, 5}, []float64{0.1, 0.9, 2.2, 7, 3.9, math.NaN()}, []float64{1, 1, 3, 0, 1, 1})
	if err != nil {
		t.Fatal(err)
	}
	relative(t, "slope", w.Slope, plain.Slope, 1e-12)
	relative(t, "intercept", w.Intercept, plain.Intercept, 1e-12)
	fit, err := LeastSquares([][]float64{{1, 0}, {1, 1}, {1, 2}, {1, 4}}, []float64{0.1, 0.9, 2.2, 3.9}, []float64{1, 1, 3, 1})
	if err != nil {
		t.Fatal(err)
	}
	relative(t, "slope by LeastSquares", fit.Param[1], plain.Slope, 1e-12)
}
